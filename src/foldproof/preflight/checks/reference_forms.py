# SPDX-License-Identifier: AGPL-3.0-or-later
"""Matter that is kept in another file."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import by_page, quoted
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for page, things in by_page(facts.manuscript.facts.reference_forms).items():
        lost = [thing for thing in things if thing.what == "F"]
        things = [thing for thing in things if thing.what != "F"]
        if lost:
            files = quoted([thing.detail for thing in lost])
            yield on_page(
                facts,
                page,
                "reference-forms/outside",
                Severity.STOP,
                f"the data of a part of the page are said to lie in another file{f', {files}' if files else ''}; that "
                "is never opened, and the part is missing.",
                "Export so that nothing is left outside.",
                measured=len(lost),
                limit=0,
                count=len(lost),
            )
        if not things:
            continue
        files = quoted([thing.detail for thing in things])
        yield on_page(
            facts,
            page,
            "reference-forms",
            Severity.QUERY,
            f"a part of the page stands in for a page of another file{f', {files}' if files else ''}; what is printed "
            "is the stand-in, unless that file is at hand.",
            "Place the other file's page itself, and export so that nothing is left outside.",
            measured=len(things),
            limit=0,
            count=len(things),
        )


CHECK = Check(
    id="reference-forms",
    title="Matter in another file",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Form XObjects that refer to a page of another file; content, forms and pictures whose data lie in one.",
    why="The stand-in may be coarse or out of date, and who has the other file prints another book.",
    remedy="Place the matter itself.",
    source="ISO 32000-1, 8.10.4 (reference XObjects) and 7.3.8.2 (streams in other files). ISO 15930-4, -6 and -7 "
    "(PDF/X-1a, X-3, X-4): none; the clause from memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
