# SPDX-License-Identifier: AGPL-3.0-or-later
"""The check stage as a whole: order, severities, waivers, and a check that fails."""

from __future__ import annotations

import pickle
import time
from collections.abc import Iterable
from typing import Any

import pytest
from attrs import evolve

from foldproof.errors import AskedWrong, OurFault
from foldproof.manuscript.model import Observations
from foldproof.preflight import run
from foldproof.preflight.model import Facts, Finding, Limits, Severity
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import Rule, Spec, load_spec
from tests.preflight.cases import PLAIN, rgb
from tests.preflight.facts import a_page, a_picture, an_ink, an_object, bleeds, facts, stands

FAULTY = facts(
    count=15,
    ink={2: an_ink(2, head=bleeds(0.2), foot=stands(1)), 9: an_ink(9, blank=True)},
    objects={2: an_object(2, pictures=(a_picture(60),)), 5: an_object(5, colours=(rgb(),))},
    pages={11: a_page(11, trim_mm=(150, 216))},
)


def spec(**rules: Rule) -> Spec:
    return Spec("ours", "ours", "", {name.replace("_", "-"): rule for name, rule in rules.items()})


def test_a_sound_book_has_no_findings() -> None:
    found = check(PLAIN, load_spec("colour-on-coated"))
    assert found.items == () and found.worst() is None and found.not_judged == ()
    assert found.spec == "colour-on-coated"
    assert set(found.checks) | set(found.off) == {entry.id for entry in CHECKS}


def test_the_order_is_book_then_page_then_check() -> None:
    found = check(FAULTY, load_spec("any-book"))
    keys = [(f.page or 0, f.check) for f in found.items]
    assert keys == sorted(keys) and len(keys) == 7
    assert [f.check for f in found.items if f.page == 3] == ["bleed", "live-margin", "picture-resolution"]
    assert found == check(FAULTY, load_spec("any-book"))


def test_findings_cross_process_borders() -> None:
    found = check(FAULTY, load_spec("any-book"))
    assert pickle.loads(pickle.dumps(found)) == found


def test_a_spec_sets_the_severity_of_the_worst_and_lowers_the_rest() -> None:
    def severities(asked: Severity | None) -> list[Severity]:
        both = facts(ink={2: an_ink(2, head=bleeds(0.2)), 4: an_ink(4, head=bleeds(2.0))})
        return [f.severity for f in check(both, spec(bleed=Rule(severity=asked))).items]

    assert severities(None) == [Severity.STOP, Severity.QUERY]
    assert severities(Severity.QUERY) == [Severity.QUERY, Severity.QUERY]
    assert severities(Severity.NOTE) == [Severity.NOTE, Severity.NOTE]


def test_a_milder_finding_is_not_raised() -> None:
    empty = facts(ink={4: an_ink(4, blank=True)})
    found = check(empty, spec(blank_pages=Rule(severity=Severity.STOP)))
    assert [f.severity for f in found.items] == [Severity.NOTE]


def test_a_query_can_be_made_a_stop() -> None:
    across = facts(grain_along_spine=False)
    assert check(across, spec()).worst() is Severity.QUERY
    assert check(across, spec(grain=Rule(severity=Severity.STOP))).worst() is Severity.STOP


def test_a_check_can_be_switched_off() -> None:
    found = check(FAULTY, spec(bleed=Rule(off=True)))
    assert "bleed" in found.off and "bleed" not in found.checks
    assert not [f for f in found.items if f.check == "bleed"]


def test_needs_are_those_of_the_checks_that_run() -> None:
    assert needs_of(spec()) == {"structure", "objects", "ink"}
    ink_off = {e.id: Rule(off=True) for e in CHECKS if "ink" in {need.value for need in e.needs}}
    assert needs_of(Spec("ours", "ours", "", ink_off)) == {"structure", "objects"}


def test_what_could_not_be_judged_is_said() -> None:
    found = check(facts(grain_along_spine=None), load_spec("any-book"))
    assert [name for name, _ in found.not_judged] == ["grain"]
    assert "grain" not in found.checks


def test_waivers_move_findings_and_keep_reason_and_name() -> None:
    waived = [{"check": "bleed", "page": 3, "reason": "the picture ends there", "by": "the publisher"}]
    book = facts(ink={n: an_ink(n, head=bleeds(0.2)) for n in (2, 4)}, job={"check": {"waived": waived}})
    found = check(book, load_spec("colour-on-coated"))
    assert [f.page for f in found.items] == [5]
    [(finding, reason, by)] = found.waived
    assert (finding.page, reason, by) == (3, "the picture ends there", "the publisher")


def test_a_waiver_without_a_page_holds_for_all() -> None:
    waived = [{"check": "bleed", "reason": "no bleed on purpose", "by": "the publisher"}]
    book = facts(ink={n: an_ink(n, head=bleeds(0.2)) for n in (2, 4)}, job={"check": {"waived": waived}})
    found = check(book, load_spec("colour-on-coated"))
    assert found.items == () and len(found.waived) == 2 and found.worst() is None


@pytest.mark.parametrize(
    ("waiver", "says"),
    [
        ({"check": "bled", "reason": "because", "by": "me"}, 'did you mean "bleed"'),
        ({"check": "bleed", "page": 17, "reason": "because", "by": "me"}, "16 pages, no page 17"),
    ],
)
def test_a_waiver_of_nothing_is_asked_wrong(waiver: dict[str, Any], says: str) -> None:
    with pytest.raises(AskedWrong, match=says):
        check(facts(job={"check": {"waived": [waiver]}}), load_spec("any-book"))


def test_a_waiver_for_a_page_past_the_only_one() -> None:
    waived = [{"check": "bleed", "page": 2, "reason": "because", "by": "me"}]
    with pytest.raises(AskedWrong, match="the book has 1 page, no page 2"):
        check(facts(count=1, job={"check": {"waived": waived}}), load_spec("any-book"))


def test_a_check_that_fails_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(on: Facts, limits: Limits) -> Iterable[Finding]:
        raise ZeroDivisionError("nought")

    broken = tuple(evolve(e, run=breaks) if e.id == "live-margin" else e for e in CHECKS)
    monkeypatch.setattr(run, "CHECKS", broken)
    with pytest.raises(OurFault, match='"live-margin" failed: ZeroDivisionError'):
        check(PLAIN, load_spec("any-book"))


def test_all_checks_grow_with_the_pages_and_no_faster() -> None:
    """A book as long as the longest of the corpus, every page with RGB text and a picture, against a tenth of it."""

    def best(count: int) -> float:
        seen = an_object(0, colours=(rgb(),), pictures=(a_picture(300),) * 4)
        book = facts(count=count, trim_mm=(140, 216))
        objects = tuple(evolve(seen, index=n) for n in range(count))
        book = evolve(book, observations=Observations(objects, book.observations.ink))
        asked, seconds = load_spec("colour-on-coated"), 9.0
        for _ in range(3):
            before = time.process_time()
            found = check(book, asked)
            seconds = min(seconds, time.process_time() - before)
        assert len([f for f in found.items if f.check == "rgb-matter"]) == count
        return seconds

    # ten times the pages; what grows with their square would take a hundred times as long
    assert best(2410) < 30 * best(241)
