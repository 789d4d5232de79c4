# SPDX-License-Identifier: AGPL-3.0-or-later
"""Perfecting, with every binding and scheme: both sides in one pass, the sheet turned head to tail in the press."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.matrix.cases import Case, printed
from tests.matrix.held import held
from tests.matrix.pages import Shelf


@pytest.mark.parametrize("case", printed("perfecting"), ids=lambda case: case.name)
def test_the_book_closes_and_no_fold_may_be_reversed(case: Case, shelf: Shelf, tmp_path: Path) -> None:
    held(case, shelf, tmp_path)
