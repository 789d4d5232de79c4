# SPDX-License-Identifier: AGPL-3.0-or-later
"""Files that travel inside the book's file."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import on_pages, pages_of, quoted
from foldproof.preflight.words import counted, in_book


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    found = facts.manuscript.facts.attachments
    files = [one for one in found if one.what == "file"]
    named = quoted([one.detail for one in files])
    if any(one.what == "portfolio" for one in found):
        yield in_book(
            "attachments/portfolio",
            Severity.QUERY,
            f"The file is a folder of other files ({named or 'none of them named'}); its own pages may be no more than "
            "a cover sheet.",
            "Send the file that holds the book by itself.",
            measured=len(files),
            limit=0,
        )
    elif files:
        yield in_book(
            "attachments/file",
            Severity.NOTE,
            f"Attached to the book's file: {counted(len(files), 'other file')}"
            f"{f', {named}' if named else ''}{on_pages(pages_of(files))}. Nothing of it is printed, and everybody who "
            "gets the book gets it too.",
            "Take attachments out before export, unless the print shop is meant to have them.",
            measured=len(files),
            limit=0,
        )


CHECK = Check(
    id="attachments",
    title="Attached files",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Files attached to the book's file as a whole or to a place on a page, and whether the file is but a "
    "folder for them.",
    why="Attached matter is not printed, though somebody may count on it; and drafts or letters may travel with the "
    "book unseen.",
    remedy="Export without attachments.",
    source="ISO 15930 (PDF/X): no embedded files; the clause from memory. Where they hang: ISO 32000-1, 7.11.4 and "
    "12.5.6.15; portfolios: 12.3.5.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
