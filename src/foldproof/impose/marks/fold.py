# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fold marks: dashed hairlines at both ends of every crease, outside the section, with the name of the fold.

The first fold has the longest dashes, every later one shorter ones; the words say the same ("fold 2"; the
number alone where there is no room for more).
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.room import GAP_PT
from foldproof.impose.marks.view import FoldLine, SheetView, SideView
from foldproof.pdf.sheets_drawing import Ink, Line, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import mm_to_pt

_LONGEST_PT = mm_to_pt(7)
_SHORTEST_PT = mm_to_pt(1.2)
#: into the section's own margin: its knives' trim
_INWARD_PT = mm_to_pt(6)
_DASHES = ((4.0, 1.2), (2.6, 1.2), (1.6, 1.2), (0.9, 0.9), (0.5, 0.7))
_WORD_PT = 4.5
_HALF_PT = 0.16  #: half the width of a mark's hairline


def draw(sheet: SheetView) -> None:
    """Draw the fold marks of both sides."""
    for side in sheet.sides:
        for line in sheet.folds:
            outward = ((0, -1), (0, 1)) if line.upright else ((-1, 0), (1, 0))
            ends = sorted([(line.x0, line.y0), (line.x1, line.y1)])
            for (x, y), (dx, dy) in zip(ends, outward, strict=True):
                ax, ay = sheet.on(side.side, x, y)
                bx, by = sheet.on(side.side, x + dx, y + dy)
                _end(side, line, ax, ay, round(bx - ax), round(by - ay))


def _end(side: SideView, line: FoldLine, x: float, y: float, dx: int, dy: int) -> None:
    """One end of a crease: from the pages' matter, or a little inside the section, outwards over its edge."""
    inward, page = side.room.reach(x, y, -dx, -dy, 0.0, _INWARD_PT)
    start = -(inward - GAP_PT - _HALF_PT) if page else -min(inward, mm_to_pt(2))
    far, page = side.room.reach(x, y, dx, dy, 0.0, _LONGEST_PT)
    end = far / 2 - GAP_PT if page else far - _HALF_PT
    if end - start < _SHORTEST_PT:
        return
    x0, y0, x1, y1 = x + dx * start, y + dy * start, x + dx * end, y + dy * end
    box = Rect.from_corners(x0, y0, x1, y1).grown(_HALF_PT)
    # a slit between two sections would show the same crease twice
    if not side.room.clear_of_pages(box) or any(box.meets(other) for other in side.room.taken):
        return
    side.room.take(box)
    dash = _DASHES[min(line.order, len(_DASHES)) - 1]
    side.draw(Line(x0, y0, x1, y1, width_pt=0.3, dash=dash))
    _named(side, line.order, x1, y1, dx, dy)


def _named(side: SideView, order: int, x: float, y: float, dx: int, dy: int) -> None:
    """Which fold it is, beside the outer end of its mark: in words where they have room, else its number alone."""
    high, off = CAP_HEIGHT * _WORD_PT, 1.0
    for text in (f"fold {order}", str(order)):
        wide = mark_font().width_pt(text, _WORD_PT)
        if dy:
            low = y - high if dy > 0 else y
            spots = [(x + off, low), (x - off - wide, low)]
        else:
            left = x - wide if dx > 0 else x
            spots = [(left, y + off), (left, y - off - high)]
        for left, low in spots:
            box = Rect(left, low, left + wide, low + high)
            if side.room.free(box, 0.3):
                side.room.take(box)
                side.draw(Words(left, low, text, _WORD_PT, ink=Ink.EVERY_PLATE))
                return
