# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sections set one in another, short ones round and inside full ones, inserts of another stock, in every way."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.matrix.cases import ONE_IN_ANOTHER, Case
from tests.matrix.held import held
from tests.matrix.pages import Shelf


@pytest.mark.parametrize("case", ONE_IN_ANOTHER, ids=lambda case: case.name)
def test_the_book_closes_and_no_fold_may_be_reversed(case: Case, shelf: Shelf, tmp_path: Path) -> None:
    held(case, shelf, tmp_path)
