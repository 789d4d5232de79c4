# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book's own endpapers: the pages under the paste are looked at in the make-up that the tickets are printed of."""

from __future__ import annotations

import pytest
from attrs import evolve

from foldproof.preflight.model import Facts, Limits, NotJudged, Severity
from foldproof.preflight.registry import check_named
from foldproof.tickets import casing_in
from tests.preflight.facts import an_ink, facts
from tests.tickets.finished import made

CHECK = check_named("self-endpapers")
SELF = {"cover": {"endpapers": "self"}}


def pasted(given: Facts) -> list[int | None]:
    return [finding.page for finding in CHECK.run(given, Limits({}))]


@pytest.mark.parametrize(
    ("pages", "front", "inked", "found"),
    [
        (32, 0, {0, 31}, [1, 32]),  # two sections of 16: the first and the last page go under the paste
        (32, 0, {1, 30}, []),  # the backs of the pasted pages may bear what they like
        (30, 0, {0, 29}, [1]),  # two blanks at the end
        (28, 2, {0, 27}, []),  # an empty leaf in front, two blanks at the end
        (30, 2, {0, 29}, [30]),  # an empty leaf in front, and no blank at the end
    ],
)
def test_ink_under_the_paste_is_found(pages: int, front: int, inked: set[int], found: list[int]) -> None:
    job = {**SELF, "book": {"blanks_front": front}}
    work = made(pages, job)
    plan = work.plan
    assert (plan.blanks_front, plan.blanks_back) == (front, -(pages + front) % 16)
    given = facts(
        count=pages,
        ink={n: an_ink(n, blank=n not in inked) for n in range(pages)},
        job=job,
        blanks_back=plan.blanks_back,
    )
    assert pasted(given) == found
    assert all(f.severity is Severity.STOP for f in CHECK.run(given, Limits({})))
    # the ticket names the same pages, or says that they are blanks
    words = casing_in.benches(work)[0].body["notes"][0][1]
    first, last = plan.places[0].page, plan.places[-1].page
    assert words.count("(a blank)") == (first is None) + (last is None)
    for index in (first, last):
        assert index is None or f"(page {index + 1})" in words


def test_both_ends_at_once_and_neither_without_a_make_up() -> None:
    given = facts(job=SELF, blanks_back=0)
    assert pasted(given) == [1, 16]
    with pytest.raises(NotJudged, match="no make-up"):
        pasted(evolve(given, blanks_back=None))
    # nobody asks for the make-up where nothing is pasted
    assert pasted(facts(blanks_back=None)) == []


def test_without_a_look_at_the_ink_nothing_is_said() -> None:
    given = facts(ink=dict.fromkeys(range(16)), job=SELF, blanks_back=0)
    with pytest.raises(NotJudged, match="ink"):
        pasted(given)
