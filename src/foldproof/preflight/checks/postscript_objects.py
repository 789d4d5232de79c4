# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pieces of the page that are written in PostScript."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import by_page
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for page, things in by_page(facts.manuscript.facts.postscript).items():
        yield on_page(
            facts,
            page,
            "postscript-objects",
            Severity.QUERY,
            "a piece of the page is written in PostScript, which most programs leave out; what it draws may be missing "
            "on paper, or be printed and not seen here.",
            "Find the drawing that brought it along, save it anew as PDF, place it again and export.",
            measured=len(things),
            limit=0,
            count=len(things),
        )


CHECK = Check(
    id="postscript-objects",
    title="PostScript in the page",
    needs=frozenset({Needs.STRUCTURE}),
    measures="PostScript XObjects, and forms that carry PostScript beside their own content, that a page can use.",
    why="Only a PostScript printer runs them. Any other program passes them over, so that proof and plate may differ.",
    remedy="Save the drawing anew as PDF.",
    source="ISO 32000-1, 8.8.2 (PostScript XObjects). ISO 15930 (PDF/X): none; the clause from memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
