# SPDX-License-Identifier: AGPL-3.0-or-later
"""Trim marks: hairlines in line with the edges of every trim, off the page's matter.

At a crease where two pages meet nothing is cut, so no mark says so; the fold mark does.  Glued work is ground there:
the marks of its two ground edges stand on either side of the fold mark.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.room import GAP_PT, Room
from foldproof.impose.marks.view import SheetView, SideView
from foldproof.pdf.sheets_drawing import Line
from foldproof.units import mm_to_pt

_LONGEST_PT = mm_to_pt(5)
_SHORTEST_PT = mm_to_pt(0.6)
_TOUCH_PT = 0.05
_HALF_PT = 0.13  #: half the width of a mark's hairline


def draw(sheet: SheetView) -> None:
    """Draw the trim marks of both sides."""
    for side in sheet.sides:
        for place in side.places:
            _page(side, place.trim_pt, place.clip_pt, sheet.ground)


def _page(side: SideView, trim: Rect, clip: Rect, ground: bool) -> None:
    for x, edge_x, out_x in ((trim.x0, clip.x0, -1), (trim.x1, clip.x1, 1)):
        for y, edge_y, out_y in ((trim.y0, clip.y0, -1), (trim.y1, clip.y1, 1)):
            if (ground and abs(edge_x - x) > _TOUCH_PT) or not _meets_neighbour(side.room, clip, edge_x, out_x, 0):
                _ray(side, x, y, 0, out_y, abs(edge_y - y))
            if (ground and abs(edge_y - y) > _TOUCH_PT) or not _meets_neighbour(side.room, clip, edge_y, 0, out_y):
                _ray(side, x, y, out_x, 0, abs(edge_x - x))


def _meets_neighbour(room: Room, clip: Rect, edge: float, out_x: int, out_y: int) -> bool:
    """Whether another page's matter begins where this page's ends, with nothing between to cut away."""
    thin = 2 * _TOUCH_PT
    if out_x:
        beyond = Rect.from_corners(edge + out_x * thin, clip.y0 + thin, edge + out_x * 2 * thin, clip.y1 - thin)
    else:
        beyond = Rect.from_corners(clip.x0 + thin, edge + out_y * thin, clip.x1 - thin, edge + out_y * 2 * thin)
    return any(other.meets(beyond) for other in room.clips)


def _ray(side: SideView, x: float, y: float, dx: int, dy: int, to_clip: float) -> None:
    """From the corner of a trim outwards, from just off the matter."""
    start = to_clip + GAP_PT + _HALF_PT
    far, page = side.room.reach(x, y, dx, dy, to_clip, start + 2 * (_LONGEST_PT + GAP_PT))
    # a page on the far side has marks of its own: each takes half of the gap
    end = min(start + (far - GAP_PT - start) / 2 - GAP_PT / 4 if page else far - _HALF_PT, start + _LONGEST_PT)
    if end - start < _SHORTEST_PT:
        return
    x0, y0, x1, y1 = x + dx * start, y + dy * start, x + dx * end, y + dy * end
    box = Rect.from_corners(x0, y0, x1, y1).grown(_HALF_PT)
    if side.room.clear_of_pages(box):
        side.room.take(box)
        side.draw(Line(x0, y0, x1, y1))
