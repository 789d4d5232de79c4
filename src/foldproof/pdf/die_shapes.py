# SPDX-License-Identifier: AGPL-3.0-or-later
"""Outlines of which a die is made, as frozen data: what lettering and emblem become, what is written and measured.

A path keeps the frame it was drawn in and the matrix from there to the die's frame (points, lower left of the open
case, y up), so that a pen keeps the width that its path gave it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from attrs import evolve, field, frozen

from foldproof.geometry import Matrix, Rect
from foldproof.pdf.sheets_drawing import number, numbers

#: ``("m", x, y)``, ``("l", x, y)``, ``("c", x1, y1, x2, y2, x, y)``, ``("h",)``: the operators of a PDF content stream
#: (ISO 32000-1, 8.5.2)
Step = tuple[str | float, ...]


@frozen
class Outline:
    """A path, and what takes it to the die's frame."""

    steps: tuple[Step, ...]
    matrix: Matrix = field(factory=Matrix)
    even_odd: bool = False


@frozen
class Pen:
    """How a path is stroked; lengths in the frame of the path (ISO 32000-1, 8.4.3)."""

    width: float
    cap: int = 0
    join: int = 0
    miter: float = 10.0
    dash: tuple[float, ...] = ()
    phase: float = 0.0


@frozen
class Shape:
    """One thing that is painted: filled, or stroked where it has a pen; seen only inside all of its clips."""

    outline: Outline
    pen: Pen | None = None
    clips: tuple[Outline, ...] = ()

    @property
    def line_pt(self) -> float | None:
        """Thickness of a stroke in the die's frame, at the smaller scale where the two differ; ``None`` for a fill."""
        return None if self.pen is None else self.pen.width * _smaller_scale(self.outline.matrix)


def moved(shapes: Iterable[Shape], by: Matrix) -> tuple[Shape, ...]:
    """The same shapes, taken through a further matrix."""
    return tuple(
        evolve(
            shape,
            outline=_through(shape.outline, by),
            clips=tuple(_through(clip, by) for clip in shape.clips),
        )
        for shape in shapes
    )


def _through(outline: Outline, by: Matrix) -> Outline:
    return evolve(outline, matrix=outline.matrix.then(by))


def bounds(shapes: Iterable[Shape]) -> Rect | None:
    """The smallest upright rectangle round all ink, curves measured at their turning points; ``None`` for nothing.

    A stroke counts with half its width on every side, what a mitre adds left aside; a clip with its own rectangle.
    """
    found: Rect | None = None
    for shape in shapes:
        box = _outline_box(shape.outline)
        if box is None:
            continue
        if shape.pen is not None:
            box = box.grown(shape.pen.width / 2 * max(shape.outline.matrix.lengths()))
        for clip in shape.clips:
            inner = _outline_box(clip)
            box = None if box is None or inner is None else _common(box, inner)
        if box is not None:
            found = box if found is None else _both(found, box)
    return found


def _both(a: Rect, b: Rect) -> Rect:
    return Rect(min(a.x0, b.x0), min(a.y0, b.y0), max(a.x1, b.x1), max(a.y1, b.y1))


def _common(a: Rect, b: Rect) -> Rect | None:
    # a level or upright line has no area and is seen all the same
    x0, y0, x1, y1 = max(a.x0, b.x0), max(a.y0, b.y0), min(a.x1, b.x1), min(a.y1, b.y1)
    return Rect(x0, y0, x1, y1) if x0 <= x1 and y0 <= y1 else None


def _outline_box(outline: Outline) -> Rect | None:
    points = list(_turning_points(outline))
    if not points:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Rect(min(xs), min(ys), max(xs), max(ys))


def _turning_points(outline: Outline) -> Iterator[tuple[float, float]]:
    """Ends of all segments, and the places where a curve turns back in x or in y, in the die's frame."""
    at = outline.matrix.point
    here = (0.0, 0.0)
    for _, *given in outline.steps:
        flat = [float(value) for value in given]
        points = [at(flat[i], flat[i + 1]) for i in range(0, len(flat), 2)]
        if len(points) == 3:
            yield from _bends(here, *points)
        if points:
            here = points[-1]
            yield here


Point = tuple[float, float]


def _bends(p0: Point, p1: Point, p2: Point, p3: Point) -> Iterator[Point]:
    """Where a cubic Bézier's derivative has no x or no y."""
    for axis in (0, 1):
        a, b, c, d = p0[axis], p1[axis], p2[axis], p3[axis]
        # B'(t) / 3 = (b - a) + 2 t (c - 2 b + a) + t2 (d - 3 c + 3 b - a)
        k0, k1, k2 = b - a, 2 * (c - 2 * b + a), d - 3 * c + 3 * b - a
        for t in _roots(k2, k1, k0):
            if 0 < t < 1:
                s = 1 - t
                weights = (s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t)
                yield (
                    sum(w * p[0] for w, p in zip(weights, (p0, p1, p2, p3), strict=True)),
                    sum(w * p[1] for w, p in zip(weights, (p0, p1, p2, p3), strict=True)),
                )


def _roots(a: float, b: float, c: float) -> Iterator[float]:
    if abs(a) < 1e-12:
        if abs(b) > 1e-12:
            yield -c / b
        return
    under = b * b - 4 * a * c
    if under >= 0:
        root = math.sqrt(under)
        yield (-b + root) / (2 * a)
        yield (-b - root) / (2 * a)


def _smaller_scale(m: Matrix) -> float:
    """The smaller singular value: half of the difference of two hypotenuses."""
    return abs(math.hypot(m.a + m.d, m.b - m.c) - math.hypot(m.a - m.d, m.b + m.c)) / 2


def content(shapes: Iterable[Shape]) -> str:
    """The operators that paint ``shapes`` in the colour that is set (ISO 32000-1, 8.5)."""
    return "\n".join(_shape(shape) for shape in shapes)


def _shape(shape: Shape) -> str:
    out = ["q"]
    for clip in shape.clips:
        out.append(f"{_flat(clip)} {'W*' if clip.even_odd else 'W'} n")
    pen, outline = shape.pen, shape.outline
    if pen is None:
        out.append(f"{_flat(outline)} {'f*' if outline.even_odd else 'f'}")
    else:
        out.append(f"{numbers(*outline.matrix.as_tuple())} cm")
        out.append(f"{number(pen.width)} w {pen.cap} J {pen.join} j {number(max(1.0, pen.miter))} M")
        out.append(f"[{numbers(*pen.dash)}] {number(pen.phase)} d")
        out.append(f"{_path(outline.steps, Matrix())} S")
    out.append("Q")
    return " ".join(out)


def _flat(outline: Outline) -> str:
    return _path(outline.steps, outline.matrix)


def _path(steps: Iterable[Step], matrix: Matrix) -> str:
    out: list[str] = []
    for operator, *given in steps:
        flat = [float(value) for value in given]
        for i in range(0, len(flat), 2):
            out.append(numbers(*matrix.point(flat[i], flat[i + 1])))
        out.append(str(operator))
    return " ".join(out)
