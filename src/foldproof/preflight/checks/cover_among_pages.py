# SPDX-License-Identifier: AGPL-3.0-or-later
"""A cover that came along with the interior."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from foldproof.preflight.measures import Shape, page_mm, shape, spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page
from foldproof.units import format_mm, format_size_mm

_REMEDY = (
    "Take the cover out and send it as a file of its own; if it is a page of the book, say so and nothing is done."
)


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    count = len(facts.manuscript.pages)
    ends = sorted({0, count - 1}) if count > 1 else []
    for index in ends:
        if shape(facts, index, limits.number("tolerance_mm")) is Shape.COVER:
            size = page_mm(facts.manuscript.pages[index])
            spine = size[0] - 2 * facts.trim_mm[0]
            yield on_page(
                facts,
                index,
                "cover-among-pages/wide",
                Severity.QUERY,
                f"it is {format_size_mm(*size)}, twice the trim and {format_mm(spine)} more: a cover with its spine?",
                _REMEDY,
                measured=size[0],
                limit=facts.trim_mm[0],
                unit="mm",
            )
    if shape(facts, 0, limits.number("tolerance_mm")) is Shape.SINGLE:
        yield from _full_bleed_front(facts, limits)


def _full_bleed_front(facts: Facts, limits: Limits) -> Iterator[Finding]:
    """A first page with ink at every outer edge and no folio, in a book whose other pages keep clear of the trim."""
    ink = facts.observations.ink
    if len(ink) < limits.number("least_pages") or ink[0] is None:
        return
    if not _reaches_all(facts, 0) or facts.observations.objects[0] is None or facts.observations.objects[0].folio:
        return
    # the other end is left out: a back cover comes with a front one
    inner = [page for page in ink[1:-1] if page is not None]
    reaching = sum(any(edge.reaches for edge in page.edges) for page in inner)
    if not inner or reaching > limits.number("others_percent") / 100 * len(inner):
        return
    both = ink[-1] is not None and _reaches_all(facts, len(ink) - 1)
    yield on_page(
        facts,
        0,
        "cover-among-pages/full",
        Severity.QUERY,
        "its matter runs off on every outer edge and it has no folio, which no other page of the book does: a cover?"
        + (f" So does page {len(ink)}, the last." if both else ""),
        _REMEDY,
    )


def _reaches_all(facts: Facts, index: int) -> bool:
    page = facts.observations.ink[index]
    spine = spine_edge(facts, index)
    outer = [edge for edge in page.edges if edge.edge != spine] if page else []
    return len(outer) == 3 and all(edge.reaches for edge in outer)


CHECK = Check(
    id="cover-among-pages",
    title="Cover among the pages",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS, Needs.INK}),
    measures="Whether the first or last page is wider than twice the trim by a spine, or the first the only one whose "
    "matter runs off on all outer edges without a folio. A page of another size is told with the trim.",
    why="Printed as a page it takes a leaf of the first section and turns every recto into a verso.",
    remedy="Send the cover as a file of its own.",
    source="common practice, no source",
    run=_run,
    limits={"tolerance_mm": 0.5, "least_pages": 8, "others_percent": 5},
    limit_sources={
        "tolerance_mm": "as for trim-size; common practice, no source",
        "least_pages": "two sections of 4 pages: in fewer, nothing is usual yet; common practice, no source",
        "others_percent": "a book of plain pages may have a picture or two that bleed; common practice, no source",
    },
    severity=Severity.QUERY,
)
