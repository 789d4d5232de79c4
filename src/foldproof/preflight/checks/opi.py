# SPDX-License-Identifier: AGPL-3.0-or-later
"""Stand-ins for pictures that somebody else is to put in."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import by_page, quoted
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for page, things in by_page(facts.manuscript.facts.opi).items():
        files = quoted([thing.detail for thing in things])
        yield on_page(
            facts,
            page,
            "opi",
            Severity.QUERY,
            f"a coarse picture stands in for a fine one{f', {files},' if files else ''} that a picture server is to "
            "put in its place (OPI); without one the coarse picture is printed.",
            "Place the fine pictures themselves, and export with picture replacement (OPI) switched off.",
            measured=len(things),
            limit=0,
            count=len(things),
        )


CHECK = Check(
    id="opi",
    title="Stand-in pictures",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Pictures and forms that carry a comment of the Open Prepress Interface: where the true picture is kept.",
    why="The true picture is not in the file. The press shows the stand-in, which is made for the screen.",
    remedy="Place the true pictures.",
    source="ISO 32000-1, 14.11.7 (OPI dictionaries). ISO 15930 (PDF/X): no OPI; the clause from memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
