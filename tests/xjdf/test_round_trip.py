# SPDX-License-Identifier: AGPL-3.0-or-later
"""A job ticket is valid by the published schema, holds its plan, and folds into the same book by itself.

What is read back is held against the plan field by field, within 0.001 mm; and the folding instructions rebuilt from
the file alone are folded by the proof, which shares no reckoning with make-up or with this room.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from attrs import evolve

from foldproof.xjdf.held import held
from foldproof.xjdf.model import HeldPlan
from foldproof.xjdf.read import read_xjdf
from foldproof.xjdf.rebuild import instructions
from tests.impose import plans as by_hand
from tests.matrix.cases import BASE, LIPS_AND_TRIMS, ONE_IN_ANOTHER, Case
from tests.xjdf.jobs import folds_alike, held_same, planned, written

#: every scheme of the house, every binding, every way to print in turn; pieces one in another; lips, other push-out
CASES = (*BASE[::17], *ONE_IN_ANOTHER[::9], *LIPS_AND_TRIMS[::8])


def _ok(folder: Path, case: Case, schema_errors: Callable[[Path], list[str]]) -> HeldPlan:
    work = planned(case.pages, case.job, case.trim_mm, case.house, inks=case.inks)
    path = written(folder, work)
    assert schema_errors(path) == []
    read = read_xjdf(path)
    held_same(read, held(work.plan))
    folds_alike(instructions(read), work.plan.instructions)
    return read


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_every_kind_of_plan_comes_back_and_folds_alike(
    tmp_path: Path, case: Case, schema_errors: Callable[[Path], list[str]]
) -> None:
    _ok(tmp_path, case, schema_errors)


def test_the_cases_are_of_every_kind() -> None:
    told = " ".join(case.name for case in CASES)
    for word in ("sewn", "glued", "stitched", "leaflet", "right to left", "work and turn", "work and tumble"):
        assert word in told
    for word in ("perfecting", "one side", "6 roll", "offcut", "lip", "leaned", "by scale", "insert", "wrapped"):
        assert word in told, word


def test_what_the_book_is(tmp_path: Path) -> None:
    """Spelled out by hand, so that writer and reader cannot agree on the wrong thing."""
    job = {
        "book": {"binding": "sewn", "reading": "right to left", "blanks_front": 2},
        "run": {"copies": 700},
        "sections": {"pages": 16},
    }
    read = read_xjdf(written(tmp_path, planned(45, job)))
    assert (read.title, read.binding, read.reading, read.copies) == (
        "The Chandler's Year", "sewn", "right to left", 700
    )  # fmt: skip
    assert (read.pages, read.blanks_front, read.blanks_back) == (45, 2, 1)
    assert read.trim_mm == pytest.approx((80, 110), abs=0.001)
    blanks = {place.position for place in read.places if place.page is None}
    assert blanks == {0, 1, 47}
    assert {place.page for place in read.places if place.page is not None} == set(range(45))
    assert all(place.page is None or place.page == place.position - 2 for place in read.places)
    assert [section.number for section in read.sections] == [1, 2, 3]
    for sheet in read.sheets:
        assert (sheet.stock, sheet.grammage) == ("Hearth Book 90", 90)
        assert sheet.caliper_mm == pytest.approx(0.117)  # 90 g/m2 x 1.3 cm3/g / 1000 (ISO 534)
        assert sheet.net <= sheet.gross


def test_a_leaf_of_another_stock_lies_on_paper_of_its_own(tmp_path: Path) -> None:
    insert = {"stock": "Glaze Silk 135", "pages": 4, "how": "inside", "first_page": 9}
    work = planned(36, {"sections": {"pages": 16}, "insert": [insert]})
    path = written(tmp_path, work)
    read = read_xjdf(path)
    on = {sheet.number: (sheet.stock, round(sheet.caliper_mm, 6)) for sheet in read.sheets}
    stocks = {place.page + 1: on[place.sheet] for place in read.places if place.page is not None}
    # the four pages in the middle of the first 16: 8 before them, 8 after; 0.122 mm as the house states it
    assert {page for page, stock in stocks.items() if stock == ("Glaze Silk 135", 0.122)} == {9, 10, 11, 12}
    text = path.read_text("utf-8")
    assert 'Order="List"' in text
    assert 'Coating="Coated"' in text
    assert len(read.sections[0].pieces) == 2


def test_two_thousand_pages(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    work = planned(2000, {}, (140.0, 216.0))
    path = written(tmp_path, work)
    assert schema_errors(path) == []
    held_same(read_xjdf(path), held(work.plan))


@pytest.mark.parametrize("turn", ["side to side", "head to tail"])
def test_a_plan_made_by_hand_comes_back(tmp_path: Path, turn: str, schema_errors: Callable[[Path], list[str]]) -> None:
    """Its places were written out from the octavo of the trade and not folded; nobody said how its sheets are run."""
    work = evolve(planned(32, {}, (140.0, 216.0)), plan=by_hand.plan(30, turn=turn))
    path = written(tmp_path, work)
    assert schema_errors(path) == []
    read = read_xjdf(path)
    held_same(read, held(work.plan))
    folds_alike(instructions(read), work.plan.instructions)
    assert [sheet.turn for sheet in read.sheets] == [turn] * 2
    # front, from the lower left: 4 13 16 1 heads up, 5 12 9 8 heads down; behind each stands its neighbour of the leaf
    cells = [(cell.front + 1, cell.back + 1, cell.turns) for cell in read.pieces[0].cells]
    assert cells == [(4, 3, 0), (13, 14, 0), (16, 15, 0), (1, 2, 0), (5, 6, 2), (12, 11, 2), (9, 10, 2), (8, 7, 2)]
