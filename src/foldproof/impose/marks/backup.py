# SPDX-License-Identifier: AGPL-3.0-or-later
"""Back-up crosses: the same point of the paper on both sides, so that a needle through one comes out of the other.

A plain cross with no ring, so that nobody takes it for a register target.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import ASIDE_PT, margins, nearest
from foldproof.impose.marks.view import SheetView
from foldproof.makeup.plan import Side
from foldproof.pdf.sheets_drawing import Line
from foldproof.units import mm_to_pt

_SIZES_PT = tuple(mm_to_pt(size) for size in (8, 6, 5, 4, 3))
_ENDS = (0.25, 0.75)


def draw(sheet: SheetView) -> None:
    """Draw up to four crosses on both sides: two at the left and two at the right, else at the top and bottom.

    A sheet printed on one side has none.  A plate that prints both sides carries each cross and its mate.
    """
    if any(sheet.seen_on(which).inks == () for which in Side):
        return

    def free_on_both(box: Rect) -> bool:
        behind = _behind(sheet, box)
        apart = not sheet.one_set or not box.grown(ASIDE_PT).meets(behind)
        return apart and sheet.front.room.free(box, ASIDE_PT) and sheet.back.room.free(behind, ASIDE_PT)

    found: list[tuple[float, float, float]] = []
    by_edge = {margin.edge: margin for margin in margins(sheet.front.room)}
    for pair in (("left", "right"), ("top", "bottom")):
        # of one plate the mates stand in the opposite margin, or at the other end of the same one
        opposite = sheet.one_set and (pair[0] == "left") != sheet.head_to_tail
        for edge in pair[:1] if opposite else pair:
            for along in (_ENDS[:1] if sheet.one_set and not opposite else _ENDS) if edge in by_edge else ():
                for size_pt in _SIZES_PT:
                    spot = nearest(by_edge[edge], size_pt, along, free_on_both)
                    if spot is not None:
                        found.append((*spot, size_pt))
                        _cross(sheet, *spot, size_pt)
                        break
        if len(found) >= 2:
            break


def _behind(sheet: SheetView, box: Rect) -> Rect:
    return Rect.from_corners(*sheet.on(Side.BACK, box.x0, box.y0), *sheet.on(Side.BACK, box.x1, box.y1))


def _cross(sheet: SheetView, x: float, y: float, size_pt: float) -> None:
    arm = size_pt / 2
    for which in Side:
        side = sheet.seen_on(which)
        cx, cy = sheet.on(which, x, y)
        side.draw(Line(cx - arm, cy, cx + arm, cy, 0.35), Line(cx, cy - arm, cx, cy + arm, 0.35))
        side.room.take(Rect(cx - arm, cy - arm, cx + arm, cy + arm))
