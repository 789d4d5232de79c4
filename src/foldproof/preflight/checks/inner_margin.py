# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether matter keeps clear of the spine as far as the binding asks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.preflight.measures import ink_of, spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page
from foldproof.units import format_mm

#: the ink pass sees a place to one pixel, rounded up
_PIXEL_MM = 0.4
#: when this part of the pages is short, and so many, it is the margin of the book, told once
_MOST, _LEAST_PAGES = 0.5, 8


@frozen
class _Near:
    index: int
    distance_mm: float
    place_mm: Rect | None
    picture: bool


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    binding = facts.job.book.binding
    if binding == "leaflet":
        return  # bound by nothing: it lies flat, and no spine swallows a margin
    asked_mm = limits.number(f"{binding}_mm")
    if binding == "glued" and facts.bulk_mm is not None:
        asked_mm += facts.bulk_mm / limits.number("bulk_step_mm") * limits.number("more_a_step_mm")
    asked_mm = round(asked_mm, 1)
    query_mm = limits.number("query_short_mm")
    near = list(_nearest(facts))
    short = [one for one in near if one.distance_mm + _PIXEL_MM < asked_mm]
    books = list(_of_the_book(short, near))
    for which, usual_mm, told in books:
        yield in_book(
            "inner-margin/book",
            Severity.QUERY if usual_mm + query_mm < asked_mm else Severity.NOTE,
            f"On {len(told)} of {which} matter stands nearer to the spine than {format_mm(asked_mm)}, mostly "
            f"{_said(usual_mm)}; {_why(facts, asked_mm)}.",
            "Widen the inner margin, or choose a binding that opens flatter.",
            measured=usual_mm,
            limit=asked_mm,
            unit="mm",
        )
    usual = {one.index: usual_mm for _, usual_mm, told in books for one in told}
    for one in short:
        if one.index in usual and one.distance_mm + query_mm >= usual[one.index]:
            continue
        yield on_page(
            facts,
            one.index,
            "inner-margin/picture" if one.picture else "inner-margin/page",
            Severity.QUERY if not one.picture and one.distance_mm + query_mm < asked_mm else Severity.NOTE,
            f"{'a picture' if one.picture else 'matter'} stands {_said(one.distance_mm)} from the spine; "
            f"{_why(facts, asked_mm)}.",
            "Move it outwards; what is to run over the spine should reach the page edge.",
            place_mm=one.place_mm,
            measured=one.distance_mm,
            limit=asked_mm,
            unit="mm",
        )


def _of_the_book(short: Sequence[_Near], near: Sequence[_Near]) -> Iterable[tuple[str, float, list[_Near]]]:
    """Pages whose margin is that of the book, or of its rectos or versos: which, how wide mostly, and they."""
    of_text = [one for one in short if not one.picture]
    parts = [(f"{len(near)} pages", of_text, near)]
    if len(of_text) <= _MOST * len(near):
        parts = [
            (
                f"{sum(one.index % 2 == side for one in near)} {('rectos', 'versos')[side]}",
                [one for one in of_text if one.index % 2 == side],
                [one for one in near if one.index % 2 == side],
            )
            for side in (0, 1)
        ]
    for which, told, all_pages in parts:
        if len(told) >= _LEAST_PAGES and len(told) > _MOST * len(all_pages):
            yield which, float(median(one.distance_mm for one in told)), told


def _nearest(facts: Facts) -> Iterable[_Near]:
    objects = facts.observations.objects
    for ink in ink_of(facts):
        if ink is None:
            continue
        for edge in ink.edges:
            if edge.edge != spine_edge(facts, ink.index) or edge.nearest_mm is None:
                continue
            seen = objects[ink.index] if ink.index < len(objects) else None
            place = edge.nearest_place_mm
            picture = bool(
                seen and place and any((p.shown_mm or p.place_mm).meets(place.grown(0.5)) for p in seen.pictures)
            )
            yield _Near(ink.index, edge.nearest_mm, place, picture)


def _said(distance_mm: float) -> str:
    return format_mm(round(distance_mm, 1))


def _why(facts: Facts, asked_mm: float) -> str:
    book = facts.job.book.binding
    thick = f" of {format_mm(round(facts.bulk_mm))} bulk" if book == "glued" and facts.bulk_mm is not None else ""
    return f"in a {book} book{thick} {format_mm(asked_mm)} are wanted"


CHECK = Check(
    id="inner-margin",
    title="Inner margin",
    needs=frozenset({Needs.OBJECTS, Needs.INK}),
    measures="The distance of the nearest ink from the spine against what the binding of the job asks for; in glued "
    "books the thickness of the block counts too. Matter that runs over the spine is not meant.",
    why="A stitched book loses little at the spine, a glued one does not open flat: lines that begin too near to it "
    "have to be read round a bend.",
    remedy="Widen the inner margin in the document.",
    source="common practice, no source: 10 mm stitched, 13 mm sewn, 16 mm glued and 1 mm more for every 5 mm of bulk; "
    "a bindery's table of margins asks for 1/2 in of the binding edge",
    run=_run,
    limits={
        "stitched_mm": 10.0, "sewn_mm": 13.0, "glued_mm": 16.0, "bulk_step_mm": 5.0, "more_a_step_mm": 1.0,
        "query_short_mm": 2.5,
    },
    limit_sources={
        "stitched_mm": "common practice, no source",
        "sewn_mm": "common practice, no source; a bindery's table of margins: 1/2 in from the binding edge",
        "glued_mm": "common practice, no source",
        "bulk_step_mm": "common practice, no source",
        "more_a_step_mm": "common practice, no source",
        "query_short_mm": "less lacking than this is a matter of taste; common practice, no source",
    },
    severity=Severity.QUERY,
)  # fmt: skip
