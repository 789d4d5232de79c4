# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether all pages have the trim of the book."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from foldproof.manuscript.model import PageFact, TrimSource
from foldproof.preflight.measures import Shape, Size, alike, page_mm, shape
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page
from foldproof.units import format_size_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_mm = limits.number("tolerance_mm")
    pages = facts.manuscript.pages
    other = [page for page in pages if shape(facts, page.index, slack_mm) is not Shape.SINGLE]
    if len(other) == len(pages) and facts.job.book.trim:
        first = page_mm(other[0])
        if all(alike(page_mm(page), first, slack_mm) for page in other):
            yield _whole_book(facts, first)
            return
    most = "most pages" if 2 * len(other) < len(pages) else f"{len(pages) - len(other)} of the {len(pages)} pages"
    yield from (_one_page(facts, page, slack_mm, most) for page in other if _is_ours(facts, page, slack_mm))
    yield from _uneven(facts, slack_mm)


def _is_ours(facts: Facts, page: PageFact, slack_mm: float) -> bool:
    """Spreads and covers are told, and better, by checks of their own."""
    return shape(facts, page.index, slack_mm) not in (Shape.SPREAD, Shape.COVER)


def _whole_book(facts: Facts, size: Size) -> Finding:
    asked = format_size_mm(*facts.trim_mm)
    return in_book(
        "trim-size/job",
        Severity.STOP,
        f"Every page is {format_size_mm(*size)}; the job asks for {asked}.",
        "Settle which of the two is right: put the trim in the job right, or set the page size in the document and "
        "export again. Pages are never scaled.",
        measured=format_size_mm(*size).removesuffix(" mm"),
        limit=asked.removesuffix(" mm"),
        unit="mm",
    )


def _one_page(facts: Facts, page: PageFact, slack_mm: float, most: str) -> Finding:
    size, asked = page_mm(page), format_size_mm(*facts.trim_mm)
    turned = shape(facts, page.index, slack_mm) is Shape.TURNED
    against = f"the job asks for {asked}" if facts.job.book.trim else f"{most} are {asked}"
    says = f"it {'lies across,' if turned else 'is'} {format_size_mm(*size)}; {against}."
    if page.boxes.trim_source is TrimSource.JOB:
        says += " The page is too small for the trim."
    remedy = "Set the page size in the document and export again; the page is placed in the middle, never scaled."
    if turned:
        remedy = "Set it upright in the document, its matter turned to read from the foot or the fore-edge."
    elif _may_be_a_cover(facts, page, slack_mm):
        says += f" It is the {'last' if page.index else 'first'} page of the file: a cover?"
        remedy = f"Send a cover as a file of its own. A page of the book: {remedy[0].lower()}{remedy[1:]}"
    return on_page(
        facts,
        page.index,
        "trim-size/turned" if turned else "trim-size/other",
        Severity.STOP,
        says,
        remedy,
        measured=format_size_mm(*size).removesuffix(" mm"),
        limit=asked.removesuffix(" mm"),
        unit="mm",
    )


def _may_be_a_cover(facts: Facts, page: PageFact, slack_mm: float) -> bool:
    """The first or last page of several, alone in its size but for the other end, and not smaller than the trim."""
    last = len(facts.manuscript.pages) - 1
    size, trim = page_mm(page), facts.trim_mm
    return (
        last > 0
        and page.index in (0, last)
        and all(side >= least - slack_mm for side, least in zip(size, trim, strict=True))
        and not any(_is_odd(facts, index, slack_mm) for index in (1, last - 1) if index not in (0, last))
    )


def _is_odd(facts: Facts, index: int, slack_mm: float) -> bool:
    return shape(facts, index, slack_mm) is not Shape.SINGLE


def _uneven(facts: Facts, slack_mm: float) -> Iterator[Finding]:
    """Pages that hold the trim of the job in their middle, but are not all of one size: the middle may be another."""
    placed = [
        page
        for page in facts.manuscript.pages
        if page.boxes.trim_source is TrimSource.JOB and shape(facts, page.index, slack_mm) is Shape.SINGLE
    ]
    sizes = Counter((round(width, 1), round(height, 1)) for width, height in map(page_mm, placed))
    if len(sizes) < 2:
        return
    usual = sizes.most_common(1)[0][0]
    for page in placed:
        size = page_mm(page)
        if not alike(size, usual, slack_mm):
            yield on_page(
                facts,
                page.index,
                "trim-size/uneven",
                Severity.QUERY,
                f"the PDF page is {format_size_mm(*size)}, most are {format_size_mm(*usual)}; the trim was taken in "
                "its middle all the same.",
                "Export all pages alike, best as PDF/X, which states the trim.",
                measured=format_size_mm(*size).removesuffix(" mm"),
                limit=format_size_mm(*usual).removesuffix(" mm"),
                unit="mm",
            )


CHECK = Check(
    id="trim-size",
    title="Trim size",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Width and height of every page's trim, as a reader shows it, against the job's trim, or against that of "
    "most pages. Where the trim was taken from the job, whether the page is large enough for it, and as large as most.",
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
