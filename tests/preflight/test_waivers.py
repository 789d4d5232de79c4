# SPDX-License-Identifier: AGPL-3.0-or-later
"""On what a waiver of a job holds: the pages of the book, its cover, its jacket."""

from __future__ import annotations

from typing import Any

import pytest

from foldproof.covers.registry import ALL
from foldproof.errors import AskedWrong
from foldproof.job.model import Job, WaivedOn
from foldproof.preflight.waivers import waivers_on

PLACES: tuple[WaivedOn, ...] = ("book", "cover", "jacket")


def job(*waived: dict[str, Any]) -> Job:
    because = {"reason": "it is meant so", "by": "the publisher"}
    return Job.model_validate({"check": {"waived": [{**because, **one} for one in waived]}})


def holds_on(waiver: dict[str, Any]) -> set[str]:
    return {place for place in PLACES if waivers_on(place, job(waiver), 64, ALL)}


@pytest.mark.parametrize(
    ("waiver", "places"),
    [
        # of the pages of a book alone; of covers alone; of both
        ({"check": "gutter-side"}, {"book"}),
        ({"check": "barcode-size"}, {"cover", "jacket"}),
        ({"check": "barcode-size", "page": 1}, {"cover", "jacket"}),
        ({"check": "barcode-size", "on": "jacket"}, {"jacket"}),
        ({"check": "thin-lines"}, {"book"}),
        ({"check": "thin-lines", "page": 1}, {"book"}),
        ({"check": "thin-lines", "page": 64}, {"book"}),
        ({"check": "thin-lines", "on": "book"}, {"book"}),
        ({"check": "thin-lines", "on": "cover"}, {"cover"}),
        ({"check": "thin-lines", "on": "jacket", "page": 1}, {"jacket"}),
    ],
)
def test_where_a_waiver_holds(waiver: dict[str, Any], places: set[str]) -> None:
    assert holds_on(waiver) == places


@pytest.mark.parametrize("on", PLACES)
@pytest.mark.parametrize(
    ("waiver", "says"),
    [
        ({"check": "barcode-sise"}, 'check: there is no check "barcode-sise"; did you mean "barcode-size"?'),
        ({"check": "thin-line"}, 'check: there is no check "thin-line"; did you mean "thin-lines"?'),
        ({"check": "isbn", "on": "book"}, 'on: "isbn" looks at covers alone; write "cover" or "jacket"'),
        ({"check": "gutter-side", "on": "cover"}, 'on: "gutter-side" looks at the pages of a book alone'),
        ({"check": "isbn", "page": 3}, "page: a cover is one page, and has no page 3"),
        ({"check": "thin-lines", "on": "jacket", "page": 2}, "page: a cover is one page, and has no page 2"),
    ],
)
def test_a_slip_is_told_whatever_is_looked_at(on: WaivedOn, waiver: dict[str, Any], says: str) -> None:
    sound = {"check": "bleed"}
    with pytest.raises(AskedWrong) as told:
        waivers_on(on, job(sound, waiver), 64, ALL)
    assert str(told.value).startswith(f"The job: check.waived 2, {says}")


def test_a_page_of_the_book_is_known_with_the_book_alone() -> None:
    past = job({"check": "thin-lines", "page": 65})
    with pytest.raises(AskedWrong, match="the book has 64 pages, no page 65"):
        waivers_on("book", past, 64, ALL)
    assert waivers_on("cover", past, 1, ALL) == ()


def test_an_odd_place_is_no_place() -> None:
    with pytest.raises(ValueError, match="'book', 'cover' or 'jacket'"):
        job({"check": "thin-lines", "on": "spine"})
