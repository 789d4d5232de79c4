# SPDX-License-Identifier: AGPL-3.0-or-later
"""Thinnest line and narrowest space against shapes of known width, level, upright and askew."""

from __future__ import annotations

import math

import pytest

from foldproof.case.die_measure import narrowest_space, thinnest_line
from foldproof.geometry import Matrix
from foldproof.pdf.die_shapes import Outline, Pen, Shape, Step, moved

#: ISO 32000-1, 8.3.2.3: a point is 1/72 in; an inch is 25.4 mm
MM = 72 / 25.4
LIMIT, SPACE = 0.2, 0.3
#: a twentieth of the limit, as the measure says of itself, and what float dust does to a pixel
EXACT = 0.0501


def polygon(*points: tuple[float, float]) -> Shape:
    first, *rest = points
    return Shape(Outline((("m", *first), *(("l", *p) for p in rest), ("h",)), Matrix.scaling(MM, MM)))


def bar(x: float, y: float, wide: float, high: float) -> Shape:
    return polygon((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


def disc(x: float, y: float, r: float, pen: Pen | None = None) -> Shape:
    k = 4 / 3 * (math.sqrt(2) - 1) * r  # a quarter circle as a Bézier curve
    steps: tuple[Step, ...] = (
        ("m", x + r, y), ("c", x + r, y + k, x + k, y + r, x, y + r), ("c", x - k, y + r, x - r, y + k, x - r, y),
        ("c", x - r, y - k, x - k, y - r, x, y - r), ("c", x + k, y - r, x + r, y - k, x + r, y), ("h",),
    )  # fmt: skip
    return Shape(Outline(steps, Matrix.scaling(MM, MM)), pen)


def turned(degrees: float, *shapes: Shape) -> tuple[Shape, ...]:
    a = math.radians(degrees)
    return moved(shapes, Matrix(math.cos(a), math.sin(a), -math.sin(a), math.cos(a), 40, 30))


@pytest.mark.parametrize(("width", "degrees"), [(0.05, 33), (0.1, 0), (0.15, 90), (0.185, 33)])
def test_a_thin_rule_is_measured(width: float, degrees: float) -> None:
    found = thinnest_line(turned(degrees, bar(1, 1, 5, width)), LIMIT)
    assert found is not None
    assert found.width_mm == pytest.approx(width, abs=EXACT * LIMIT)


@pytest.mark.parametrize(("width", "degrees"), [(0.2, 0), (0.2, 33), (0.21, 45), (0.5, 33)])
def test_a_rule_that_holds_is_not_told(width: float, degrees: float) -> None:
    assert thinnest_line(turned(degrees, bar(1, 1, 5, width)), LIMIT) is None


@pytest.mark.parametrize(("gap", "degrees"), [(0.1, 0), (0.2, 17), (0.28, 17)])
def test_a_narrow_space_is_measured(gap: float, degrees: float) -> None:
    found = narrowest_space(turned(degrees, bar(0, 0, 3, 2), bar(3 + gap, 0, 3, 2)), SPACE)
    assert found is not None
    assert found.width_mm == pytest.approx(gap, abs=EXACT * SPACE)


@pytest.mark.parametrize("gap", [0.3, 0.33, 2.0])
def test_a_space_that_holds_is_not_told(gap: float) -> None:
    assert narrowest_space(turned(17, bar(0, 0, 3, 2), bar(3 + gap, 0, 3, 2)), SPACE) is None


def test_where_it_is_told() -> None:
    found = thinnest_line((bar(0, 0, 10, 8), bar(30, 4, 5, 0.1)), LIMIT)
    assert found is not None
    assert 30 < found.at_mm[0] < 35
    assert found.at_mm[1] == pytest.approx(4.05, abs=0.1)


@pytest.mark.parametrize(
    ("corner", "told"), [(90, False), (60, False), (40, False), (10, True)], ids=lambda value: str(value)
)
def test_a_corner_is_no_line_but_a_needle_is(corner: float, told: bool) -> None:
    a = math.radians(corner)
    wedge = polygon((0, 0), (5, 0), (5 * math.cos(a), 5 * math.sin(a)))
    assert (thinnest_line(turned(8, wedge), LIMIT) is not None) is told


def test_a_neck_between_two_parts_is_told_however_short() -> None:
    found = thinnest_line((disc(0, 0, 2), disc(4.2, 0, 2), bar(0, -0.06, 4.2, 0.12)), LIMIT)
    assert found is not None
    # narrowest where the bar alone joins the two, 0.2 mm long
    assert found.width_mm == pytest.approx(0.12, abs=2 * EXACT * LIMIT)
    assert found.at_mm[0] == pytest.approx(2.1, abs=0.15)


def test_two_round_shapes_that_nearly_touch() -> None:
    """A short neck of ground; between circles of 2 mm it shows when it is narrower by 0.02 mm or more."""
    found = narrowest_space((disc(0, 0, 2), disc(4.2, 0, 2)), SPACE)
    assert found is not None
    assert found.width_mm == pytest.approx(0.2, abs=0.02)
    assert narrowest_space((disc(0, 0, 2), disc(4.3, 0, 2)), SPACE) is None


def test_a_ring_a_dot_and_a_hole() -> None:
    ring = thinnest_line((disc(0, 0, 3, Pen(0.15)),), LIMIT)
    assert ring is not None and ring.width_mm == pytest.approx(0.15, abs=EXACT * LIMIT)
    dot = thinnest_line((bar(1, 1, 3, 3), disc(0, 0, 0.08)), LIMIT)
    assert dot is not None and dot.width_mm == pytest.approx(0.16, abs=2 * EXACT * LIMIT)
    # ground inside ink: the hole of a letter
    plate, hole = bar(0, 0, 4, 4), disc(2, 2, 0.1)
    holed = Shape(Outline((*plate.outline.steps, *hole.outline.steps), plate.outline.matrix, even_odd=True))
    found = narrowest_space((holed,), SPACE)
    assert found is not None and found.width_mm == pytest.approx(0.2, abs=2 * EXACT * SPACE)


def test_a_thin_line_in_the_middle_of_much_that_is_sound() -> None:
    """The whole is looked at in parts: nothing hides at their edges."""
    plates = [bar(x, y, 8, 8) for x in (0, 10, 20) for y in (0, 10, 20)]
    assert thinnest_line(tuple(plates), LIMIT) is None
    for x in (9.0, 19.2):
        found = thinnest_line((*plates, bar(x - 2, 19.05, 0.8, 0.1)), LIMIT)
        assert found is not None and found.width_mm == pytest.approx(0.1, abs=EXACT * LIMIT)


def test_nothing_has_no_line() -> None:
    assert thinnest_line((), LIMIT) is None and narrowest_space((), SPACE) is None
