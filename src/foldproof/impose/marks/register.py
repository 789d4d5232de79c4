# SPDX-License-Identifier: AGPL-3.0-or-later
"""Register targets in every plate: a cross through a ring, one near the middle of each margin that has room."""

from __future__ import annotations

from functools import partial

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import ASIDE_PT, margins, nearest
from foldproof.impose.marks.view import SheetView, SideView
from foldproof.pdf.sheets_drawing import Line, Ring
from foldproof.units import mm_to_pt

#: width of the whole target, the largest that fits
SIZES_PT = tuple(mm_to_pt(size) for size in (10, 8, 6, 5, 4))


def draw(sheet: SheetView) -> None:
    """Draw the targets of both sides."""
    for side in sheet.sides:
        for margin in margins(side.room):
            for size_pt in SIZES_PT:
                found = nearest(margin, size_pt, 0.5, partial(side.room.free, gap_pt=ASIDE_PT))
                if found is not None:
                    _target(side, *found, size_pt)
                    break


def _target(side: SideView, x: float, y: float, size_pt: float) -> None:
    arm = size_pt / 2
    side.draw(
        Line(x - arm, y, x + arm, y),
        Line(x, y - arm, x, y + arm),
        Ring(x, y, arm * 0.6),
        Ring(x, y, arm * 0.12, filled=True),
    )
    side.room.take(Rect(x - arm, y - arm, x + arm, y + arm))
