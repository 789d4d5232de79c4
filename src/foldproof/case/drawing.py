# SPDX-License-Identifier: AGPL-3.0-or-later
"""The full-size drawing of a case: the case lying open, seen from inside, and a section through it round its block.

Everything is in the *page* frame in mm: lower left of the page, y up.  Nothing is reckoned anew: every line stands
where the sizes of :class:`~foldproof.case.model.CaseSizes` put it, and every figure is the length of the line that it
stands at.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from foldproof.case.drawing_section import Section
from foldproof.case.drawing_sheet import BOARD, CLOTH, CUT, FOLD, TEXT, Board, wrapped
from foldproof.case.model import CaseSizes
from foldproof.case.sizes import corner_leg_mm
from foldproof.files import write_bytes
from foldproof.geometry import Rect
from foldproof.pdf.case_drawing import Drawing, drawing_bytes
from foldproof.units import format_mm, format_size_mm

MARGIN_MM = 12.0
#: beside the cloth for the upright dimension lines, and below it for the level ones
_BESIDE_MM, _BELOW_MM = 26.0, 40.0
#: above the cloth, for the words at a corner
_ABOVE_MM = 9.0
#: the narrowest page on which heading and measured bar can be read
_NARROWEST_MM = 200.0
_BAR_MM = 100.0
_CHECK = (
    "Print at 100 %, never fitted to the paper, and measure the bar: it is 100 mm long. Where it is not, cut by the "
    "figures, not by the drawing. Figures are mm."
)


def write_case_drawing(case: CaseSizes, title: str, target: FilePath, reading: str = "left to right") -> None:
    """Write the drawing of a case as a PDF.

    Args:
        title: of the book, as it heads the drawing.
        reading: of the book: ``"left to right"`` or ``"right to left"``; says which board is the front one.

    Raises:
        NotWritten: the folder does not take the file.
    """
    write_bytes(target, drawing_bytes(case_drawing(case, title, reading)))


def case_drawing(case: CaseSizes, title: str, reading: str = "left to right") -> Drawing:
    """The drawing, not yet written."""
    section = Section(case)
    wide, high = case.cloth_mm
    page_wide = max(
        2 * MARGIN_MM + _BESIDE_MM + wide, 2 * MARGIN_MM + section.size_mm[0], 2 * MARGIN_MM + _NARROWEST_MM
    )
    heading = _Heading(case, title, page_wide - 2 * MARGIN_MM)
    foot = MARGIN_MM + section.size_mm[1] + _BELOW_MM
    page_high = foot + high + _ABOVE_MM + heading.height_mm + MARGIN_MM
    board = Board()
    heading.draw(board, MARGIN_MM, page_high - MARGIN_MM)
    cloth = Rect(MARGIN_MM + _BESIDE_MM, foot, MARGIN_MM + _BESIDE_MM + wide, foot + high)
    _open_case(board, case, cloth, reading)
    section.draw(board, MARGIN_MM, MARGIN_MM)
    return board.drawing(f"{title}: case" if title else "Case", (page_wide, page_high))


# --- the case lying open --------------------------------------------------------------------------------------------


def _open_case(board: Board, case: CaseSizes, cloth: Rect, reading: str) -> None:
    opened = case.open_mm
    left, foot = cloth.centre[0] - opened[0] / 2, cloth.centre[1] - opened[1] / 2
    edges = [left]
    for length in (case.board_mm[0], case.joint_mm, case.strip_mm[0], case.joint_mm, case.board_mm[0]):
        edges.append(edges[-1] + length)
    top = foot + opened[1]
    board.box(CLOTH, cloth)
    boards = Rect(edges[0], foot, edges[1], top), Rect(edges[4], foot, edges[5], top)
    strip = Rect(edges[2], foot, edges[3], top)
    for rect in (*boards, strip):
        board.box(BOARD, rect, tinted=True)
    for x in (edges[0], edges[5]):
        board.line(FOLD, (x, cloth.y0), (x, cloth.y1), dash_mm=(3.0, 1.5))
    for y in (foot, top):
        board.line(FOLD, (cloth.x0, y), (cloth.x1, y), dash_mm=(3.0, 1.5))
    if case.joint_mm:
        for left_edge, right_edge in ((edges[1], edges[2]), (edges[3], edges[4])):
            middle = (left_edge + right_edge) / 2
            board.line(FOLD, (middle, cloth.y0), (middle, cloth.y1), dash_mm=(4.0, 1.0, 0.5, 1.0))
    _corners(board, case, cloth, (edges[5], top))
    names = ("front board", "back board")
    for rect, name in zip(boards, names if reading == "left to right" else names[::-1], strict=True):
        _board_words(board, case, rect, name)
    board.words_in(strip, f"spine strip {format_size_mm(*case.strip_mm)}", 9, turns=1)
    _dimensions(board, cloth, edges, (foot, top))


def _corners(board: Board, case: CaseSizes, cloth: Rect, corner: tuple[float, float]) -> None:
    """The slanting cuts, and how far the upper right one is from the corner of its board."""
    leg = corner_leg_mm(case.turn_in_mm, case.corner_mm)
    for x, inward in ((cloth.x0, 1), (cloth.x1, -1)):
        for y, upward in ((cloth.y0, 1), (cloth.y1, -1)):
            board.line(CUT, (x + inward * leg, y), (x, y + upward * leg), width_mm=0.2)
    # at 45 degrees the foot of the perpendicular lies as far across as up
    away = case.corner_mm / 2**0.5
    foot = corner[0] + away, corner[1] + away
    board.measure(corner, foot)
    says = f"{format_mm(case.corner_mm, 2)} from the corner of the board to the cut"
    size = 8.0
    board.words((cloth.x1 - board.width_mm(says, size), cloth.y1 + 2.5), says, size)
    board.leader(foot, (cloth.x1 - 2.0, cloth.y1 + 1.8))


def _board_words(board: Board, case: CaseSizes, rect: Rect, name: str) -> None:
    x, y = rect.centre
    step = 6.0
    lines = ((name, 12.0), (format_size_mm(*case.board_mm), 10.0), (f"{case.board}, seen from inside", 9.0))
    room = Rect(rect.x0 + 2, rect.y0, rect.x1 - 2, rect.y1)
    if rect.height > 40:
        for count, (says, size) in enumerate(lines):
            board.words_in(Rect(room.x0, y - step * (count + 1), room.x1, y - step * count), says, size)
    else:
        board.words_in(room, name, 9)
        return
    length = min(40.0, rect.height / 4)
    board.arrow((x, y + 6), (x, y + 6 + length))
    board.words_in(Rect(x + 1, y + 6, room.x1, y + 6 + length), "grain", 9, turns=1, at="left")


def _dimensions(board: Board, cloth: Rect, edges: list[float], heights: tuple[float, float]) -> None:
    chain = [cloth.x0, *edges, cloth.x1]
    names = ("turn-in", "board", "joint", "strip", "joint", "board", "turn-in")
    level = cloth.y0 - 12
    board.chain_level(chain, level, cloth.y0, names)
    board.chain_level([edges[0], edges[-1]], level - 13, cloth.y0, ("open case",))
    board.chain_level([cloth.x0, cloth.x1], level - 22, cloth.y0, ("cloth",))
    board.chain_upright([cloth.y0, *heights, cloth.y1], cloth.x0 - 8, cloth.x0)
    board.chain_upright([cloth.y0, cloth.y1], cloth.x0 - 17, cloth.x0)


# --- the heading ----------------------------------------------------------------------------------------------------


class _Heading:
    """Name of the book, what the case is made of, and the bar to measure."""

    def __init__(self, case: CaseSizes, title: str, room_mm: float) -> None:
        spine = (
            f"flat spine {format_mm(case.block_mm[2], 2)}"
            if case.rounding == "flat"
            else f"{case.rounding} spine, arc {format_mm(case.arc_mm, 2)} over a chord of {format_mm(case.chord_mm, 2)}"
        )
        strip = case.strip_board or "card that bends, to be chosen"
        facts = (
            f"Case at full size. Block {format_size_mm(*case.block_mm[:2])}, {spine}; squares "
            f"{format_mm(case.square_mm, 2)}. Boards: {case.board}, {format_mm(case.board_thickness_mm, 2)}. Spine "
            f"strip: {strip}. Cloth: {case.cloth}, {format_mm(case.cloth_thickness_mm, 2)}. Grain {case.grain}."
        )
        told = wrapped(facts, 10.0, room_mm)
        self.lines = [
            *((line, 18.0, 8.0) for line in wrapped(title or "Untitled", 18.0, room_mm, most=2)),
            *((line, 10.0, 4.8 if count else 7.0) for count, line in enumerate(told)),
        ]
        self.check = wrapped(_CHECK, 10.0, room_mm - _BAR_MM - 10)
        self.height_mm = sum(step for _, _, step in self.lines) + 6 + max(12.0, 4.8 * len(self.check)) + 4

    def draw(self, board: Board, x: float, top: float) -> None:
        y = top
        for says, size, step in self.lines:
            y -= step
            board.words((x, y), says, size)
        y -= 6
        bar = y - 7.0
        board.line(TEXT, (x, bar), (x + _BAR_MM, bar), width_mm=0.35)
        for tenth in range(11):
            at = x + tenth * _BAR_MM / 10
            board.line(TEXT, (at, bar), (at, bar + (4 if tenth % 5 == 0 else 2)), width_mm=0.2)
        for at, says in ((0.0, "0"), (50.0, "50"), (100.0, "100 mm")):
            wide = board.width_mm(says, 9)
            board.words((x + (0.0 if at == 0 else at - wide / (2 if at == 50 else 1)), bar - 4), says, 9)
        for count, says in enumerate(self.check, start=1):
            board.words((x + _BAR_MM + 10, y - 4.8 * count + 1.4), says, 10)
