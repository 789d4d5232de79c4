# SPDX-License-Identifier: AGPL-3.0-or-later
"""Matter in the registration colour, which prints in every plate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageObjects
from foldproof.preflight.matter import paper_mm
from foldproof.preflight.measures import objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page

_WORDS = {"fill": "areas", "stroke": "rules", "stencil": "stencils", "text": "type", "picture": "pictures"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for seen in objects_of(facts):
        if seen is None:
            continue
        trim = paper_mm(facts, seen.index, 0.0)
        inside: dict[str, Rect | None] = {}
        # marks stand outside the trim, and are in this colour rightly
        for what, space, first_mm in _inside(seen, trim):
            if "Separation(All)" in space:
                inside.setdefault(_WORDS.get(what, "matter"), first_mm)
        if inside:
            words = list(inside)
            yield on_page(
                facts,
                seen.index,
                "all-plates",
                Severity.QUERY,
                f"{listed(words)} {'is' if words in (['type'], ['matter']) else 'are'} set in the registration colour, "
                "which prints in every ink; it belongs to marks alone.",
                "Set it in black.",
                place_mm=next(iter(inside.values())),
                measured="All",
            )


def _inside(seen: PageObjects, trim: Rect) -> Iterator[tuple[str, str, Rect | None]]:
    """What is painted within the trim, its colour space and where it occurs first."""
    for text in seen.texts:
        if text.in_trim and text.alpha > 0 and text.how in ("fill", "stroke"):
            yield "text", text.space, text.first_mm
    for paint in seen.paints:
        if paint.in_trim and paint.alpha > 0:
            yield paint.what, paint.space, paint.first_mm
    for picture in seen.pictures:
        place = picture.shown_mm or picture.place_mm
        if place.meets(trim):
            yield "picture", picture.space, place


CHECK = Check(
    id="all-plates",
    title="Matter in every plate",
    needs=frozenset({Needs.OBJECTS}),
    measures="Type, rules, areas and pictures inside the trim in the colour that prints in all plates (Separation "
    "All), which marks outside the trim have.",
    why="Every ink is laid on top of the others: it smears, sets off on the next sheet and shows each fault of "
    "register; in a book with spot colours it prints in those too.",
    remedy="Use black.",
    source="ISO 32000-1, 8.6.6.4 (colorant All); Ghent Workgroup, GWG2015, contents: separation All",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
