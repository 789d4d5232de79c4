# SPDX-License-Identifier: AGPL-3.0-or-later
"""Lips, other trims and bleeds, push-out by scale, leaned heads, blanks, all marks: printed in every way."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.matrix.cases import LIPS_AND_TRIMS, Case
from tests.matrix.held import held
from tests.matrix.pages import Shelf


@pytest.mark.parametrize("case", LIPS_AND_TRIMS, ids=lambda case: case.name)
def test_the_book_closes_and_no_fold_may_be_reversed(case: Case, shelf: Shelf, tmp_path: Path) -> None:
    held(case, shelf, tmp_path)
