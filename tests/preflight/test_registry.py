# SPDX-License-Identifier: AGPL-3.0-or-later
"""The registry: every check documented, with a source for each figure and cases on both sides."""

from __future__ import annotations

import sys

import pytest

from foldproof.errors import AskedWrong
from foldproof.preflight.model import Check, Limits, Needs
from foldproof.preflight.registry import CHECKS, check_named
from tests.preflight.cases import PASSES, TRIPS

#: what the name of a limit may end in
UNITS = {
    "mm", "pt", "ppi", "percent", "degrees", "ratio", "pages", "rules", "spots", "copies", "kb", "bits", "sheets",
    "quality",
}  # fmt: skip


def test_ids_are_sorted_and_unique() -> None:
    ids = [check.id for check in CHECKS]
    assert ids == sorted(set(ids))


def test_no_check_lies_outside_the_registry() -> None:
    import pkgutil

    from foldproof.preflight import checks

    modules = {module.name for module in pkgutil.iter_modules(checks.__path__)}
    assert modules == {check.id.replace("-", "_") for check in CHECKS}


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_check_is_documented(check: Check) -> None:
    assert 1 <= len(check.title.split()) <= 6
    for text in (check.measures, check.why, check.remedy):
        assert text[0].isupper() and text.endswith("."), text
    assert check.source
    # whose rule: a standard, a publication, or openly nobody's
    assert any(word in check.source for word in ("ISO", "common practice", "Ghent", "Workshop", "leaf", "from memory"))
    assert check.needs and all(isinstance(need, Needs) for need in check.needs)
    assert sys.modules[check.run.__module__].__doc__


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_limit_has_a_source_and_a_unit(check: Check) -> None:
    assert set(check.limit_sources) == set(check.limits)
    assert all(check.limit_sources.values())
    for name, value in check.limits.items():
        if isinstance(value, str):
            assert value in check.choices[name]
        elif not isinstance(value, bool):
            assert name.rpartition("_")[2] in UNITS, name


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_there_are_cases_on_both_sides(check: Check) -> None:
    assert any(case.check == check.id for case in TRIPS)
    assert any(case.check == check.id for case in PASSES)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_the_severity_is_that_of_the_worst_finding(check: Check) -> None:
    ranks = [
        finding.severity.rank
        for case in TRIPS
        if case.check == check.id
        for finding in check.run(case.facts, Limits({**check.limits, **case.limits}))
    ]
    assert min(ranks) == check.severity.rank


def test_an_unknown_check_names_the_nearest() -> None:
    assert check_named("bleed").id == "bleed"
    with pytest.raises(AskedWrong, match='did you mean "fonts-embedded"'):
        check_named("font-embedded")
