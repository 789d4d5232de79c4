# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where the trim stands in the page, recto against verso and page against page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from statistics import median

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageFact, TrimSource
from foldproof.preflight.measures import Shape, shape
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page
from foldproof.units import format_mm, pt_to_mm

Offset = tuple[float, float]

#: sizes of pages that agree by this much are the same
_SIZE_MM = 0.5
#: so many pages of a side tell where its trim usually stands
_LEAST_PAGES = 3


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_mm")
    sides: dict[int, list[tuple[PageFact, Offset]]] = defaultdict(list)
    for page in facts.manuscript.pages:
        # a trim that was set in the middle says nothing; pages of another size are told as such
        if page.boxes.trim_source is not TrimSource.JOB and shape(facts, page.index, _SIZE_MM) is Shape.SINGLE:
            sides[page.index % 2].append((page, _offset_mm(page)))
    usual = {side: _usual([offset for _, offset in pages]) for side, pages in sides.items()}
    if set(usual) == {0, 1} and max(_apart(usual[0], usual[1])) >= least_mm:
        yield in_book(
            "trim-offset/sides",
            Severity.NOTE,
            f"The trim stands {_said(usual[0])} on rectos and {_said(usual[1])} on versos.",
            "Nothing to do where bleed was left out at the spine; whoever places the pages by their middle is "
            "off by that much.",
            measured=max(_apart(usual[0], usual[1])),
            limit=least_mm,
            unit="mm",
        )
    for side, pages in sides.items():
        if len(pages) < _LEAST_PAGES:
            continue
        for page, offset in pages:
            apart = max(_apart(offset, usual[side]))
            if apart >= least_mm and _same_room(page, pages, usual[side]):
                yield on_page(
                    facts,
                    page.index,
                    "trim-offset/page",
                    Severity.QUERY,
                    f"its trim stands {_said(offset)}, on most {('rectos', 'versos')[side]} {_said(usual[side])}.",
                    "See whether the TrimBox lies where the page is to be cut.",
                    place_mm=Rect(0, 0, *(round(pt_to_mm(v), 3) for v in page.trim_size_pt)),
                    measured=apart,
                    limit=least_mm,
                    unit="mm",
                )


def _offset_mm(page: PageFact) -> Offset:
    """From the middle of the MediaBox to the middle of the trim, the page upright: right and up."""
    media, (width_pt, height_pt) = page.to_trim.rect(page.boxes.media), page.trim_size_pt
    return pt_to_mm((width_pt - media.x0 - media.x1) / 2), pt_to_mm((height_pt - media.y0 - media.y1) / 2)


def _usual(offsets: Sequence[Offset]) -> Offset:
    return median(offset[0] for offset in offsets), median(offset[1] for offset in offsets)


def _apart(one: Offset, other: Offset) -> Offset:
    return abs(one[0] - other[0]), abs(one[1] - other[1])


def _same_room(page: PageFact, pages: Sequence[tuple[PageFact, Offset]], usual: Offset) -> bool:
    """Whether most pages really agree on the usual place: where every page has its own there is none."""
    agree = sum(max(_apart(offset, usual)) < 0.5 for _, offset in pages)
    return agree > len(pages) / 2


def _said(offset: Offset) -> str:
    across, up = (round(v, 1) for v in offset)
    parts = []
    if across:
        parts.append(f"{format_mm(abs(across))} {'right' if across > 0 else 'left'} of the middle")
    if up:
        parts.append(f"{format_mm(abs(up))} {'above' if up > 0 else 'below'} {'it' if parts else 'the middle'}")
    return " and ".join(parts) or "in the middle of the page"


CHECK = Check(
    id="trim-offset",
    title="Place of the trim",
    needs=frozenset({Needs.STRUCTURE}),
    measures="How far the middle of the trim lies from the middle of the page (its MediaBox), on rectos, on versos, "
    "and on each page against those of its side.",
    why="A trim box that has been moved cuts the page in the wrong place, and nobody sees it on the screen.",
    remedy="Export all pages with the same settings; do not move boxes by hand.",
    source="common practice: printers' data sheets ask for the trim in the middle of the page",
    run=_run,
    limits={"least_mm": 1.0},
    limit_sources={"least_mm": "common practice, no source: less is within the tolerance of cutting"},
    severity=Severity.QUERY,
)
