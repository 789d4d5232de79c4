# SPDX-License-Identifier: AGPL-3.0-or-later
"""The shop that is shipped: whole, in agreement with itself, and every scheme of it folds as published."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from foldproof.job.load import load_house, resolve
from foldproof.job.model import WAYS, Allowances, Binding, HouseScheme, Job
from foldproof.makeup.binding import panel_for, refusal
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Edge, Scheme, forme, read

HOUSE = load_house(None)
#: published values by id; the source of each stands in the file
FACTS: dict[str, dict[str, Any]] = {
    fact["id"]: fact["outputs"]
    for fact in tomllib.loads((Path(__file__).parents[1] / "handbook" / "shop.toml").read_text("utf-8"))["check"]
}
NAMES = [scheme.name for scheme in HOUSE.schemes]


def _parts(told: HouseScheme) -> list[Scheme]:
    """The scheme without its offcut, and the offcut."""
    rest = Scheme(told.name, told.columns, told.rows - told.offcut_rows, told.folds, told.head)
    if not told.offcut_rows:
        return [rest]
    return [rest, Scheme(f"offcut of {told.name}", told.columns, told.offcut_rows, told.offcut_folds, told.head)]


def _named(name: str) -> HouseScheme:
    return next(scheme for scheme in HOUSE.schemes if scheme.name == name)


def test_four_presses_three_folders_eight_stocks_and_lines() -> None:
    assert (len(HOUSE.presses), len(HOUSE.folders), len(HOUSE.stocks)) == (4, 3, 8)
    assert {binding for line in HOUSE.lines for binding in line.bindings} == {"sewn", "glued", "stitched"}
    assert HOUSE.currency and HOUSE.usual_copies


def test_every_way_to_print_can_be_had() -> None:
    assert {way for press in HOUSE.presses for way in press.can} == set(WAYS)
    for way in WAYS:
        resolve(Job.model_validate({"press": {"way": way}}), HOUSE)


def test_a_perfecting_press_can_grip_both_ends() -> None:
    """10 to 12 mm of gripper margin at both ends: common practice, no source."""
    perfecting = [press for press in HOUSE.presses if press.perfecting]
    assert perfecting
    for press in perfecting:
        assert press.tail >= press.gripper >= 10


def test_the_printable_area_leaves_the_margins_of_the_largest_sheet() -> None:
    for press in HOUSE.presses:
        assert press.printable is not None
        assert press.printable[0] <= press.sheet_max[0] - 2 * press.side
        assert press.printable[1] <= press.sheet_max[1] - press.gripper - press.tail


def test_every_price_and_limit_is_stated() -> None:
    for press in HOUSE.presses:
        assert press.plate_price and press.hour_price and press.sheets_per_hour
        assert press.make_ready_sheets and press.make_ready_minutes
    for folder in HOUSE.folders:
        assert folder.hour_price and folder.sheets_per_hour and folder.make_ready_sheets and folder.make_ready_minutes
        assert folder.panel_min and folder.panel_max and folder.thickest and folder.lip_min and folder.lip_max
    for line in HOUSE.lines:
        assert line.hour_price and line.books_per_hour and line.make_ready_minutes and line.block_min
        assert ("sewn" in line.bindings) == (line.sewn_sections_per_hour is not None)
    assert all(stock.price_per_kg for stock in HOUSE.stocks)
    assert [stock.name for stock in HOUSE.stocks if stock.caliper is not None] == ["Glaze Silk 135"]


def test_waste_lies_in_the_range_of_the_handbook() -> None:
    least, most = FACTS["waste-press"]["setup_sheets"]
    assert all(least <= press.make_ready_sheets <= most for press in HOUSE.presses)
    least, most = FACTS["waste-press"]["running_percent"]
    spoilt = HOUSE.allowances
    assert least <= spoilt.spoil_press <= most
    assert {folder.make_ready_sheets for folder in HOUSE.folders} == {FACTS["waste-fold"]["setup_sheets"]}
    assert spoilt.spoil_folding == FACTS["waste-fold"]["running_percent"]
    together = FACTS["waste-fold"]["gathered_stitched_trimmed_percent"]
    assert spoilt.spoil_gathering + spoilt.spoil_trimming == pytest.approx(together)
    # what the handbook says nothing of is as little as a bench of the same shop spoils (common practice, no source)
    assert spoilt.spoil_jacketing is not None and 0 < spoilt.spoil_jacketing <= spoilt.spoil_folding
    assert Allowances().spoil_jacketing is None, "no house need state it"


def test_the_stitcher_opens_by_a_lip_that_the_folders_make() -> None:
    """8 to 10 mm for the stitcher's feeders: common practice, no source."""
    (stitcher,) = (line for line in HOUSE.lines if "stitched" in line.bindings)
    assert stitcher.lip == "high folio" and 8 <= stitcher.lip_size <= 10
    assert all(folder.lip_min <= stitcher.lip_size <= folder.lip_max for folder in HOUSE.folders)


def test_what_a_folder_folds_is_a_scheme_of_the_house_and_each_scheme_has_a_folder() -> None:
    folded = {name for folder in HOUSE.folders for name in folder.schemes}
    assert folded == set(NAMES)
    for folder in HOUSE.folders:
        assert len(set(folder.schemes)) == len(folder.schemes)


@pytest.mark.parametrize("reading", [LEFT_TO_RIGHT, RIGHT_TO_LEFT])
@pytest.mark.parametrize("name", NAMES)
def test_every_scheme_folds_to_pages_that_follow_one_another(name: str, reading: str) -> None:
    told = _named(name)
    parts = _parts(told)
    for part in parts:
        pages = {page for back in (False, True) for row in forme(part, reading, back=back) for page, _ in row}
        assert pages == set(range(1, part.pages + 1))
    assert sum(part.pages for part in parts) == 2 * told.columns * told.rows


#: which schemes a needle or a wire holds: those with all leaves round one middle.  Derived with strips of paper: thirds
#: along the reading leave a leaf that hangs by its fore-edge, unless they are doubled and then halved; a roll of four
#: has two of its three creases in the spine, one inside the other
SEWABLE = {"4", "8", "12", "16", "24", "32", "64", "12 long", "24 long", "24 with offcut", "8 strip", "8 roll"}


@pytest.mark.parametrize("name", NAMES)
def test_what_can_be_sewn_and_that_all_can_be_glued(name: str) -> None:
    def why(binding: Binding) -> list[str]:
        panel = panel_for((140.0, 216.0), 3.0, binding, HOUSE.allowances)
        least = HOUSE.allowances.bolt_min
        told = [refusal(part, LEFT_TO_RIGHT, binding, panel, least) for part in _parts(_named(name))]
        return [said for said in told if said]

    assert why("glued") == []
    assert (why("sewn") == []) == (name in SEWABLE)


# --- schemes against what is published, or folded by hand -------------------------------------------------------------


def _pages(scheme: Scheme, *, back: bool = False) -> list[list[int]]:
    return [[page for page, _ in row] for row in forme(scheme, LEFT_TO_RIGHT, back=back)]


def test_the_duodecimo_with_its_offcut() -> None:
    """imp-12mo-cut of the handbook: the offcut's row stands above the others, its pages 9 to 16 lie inside."""
    told = FACTS["imp-12mo-cut"]
    rest, offcut = _parts(_named("24 with offcut"))
    outside = rest.panels  # pages before the middle of the rest: half of its pages, as many as its panels

    def whole(*, back: bool) -> list[list[int]]:
        inner = [[page + outside for page in row] for row in _pages(offcut, back=back)]
        outer = [[page + offcut.pages * (page > outside) for page in row] for row in _pages(rest, back=back)]
        return inner + outer

    assert whole(back=False) == told["outer_printed"]
    assert [row[::-1] for row in whole(back=False)] == told["outer_stone"]
    assert sorted(page for row in whole(back=True) + whole(back=False) for page in row) == list(range(1, 25))
    assert {page for row in _pages(offcut) + _pages(offcut, back=True) for page in row} == {
        page - outside for page in told["offcut_pages"]
    }
    for back in (False, True):
        for row in whole(back=back):
            assert {row[0] + row[1], row[2] + row[3]} == {told["spine_sum"]}
    # heads of the second row are reversed, those of the third are not
    assert [{head for _, head in row} for row in forme(rest, LEFT_TO_RIGHT)] == [{2}, {0}]


def test_the_strip_of_four_is_an_offcut_with_its_head_at_the_other_edge() -> None:
    """The same paper folded the same way: turned head to tail, its pages run the other way, and front becomes back."""
    _, offcut = _parts(_named("24 with offcut"))
    strip = _parts(_named("8 strip"))[0]
    # imp-12mo-cut: 9 16 13 12 heads down, as a section of its own 1 8 5 4
    assert forme(offcut, LEFT_TO_RIGHT) == (((1, 2), (8, 2), (5, 2), (4, 2)),)
    # by hand with a strip, heads up: the first leaf's recto at the right of its spine, 8 beside it at the left
    assert forme(strip, LEFT_TO_RIGHT) == (((8, 0), (1, 0), (4, 0), (5, 0)),)
    assert [leaf.mate for leaf in read(strip, LEFT_TO_RIGHT)] == [3, 2, 1, 0]


def test_leaflets_folded_by_hand() -> None:
    """Derived with a strip of paper, front up; no table at hand.

    Concertina: leaves follow one another along the strip.  Roll: the last two panels are the covers, the first roll in.
    Gate: the outer panels lie inside, the two middle ones outside.
    """
    concertina, roll, gate = (_parts(_named(f"8 {kind}"))[0] for kind in ("concertina", "roll", "gate"))
    along = {leaf.column: leaf.order for leaf in read(concertina, LEFT_TO_RIGHT)}
    assert [along[column] for column in (3, 2, 1, 0)] == [0, 1, 2, 3]
    rolled = {leaf.column: leaf.order for leaf in read(roll, LEFT_TO_RIGHT)}
    assert {rolled[3], rolled[2]} == {0, 3} and {rolled[1], rolled[0]} == {1, 2}
    closed = {leaf.column: leaf.order for leaf in read(gate, LEFT_TO_RIGHT)}
    assert {closed[1], closed[2]} == {0, 3} and {closed[0], closed[3]} == {1, 2}


def test_long_twelves_have_bolts_at_the_fore_edge_alone() -> None:
    """A strip in thirds and then halved closes leaves 1 and 2 of each half at the fore-edge; derived with a strip."""
    long = read(_parts(_named("12 long"))[0], LEFT_TO_RIGHT)
    assert {edge for leaf in long for edge in leaf.bolts} == {Edge.FORE_EDGE}
    assert [leaf.mate for leaf in long] == [5, 4, 3, 2, 1, 0]
    rows = read(_parts(_named("24 long"))[0], LEFT_TO_RIGHT)
    assert {edge for leaf in rows for edge in leaf.bolts} == {Edge.FORE_EDGE, Edge.HEAD}
    assert [leaf.mate for leaf in rows] == list(range(11, -1, -1))


def test_eighteens_leave_one_column_hanging_by_the_fore_edge() -> None:
    loose = [leaf for leaf in read(_parts(_named("18"))[0], LEFT_TO_RIGHT) if leaf.mate is None]
    assert {leaf.column for leaf in loose} == {0} and len(loose) == 3
    assert all(Edge.FORE_EDGE in leaf.bolts for leaf in loose)
