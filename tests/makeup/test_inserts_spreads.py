# SPDX-License-Identifier: AGPL-3.0-or-later
"""Double-page pictures on the centre of a section: where they lie whole, how far they are from it, how they stand.

The middle opening of a section of 16 is its pages 8 and 9 (handbook imp-16-octavo: the innermost folio of the table);
of one of 8 its pages 4 and 5.
"""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.job.model import Spread
from foldproof.makeup.inserts import on_centre, spread_words, with_spreads
from foldproof.makeup.plan import PagePlace, Plan
from foldproof.makeup.sections import Division, Unit
from tests.makeup.real_books import made, planned, proved_whole

PT = 72 / 25.4


def spreads(*pages: int) -> list[dict[str, int]]:
    return [{"first_page": page} for page in pages]


def pair(plan: Plan, first: int) -> tuple[PagePlace, PagePlace]:
    by_page = {place.page: place for place in plan.places}
    return by_page[first - 1], by_page[first]


def side_by_side(plan: Plan, first: int) -> bool:
    """Whether both pages stand on one side of one piece, their spine edges on one line and their heads level."""
    left, right = pair(plan, first)
    if (left.sheet, left.side, left.section) != (right.sheet, right.side, right.section):
        return False
    # along the page, from its left to its right: a quarter turn at the most
    assert (left.matrix.a, left.matrix.b) == pytest.approx((right.matrix.a, right.matrix.b), abs=1e-9)
    across, up = (left.matrix.a, left.matrix.b), (left.matrix.c, left.matrix.d)
    gap = right.matrix.e - left.matrix.e, right.matrix.f - left.matrix.f
    wide = gap[0] * across[0] + gap[1] * across[1]
    level = gap[0] * up[0] + gap[1] * up[1]
    # both have moved to the spine by their push-out: trims meet, or overlap by twice of it
    want = plan.trim_mm[0] - left.creep_mm - right.creep_mm
    order = 1 if plan.reading == "left to right" else -1
    return level == pytest.approx(0, abs=1e-6) and order * wide / PT == pytest.approx(want, abs=1e-6)


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_whole_on_the_centre_of_a_sewn_section_and_so_on_the_sheet(tmp_path: Path, reading: str) -> None:
    one = made(tmp_path, 64, book={"reading": reading}, sections={"pages": 16}, spread=spreads(8, 24, 10, 16, 13))
    proved_whole(one)
    words = [offer for offer in one.plan.offers if offer.startswith("The picture")]
    assert words == [
        "The picture over pages 8 and 9 lies whole on the centre of a section.",
        "The picture over pages 24 and 25 lies whole on the centre of a section.",
        # 10 and 11 lie two pages behind the centre at 8, fourteen before that at 24
        "The picture over pages 10 and 11 lies on two leaves of a section; "
        "it would be whole 14 pages later or 2 pages earlier.",
        "The picture over pages 16 and 17 lies in two sections; it would be whole 8 pages later or 8 pages earlier.",
        "The picture over pages 13 and 14 is no opening: page 13 is printed on the front of its own leaf.",
    ]
    assert [side_by_side(one.plan, first) for first in (8, 24, 10, 16)] == [True, True, False, False]
    # the spine crease runs between them: the last fold of an octavo, at every other boundary of its columns
    left, right = pair(one.plan, 8)
    section = next(s for sheet in one.told.sheets for s in sheet.sections if s.id == left.section)
    (ax, ay), (bx, _) = section.folds[-1].line_mm
    middle = (left.matrix.e + right.matrix.e) / 2 / PT, (left.matrix.f + right.matrix.f) / 2 / PT
    if left.side.value == "back":
        sheet = one.told.sheets[left.sheet - 1]
        wide, high = sheet.width_mm, sheet.height_mm
        middle = (wide - middle[0], middle[1]) if sheet.turn == "side to side" else (middle[0], high - middle[1])
    off = middle[0] - ax if ax == bx else middle[1] - ay
    assert off / (2 * section.column_mm[0]) == pytest.approx(round(off / (2 * section.column_mm[0])), abs=1e-6)


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_of_a_stitched_book_the_one_centre_is_that_of_the_book(tmp_path: Path, reading: str) -> None:
    one = made(tmp_path, 40, book={"binding": "stitched", "reading": reading}, spread=spreads(20, 8))
    proved_whole(one)
    words = [offer for offer in one.plan.offers if offer.startswith("The picture")]
    assert words == [
        "The picture over pages 20 and 21 lies whole on the centre of a section.",
        "The picture over pages 8 and 9 lies on two leaves of a section; it would be whole 12 pages later.",
    ]
    assert side_by_side(one.plan, 20)
    assert not side_by_side(one.plan, 8)


def test_glued_the_ground_spine_is_told() -> None:
    plan = planned(32, book={"binding": "glued"}, sections={"pages": 16}, spread=spreads(8, 200))
    assert (
        "The picture over pages 8 and 9 lies whole on the centre of a section; 3 mm are ground off each side of the "
        "crease."
    ) in plan.offers
    assert "The picture over pages 200 and 201 lies beyond the last page of the book, page 32." in plan.offers


@pytest.mark.parametrize(
    ("first", "place"),
    [
        # four 16s and an 8: where the 8 stands before the third 16, its centre is pages 36 and 37
        (36, [16, 16, 8, 16, 16]),
        # before the second: the second 16 begins at page 25, and its centre is pages 32 and 33
        (32, [16, 8, 16, 16, 16]),
        # whole either way: by custom next to the last
        (8, [16, 16, 16, 8, 16]),
        # on no centre wherever the 8 stands
        (10, [16, 16, 16, 8, 16]),
    ],
)
def test_the_short_section_stands_where_the_picture_lies_whole(tmp_path: Path, first: int, place: list[int]) -> None:
    one = made(tmp_path, 72, sections={"pages": 16}, spread=spreads(first))
    assert [section.pages for section in one.plan.sections] == place
    proved_whole(one)
    assert side_by_side(one.plan, first) == (first != 10)
    moved = "The short section of 8 stands where most double-page pictures lie on a centre (job)."
    assert (moved in one.plan.rules) == (place != [16, 16, 16, 8, 16])


def test_one_that_the_job_wants_at_the_very_end_stays_there() -> None:
    plan = planned(72, sections={"pages": 16, "short": "last"}, spread=spreads(36))
    assert [section.pages for section in plan.sections] == [16, 16, 16, 16, 8]


def test_with_blanks_in_front_the_centre_lies_as_many_pages_earlier() -> None:
    plan = planned(62, book={"blanks_front": 2}, sections={"pages": 16}, spread=spreads(6, 8))
    assert "The picture over pages 6 and 7 lies whole on the centre of a section." in plan.offers
    assert any("pages 8 and 9" in offer and "2 pages earlier" in offer for offer in plan.offers)


def test_beside_an_insert_the_short_section_moves_within_its_own_text() -> None:
    """64 pages, an insert of 8, then 8 and 16 and 16: with the 8 at once behind the insert its centre is page 76."""
    job: dict[str, Any] = {
        "sections": {"pages": 16},
        "insert": [{"first_page": 65, "pages": 8, "stock": "Glaze Silk 135"}],
    }
    usual = planned(112, **job)
    assert [section.pages for section in usual.sections] == [16, 16, 16, 16, 8, 16, 8, 16]
    moved = planned(112, **job, spread=spreads(76))
    assert [section.pages for section in moved.sections] == [16, 16, 16, 16, 8, 8, 16, 16]
    assert "The picture over pages 76 and 77 lies whole on the centre of a section." in moved.offers
    on_insert = planned(112, **job, spread=spreads(68))
    assert "The picture over pages 68 and 69 lies whole on the centre of a section." in on_insert.offers


def test_a_section_whose_middle_is_a_leaf_has_no_middle_opening() -> None:
    """Six pages: the middle leaf is pages 3 and 4 (geometry)."""
    words = spread_words(Division((Unit((6,)),), 6), (Spread(first_page=2),), 0)
    assert words == (
        "The picture over pages 2 and 3 lies on two leaves of a section; no section of this book has a middle opening.",
    )


@st.composite
def divided(draw: st.DrawFn) -> tuple[Division, tuple[Spread, ...]]:
    full, shorts = draw(st.integers(2, 5)), draw(st.sets(st.sampled_from([4, 8]), min_size=1))
    units = [Unit((16,))] * (full - 1) + [Unit((size,)) for size in sorted(shorts)] + [Unit((16,))]
    if draw(st.booleans()):
        units.insert(draw(st.integers(1, len(units) - 1)), Unit((8,), (1,)))
    pages = sum(unit.pages for unit in units)
    firsts = draw(st.sets(st.integers(1, pages // 2 - 1), max_size=4))
    return Division(tuple(units), pages), tuple(Spread(first_page=2 * n) for n in sorted(firsts))


@settings(max_examples=120, deadline=None)
@given(divided())
def test_no_order_of_the_sections_has_more_pictures_whole(case: tuple[Division, tuple[Spread, ...]]) -> None:
    """Against all orders in which what is fixed stays at its page and the first and the last are what they were."""
    division, wanted = case
    ours = with_spreads(division, wanted, 0)
    assert sorted(ours.units, key=repr) == sorted(division.units, key=repr)

    def starts(units: tuple[Unit, ...]) -> list[int]:
        return [sum(u.pages for u in units[:nth]) for nth, unit in enumerate(units) if any(unit.stocks)]

    most = 0
    for order in set(permutations(division.units)):
        ends = order[0].pages == 16 and order[-1].pages == 16
        if ends and starts(order) == starts(division.units) and _same_stretches(order, division.units):
            most = max(most, len(on_centre(Division(order, division.pages), wanted, 0)))
    assert len(on_centre(ours, wanted, 0)) == max(most, len(on_centre(division, wanted, 0)))


def _same_stretches(one: tuple[Unit, ...], other: tuple[Unit, ...]) -> bool:
    """What lies before the insert lies before it in both."""

    def before(units: tuple[Unit, ...]) -> list[int]:
        cut = next((nth for nth, unit in enumerate(units) if any(unit.stocks)), len(units))
        return sorted(unit.pages for unit in units[:cut])

    return before(one) == before(other)
