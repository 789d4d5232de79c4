# SPDX-License-Identifier: AGPL-3.0-or-later
"""How thin the thinnest line of a die is, and how narrow its narrowest space: measured on the ink that is painted.

A place is too thin for a length ``d`` when a disc of that diameter cannot reach it: what a morphological opening takes
away (J. Serra, Image Analysis and Mathematical Morphology, 1982; from memory).  An opening also rounds every corner,
and a corner is no line.  So of what it takes away counts

- what lies by itself (a dot, a rule, a speck),
- what joins two parts (a neck, the bar of an e),
- what ends in nothing, when it is longer than :data:`_END_LINE` radii for ink and :data:`_END_SPACE` for space: a
  corner of 29 or of 14 degrees and more is shorter than that.

Spaces are lines of the ground.  First all is looked at coarsely (:data:`_COARSE` pixels to the limit, and a little more
asked than the limit), then the worst places finely (:data:`_FINE` pixels to the limit): straight lines come out to a
pixel and a half, 0.01 mm for a limit of 0.2 mm.  A short neck between two round shapes counts when it is narrower than
the limit by more than the disc shows (0.02 mm between circles of 2 mm radius).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, hypot

import numpy as np
import numpy.typing as npt
from attrs import frozen

from foldproof.geometry import Rect
from foldproof.pdf.die_raster import Mask, Painted, painted
from foldproof.pdf.die_shapes import Shape, bounds
from foldproof.units import mm_to_pt, pt_to_mm

#: how long a thin end must be, in radii of the disc; 1 / sin of half of a corner's angle is what that corner takes
_END_LINE, _END_SPACE = 4.0, 8.0
#: pixels to the limit, coarse and fine; what more is asked when looking coarsely
_COARSE, _FINE, _MORE = 12, 30, 1.15
#: side of what is looked at in one go, pixels; places that are looked at finely
_TILE, _MOST_PLACES = 1000, 5
#: more pixels than this taken away in one go are no corners
_MASS = 60_000
#: a little more than the opening: what is left of a curve's staircase by its own disc
_SLACK = 1.5
#: farther than any tile is high
_FAR = 9999
#: how wrong a width may be, pixels: half of one at either edge, and half for the middle
_PIXELS = 1.5
#: the finest raster, pixels a millimetre
_MOST_PER_MM = 400.0


@frozen
class Thin:
    """The thinnest place found: its width, and where its middle is (die's frame, mm)."""

    width_mm: float
    at_mm: tuple[float, float]


def thinnest_line(shapes: tuple[Shape, ...], limit_mm: float) -> Thin | None:
    """The thinnest line of ink narrower than ``limit_mm``; ``None``: there is none."""
    return _thinnest(shapes, limit_mm, ground=False)


def narrowest_space(shapes: tuple[Shape, ...], limit_mm: float) -> Thin | None:
    """The narrowest space between ink narrower than ``limit_mm``; ``None``: there is none."""
    return _thinnest(shapes, limit_mm, ground=True)


def _thinnest(shapes: tuple[Shape, ...], limit_mm: float, *, ground: bool) -> Thin | None:
    box = bounds(shapes)
    if box is None:
        return None
    box = box.grown(mm_to_pt(2 * limit_mm))
    end = _END_SPACE if ground else _END_LINE
    with painted(shapes, box) as page:
        coarse = min(_COARSE / limit_mm, _MOST_PER_MM / 4)
        places = _places(page, box, coarse, limit_mm * _MORE, end, ground)
        found: Thin | None = None
        for place in sorted(places, key=lambda spot: (spot.width, spot.x, spot.y))[:_MOST_PLACES]:
            if found is not None and found.width_mm < place.width / coarse - limit_mm * 0.15:
                break  # coarse widths are right to a pixel and a half: no later place is thinner
            seen = _finely(page, place, coarse, limit_mm, end, ground)
            if seen is not None and (found is None or seen.width_mm < found.width_mm):
                found = seen
    return found


@frozen
class _Spot:
    """A place that looks too thin; width in pixels of the coarse raster, place in points."""

    width: float
    x: float
    y: float


def _places(page: Painted, box: Rect, per_mm: float, wanted_mm: float, end: float, ground: bool) -> Iterator[_Spot]:
    """Places of the whole that look too thin, tile after tile."""
    wanted = wanted_mm * per_mm
    scale = per_mm * pt_to_mm(1)  # pixels a point
    edge = ceil(wanted * (1 + end)) + 2
    step = _TILE / scale
    across, down = ceil(box.width / step), ceil(box.height / step)
    around = edge / scale
    for down_by in range(down):
        for column in range(across):
            x0, y1 = box.x0 + column * step, box.y1 - down_by * step
            core = Rect(x0, max(y1 - step, box.y0), min(x0 + step, box.x1), y1)
            window = core.grown(around)
            ink = page.ink(window, scale)
            if not ink.any() or (ground and ink.all()):
                continue
            rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
            # ground farther from ink than that is wide
            left, top = max(0, int(columns[0]) - edge), max(0, int(rows[0]) - edge)
            ink = ink[top : rows[-1] + edge, left : columns[-1] + edge]
            for thin in _Looked(~ink if ground else ink, ceil(wanted / 2) + 1, ground).thin(wanted, end):
                x, y = window.x0 + (left + thin.x) / scale, window.y1 - (top + thin.y) / scale
                if core.x0 <= x <= core.x1 and core.y0 <= y <= core.y1:
                    yield _Spot(thin.width, x, y)


def _finely(page: Painted, spot: _Spot, coarse: float, limit_mm: float, end: float, ground: bool) -> Thin | None:
    """The width at one place, or ``None`` where it holds the limit after all."""
    per_mm = min(_FINE / limit_mm, _MOST_PER_MM)
    scale = per_mm * pt_to_mm(1)
    limit = limit_mm * per_mm
    reach = mm_to_pt((end + 1.5) * limit_mm)
    window = Rect(spot.x - reach, spot.y - reach, spot.x + reach, spot.y + reach)
    mask = page.ink(window, scale)
    # only what lies about the middle: the edge of the window cuts lines
    near = mm_to_pt(1.5 * limit_mm) * scale

    looked = _Looked(~mask if ground else mask, ceil(limit / 2) + 1, ground)
    middle_x, middle_y = mask.shape[1] / 2, mask.shape[0] / 2

    def here(width: float) -> _Blob | None:
        blobs = [b for b in looked.thin(width, end) if b.away(middle_x, middle_y) <= near]
        return min(blobs, key=lambda b: b.away(middle_x, middle_y)) if blobs else None

    # a line that is as wide as the limit, give or take what a raster shows, holds it
    high = limit - _PIXELS
    blob = here(high)
    if blob is None:
        return None
    low = 0.0
    while high - low > 0.3:
        middle = (low + high) / 2
        low, high = (middle, high) if here(middle) is None else (low, middle)
    x, y = window.x0 + blob.x / scale, window.y1 - blob.y / scale
    # a disc that just goes through is counted from the middle of a pixel: up to one too much, none too little
    return Thin(round(max(0.0, low - 0.35) / per_mm, 3), (pt_to_mm(x), pt_to_mm(y)))


# --- on a mask ------------------------------------------------------------------------------------------------------


@frozen
class _Blob:
    """One piece of what an opening takes away and that is no corner; pixels, first row at the head."""

    x: float  #: the pixel of it that is nearest to its middle
    y: float
    x0: float
    y0: float
    x1: float
    y1: float
    width: float  #: twice the greatest distance to the edge in it

    def away(self, x: float, y: float) -> float:
        """How far a point lies from its bounds."""
        return hypot(max(self.x0 - x, 0, x - self.x1), max(self.y0 - y, 0, y - self.y1))


class _Looked:
    """A picture of ink (of ground), and how far each of its pixels lies from the edge, up to ``most`` pixels."""

    def __init__(self, mask: Mask, most: int, ground: bool) -> None:
        self.mask, self.squared = mask, _squared_distance(mask, most, outside=ground)

    def thin(self, wanted: float, end: float) -> list[_Blob]:
        """Pieces that a disc of diameter ``wanted``, at most twice ``most``, does not reach, corners left aside."""
        mask, radius = self.mask, wanted / 2
        core = self.squared >= radius * radius
        if not (mask & ~core).any():
            return []
        opened = _reach(core, mask, radius + _SLACK)
        rest = mask & ~opened
        return list(_pieces(rest, opened, (end - 1) * radius - _SLACK, self.squared)) if rest.any() else []


Whole = npt.NDArray[np.int16]


def _squared_distance(mask: Mask, most: int, *, outside: bool) -> Whole:
    """Square of the distance from each pixel of ``mask`` to the nearest that is not; exact up to ``most`` pixels.

    Columns first, then rows (P. Felzenszwalb and D. Huttenlocher, Distance Transforms of Sampled Functions, 2012; from
    memory), with the parabolas tried one after the other, as few of them count.

    Args:
        outside: whether what lies beyond the picture counts as mask.
    """
    rows, wide = mask.shape
    index = np.arange(rows, dtype=np.int16)[:, None]
    none_above, none_below = (-_FAR, rows + _FAR) if outside else (-1, rows)
    above = np.maximum.accumulate(np.where(mask, np.int16(none_above), index), axis=0)
    below = np.minimum.accumulate(np.where(mask, np.int16(none_below), index)[::-1], axis=0)[::-1]
    near = np.minimum(np.minimum(index - above, below - index), np.int16(most))
    squared: Whole = near * near
    best = squared.copy()
    shifted = np.empty_like(squared)
    for away in range(1, min(most, wide - 1) + 1):
        np.add(squared, np.int16(away * away), out=shifted)
        np.minimum(best[:, away:], shifted[:, :-away], out=best[:, away:])
        np.minimum(best[:, :-away], shifted[:, away:], out=best[:, :-away])
    if not outside:
        side = np.minimum(np.arange(1, wide + 1), np.arange(wide, 0, -1)).clip(max=most).astype(np.int16)
        np.minimum(best, side * side, out=best)
    return best


def _reach(start: Mask, mask: Mask, length: float) -> Mask:
    """What can be reached from ``start`` inside ``mask`` in steps of a pixel, ``length`` of them long.

    Steps to four and to eight neighbours take turns: an octagon round the circle, 12 per cent more at its corners.
    """
    reached = start.copy()
    for step in range(ceil(length)):
        grown = reached.copy()
        grown[1:] |= reached[:-1]
        grown[:-1] |= reached[1:]
        side = grown.copy() if step % 2 else reached
        grown[:, 1:] |= side[:, :-1]
        grown[:, :-1] |= side[:, 1:]
        grown &= mask
        reached = grown
    return reached


Pixel = tuple[int, int]


def _pieces(rest: Mask, opened: Mask, end: float, squared: Whole) -> Iterator[_Blob]:
    """The connected pieces of ``rest`` that are no corners: alone, joined twice, or longer than ``end``."""
    ys, xs = np.nonzero(rest)
    if len(xs) > _MASS:
        width = 2 * float(squared[rest].max()) ** 0.5
        middle = len(xs) // 2
        yield _Blob(float(xs[middle]), float(ys[middle]), xs.min(), ys.min(), xs.max(), ys.max(), width)
        return
    left: set[Pixel] = set(zip(xs.tolist(), ys.tolist(), strict=True))
    high, wide = rest.shape
    while left:
        piece, touched, begins = _piece(left, opened, wide, high)
        if touched and _groups(touched) < 2 and _depth(piece, begins) <= end:
            continue
        mx, my = sum(x for x, _ in piece) / len(piece), sum(y for _, y in piece) / len(piece)
        # of a ring the middle is not in it
        x, y = min(piece, key=lambda at: ((at[0] - mx) ** 2 + (at[1] - my) ** 2, at))
        px, py = [x for x, _ in piece], [y for _, y in piece]
        width = 2 * float(max(squared[b, a] for a, b in piece)) ** 0.5
        yield _Blob(float(x), float(y), min(px), min(py), max(px), max(py), width)


def _piece(left: set[Pixel], opened: Mask, wide: int, high: int) -> tuple[set[Pixel], set[Pixel], set[Pixel]]:
    """Take one connected piece out of ``left``: its pixels, those of ``opened`` beside it, its own beside those."""
    first = left.pop()
    piece, todo = {first}, [first]
    touched: set[Pixel] = set()
    begins: set[Pixel] = set()
    while todo:
        x, y = here = todo.pop()
        for dx, dy in _AROUND:
            there = (x + dx, y + dy)
            if there in left:
                left.remove(there)
                piece.add(there)
                todo.append(there)
            elif 0 <= there[0] < wide and 0 <= there[1] < high and opened[there[1], there[0]]:
                touched.add(there)
                begins.add(here)
    return piece, touched, begins


def _depth(piece: set[Pixel], begins: set[Pixel]) -> int:
    """How far the farthest pixel of a piece lies from where it begins, in the steps of :func:`_reach`."""
    left, edge, depth = piece - begins, set(begins), 0
    while left:
        around = _AROUND if depth % 2 else _BESIDE
        fresh = {there for x, y in edge for dx, dy in around if (there := (x + dx, y + dy)) in left}
        # a step to four neighbours leaves the corners to the next
        edge = fresh | edge if around is _BESIDE else fresh
        left -= fresh
        depth += 1
    return depth


_AROUND = tuple((x, y) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y)
_BESIDE = ((1, 0), (-1, 0), (0, 1), (0, -1))


def _groups(points: set[tuple[int, int]], gap: int = 2) -> int:
    """How many groups there are of points, those within ``gap`` of one another in one."""
    left, count = set(points), 0
    near = [(x, y) for x in range(-gap, gap + 1) for y in range(-gap, gap + 1)]
    while left:
        count += 1
        todo = [left.pop()]
        while todo:
            x, y = todo.pop()
            for dx, dy in near:
                there = (x + dx, y + dy)
                if there in left:
                    left.remove(there)
                    todo.append(there)
    return count
