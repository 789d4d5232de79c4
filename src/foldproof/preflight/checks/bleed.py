# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether matter that reaches the trim runs on far enough beyond it."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import EdgeInk
from foldproof.preflight.measures import edge_name, ink_of, room_mm, spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page
from foldproof.units import format_mm

#: matter that runs on less than this shows as cut off at the line
_AT_THE_LINE_MM = 0.1

_PICTURE = "the picture"


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    asked_mm = facts.bleed_mm
    enough_mm = asked_mm - limits.number("tolerance_mm")
    stop_mm = min(limits.number("stop_below_mm"), asked_mm)
    if asked_mm <= 0:
        return
    glued = facts.job.book.binding == "glued"
    for ink in ink_of(facts):
        if ink is None:
            continue
        # pages of a sewn or stitched book meet at the crease: nothing is cut there, nothing has to run on
        edges = [e for e in ink.edges if e.reaches and (glued or e.edge != spine_edge(facts, ink.index))]
        if not edges:
            continue
        short = sorted((e for e in edges if e.bleed_mm < enough_mm), key=lambda e: e.bleed_mm)
        if short:
            yield _short(facts, ink.index, short, stop_mm)
        elif "BleedBox" not in facts.manuscript.pages[ink.index].boxes.stated:
            least = min(e.bleed_mm for e in edges)
            yield on_page(
                facts,
                ink.index,
                "bleed/no-box",
                Severity.NOTE,
                "no BleedBox is stated; the matter that reaches the trim runs on far enough all the same.",
                f"Nothing to do here; export with {format_mm(asked_mm)} of bleed set, and the box is written.",
                measured=least,
                limit=asked_mm,
                unit="mm",
            )


def _short(facts: Facts, index: int, short: list[EdgeInk], stop_mm: float) -> Finding:
    """One finding for all edges of a page, the worst first."""
    worst, asked_mm = short[0], facts.bleed_mm
    room = room_mm(facts.manuscript.pages[index])
    cramped = [e for e in short if room[e.edge] < asked_mm - _AT_THE_LINE_MM]
    # edges alike are named together, in the order from the worst on
    alike: dict[tuple[str, str], list[str]] = {}
    for edge in short:
        stops = "at the trim" if edge.bleed_mm < _AT_THE_LINE_MM else f"{format_mm(edge.bleed_mm)} beyond the trim"
        alike.setdefault((_what(facts, index, edge), stops), []).append(edge_name(facts, index, edge.edge))
    parts = [f"{what} at the {listed(edges)} stops {stops}" for (what, stops), edges in alike.items()]
    asked = format_mm(asked_mm)
    says, cause = f"{listed(parts)}; {asked} are asked for.", "bleed/short"
    remedy = f"Extend the picture frame or tint past the page edge on that side and export again with {asked} of bleed."
    if worst in cramped:
        cause = "bleed/no-room"
        left = max(0.0, room[worst.edge])
        says += f" The PDF page ends {'there' if left < _AT_THE_LINE_MM else f'{format_mm(left)} beyond it'}."
        remedy = (
            f"Set up {asked} of bleed in the document, extend the matter into it on that side, and export with the "
            "document's bleed switched on."
        )
    if _what(facts, index, worst) != _PICTURE:
        remedy += " If it was not meant to be cut there, move it inwards."
    return on_page(
        facts,
        index,
        cause,
        Severity.STOP if worst.bleed_mm < stop_mm else Severity.QUERY,
        says,
        remedy,
        place_mm=worst.bleed_place_mm,
        measured=worst.bleed_mm,
        limit=asked_mm,
        unit="mm",
    )


def _what(facts: Facts, index: int, edge: EdgeInk) -> str:
    """``"the picture"`` where one lies there, else ``"the matter"``."""
    seen = facts.observations.objects[index] if index < len(facts.observations.objects) else None
    if seen and edge.bleed_place_mm:
        place = edge.bleed_place_mm.grown(0.5)
        if any(picture.place_mm.meets(place) for picture in seen.pictures):
            return _PICTURE
    return "the matter"


CHECK = Check(
    id="bleed",
    title="Bleed",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS, Needs.INK}),
    measures="On every edge where ink touches the trim, how far it runs on beyond it, measured from the inks and not "
    "from the boxes. The spine edge counts in glued books alone.",
    why="Knife and fold are a little off on every copy: matter that ends at the line leaves a white edge.",
    remedy="Extend pictures and tints past the page edge and export with the bleed that the job asks for.",
    source="common practice: data sheets of three printers and a reproduction house agree on 3 mm (1/8 in in inch "
    "countries); the bleed itself is the job's or the house's",
    run=_run,
    limits={"stop_below_mm": 1.5, "tolerance_mm": 0.3},
    limit_sources={
        "stop_below_mm": "common practice: the general tolerance of cutting, 1.5 mm on a printer's data sheet",
        "tolerance_mm": "a page written in whole points is up to 0.18 mm short, and the ink is measured to 0.09 mm",
    },
    severity=Severity.STOP,
)
