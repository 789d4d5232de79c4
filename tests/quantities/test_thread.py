# SPDX-License-Identifier: AGPL-3.0-or-later
"""Holes and thread of a sewn book."""

from __future__ import annotations

from itertools import pairwise

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.quantities.thickness import thickness
from foldproof.quantities.thread import ENDS_MM, KETTLE_LOOP_MM, holes_mm, thread
from tests.quantities.made import HOUSE, finished, usual


def test_holes_of_a_demy_book_by_hand() -> None:
    """216 mm high, kettle stitches 12 mm from head and foot (sew-kettle): 192 mm between, 5 stitches of 38.4."""
    assert holes_mm(216, 12, 45) == pytest.approx((12, 50.4, 88.8, 127.2, 165.6, 204))


@settings(max_examples=100, deadline=None)
@given(
    height=st.floats(30, 450),
    kettle=st.floats(0, 14),
    most=st.floats(5, 80),
)
def test_holes_lie_evenly_in_pairs_and_no_farther_apart_than_the_house_says(
    height: float, kettle: float, most: float
) -> None:
    """sew-kettle: the first and the last at the kettle stitches, none nearer to head or foot."""
    holes = holes_mm(height, kettle, most)
    assert holes[0] == pytest.approx(kettle) and holes[-1] == pytest.approx(height - kettle)
    assert len(holes) % 2 == 0  # common practice, no source
    gaps = [after - before for before, after in pairwise(holes)]
    assert max(gaps) <= most + 1e-6 and max(gaps) - min(gaps) < 1e-6
    # fewer in pairs would be too far apart
    assert len(holes) == 2 or (height - 2 * kettle) / (len(holes) - 3) > most - 1e-6


def test_no_holes_where_the_kettle_stitches_would_meet() -> None:
    assert holes_mm(24, 12, 45) == holes_mm(20, 12, 45) == ()
    plan, job = usual("sewn")
    low = evolve(plan, trim_mm=(140.0, 20.0))
    assert thread(low, job, HOUSE, thickness(low, job, HOUSE)) is None


def test_thread_of_a_book_by_hand() -> None:
    """Ten sections of 192 mm and a loop each, up a back of 8.892 + 0.75 mm, and the ends; 1522 books are sewn.

    The loop and the ends: common practice, no source.
    """
    plan, job = usual("sewn")
    made = thread(plan, job, HOUSE, thickness(plan, job, HOUSE))
    assert made is not None and made.sections == 10
    by_hand = (10 * (192 + KETTLE_LOOP_MM) + 8.892 + 0.75 + ENDS_MM) / 1000
    assert made.metres_per_book == pytest.approx(by_hand)
    assert made.metres == pytest.approx(1522 * by_hand)


def test_kettle_stitches_are_where_the_house_has_them_and_nothing_else_is_sewn() -> None:
    plan, job = usual("sewn")
    house = finished(kettle=20.0, stitch_max=60.0)
    made = thread(plan, job, house, thickness(plan, job, house))
    assert made is not None
    assert made.holes_mm == pytest.approx((20, 20 + 176 / 3, 20 + 352 / 3, 196))
    for binding in ("glued", "stitched", "leaflet"):
        other, asked = usual(binding)
        assert thread(other, asked, HOUSE, thickness(other, asked, HOUSE)) is None
