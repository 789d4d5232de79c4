# SPDX-License-Identifier: AGPL-3.0-or-later
"""The four margins of a side, between the pages' matter and the edge of the printable paper."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.impose.marks.room import GAP_PT, Room
from foldproof.units import mm_to_pt

_STEP_PT = mm_to_pt(2)
_BAND_PT = 2.0
_CLEAR_PT = mm_to_pt(8.5)
#: white round a target or a cross, so that it is not read together with another mark
ASIDE_PT = mm_to_pt(1.5)


@frozen
class Margin:
    """One margin; side frame, points."""

    edge: str  #: ``"left"``, ``"right"``, ``"top"``, ``"bottom"``
    box: Rect

    @property
    def upright(self) -> bool:
        return self.edge in ("left", "right")


def margins(room: Room) -> tuple[Margin, ...]:
    """Left, right, top and bottom margin, those that are any."""
    paper, matter = room.printable, room.matter
    if matter is None:
        return ()
    four = (
        Margin("left", Rect(paper.x0, paper.y0, matter.x0 - GAP_PT, paper.y1)),
        Margin("right", Rect(matter.x1 + GAP_PT, paper.y0, paper.x1, paper.y1)),
        Margin("top", Rect(paper.x0, matter.y1 + GAP_PT, paper.x1, paper.y1)),
        Margin("bottom", Rect(paper.x0, paper.y0, paper.x1, matter.y0 - GAP_PT)),
    )
    return tuple(margin for margin in four if not margin.box.is_empty)


def bands(margin: Margin, high_pt: float) -> list[Rect]:
    """Strips of a margin along its edge, ``high_pt`` across it, from the pages towards the paper's edge.

    Those beyond the ends of the trim marks come first, where the margin is broad enough.
    """
    box = margin.box
    across = box.width if margin.upright else box.height
    count = int((across - high_pt) / _BAND_PT) + 1 if across >= high_pt else 0
    offs = sorted((number * _BAND_PT for number in range(count)), key=lambda off: (off < _CLEAR_PT, off))
    match margin.edge:
        case "top":
            return [Rect(box.x0, box.y0 + off, box.x1, box.y0 + off + high_pt) for off in offs]
        case "bottom":
            return [Rect(box.x0, box.y1 - off - high_pt, box.x1, box.y1 - off) for off in offs]
        case "left":
            return [Rect(box.x1 - off - high_pt, box.y0, box.x1 - off, box.y1) for off in offs]
    return [Rect(box.x0 + off, box.y0, box.x0 + off + high_pt, box.y1) for off in offs]


def nearest(margin: Margin, size_pt: float, along: float, free: Callable[[Rect], bool]) -> tuple[float, float] | None:
    """The centre of the free square of ``size_pt`` nearest to a place along a margin, in its middle across.

    Args:
        along: 0 at the lower or left end, 1 at the other.
    """
    box, arm = margin.box, size_pt / 2
    if (box.width if margin.upright else box.height) < size_pt:
        return None
    # near the paper's edge rather than the pages where the margin is broad
    across = max(size_pt, min(box.width if margin.upright else box.height, 2 * size_pt)) / 2
    low, high = (box.y0, box.y1) if margin.upright else (box.x0, box.x1)
    wanted = low + along * (high - low)
    for count in range(int((high - low) / _STEP_PT) + 1):
        for sign in (1, -1) if count else (1,):
            at = wanted + sign * count * _STEP_PT
            match margin.edge:
                case "left":
                    x, y = box.x0 + across, at
                case "right":
                    x, y = box.x1 - across, at
                case "top":
                    x, y = at, box.y1 - across
                case _:
                    x, y = at, box.y0 + across
            if low + arm <= at <= high - arm and free(Rect(x - arm, y - arm, x + arm, y + arm)):
                return x, y
    return None
