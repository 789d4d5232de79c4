# SPDX-License-Identifier: AGPL-3.0-or-later
"""Rectangles and affine maps.

No module here knows a frame: whoever holds a :class:`Rect` or :class:`Matrix` says which one it lives in.  The proof
does not import this module; it has a reckoning of its own.
"""

from __future__ import annotations

import math

from attrs import frozen


@frozen
class Rect:
    """An upright rectangle, corners in order: ``x0 <= x1`` and ``y0 <= y1``, y up."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def from_corners(cls, ax: float, ay: float, bx: float, by: float) -> Rect:
        """From any two opposite corners (ISO 32000-1, 7.9.5: readers shall put swapped corners right)."""
        return cls(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0

    @property
    def centre(self) -> tuple[float, float]:
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    @property
    def is_empty(self) -> bool:
        return self.width <= 0 or self.height <= 0

    def grown(self, by: float) -> Rect:
        """The same rectangle, ``by`` wider on each of the four sides."""
        return Rect(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def moved(self, dx: float, dy: float) -> Rect:
        return Rect(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def scaled(self, by: float) -> Rect:
        """Every coordinate times ``by`` (a change of unit)."""
        return Rect(self.x0 * by, self.y0 * by, self.x1 * by, self.y1 * by)

    def meets(self, other: Rect) -> bool:
        """Whether the two share more than an edge."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def common(self, other: Rect) -> Rect | None:
        """What both cover, or ``None`` when they do not overlap."""
        if not self.meets(other):
            return None
        return Rect(max(self.x0, other.x0), max(self.y0, other.y0), min(self.x1, other.x1), min(self.y1, other.y1))

    def holds(self, other: Rect, slack: float = 0.0) -> bool:
        """Whether ``other`` lies inside, give or take ``slack``."""
        return (
            other.x0 >= self.x0 - slack
            and other.y0 >= self.y0 - slack
            and other.x1 <= self.x1 + slack
            and other.y1 <= self.y1 + slack
        )


@frozen
class Matrix:
    """An affine map in PDF's order: ``x' = a x + c y + e``, ``y' = b x + d y + f`` (ISO 32000-1, 8.3.3)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def translation(cls, dx: float, dy: float) -> Matrix:
        return cls(e=dx, f=dy)

    @classmethod
    def scaling(cls, sx: float, sy: float) -> Matrix:
        return cls(a=sx, d=sy)

    @classmethod
    def quarter_turns(cls, turns: int) -> Matrix:
        """A turn by ``turns`` times 90 degrees, counter-clockwise, about the origin; exact."""
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[turns % 4]
        return cls(cos, sin, -sin, cos)

    def then(self, after: Matrix) -> Matrix:
        """This map first, ``after`` second."""
        return Matrix(
            self.a * after.a + self.b * after.c,
            self.a * after.b + self.b * after.d,
            self.c * after.a + self.d * after.c,
            self.c * after.b + self.d * after.d,
            self.e * after.a + self.f * after.c + after.e,
            self.e * after.b + self.f * after.d + after.f,
        )

    def inverse(self) -> Matrix:
        """The way back.

        Raises:
            ZeroDivisionError: the map flattens the plane.
        """
        det = self.a * self.d - self.b * self.c
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Matrix(a, b, c, d, -(self.e * a + self.f * c), -(self.e * b + self.f * d))

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def rect(self, box: Rect) -> Rect:
        """The upright rectangle round the image of ``box``."""
        corners = [self.point(x, y) for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        return Rect(min(xs), min(ys), max(xs), max(ys))

    def lengths(self) -> tuple[float, float]:
        """What the unit vectors along x and y become in length."""
        return math.hypot(self.a, self.b), math.hypot(self.c, self.d)

    def as_tuple(self) -> tuple[float, float, float, float, float, float]:
        return self.a, self.b, self.c, self.d, self.e, self.f
