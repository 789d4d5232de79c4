# SPDX-License-Identifier: AGPL-3.0-or-later
"""The forme of a half sheet as it was written, against one reckoned by turning the sheet.

Derived by turning the sheet; no table at hand.  The two sides of a section are those that brute force folds; they are
set side by side, or head to head, by :mod:`tests.makeup.turned_formes`.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from attrs import evolve

from foldproof.errors import NoPlan
from tests.makeup.turned_formes import Grid, work_and_tumble, work_and_turn
from tests.matrix.cases import BASE, HOUSE, READINGS, Case
from tests.matrix.held import closed, planned
from tests.matrix.pages import Shelf
from tests.matrix.read_off import as_it_lies, figures, fold_of, plate

WAYS = ("work and turn", "work and tumble")
#: sheets to be bought for the smallest sections, beside those that the house holds, mm
BOUGHT = ((140.0, 340.0), (240.0, 340.0), (260.0, 280.0), (280.0, 470.0), (280.0, 520.0))
SCHEMES = ("4", "8", "12", "16", "24", "32", "64", "12 long", "24 long")


def one_pair(scheme: str, way: str, reading: str) -> Case:
    """One section alone, on the smallest sheet of the house that takes two of it."""
    case = next(
        c for c in BASE if c.job["sections"]["fold"] == scheme and c.job["book"]["binding"] == "glued" and c.way == way
    )
    case = evolve(case, pages=case.pages // 2)
    job = {**case.job, "book": {"binding": "glued", "reading": reading}}
    held = {sheet.size for stock in HOUSE.stocks for sheet in stock.sheets}
    sizes = sorted({*held, *BOUGHT}, key=lambda size: size[0] * size[1])
    for wide, high in sizes:
        paper = {**job["paper"], "sheet": f"{wide:g} x {high:g} mm"}
        one = evolve(case, name=f"{scheme}, {way}", job={**job, "paper": paper, "run": {"copies": 1}})
        try:
            plan = planned(one)
            if plan.runs[0].copies_on == 2 and plan.kinds[0].label == f"2 x {scheme}":
                return one
        except NoPlan:
            continue
    raise AssertionError(f"no sheet of the house takes one pair of {scheme}")


@pytest.mark.parametrize(("scheme", "way", "reading"), list(product(SCHEMES, WAYS, READINGS)))
def test_the_written_plate_is_the_table_turned(
    scheme: str, way: str, reading: str, shelf: Shelf, tmp_path: Path
) -> None:
    done = closed(one_pair(scheme, way, reading), shelf, tmp_path)
    first, again = done.plan.instructions.sheets[0].sections
    folded = fold_of(first, reading == READINGS[0])
    assert (first.copy_of, again.copy_of, first.turned_over, again.turned_over) == (None, first.id, False, True)
    quarters = first.turned // 90
    front, back = as_it_lies(folded.forme(), quarters), as_it_lies(folded.forme(back=True), -quarters)
    laid: list[Grid]
    if way == "work and turn":
        laid = [work_and_turn(front, back, front_at=at) for at in ("left", "right")]
        at = first.rect_mm[0] > again.rect_mm[0]
    else:
        laid = [work_and_tumble(front, back, front_at=at) for at in ("bottom", "top")]
        at = first.rect_mm[1] > again.rect_mm[1]
    for side in figures(done.sheets):
        assert plate(side) == laid[at]
