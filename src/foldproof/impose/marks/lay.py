# SPDX-License-Identifier: AGPL-3.0-or-later
"""Signs of the gripper edge and the side lay.

The sheet is fed against the gripper edge, at the foot of every side as drawn, and against one side lay: the press says
which side of the front.  It is the same edge of the paper on the back, so on a sheet turned side to side the sign
stands at the other side there (handbook imp-sheetwork-lay).  One plate that prints both sides of a sheet so turned has
one sign, at the lay of the first pass, and says so.  The side lay's sign is a short bar that runs out to the edge of
the paper: in the pile the bars stand one on another, and a sheet that missed the lay shows at once.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import ASIDE_PT
from foldproof.impose.marks.room import GAP_PT
from foldproof.impose.marks.view import EDGE_PT, SheetView, SideView
from foldproof.makeup.plan import Side
from foldproof.pdf.sheets_drawing import Block, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import mm_to_pt

_STEP_PT = mm_to_pt(4)
_BAR_PT = mm_to_pt(1)
_WORDS_PT = (6.0, 4.5)


def draw(sheet: SheetView) -> None:
    """Draw the signs of both sides."""
    for side in sheet.sides:
        _gripper(sheet, side)
        _side_lay(sheet, side)


def _gripper(sheet: SheetView, side: SideView) -> None:
    """A solid arrow head that points at the gripper edge, with the word beside it, just above the gripper margin."""
    font = mark_font()
    arrow = mm_to_pt(3)
    for text, size_pt in (*(("gripper edge", size_pt) for size_pt in _WORDS_PT), ("", 0.0)):
        wide = arrow + (2 + font.width_pt(text, size_pt) if text else 0)
        for x, y in _along(sheet.width_pt, wide, sheet.gripper_pt):
            box = Rect(x, y, x + wide, y + arrow * 0.8)
            if not side.room.free(box, ASIDE_PT):
                continue
            side.room.take(box)
            side.draw(Block(((x, box.y1), (x + arrow, box.y1), (x + arrow / 2, y))))
            if text:
                low = y + (box.height - CAP_HEIGHT * size_pt) / 2
                side.draw(Words(x + arrow + 2, low, text, size_pt))
            return


def _along(width_pt: float, wide: float, y: float) -> list[tuple[float, float]]:
    """Places along the gripper edge: from a sixth of it outwards and inwards."""
    wanted = width_pt / 6
    spots = []
    for count in range(int(width_pt / _STEP_PT)):
        for sign in (1, -1) if count else (1,):
            x = wanted + sign * count * _STEP_PT
            if x > EDGE_PT and x + wide < width_pt - EDGE_PT:
                spots.append((x, y))
    return spots


def _side_lay(sheet: SheetView, side: SideView) -> None:
    """A bar out to the edge of the paper, a quarter up the sheet from the gripper edge, with the word along it."""
    left = (sheet.lay == "left") == (side.side is Side.FRONT or sheet.head_to_tail)
    text = "side lay, first pass" if sheet.one_set and not sheet.head_to_tail else "side lay"
    room, font = side.room, mark_font()
    matter = room.matter
    margin = (matter.x0 if left else sheet.width_pt - matter.x1) - GAP_PT if matter else mm_to_pt(10)
    long = min(mm_to_pt(8), margin)
    if long < mm_to_pt(1.5):
        return
    start = sheet.gripper_pt + (sheet.height_pt - 2 * sheet.gripper_pt) / 4
    for count in range(int(sheet.height_pt / 2 / _STEP_PT)):
        y = start + count * _STEP_PT
        x0, x1 = (0.0, long) if left else (sheet.width_pt - long, sheet.width_pt)
        inside = Rect(max(x0, EDGE_PT), y, min(x1, sheet.width_pt - EDGE_PT), y + _BAR_PT)
        if inside.is_empty or not room.free(inside):
            continue
        room.take(inside)
        side.draw(Block.of(Rect(x0, y, x1, y + _BAR_PT)))
        low = y + _BAR_PT + 2
        for size_pt in _WORDS_PT:
            high = CAP_HEIGHT * size_pt
            column = Rect(EDGE_PT, low, EDGE_PT + high, low + font.width_pt(text, size_pt))
            if not left:
                column = column.moved(sheet.width_pt - 2 * EDGE_PT - high, 0)
            if room.free(column):
                room.take(column)
                side.draw(Words(column.x1, low, text, size_pt, turns=1))
                break
        return
