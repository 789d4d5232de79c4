# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the BleedBox takes in the bleed that is there."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import PageFact
from foldproof.preflight.measures import edge_name, ink_of, spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page
from foldproof.units import format_mm, pt_to_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_mm = limits.number("tolerance_mm")
    asked_mm = facts.bleed_mm
    glued = facts.job.book.binding == "glued"
    for ink in ink_of(facts):
        page = facts.manuscript.pages[ink.index] if ink is not None else None
        if ink is None or page is None or "BleedBox" not in page.boxes.stated or asked_mm <= 0:
            continue
        if not any(edge.reaches for edge in ink.edges):
            continue
        beyond = _beyond_mm(page)
        # where the matter itself stops short there is nothing for the box to take in: that is told by bleed
        short = [
            edge
            for edge in ink.edges
            if edge.reaches
            and (glued or edge.edge != spine_edge(facts, ink.index))
            and beyond[edge.edge] + slack_mm < asked_mm
            and edge.bleed_mm > beyond[edge.edge] + slack_mm
        ]
        if short:
            least = min(beyond[edge.edge] for edge in short)
            yield on_page(
                facts,
                ink.index,
                "bleed-box",
                Severity.QUERY,
                f"the matter at the {listed([edge_name(facts, ink.index, e.edge) for e in short])} runs on beyond "
                f"the trim, but the BleedBox goes only {format_mm(round(max(least, 0.0), 1))} beyond it: programs that "
                "obey the box cut the bleed off.",
                f"Export again with {format_mm(asked_mm)} of bleed set, so that the box takes it in.",
                place_mm=short[0].bleed_place_mm,
                measured=least,
                limit=asked_mm,
                unit="mm",
            )


def _beyond_mm(page: PageFact) -> dict[str, float]:
    """How far the BleedBox goes beyond the trim, by edge."""
    box, (width_pt, height_pt) = page.to_trim.rect(page.boxes.bleed), page.trim_size_pt
    return {
        "left": pt_to_mm(-box.x0),
        "right": pt_to_mm(box.x1 - width_pt),
        "foot": pt_to_mm(-box.y0),
        "head": pt_to_mm(box.y1 - height_pt),
    }


CHECK = Check(
    id="bleed-box",
    title="Bleed box",
    needs=frozenset({Needs.STRUCTURE, Needs.INK}),
    measures="On edges where matter runs beyond the trim, whether a stated BleedBox goes as far as the bleed that is "
    "asked for, or at least as far as the matter.",
    why="The bleed is in the file, but whoever places the page by its BleedBox loses it, and the knife shows white.",
    remedy="Let the layout program write the box with the bleed of the job.",
    source="ISO 32000-1, 14.11.2: the BleedBox is the region to which the page is clipped in production",
    run=_run,
    limits={"tolerance_mm": 0.3},
    limit_sources={"tolerance_mm": "as for bleed: whole points and the finest measure of the ink"},
    severity=Severity.QUERY,
)
