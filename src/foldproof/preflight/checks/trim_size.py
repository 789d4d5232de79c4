# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether all pages have the trim of the book."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import TrimSource
from foldproof.preflight.measures import Shape, alike, shape, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page
from foldproof.units import format_size_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_mm = limits.number("tolerance_mm")
    pages = facts.manuscript.pages
    other = [page for page in pages if not alike(size_mm(page), facts.trim_mm, slack_mm)]
    if not other:
        return
    asked = format_size_mm(*facts.trim_mm)
    first = size_mm(other[0])
    if len(other) == len(pages) and facts.job.book.trim and all(alike(size_mm(p), first, slack_mm) for p in other):
        yield in_book(
            "trim-size/job",
            Severity.STOP,
            f"Every page is {format_size_mm(*first)}; the job asks for {asked}.",
            "Settle which of the two is right: put the trim in the job right, or set the page size in the document and "
            "export again. Pages are never scaled.",
            measured=format_size_mm(*first).removesuffix(" mm"),
            limit=asked.removesuffix(" mm"),
            unit="mm",
        )
        return
    against = f"the job asks for {asked}" if facts.job.book.trim else f"most pages are {asked}"
    for page in other:
        kind = shape(facts, page.index, slack_mm)
        if kind in (Shape.SPREAD, Shape.COVER):
            continue  # another check says so, and better
        size = size_mm(page)
        if kind is Shape.TURNED:
            says = f"it lies across, {format_size_mm(*size)}; {against}."
            remedy = "Set it upright in the document, its matter turned to read from the foot or the fore-edge."
        else:
            says = f"it is {format_size_mm(*size)}; {against}."
            remedy = "Set the page size in the document and export again; the page is placed in the middle, not scaled."
        if page.boxes.trim_source is TrimSource.JOB:
            says += " The page itself is too small for the trim."
        yield on_page(
            facts,
            page.index,
            "trim-size/turned" if kind is Shape.TURNED else "trim-size/other",
            Severity.STOP,
            says,
            remedy,
            measured=format_size_mm(*size).removesuffix(" mm"),
            limit=asked.removesuffix(" mm"),
            unit="mm",
        )


CHECK = Check(
    id="trim-size",
    title="Trim size",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Width and height of every page's trim, as a reader shows it, against the job's trim, or against that of "
    "most pages.",
    why="A book is cut to one size: smaller pages show paper at the edge, larger ones lose matter.",
    remedy="Give every page the size of the book and export again.",
    source="common practice: printers' data sheets want all pages of one size; the Ghent Workgroup's specifications "
    "too, from memory",
    run=_run,
    limits={"tolerance_mm": 0.5},
    limit_sources={
        "tolerance_mm": "sizes written in whole points are up to 0.18 mm off; a third of the 1.5 mm that cutting "
        "itself is allowed; common practice, no source"
    },
    severity=Severity.STOP,
)
