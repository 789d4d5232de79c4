# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fold marks: dashed hairlines at both ends of every crease, outside the section, with the name of the fold.

The first fold has the longest dashes, every later one shorter ones; the words say the same ("fold 2"; the
number alone where there is no room for more).
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.lettering import name_beside
from foldproof.impose.marks.room import GAP_PT
from foldproof.impose.marks.view import SheetLine, SheetView, SideView
from foldproof.pdf.sheets_drawing import Line
from foldproof.units import mm_to_pt

_LONGEST_PT = mm_to_pt(7)
_SHORTEST_PT = mm_to_pt(1.2)
#: into the section's own margin: its knives' trim
_INWARD_PT = mm_to_pt(6)
_DASHES = ((4.0, 1.2), (2.6, 1.2), (1.6, 1.2), (0.9, 0.9), (0.5, 0.7))
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


def _end(side: SideView, line: SheetLine, x: float, y: float, dx: int, dy: int) -> None:
    """One end of a crease: from the pages' matter, or a little inside the section, outwards over its edge."""
    inward, page = side.room.reach(x, y, -dx, -dy, 0.0, _INWARD_PT)
    start = -(inward - GAP_PT - _HALF_PT) if page else -min(inward, mm_to_pt(2))
    far, page = side.room.reach(x, y, dx, dy, 0.0, _LONGEST_PT)
    end = far / 2 - GAP_PT if page else far - _HALF_PT
    # a slit between two sections would show the same crease twice; a centre mark may stand on the line farther out
    end = start + side.room.to_mark(x + dx * start, y + dy * start, dx, dy, max(0.0, end - start) + _HALF_PT) - _HALF_PT
    if end - start < _SHORTEST_PT:
        return
    x0, y0, x1, y1 = x + dx * start, y + dy * start, x + dx * end, y + dy * end
    box = Rect.from_corners(x0, y0, x1, y1).grown(_HALF_PT)
    if not side.room.clear_of_pages(box) or any(box.meets(other) for other in side.room.taken):
        return
    side.room.take(box)
    dash = _DASHES[min(line.order, len(_DASHES)) - 1]
    side.draw(Line(x0, y0, x1, y1, width_pt=0.3, dash=dash))
    name_beside(side, (f"fold {line.order}", str(line.order)), (x1, y1), (dx, dy))
