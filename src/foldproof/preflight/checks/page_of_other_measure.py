# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages whose lines are set to another measure than those of the book."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.type_block import sides
from foldproof.preflight.words import on_page
from foldproof.units import format_mm

#: so many lines, and this part of the page, must keep to both edges
_LINES, _PART = 12, 0.5
#: a narrower page must be whole: quotations, verses and tables are narrower by intent
_NARROW_LINES, _NARROW_PART = 25, 0.85


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_mm")
    known = sides(facts)
    if known is None:
        return
    pages, recto, verso = known
    for index, area in pages:
        own = recto if index % 2 == 0 else verso
        before, beyond = own.left_mm - area.left_mm, area.right_mm - own.right_mm
        more = before + beyond
        part = area.lines / max(area.of, 1)
        # indented lines leave one edge where it was: only what stands out, or is drawn in on both sides, is meant
        wider = max(before, beyond) >= least_mm and more >= least_mm and area.lines >= _LINES and part >= _PART
        narrower = max(before, beyond) <= -least_mm and area.lines >= _NARROW_LINES and part >= _NARROW_PART
        if wider or narrower:
            yield on_page(
                facts,
                index,
                "page-of-other-measure/wider" if wider else "page-of-other-measure/narrower",
                Severity.QUERY if wider else Severity.NOTE,
                f"its lines are {format_mm(round(area.right_mm - area.left_mm, 1))} long, those of the book "
                f"{format_mm(round(own.measure_mm, 1))}.",
                "See whether the page comes from another setting of the book, or has been scaled.",
                measured=area.right_mm - area.left_mm,
                limit=round(own.measure_mm, 1),
                unit="mm",
            )


CHECK = Check(
    id="page-of-other-measure",
    title="Page of another measure",
    needs=frozenset({Needs.OBJECTS}),
    measures="The length of full lines on each page against that of most pages. Indented lines and lines without an "
    "edge at the right do not count.",
    why="A page from an earlier setting, or one that has been scaled, shows by its measure.",
    remedy="Set the page again with the measure of the book.",
    source="common practice, no source",
    run=_run,
    limits={"least_mm": 1.0},
    limit_sources={"least_mm": "more than twice what the edges of a block are measured to; no source"},
    severity=Severity.QUERY,
)
