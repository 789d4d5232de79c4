# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own affine algebra, on plain tuples.

It is a second reckoning on purpose: the sheets are laid out with :mod:`foldproof.geometry`, and a sign that were wrong
in both would prove itself.  A map is six numbers in PDF's order, ``x' = a x + c y + e``, ``y' = b x + d y + f``
(ISO 32000-1, 8.3.3); a box is ``(x0, y0, x1, y1)`` with corners in order.
"""

from __future__ import annotations

Map = tuple[float, float, float, float, float, float]
Box = tuple[float, float, float, float]
Point = tuple[float, float]

IDENTITY: Map = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def then(first: Map, second: Map) -> Map:
    """``first``, and ``second`` on what comes out of it."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return (p * a + r * b, q * a + s * b, p * c + r * d, q * c + s * d, p * e + r * f + t, q * e + s * f + u)


def chain(*maps: Map) -> Map:
    """All maps, in the order in which they are done."""
    out = IDENTITY
    for each in maps:
        out = then(out, each)
    return out


def determinant(m: Map) -> float:
    """Area of the image of the unit square; negative where the map mirrors."""
    return m[0] * m[3] - m[1] * m[2]


def back(m: Map) -> Map:
    """The map that undoes ``m``.

    Raises:
        ZeroDivisionError: ``m`` flattens the plane.
    """
    a, b, c, d, e, f = m
    det = determinant(m)
    return (d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det)


def at(m: Map, x: float, y: float) -> Point:
    """Where the point goes."""
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def box_round(m: Map, box: Box) -> Box:
    """The upright box round the image of ``box``."""
    # as ``at`` of the four corners; written out, as books ask for it a hundred thousand times
    (a, b, c, d, e, f), (x0, y0, x1, y1) = m, box
    ax, cy, ax1, cy1 = a * x0, c * y0, a * x1, c * y1
    bx, dy, bx1, dy1 = b * x0, d * y0, b * x1, d * y1
    xs = (ax + cy + e, ax + cy1 + e, ax1 + cy + e, ax1 + cy1 + e)
    ys = (bx + dy + f, bx + dy1 + f, bx1 + dy + f, bx1 + dy1 + f)
    return min(xs), min(ys), max(xs), max(ys)


def shift(dx: float, dy: float) -> Map:
    return 1.0, 0.0, 0.0, 1.0, dx, dy


def stretch(by: float) -> Map:
    """The same scale both ways, about the origin."""
    return by, 0.0, 0.0, by, 0.0, 0.0


def mirror_x(about: float) -> Map:
    """Reflection in the upright line ``x = about``."""
    return -1.0, 0.0, 0.0, 1.0, 2 * about, 0.0


def mirror_y(about: float) -> Map:
    """Reflection in the level line ``y = about``."""
    return 1.0, 0.0, 0.0, -1.0, 0.0, 2 * about


def quarter(turns: int) -> Map:
    """Counter-clockwise about the origin by quarter turns; exact."""
    cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[turns % 4]
    return cos, sin, -sin, cos, 0.0, 0.0


def common(one: Box, other: Box) -> Box:
    """What both cover; corners out of order where they do not meet."""
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def holds(outer: Box, inner: Box, slack: float) -> bool:
    """Whether ``inner`` lies in ``outer``, give or take ``slack``."""
    return (
        outer[0] <= inner[0] + slack
        and outer[1] <= inner[1] + slack
        and outer[2] >= inner[2] - slack
        and outer[3] >= inner[3] - slack
    )


def middle(box: Box) -> Point:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
