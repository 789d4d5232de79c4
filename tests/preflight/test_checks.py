# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every check on books that trip it and on books that must not."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from foldproof.geometry import Rect
from foldproof.manuscript.model import Observations
from foldproof.preflight.model import Facts, Finding, Limits, NotJudged, Severity
from foldproof.preflight.registry import CHECKS, check_named
from foldproof.preflight.words import numbers, on_page
from tests.preflight.cases import PASSES, PLAIN, TRIPS, Passes, Trips
from tests.preflight.facts import a_page, an_ink, an_object, bleeds, facts


def found(check: str, on: Facts, limits: dict[str, Any]) -> list[Finding]:
    entry = check_named(check)
    return list(entry.run(on, Limits({**entry.limits, **limits})))


@pytest.mark.parametrize("case", TRIPS, ids=lambda case: f"{case.check}: {case.name}")
def test_it_is_found(case: Trips) -> None:
    all_found = found(case.check, case.facts, case.limits)
    assert len(all_found) == case.findings, [f.problem for f in all_found]
    [finding] = [f for f in all_found if f.cause == case.cause]
    assert (finding.severity, finding.page, finding.check) == (case.severity, case.page, case.check)
    for words in case.says:
        assert words in f"{finding.problem} {finding.remedy}", (finding.problem, finding.remedy)
    if case.measured is not None:
        assert finding.measured == case.measured


@pytest.mark.parametrize("case", PASSES, ids=lambda case: f"{case.check}: {case.name}")
def test_nothing_is_found(case: Passes) -> None:
    assert found(case.check, case.facts, case.limits) == []


@pytest.mark.parametrize("case", TRIPS, ids=lambda case: f"{case.check}: {case.name}")
def test_findings_read_as_sentences(case: Trips) -> None:
    for finding in found(case.check, case.facts, case.limits):
        for sentence in (finding.problem, finding.remedy):
            assert sentence == sentence.strip() and sentence[0].isupper(), sentence
            assert sentence.endswith((".", "?")), sentence
            assert "  " not in sentence and ".." not in sentence and " ;" not in sentence, sentence
            assert "None" not in sentence and "{" not in sentence, sentence
        assert finding.cause.partition("/")[0] == finding.check
        if finding.page is not None:
            assert finding.problem.startswith(f"Page {finding.page}")
            assert finding.folio == case.facts.folio(finding.page - 1)


@pytest.mark.parametrize("entry", CHECKS, ids=lambda entry: entry.id)
def test_one_finding_for_a_cause_on_a_page(entry: Any) -> None:
    """Not one for every object: they are merged, and the worst is kept."""
    for case in TRIPS:
        causes = [(f.page, f.cause) for f in found(entry.id, case.facts, {})] if entry.id == case.check else []
        assert len(causes) == len(set(causes))


@pytest.mark.parametrize("entry", CHECKS, ids=lambda entry: entry.id)
def test_odd_facts_are_borne(entry: Any) -> None:
    """No pages looked at for lack of them, lost pages, a page without edges, no folios."""
    everything_lost = facts(
        count=2, lost={0: "broken", 1: "broken"}, ink={0: None, 1: None}, objects={0: None, 1: None}
    )
    single = facts(count=1, ink={0: an_ink(0, blank=True)})
    tiny = facts(count=2, pages={0: a_page(0, trim_mm=(0.1, 0.1))}, trim_mm=(0.1, 0.1))
    for odd in (everything_lost, single, tiny):
        for finding in found(entry.id, odd, {}):
            assert finding.problem


@pytest.mark.parametrize("check", ["bleed", "live-margin", "blank-pages", "picture-resolution", "rgb-matter"])
def test_what_was_not_looked_at_is_not_judged(check: str) -> None:
    unseen = evolve(PLAIN, observations=Observations((None,) * 16, (None,) * 16))
    with pytest.raises(NotJudged, match="not looked at"):
        found(check, unseen, {})


def test_without_a_make_up_the_grain_is_not_judged() -> None:
    with pytest.raises(NotJudged, match="no make-up"):
        found("grain", facts(grain_along_spine=None), {})


def test_the_place_of_a_bleed_is_the_worst_stretch() -> None:
    near, far = Rect(0, 210, 50, 216), Rect(136, 20, 140, 60)
    odd = facts(ink={4: an_ink(4, head=bleeds(2.0, near), right=bleeds(0.3, far))})
    [finding] = found("bleed", odd, {})
    assert (finding.place_mm, finding.measured, finding.limit, finding.unit) == (far, 0.3, 3.0, "mm")


@pytest.mark.parametrize(
    ("folio", "label", "said"),
    [
        ("33", "xi", "Page 3 (folio 33): it is odd."),
        (None, "xi", "Page 3 (labelled xi): it is odd."),
        ("3", "xi", "Page 3: it is odd."),
        (None, "3", "Page 3: it is odd."),
        (None, " \r\n", "Page 3: it is odd."),
        (None, "", "Page 3: it is odd."),
        (None, None, "Page 3: it is odd."),
        (None, "a\nb", "Page 3 (labelled a b): it is odd."),
    ],
)
def test_a_label_is_not_taken_for_a_printed_folio(folio: str | None, label: str | None, said: str) -> None:
    book = facts(pages={2: a_page(2, label=label)}, objects={2: an_object(2, folio=folio)})
    found = on_page(book, 2, "odd/odd", Severity.NOTE, "it is odd.", "Look.")
    assert (found.problem, found.folio) == (said, folio)


@pytest.mark.parametrize(
    ("indices", "said"),
    [
        ([2], "page 3"),
        ([2, 3], "pages 3 and 4"),
        ([2, 3, 4, 8], "pages 3 to 5 and 9"),
        # six are said, the other seven pages are counted one by one
        ([0, 1, 2, 5, 7, 9, 11, 13, *range(20, 24), 30, 31, 33], "pages 1 to 3, 6, 8, 10, 12, 14 and 7 more"),
    ],
)
def test_pages_are_listed_and_what_is_left_is_counted(indices: list[int], said: str) -> None:
    assert numbers(indices) == said
