# SPDX-License-Identifier: AGPL-3.0-or-later
"""Trim marks that stand inside the page."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import around, objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least = limits.number("least_rules")
    for seen in objects_of(facts):
        if seen is None or len(seen.mark_like) < least:
            continue
        yield on_page(
            facts,
            seen.index,
            "trim-marks",
            Severity.QUERY,
            f"{len(seen.mark_like)} hairlines at its corners look like trim marks inside the trim.",
            "If they are, the TrimBox is missing or too large: export with marks off, or with the trim stated.",
            place_mm=around(list(seen.mark_like)),
            measured=len(seen.mark_like),
            limit=0,
        )


CHECK = Check(
    id="trim-marks",
    title="Trim marks inside",
    needs=frozenset({Needs.OBJECTS}),
    measures="Straight hairlines that stand at the corners inside the trim.",
    why="Marks inside the trim are printed in the book, and say that it is to be cut elsewhere than the file does.",
    remedy="Export without marks, or with a TrimBox.",
    source="common practice: printers' data sheets want no trim, fold or register marks inside the trimmed size",
    run=_run,
    limits={"least_rules": 2},
    limit_sources={"least_rules": "a mark is a pair of rules at a corner; common practice, no source"},
    severity=Severity.QUERY,
)
