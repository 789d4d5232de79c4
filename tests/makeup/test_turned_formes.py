# SPDX-License-Identifier: AGPL-3.0-or-later
"""Work and turn, work and tumble: one forme on both sides gives two sections, each folding into the same book.

Derived by turning the sheet; no table at hand.  The law is held in a way of its own: paper with two faces, printed,
turned over, printed again, slit and folded cell by cell.
"""

from __future__ import annotations

import numpy as np
import pytest

from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Scheme, forme
from tests.makeup import brute_folding
from tests.makeup.turned_formes import Grid, turned_half_round, work_and_tumble, work_and_turn

SCHEMES = {
    4: Scheme("4", 2, 1, ("left under",)),
    8: Scheme("8", 2, 2, ("top under", "left under")),
    12: Scheme("12", 2, 3, ("top 1 under", "bottom 1 under", "left under"), "top"),
    16: Scheme("16", 4, 2, ("right under", "top over", "left over")),
    24: Scheme("24", 4, 3, ("left under", "top 1 under", "bottom 1 under", "left under"), "top"),
    32: Scheme("32", 4, 4, ("top under", "left under", "top under", "left under")),
    64: Scheme("64", 8, 4, ("left under", "top under", "left under", "top under", "left under")),
    # spine folds level: its heads stand sideways
    -16: Scheme("16 level", 2, 4, ("top under", "left under", "top under"), "left"),
}
PARAMS = [(pages, reading) for pages in SCHEMES for reading in (LEFT_TO_RIGHT, RIGHT_TO_LEFT)]


def _printed(grid: Grid) -> np.ndarray:
    """A plate's impression, three cells a page: the page's number in the middle, 9000 in the cell at its head."""
    rows = []
    for row in grid:
        cells = []
        for page, head in row:
            cell = np.zeros((3, 3), dtype=int)
            cell[0, 1], cell[1, 1] = 9000, page
            cells.append(np.rot90(cell, head))  # rot90 turns counter-clockwise, as heads are counted
        rows.append(np.hstack(cells))
    return np.vstack(rows)


def _two_sides(forme_: Grid, axis: int) -> tuple[np.ndarray, np.ndarray]:
    """Both faces of the sheet after two passes, the second as one sees it through the paper from the first.

    The sheet is turned over about the axis and printed by the same plate; turned back, that impression lies mirrored.
    """
    first = _printed(forme_)
    return first, np.flip(first, axis)


def _read_section(front: np.ndarray, through: np.ndarray, scheme: Scheme, reading: str) -> list[tuple[int, bool]]:
    """Fold the printed paper by brute force and leaf through it: page met, and whether its head is up."""
    folded = brute_folding.fold(
        scheme.columns, scheme.rows, scheme.folds, scheme.head, spine_left=reading == LEFT_TO_RIGHT
    )
    met = []
    for leaf in folded.leaves:
        column, row = leaf.panel
        window = (slice(3 * row, 3 * row + 3), slice(3 * column, 3 * column + 3))
        # the edge of the leaf that lies at the head of the book, seen from the front: the same edge on both faces
        at_head = [(0, 1), (1, 0), (2, 1), (1, 2)][leaf.head_turns]
        faces = (front[window], through[window]) if leaf.recto_on_front else (through[window], front[window])
        met += [(int(face[1, 1]), face[at_head] == 9000) for face in faces]
    return met


@pytest.mark.parametrize("front_at", ["one", "other"])
@pytest.mark.parametrize(("pages", "reading"), PARAMS)
@pytest.mark.parametrize("turn", ["work and turn", "work and tumble"])
def test_the_turned_sheet_makes_two_equal_sections(turn: str, pages: int, reading: str, front_at: str) -> None:
    """imp-wat-halves: two complete units, one on each half of the sheet, cut apart after backing."""
    scheme = SCHEMES[pages]
    front, back = forme(scheme, reading), forme(scheme, reading, back=True)
    high, wide = 3 * scheme.rows, 3 * scheme.columns
    whole = [(number, True) for number in range(1, scheme.pages + 1)]
    if turn == "work and turn":
        plate = work_and_turn(front, back, front_at={"one": "left", "other": "right"}[front_at])
        one, through = _two_sides(plate, 1)
        halves = [(one[:, :wide], through[:, :wide]), (one[:, wide:], through[:, wide:])]
    else:
        plate = work_and_tumble(front, back, front_at={"one": "top", "other": "bottom"}[front_at])
        one, through = _two_sides(plate, 0)
        halves = [(one[:high], through[:high]), (one[high:], through[high:])]
    fronts = {page for row in front for page, _ in row}
    own = [half for half in halves if set(half[0].flatten()) & fronts]
    ((paper, behind),) = own
    assert _read_section(paper, behind, scheme, reading) == whole
    ((other, other_behind),) = (half for half in halves if half is not own[0])
    # The other half lies with its back up.  The folder's hand turns it over, front up as the first one: side to side
    # where it was printed so, head to tail (then half round on the table) where it was tumbled.
    axis = 1 if turn == "work and turn" else 0
    paper, behind = np.flip(other_behind, axis), np.flip(other, axis)
    assert _read_section(paper, behind, scheme, reading) == whole


@pytest.mark.parametrize("turn", ["work and turn", "work and tumble"])
def test_the_wrong_turn_is_noticed(turn: str) -> None:
    """A forme made for the one turn does not back when the sheet is turned the other way."""
    scheme = SCHEMES[16]
    front, back = forme(scheme, LEFT_TO_RIGHT), forme(scheme, LEFT_TO_RIGHT, back=True)
    made = work_and_turn(front, back) if turn == "work and turn" else work_and_tumble(front, back, front_at="top")
    first, through = _two_sides(made, 0 if turn == "work and turn" else 1)
    met = _read_section(first[:6, :12], through[:6, :12], scheme, LEFT_TO_RIGHT)
    assert met != [(number, True) for number in range(1, 17)]


@pytest.mark.parametrize(("pages", "reading"), PARAMS)
def test_page_and_backing_page_are_one_leaf(pages: int, reading: str) -> None:
    """The law, on the numbers alone: at the place mirrored in the axis of the turn stands the leaf's other page."""
    scheme = SCHEMES[pages]
    front, back = forme(scheme, reading), forme(scheme, reading, back=True)
    turned, tumbled = work_and_turn(front, back), work_and_tumble(front, back)
    wide, high = len(turned[0]), len(tumbled)
    for row in turned:
        for column, (page, head) in enumerate(row):
            other, behind = row[wide - 1 - column]
            assert other == page + 1 if page % 2 else other == page - 1
            assert behind == -head % 4  # turned about the upright axis up stays up, left becomes right
    for nth, row in enumerate(tumbled):
        for column, (page, head) in enumerate(row):
            other, behind = tumbled[high - 1 - nth][column]
            assert other == page + 1 if page % 2 else other == page - 1
            assert behind == (2 - head) % 4  # turned about the level axis up becomes down, left stays left


def test_the_folio_half_sheet_worked_by_hand() -> None:
    """Four pages on one forme: 4 1 2 3 in a row; tumbled, 3 and 2 on their heads above 4 and 1 (a scrap of paper)."""
    front, back = forme(SCHEMES[4], LEFT_TO_RIGHT), forme(SCHEMES[4], LEFT_TO_RIGHT, back=True)
    assert work_and_turn(front, back) == (((4, 0), (1, 0), (2, 0), (3, 0)),)
    assert work_and_turn(front, back, front_at="right") == (((2, 0), (3, 0), (4, 0), (1, 0)),)
    assert work_and_tumble(front, back) == (((3, 2), (2, 2)), ((4, 0), (1, 0)))
    assert turned_half_round(turned_half_round(front)) == front
