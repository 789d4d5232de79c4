# SPDX-License-Identifier: AGPL-3.0-or-later
"""Matter that runs over the spine from one page to the facing one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind, PictureUse
from foldproof.preflight.measures import ink_of, objects_of, size_mm, spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page

#: a picture that ends this near to the spine reaches it: the pixel of the ink pass
_AT_SPINE_MM = 0.4
#: two halves of one picture are scaled alike
_SCALE_PART = 0.03


@frozen
class _Half:
    """What reaches the spine on one page."""

    low_mm: float
    high_mm: float
    picture: PictureUse | None
    place_mm: Rect


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_height_mm")
    objects_of(facts)
    ink_of(facts)
    # the first page is a recto and faces none: 2 and 3, 4 and 5 face one another
    for index in range(1, len(facts.manuscript.pages) - 1, 2):
        if not (_reaches(facts, index) and _reaches(facts, index + 1)):
            continue
        pairs = [
            (one, other)
            for one in _halves(facts, index)
            for other in _halves(facts, index + 1)
            if _belong(one, other, least_mm)
        ]
        if pairs:
            pairs.sort(key=lambda pair: -_shared_mm(*pair))
            yield _told(facts, index, *pairs[0])


def _reaches(facts: Facts, index: int) -> bool:
    ink = facts.observations.ink[index]
    return ink is not None and any(e.reaches for e in ink.edges if e.edge == spine_edge(facts, index))


def _halves(facts: Facts, index: int) -> Iterator[_Half]:
    seen, ink = facts.observations.objects[index], facts.observations.ink[index]
    width = size_mm(facts.manuscript.pages[index])[0]
    at_left = spine_edge(facts, index) == "left"
    pictures = False
    for picture in seen.pictures if seen is not None else ():
        place = picture.shown_mm or picture.place_mm
        if picture.kind is PictureKind.SOFT_MASK:
            continue
        if place.x0 <= _AT_SPINE_MM if at_left else place.x1 >= width - _AT_SPINE_MM:
            pictures = True
            yield _Half(place.y0, place.y1, picture, place)
    for edge in ink.edges if ink is not None and not pictures else ():
        if edge.edge == spine_edge(facts, index) and edge.reaches and edge.bleed_place_mm is not None:
            yield _Half(edge.bleed_place_mm.y0, edge.bleed_place_mm.y1, None, edge.bleed_place_mm)


def _shared_mm(one: _Half, other: _Half) -> float:
    return min(one.high_mm, other.high_mm) - max(one.low_mm, other.low_mm)


def _belong(one: _Half, other: _Half, least_mm: float) -> bool:
    """Whether the two may be halves of one thing: at the same height, pictures in the same scale."""
    if _shared_mm(one, other) < max(least_mm, 0.5 * min(one.high_mm - one.low_mm, other.high_mm - other.low_mm)):
        return False
    if one.picture is None or other.picture is None:
        return one.picture is other.picture
    return abs(one.picture.ppi_y - other.picture.ppi_y) <= _SCALE_PART * one.picture.ppi_y


def _told(facts: Facts, index: int, half: _Half, _: _Half) -> Finding:
    what = "a picture runs" if half.picture is not None else "matter runs"
    says = f"{what} over the spine to page {index + 2}"
    sides = facts.sides
    if sides is None or index + 1 >= len(sides):
        cause, severity, where = "crossovers/unknown", Severity.NOTE, None
        says += "; on which sides of which sheets the halves are printed is not known yet."
    elif sides[index] == sides[index + 1]:
        cause, severity, where = "crossovers/together", Severity.NOTE, f"sheet {sides[index][0]} {sides[index][1]}"
        says += f"; both halves are printed on one side, the {sides[index][1]} of sheet {sides[index][0]}."
    else:
        (sheet, side), (other_sheet, other_side) = sides[index], sides[index + 1]
        cause, severity = "crossovers/apart", Severity.QUERY
        where = f"sheet {sheet} {side}, sheet {other_sheet} {other_side}"
        says += f"; the halves are printed apart, on the {side} of sheet {sheet} and the {other_side} of sheet "
        says += f"{other_sheet}: colour and height may differ."
    return on_page(
        facts,
        index,
        cause,
        severity,
        says,
        "Keep thin lines and lettering off the spine; if it matters, move the picture to the middle of a section."
        if severity is Severity.QUERY
        else "Keep thin lines and lettering off the spine.",
        place_mm=half.place_mm,
        measured=where,
    )


CHECK = Check(
    id="crossovers",
    title="Over the spine",
    needs=frozenset({Needs.OBJECTS, Needs.INK}),
    measures="Pictures and other matter that reach the spine on two facing pages at the same height, and whether both "
    "halves fall on one printed side in the make-up or on two.",
    why="Two halves printed apart differ in colour and, by the folding, in height; at the spine the eye sees both.",
    remedy="Place such pictures in the middle of a section, or let them end at the spine.",
    source="common practice, no source",
    run=_run,
    limits={"least_height_mm": 10.0},
    limit_sources={"least_height_mm": "a rule or a line of type over the spine is not asked about; no source"},
    severity=Severity.QUERY,
)
