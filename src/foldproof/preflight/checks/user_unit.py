# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages measured in a unit of their own."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    pages = facts.manuscript.pages
    units = {page.user_unit for page in pages}
    if units <= {1.0}:
        return
    remedy = "Export the page at its true size; a program that overlooks UserUnit prints it smaller."
    if len(units) == 1:
        (unit,) = units
        yield in_book(
            "user-unit/all",
            Severity.NOTE,
            f"Every page is measured in units of {unit:g} points (UserUnit); the sizes here count that in.",
            remedy,
            measured=unit,
            limit=1,
        )
        return
    for page in pages:
        if page.user_unit != 1.0:
            yield on_page(
                facts,
                page.index,
                "user-unit/mixed",
                Severity.QUERY,
                f"it is measured in units of {page.user_unit:g} points (UserUnit), other pages are not.",
                remedy,
                measured=page.user_unit,
                limit=1,
            )


CHECK = Check(
    id="user-unit",
    title="Units of a page's own",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The /UserUnit entry of every page.",
    why="Programs that overlook it see the page at a fraction of its size.",
    remedy="Export at true size.",
    source="ISO 32000-1, table 30 (UserUnit); ISO 15930-7 (PDF/X-4) has no UserUnit, from memory",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
