# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every cover check is documented as those of books are, and can be explained."""

from __future__ import annotations

import sys

import pytest

from foldproof.covers.registry import ALL, COVER_CHECKS, EXPLAINED, explained_check
from foldproof.errors import AskedWrong
from foldproof.preflight.model import Check, Facts, Limits, NotJudged
from foldproof.preflight.registry import CHECKS
from tests.covers.test_faults import FAULTS

#: what the name of a limit may end in, besides those of the checks of books
UNITS = {"mm", "percent", "ratio"}


def test_ids_are_sorted_and_no_check_of_books_has_the_same() -> None:
    ids = [check.id for check in COVER_CHECKS]
    assert ids == sorted(set(ids))
    assert not set(ids) & {check.id for check in CHECKS}
    assert [check.id for check in EXPLAINED] == sorted({check.id for check in EXPLAINED})


@pytest.mark.parametrize("check", COVER_CHECKS, ids=lambda check: check.id)
def test_a_check_is_documented(check: Check) -> None:
    assert 1 <= len(check.title.split()) <= 6
    for text in (check.measures, check.why, check.remedy):
        assert text[0].isupper() and text.endswith("."), text
    assert any(word in check.source for word in ("ISO", "common practice", "geometry", "from memory"))
    assert sys.modules[check.run.__module__].__doc__
    assert set(check.limit_sources) == set(check.limits) and all(check.limit_sources.values())
    assert all(name.rpartition("_")[2] in UNITS for name in check.limits)


@pytest.mark.parametrize("check", COVER_CHECKS, ids=lambda check: check.id)
def test_every_check_has_a_planted_fault_and_is_as_bad_as_its_worst(check: Check) -> None:
    # several pages, and a cover on its side, have tests of their own
    ranks = [wanted[1].rank for _, _, wanted in FAULTS.values() if wanted[0].partition("/")[0] == check.id]
    if check.id != "cover-pages":
        assert ranks and min(ranks) == check.severity.rank


def test_a_check_of_covers_says_nothing_of_a_book() -> None:
    from tests.preflight.facts import facts

    book: Facts = facts()
    for check in COVER_CHECKS:
        with pytest.raises(NotJudged):
            list(check.run(book, Limits(check.limits)))


def test_fonts_pictures_and_inks_are_held_as_in_a_book() -> None:
    assert {"fonts-embedded", "picture-resolution", "rgb-matter", "total-ink", "spot-colours"} <= {c.id for c in ALL}
    # the spine of a page, its folio, its neighbours: none of a cover's
    assert not {"live-margin", "bleed", "trim-size", "page-count", "folios", "blank-pages"} & {c.id for c in ALL}


def test_an_unknown_check_names_the_nearest() -> None:
    assert explained_check("cover-size").id == "cover-size"
    assert explained_check("bleed").id == "bleed"
    with pytest.raises(AskedWrong, match='did you mean "spine-width"'):
        explained_check("spine-widht")
