# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where marks may stand on one side of a sheet.

Frame: *side*, points.  A mark may stand on paper that the press can print (:attr:`Room.printable`), off every page's
matter (:attr:`Room.clips`) and off the marks already drawn.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import define, field

from foldproof.geometry import Rect
from foldproof.units import mm_to_pt

#: white kept between a mark and the matter of a page: a hairline's own width and a pixel of a proof at 72 dpi
GAP_PT = mm_to_pt(0.4)
#: less than any rule is wide, more than sums of points are out
_NOISE_PT = 1e-3


@define
class Room:
    """What is free on a side; filled up mark by mark."""

    printable: Rect
    clips: tuple[Rect, ...]
    taken: list[Rect] = field(factory=list)

    def copy(self) -> Room:
        return Room(self.printable, self.clips, list(self.taken))

    def clear_of_pages(self, box: Rect) -> bool:
        """Whether a mark in ``box`` would lie on printable paper and off every page's matter."""
        wide = box.grown(GAP_PT - _NOISE_PT)
        return self.printable.holds(box, 1e-6) and not any(wide.meets(clip) for clip in self.clips)

    def free(self, box: Rect, gap_pt: float = GAP_PT) -> bool:
        """As :meth:`clear_of_pages`, and off the other marks, ``gap_pt`` away."""
        wide = box.grown(gap_pt)
        return self.clear_of_pages(box) and not any(wide.meets(other) for other in self.taken)

    def take(self, box: Rect) -> None:
        self.taken.append(box)

    def reach(self, x: float, y: float, dx: int, dy: int, start: float, longest: float) -> tuple[float, bool]:
        """How far a hairline from ``(x, y)`` towards ``(dx, dy)`` may run before it meets a page or unprintable paper.

        Returns:
            the distance from the point, at most ``longest``, and whether a page stopped it
        """
        far, page = longest, False
        low, high = (x, y), (x + dx * longest, y + dy * longest)
        swept = Rect.from_corners(*low, *high).grown(GAP_PT)
        for clip in self.clips:
            if swept.meets(clip):
                stop = _distance(clip, x, y, dx, dy)
                if start - 1e-6 <= stop < far:
                    far, page = stop, True
        edge = _edge(self.printable, x, y, dx, dy)
        return (edge, False) if edge < far else (far, page)

    def to_mark(self, x: float, y: float, dx: int, dy: int, longest: float) -> float:
        """How far a hairline from ``(x, y)`` towards ``(dx, dy)`` may run before it meets a mark, at most ``longest``.

        Nought where a mark already lies on the point.
        """
        swept = Rect.from_corners(x, y, x + dx * longest, y + dy * longest).grown(GAP_PT)
        stops = [_distance(mark, x, y, dx, dy) for mark in self.taken if swept.meets(mark)]
        return max(0.0, min([longest, *(stop - GAP_PT for stop in stops)]))

    def gaps(self, band: Rect, upright: bool) -> list[tuple[float, float]]:
        """The free stretches of a band: along y when it stands ``upright``, else along x; longest first."""
        if not self.printable.holds(band, 1e-6):
            return []
        wide = band.grown(GAP_PT)
        blocked = sorted(
            (box.y0, box.y1) if upright else (box.x0, box.x1)
            for box in (*self.clips, *self.taken)
            if (box.x0 < wide.x1 and wide.x0 < box.x1 if upright else box.y0 < wide.y1 and wide.y0 < box.y1)
        )
        at, end = (band.y0, band.y1) if upright else (band.x0, band.x1)
        out: list[tuple[float, float]] = []
        for low, high in blocked:
            if low - GAP_PT > at:
                out.append((at, min(low - GAP_PT, end)))
            at = max(at, high + GAP_PT)
        if end > at:
            out.append((at, end))
        return sorted(out, key=lambda gap: (gap[0] - gap[1], gap[0]))

    @property
    def matter(self) -> Rect | None:
        """The box round all pages' matter."""
        if not self.clips:
            return None
        return around(self.clips)


def around(boxes: Iterable[Rect]) -> Rect:
    """The upright box round all of ``boxes`` (at least one)."""
    given = list(boxes)
    return Rect(min(b.x0 for b in given), min(b.y0 for b in given), max(b.x1 for b in given), max(b.y1 for b in given))


def _distance(box: Rect, x: float, y: float, dx: int, dy: int) -> float:
    """From a point along an axis to the near edge of a box."""
    if dx:
        return (box.x0 - x) if dx > 0 else (x - box.x1)
    return (box.y0 - y) if dy > 0 else (y - box.y1)


def _edge(box: Rect, x: float, y: float, dx: int, dy: int) -> float:
    """From a point along an axis to the far edge of a box that holds it."""
    if dx:
        return (box.x1 - x) if dx > 0 else (x - box.x0)
    return (box.y1 - y) if dy > 0 else (y - box.y0)
