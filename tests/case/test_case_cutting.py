# SPDX-License-Identifier: AGPL-3.0-or-later
"""Guillotine layouts: pieces that lie apart, cuts from edge to edge, and never a piece fewer than there could be.

The optimum is found here by other ways: by trying every cut at every whole millimetre, and for boards with strips by
collecting all mixtures that a sheet can give and drawing sheets from them one at a time.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations, product
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.case.cutting import Layout, most_pieces
from foldproof.case.cutting_case import BOARD, CLOTH, STRIP, CaseCutting, case_cutting, fewest_sheets
from foldproof.errors import AskedWrong
from foldproof.geometry import Rect
from foldproof.job.finishing import HouseBoard, HouseCloth
from foldproof.job.load import load_house
from foldproof.job.model import House
from tests.case.made import BACKED, DINGWORD, ROUNDED, tiny

HOUSE = load_house(None)
side = st.integers(1, 18)
small = st.integers(1, 9)


# --- what every layout is held to -----------------------------------------------------------------------------------


def hold(layout: Layout, sizes: dict[str, tuple[float, float]], turn: bool) -> None:
    """Pieces lie in the sheet and apart, have their sizes, and come off by the cuts in their order."""
    sheet = Rect(0, 0, *layout.sheet_mm)
    rects = [piece.rect_mm for piece in layout.pieces]
    assert all(sheet.holds(rect, 1e-6) for rect in rects)
    for a, b in combinations(rects, 2):
        common = a.common(b)
        assert common is None or min(common.width, common.height) < 1e-6
    for piece in layout.pieces:
        wanted = sizes[piece.what]
        assert piece.size_mm == pytest.approx(wanted) or (turn and piece.size_mm[::-1] == pytest.approx(wanted))
    assert sorted(by_the_knife(layout)) == sorted(key(part.rect_mm) for part in (*layout.pieces, *layout.left_over))
    used = sum(rect.width * rect.height for rect in rects)
    assert layout.waste == pytest.approx(1 - used / (sheet.width * sheet.height), abs=1e-9)


def key(rect: Rect) -> tuple[float, ...]:
    return tuple(round(value, 3) + 0.0 for value in (rect.x0, rect.y0, rect.x1, rect.y1))


def by_the_knife(layout: Layout) -> list[tuple[float, ...]]:
    """What lies on the table after every cut was made, each on a piece that was there and from edge to edge."""
    table = [key(Rect(0, 0, *layout.sheet_mm))]
    for number, cut in enumerate(layout.cuts, start=1):
        assert cut.number == number
        x0, y0, x1, y1 = hand = key(cut.hand_mm)
        table.remove(hand)
        (ax, ay), (bx, by) = (tuple(round(v, 3) for v in end) for end in (cut.start_mm, cut.end_mm))
        if ax == bx:
            assert x0 < ax < x1 and (ay, by) == (y0, y1)
            table += [(x0, y0, ax, y1), (ax, y0, x1, y1)]
        else:
            assert ay == by and y0 < ay < y1 and (ax, bx) == (x0, x1)
            table += [(x0, y0, x1, ay), (x0, ay, x1, y1)]
    return table


# --- one size -------------------------------------------------------------------------------------------------------


@cache
def most_by_trying(wide: int, high: int, piece: tuple[int, int], turn: bool) -> int:
    """Every cut at every whole place, first cut first."""
    if (wide, high) == piece or (turn and (high, wide) == piece):
        return 1
    best = 0
    for x in range(1, wide):
        best = max(best, most_by_trying(x, high, piece, turn) + most_by_trying(wide - x, high, piece, turn))
    for y in range(1, high):
        best = max(best, most_by_trying(wide, y, piece, turn) + most_by_trying(wide, high - y, piece, turn))
    return best


@settings(max_examples=120, deadline=None)
@given(side, side, small, small, st.booleans())
def test_no_cut_gives_more_pieces(wide: int, high: int, across: int, up: int, turn: bool) -> None:
    layout = most_pieces((wide, high), (across, up), turn=turn)
    best = most_by_trying(wide, high, (across, up), turn)
    assert (0 if layout is None else len(layout.pieces)) == best
    if layout is not None:
        hold(layout, {"piece": (across, up)}, turn)


def test_turned_pieces_where_rows_waste() -> None:
    """A worked example: of 12 x 12 five-by-sevens, rows alone give 2; turned ones fill the strips beside them.

    5 + 7 = 12 both ways: four round a hole of 2 x 2 would fit but not by a guillotine, which leaves 3.
    """
    layout = most_pieces((12, 12), (5, 7), turn=True)
    assert layout is not None and len(layout.pieces) == most_by_trying(12, 12, (5, 7), True) == 3
    straight = most_pieces((12, 12), (5, 7), turn=False)
    assert straight is not None and len(straight.pieces) == 2


def test_press_sheets_from_a_parent_sheet() -> None:
    """A worked example: 1,000 x 1,400 gives four of 500 x 700 without waste, in three cuts' worth of gauges."""
    layout = most_pieces((1000, 1400), (500, 700), turn=False, what="sheet", material="Hearth Book 90", grain="up")
    assert layout is not None
    assert len(layout.pieces) == 4 and layout.waste == 0 and len(layout.cuts) == 3
    assert [step.words for step in layout.steps] == [
        "The sheet, 1000 x 1400 mm: 1 cut upright as drawn, 1400 mm long, for 2 x 500 mm.",
        "Each of the 2 pieces of 500 x 1400 mm: 1 cut level as drawn, 500 mm long, for 2 x 700 mm (sheet).",
    ] or [step.words for step in layout.steps] == [
        "The sheet, 1000 x 1400 mm: 1 cut level as drawn, 1000 mm long, for 2 x 700 mm.",
        "Each of the 2 pieces of 1000 x 700 mm: 1 cut upright as drawn, 700 mm long, for 2 x 500 mm (sheet).",
    ]


def test_what_just_fits_is_not_lost() -> None:
    """Ten times 0.1 is not 1 in floats; ten pieces fit all the same."""
    layout = most_pieces((10 * 24.1, 236.3), (24.1, 236.3), turn=False)
    assert layout is not None and len(layout.pieces) == 10 and layout.waste == pytest.approx(0, abs=1e-9)
    hold(layout, {"piece": (24.1, 236.3)}, False)


def test_a_whole_sheet_needs_no_cut() -> None:
    layout = most_pieces((700, 1000), (700, 1000), turn=True)
    assert layout is not None and layout.cuts == () and layout.steps == () and len(layout.pieces) == 1
    assert most_pieces((700, 1000), (701, 1000), turn=False) is None


@pytest.mark.parametrize(("piece", "says"), [((1.01, 0.7), "too small for a sheet of"), ((0.0, 5.0), "has no size")])
def test_what_is_no_piece_of_this_trade(piece: tuple[float, float], says: str) -> None:
    with pytest.raises(AskedWrong, match=says):
        most_pieces((1400, 1000), piece, turn=True)


# --- boards and strips ----------------------------------------------------------------------------------------------


@cache
def mixtures(wide: int, high: int, board: int, strip: int, tall: int) -> frozenset[tuple[int, int]]:
    """Every number of boards and strips that guillotine cuts at whole places get out of a sheet, pieces not turned."""
    found = {(0, 0)}
    if (wide, high) == (board, tall):
        found.add((1, 0))
    if (wide, high) == (strip, tall):
        found.add((0, 1))
    for x in range(1, wide // 2 + 1):
        for a, b in product(mixtures(x, high, board, strip, tall), mixtures(wide - x, high, board, strip, tall)):
            found.add((a[0] + b[0], a[1] + b[1]))
    for y in range(1, high // 2 + 1):
        for a, b in product(mixtures(wide, y, board, strip, tall), mixtures(wide, high - y, board, strip, tall)):
            found.add((a[0] + b[0], a[1] + b[1]))
    return frozenset(mix for mix in found if not any(o != mix and o[0] >= mix[0] and o[1] >= mix[1] for o in found))


def sheets_by_drawing(kinds: frozenset[tuple[int, int]], wanted: tuple[int, int]) -> int:
    """Sheet after sheet, every mixture each time, until there is enough."""
    reached, sheets = {(0, 0)}, 0
    while wanted not in reached:
        sheets += 1
        reached = {
            (min(wanted[0], have[0] + mix[0]), min(wanted[1], have[1] + mix[1])) for have in reached for mix in kinds
        }
    return sheets


@settings(max_examples=60, deadline=None)
@given(
    st.integers(6, 14), st.integers(3, 9), st.integers(2, 6), st.integers(1, 4), st.integers(2, 4), st.integers(1, 9)
)
def test_no_way_takes_fewer_sheets(wide: int, high: int, board: int, strip: int, tall: int, cases: int) -> None:
    tall = min(tall, high)
    wanted = (2 * cases, cases)
    kinds = fewest_sheets(wide, board, strip, high // tall, wanted)
    for rows, _ in kinds:
        assert len(rows) <= high // tall
        assert all(boards * board + strips * strip <= wide for boards, strips in rows)
    for which in (0, 1):
        assert sum(many * sum(row[which] for row in rows) for rows, many in kinds) >= wanted[which]
    best = sheets_by_drawing(mixtures(wide, high, board, strip, tall), wanted)
    assert sum(many for _, many in kinds) == best


@settings(max_examples=60, deadline=None)
@given(st.integers(60, 200), st.integers(20, 60), st.integers(3, 30), st.integers(1, 60), st.integers(1, 60))
def test_rows_shared_for_many_cases(wide: int, board: int, strip: int, boards: int, strips: int) -> None:
    """Rows alone, many of them: against drawing row after row."""
    best = sheets_by_drawing(
        frozenset((a, (wide - a * board) // strip) for a in range(wide // board + 1)), (boards, strips)
    )
    kinds = fewest_sheets(wide, board, strip, 1, (boards, strips))
    assert sum(many for _, many in kinds) == best
    assert sum(many * rows[0][0] for rows, many in kinds) >= boards
    assert sum(many * rows[0][1] for rows, many in kinds) >= strips


def cut(case: Any = DINGWORD, cases: int = 500, house: House = HOUSE) -> CaseCutting:
    return case_cutting(case, house, cases)


def test_boards_of_a_job() -> None:
    """A worked example: 700 x 1,000 mm, grain along 1,000: 4 rows of 236 (944), in each 4 boards of 146.5 (586) and 4
    strips of 24.5 (98) = 684.  16 boards a sheet, 1,000 boards: 63 sheets; half as many strips go beside them."""
    boards = cut().boards
    assert boards is not None
    assert (boards.sheets, boards.wanted) == (63, (1000, 500))
    assert (boards.boards, boards.strips) >= (1008, 504)
    assert boards.waste == pytest.approx(1 - (1000 * 146.5 + 500 * 24.5) * 236 / (63 * 700 * 1000))
    assert boards.price == pytest.approx(63 * 0.9)
    for run in boards.runs:
        hold(run.layout, {BOARD: (146.5, 236.0), STRIP: (24.5, 236.0)}, turn=False)
    # no more strips are cut than it takes to share them out evenly
    assert boards.strips < 2 * 504


def test_boards_with_the_grain_along_the_short_side() -> None:
    """700 up and 1,000 across then: 2 rows of 6 boards (879) and 4 strips (98)."""
    short = HOUSE.boards[0].model_copy(update={"grain": "short"})
    boards = cut(house=HOUSE.model_copy(update={"boards": (short,)})).boards
    assert boards is not None
    layout = boards.runs[0].layout
    assert (layout.sheet_mm, layout.grain, layout.count(BOARD)) == ((1000.0, 700.0), "up", 12)
    hold(layout, {BOARD: (146.5, 236.0), STRIP: (24.5, 236.0)}, turn=False)


def test_strips_of_a_rounded_spine_come_of_a_board_that_bends() -> None:
    """28 strips of 24.2 in a row of 700, 4 rows: 112 a sheet, 500 strips: 5 sheets."""
    card = HouseBoard.model_validate({"name": "Card 0.8", "thickness": "0.8 mm", "sheet": "700 x 1000 mm"})
    house = HOUSE.model_copy(update={"boards": (*HOUSE.boards, card)})
    made = cut(evolve(ROUNDED, strip_board="Card 0.8", strip_thickness_mm=0.8), house=house)
    assert made.unknown == ()
    assert made.boards is not None and made.boards.strips == 0
    assert made.strips is not None and (made.strips.board, made.strips.sheets) == ("Card 0.8", 5)
    assert made.strips.price is None
    assert cut(BACKED).strips is None and "card that bends" in cut(BACKED).unknown[0]


@settings(max_examples=40, deadline=None)
@given(st.integers(900, 3300), st.integers(1500, 4500), st.integers(150, 1500), st.integers(1, 3000))
def test_layouts_of_any_case(wide: int, high: int, strip: int, cases: int) -> None:
    """Sizes to a tenth of a millimetre, as a case has them: rows alike or mixed, on one kind of sheet or more."""
    size = (wide / 10, high / 10), (strip / 10, high / 10)
    made = cut(evolve(DINGWORD, board_mm=size[0], strip_mm=size[1]), cases)
    boards = made.boards
    assert boards is not None
    assert boards.boards >= 2 * cases and boards.strips >= cases
    for run in boards.runs:
        hold(run.layout, {BOARD: size[0], STRIP: size[1]}, turn=False)


@pytest.mark.parametrize("cases", [0, 1, 7, 100_000])
def test_few_cases_and_very_many(cases: int) -> None:
    made = cut(cases=cases)
    assert made.boards is not None and made.cloth is not None
    # 16 boards a sheet (see above), two pieces of cloth side by side (2 x 371.5 of 1,000)
    assert made.boards.sheets == -(-2 * cases // 16)
    assert made.cloth.lengths == -(-cases // 2)


def test_a_miniature() -> None:
    made = cut(tiny(), cases=1500)
    assert made.boards is not None
    for run in made.boards.runs:
        hold(run.layout, {BOARD: (29.5, 46.0), STRIP: (8.5, 46.0)}, turn=False)
    # 21 rows of 700 mm; by area alone: (3000 x 29.5 + 1500 x 8.5) / 700 = 144.6 rows, 6.9 sheets
    assert made.boards.sheets == 7


def test_boards_that_come_out_of_no_sheet() -> None:
    made = cut(evolve(DINGWORD, board_mm=(146.5, 1010.0), strip_mm=(24.5, 1010.0)))
    assert made.boards is None
    assert (
        "A board of 146.5 x 1010 mm with its grain along the spine does not come out of Grey Board 2.5"
        in (made.unknown[0])
    )


# --- cloth ----------------------------------------------------------------------------------------------------------


def test_cloth_from_the_roll() -> None:
    """A worked example: 1,000 mm take two of 371.5; 500 cases 250 lengths of 270 mm, 67.5 m."""
    cloth = cut().cloth
    assert cloth is not None
    assert (cloth.across, cloth.lengths, cloth.metres) == (2, 250, pytest.approx(67.5))
    assert cloth.waste == pytest.approx(1 - 2 * 371.5 / 1000)
    assert cloth.price == pytest.approx(67.5 * 3.2)
    # turned: 3 of 270 across, 167 lengths of 371.5
    assert cloth.turned_metres == pytest.approx(167 * 0.3715)
    hold(cloth.layout, {CLOTH: DINGWORD.cloth_mm}, turn=False)


def test_cloth_that_is_wider_than_the_roll() -> None:
    narrow = HouseCloth.model_validate({"name": "Wharf Buckram", "thickness": "0.35 mm", "roll_width": "300 mm"})
    made = cut(house=HOUSE.model_copy(update={"cloths": (narrow,)}))
    assert made.cloth is None
    assert "does not come out of Wharf Buckram, 300 mm wide; a quarter turned" in made.unknown[0]
