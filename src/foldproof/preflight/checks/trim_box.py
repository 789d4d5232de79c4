# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the file itself says where the page is cut."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import TrimSource
from foldproof.preflight.measures import size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, numbers
from foldproof.units import format_size_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    pages = facts.manuscript.pages
    for source in TrimSource:
        if source is TrimSource.TRIM_BOX:
            continue
        lacking = [page.index for page in pages if page.boxes.trim_source is source]
        if not lacking:
            continue
        which = "No page states" if len(lacking) == len(pages) else f"{numbers(lacking).capitalize()} "
        if len(lacking) != len(pages):
            which += "states" if len(lacking) == 1 else "state"
        no = "a" if len(lacking) == len(pages) else "no"
        if source is TrimSource.JOB:
            taken = "the trim of the job is taken, in the middle of the page."
        else:
            taken = f"the {source} is taken for it, {format_size_mm(*size_mm(pages[lacking[0]]))}"
            taken += "." if len(lacking) == 1 else " on the first of them."
        yield in_book(
            f"trim-box/{source.name.lower().replace('_', '-')}",
            Severity.NOTE if source is TrimSource.JOB else Severity.QUERY,
            f"{which} {no} TrimBox; {taken}",
            "Export as PDF/X, which states where the page is cut; or give the trim in the job."
            if source is not TrimSource.JOB
            else "See that the matter stands in the middle of the page; or export as PDF/X, which states the trim.",
            measured=len(lacking),
            limit=0,
            unit="pages",
        )


CHECK = Check(
    id="trim-box",
    title="Trim stated",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Whether every page states a TrimBox of its own, and what was taken for it where it does not.",
    why="A guessed trim puts every margin of the book in doubt.",
    remedy="Export as PDF/X, or give the trim in the job.",
    source="ISO 15930 (PDF/X): TrimBox or ArtBox is stated; defaults of the boxes: ISO 32000-1, 14.11.2",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
