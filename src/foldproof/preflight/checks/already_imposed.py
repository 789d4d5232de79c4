# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets with several pages on them, where single pages are wanted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from foldproof.manuscript.model import PageObjects, TrimSource
from foldproof.manuscript.seen import PrintedNumber
from foldproof.preflight.measures import Size, objects_of, page_mm, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book
from foldproof.units import format_size_mm

#: two folios of one line stand this part of the page's width apart at least
_APART = 0.3
#: numbers are on one line when they stand so nearly as high
_LINE_MM = 1.5
#: this part of the pages must look like sheets, and so many
_PART, _LEAST_PAGES = 0.6, 2
#: of all numbers so found this part is different from one another: those of chapters and of all pages come again
_DIFFERENT = 0.9
#: room between the pages of a sheet and round them, each
_GUTTER_MM = 15.0
#: most pages a side of a sheet, each way
_MOST_UP = 8

_REMEDY = "Send the single pages in reading order; the make-up sets them on sheets."


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen = [page for page in objects_of(facts) if page is not None]
    pairs = _pairs(facts, seen)
    if _are_folios(pairs, len([page for page in seen if page.text_count or page.path_count])):
        first = pairs[0]
        yield in_book(
            "already-imposed/folios",
            Severity.QUERY,
            f"Two folios stand in one line on {len(pairs)} pages, {first[0].text} and {first[1].text} on the first of "
            "them: sheets that are imposed already?",
            _REMEDY,
            measured=len(pairs),
            unit="pages",
        )
        return
    grid = _grid(facts)
    if grid is not None:
        size = format_size_mm(*page_mm(facts.manuscript.pages[0]))
        yield in_book(
            "already-imposed/size",
            Severity.QUERY,
            f"The pages are {size}, room for {grid[0]} by {grid[1]} pages of the job's trim, and matter runs over the "
            "edges of the one in the middle: sheets that are imposed already?",
            _REMEDY,
            measured=size.removesuffix(" mm"),
            limit=format_size_mm(*facts.trim_mm).removesuffix(" mm"),
            unit="mm",
        )
    elif facts.job.book.trim is None and min(facts.trim_mm) >= limits.number("sheet_mm"):
        yield in_book(
            "already-imposed/large",
            Severity.QUERY,
            f"The pages are {format_size_mm(*facts.trim_mm)}, as large as a printing sheet or larger: imposed already?",
            f"{_REMEDY} If the book is as large as that, state its trim in the job and this question goes away.",
            measured=min(facts.trim_mm),
            limit=limits.number("sheet_mm"),
            unit="mm",
        )


def _pairs(facts: Facts, seen: Sequence[PageObjects]) -> list[tuple[PrintedNumber, PrintedNumber]]:
    """Two numbers far apart in one line of head or foot, page by page."""
    pairs = []
    for page in seen:
        width = size_mm(facts.manuscript.pages[page.index])[0]
        placed = [(n.place_mm, n) for n in page.numbers if n.place_mm is not None and n.style == "arabic"]
        for at, (place, number) in enumerate(placed):
            other = next(
                (
                    o
                    for p, o in placed[at + 1 :]
                    if abs(p.y0 - place.y0) <= _LINE_MM and p.x0 - place.x1 >= _APART * width
                ),
                None,
            )
            if other is not None:
                pairs.append((number, other))
                break
    return pairs


def _are_folios(pairs: Sequence[tuple[PrintedNumber, PrintedNumber]], pages: int) -> bool:
    if len(pairs) < max(_LEAST_PAGES, _PART * pages):
        return False
    values = [number.value for pair in pairs for number in pair]
    # two numberings that run side by side, and the halves of spreads, keep the same distance
    distances = {other.value - one.value for one, other in pairs}
    return len(set(values)) >= _DIFFERENT * len(values) and len(distances) > 1


def _grid(facts: Facts) -> tuple[int, int] | None:
    """How many pages of the job's trim the pages of the file hold, when matter crosses the edges of the middle one."""
    pages, ink = facts.manuscript.pages, facts.observations.ink
    if (
        facts.job.book.trim is None
        or any(page.boxes.trim_source is not TrimSource.JOB for page in pages)
        or not any(ink)
    ):
        return None
    crossed = sum(seen is not None and sum(edge.reaches for edge in seen.edges) >= 2 for seen in ink)
    if crossed < max(_LEAST_PAGES, _PART * len(pages)):
        return None
    size, trim = page_mm(pages[0]), facts.trim_mm
    for turned in (trim, (trim[1], trim[0])):
        across, down = _fits(size, turned)
        # two side by side are a spread, and told as one
        if across and down and across * down > 2:
            return across, down
    return None


def _fits(size: Size, trim: Size) -> tuple[int, int]:
    counts = []
    for side, page in zip(size, trim, strict=True):
        count = int((side + 0.5) // page) if page > 0 else 0
        fits = 1 <= count <= _MOST_UP and side - count * page <= (count + 1) * _GUTTER_MM
        counts.append(count if fits else 0)
    return counts[0], counts[1]


CHECK = Check(
    id="already-imposed",
    title="Already imposed",
    needs=frozenset({Needs.OBJECTS, Needs.INK}),
    measures="Pages that carry two folios in one line of head or foot; pages that hold several of the job's trim with "
    "matter all over them; and, without a trim from the job, pages as large as a printing sheet.",
    why="Sheets that come imposed would be set on sheets once more.",
    remedy="Send single pages in reading order.",
    source="common practice: printers' data sheets ask for single pages in reading order",
    run=_run,
    limits={"sheet_mm": 420.0},
    limit_sources={"sheet_mm": "ISO 216, A2: 420 x 594 mm; bound books are smaller as a rule"},
    severity=Severity.QUERY,
)
