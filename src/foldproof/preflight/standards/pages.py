# SPDX-License-Identifier: AGPL-3.0-or-later
"""Clauses on the boxes of pages and on annotations."""

from __future__ import annotations

from foldproof.geometry import Matrix, Rect
from foldproof.manuscript.model import PageFact
from foldproof.preflight.model import Facts, Severity
from foldproof.preflight.standards.claims import RECALLED
from foldproof.preflight.standards.model import ALL, Broken, Clause, Standard
from foldproof.preflight.words import counted, listed, numbers
from foldproof.units import pt_to_mm

#: annotations that belong to the printing itself (ISO 32000-1, 14.11.3 and 14.11.6); a pop-up is the window of another
#: annotation and counts with that
_OF_THE_PRESS = frozenset({"PrinterMark", "TrapNet", "Popup"})
#: boxes that agree so far, in PDF units, lie one in another: the noise of rounding
_NOISE_PT = 0.01


def _finished(page: PageFact) -> Rect | None:
    """The TrimBox or else the ArtBox, where one is stated."""
    if "TrimBox" in page.boxes.stated:
        return page.boxes.trim
    return page.boxes.art if "ArtBox" in page.boxes.stated else None


def _trim_or_art(facts: Facts, standard: Standard) -> Broken | None:
    both, neither = facts.manuscript.facts.both_boxes, facts.manuscript.facts.neither_box
    says = [f"{numbers(both)} {_state(both)} both TrimBox and ArtBox"] if both else []
    says += [f"{numbers(neither)} {_state(neither)} neither TrimBox nor ArtBox"] if neither else []
    if not says:
        return None
    return Broken(" and ".join(says), "both" if both else "neither", tuple(sorted({*both, *neither})))


def _state(pages: tuple[int, ...]) -> str:
    return "state" if len(pages) > 1 else "states"


def _nesting(facts: Facts, standard: Standard) -> Broken | None:
    crossed: dict[str, None] = {}
    pages: list[int] = []
    for page in facts.manuscript.pages:
        boxes, finished = page.boxes, _finished(page)
        found = []
        if finished is not None:
            name = "TrimBox" if "TrimBox" in boxes.stated else "ArtBox"
            for outer, rect in (("BleedBox", boxes.bleed), ("CropBox", boxes.crop)):
                if outer in boxes.stated and not rect.holds(finished, _NOISE_PT):
                    found.append(f"the {name} reaches beyond the {outer}")
        found += [
            f"the {box} reaches beyond the MediaBox" for box in ("BleedBox", "TrimBox", "ArtBox") if box in boxes.beyond
        ]
        if found:
            pages.append(page.index)
            crossed.update(dict.fromkeys(found))
    if not pages:
        return None
    return Broken(f"on {numbers(pages)} {listed(list(crossed))}", "crossed", tuple(pages))


def _annotations(facts: Facts, standard: Standard) -> Broken | None:
    kinds: dict[str, int] = {}
    pages: list[int] = []
    for page in facts.manuscript.pages:
        if not page.annotations:
            continue
        bleed = _bleed_mm(page)
        inside = [
            one.subtype
            for one in page.annotations
            if one.subtype not in _OF_THE_PRESS and not one.place_mm.is_empty and one.place_mm.meets(bleed)
        ]
        if inside:
            pages.append(page.index)
            for kind in inside:
                kinds[kind] = kinds.get(kind, 0) + 1
    if not pages:
        return None
    what = listed([counted(count, f"{kind or 'nameless'} annotation") for kind, count in kinds.items()])
    return Broken(
        f"{what} {'lies' if sum(kinds.values()) == 1 else 'lie'} on the matter of {numbers(pages)}", what, tuple(pages)
    )


def _bleed_mm(page: PageFact) -> Rect:
    """BleedBox, else TrimBox or ArtBox, else the CropBox; trim frame, mm."""
    boxes = page.boxes
    area = boxes.bleed if "BleedBox" in boxes.stated else (_finished(page) or boxes.crop)
    unit = pt_to_mm(1.0)
    placed: Rect = page.to_trim.then(Matrix.scaling(unit, unit)).rect(area)
    return placed


def _user_unit(facts: Facts, standard: Standard) -> Broken | None:
    pages = facts.manuscript.facts.page_user_units
    if not pages:
        return None
    verb = "are" if len(pages) > 1 else "is"
    return Broken(f"{numbers(pages)} {verb} measured in a unit that is stated (UserUnit)", "UserUnit", pages)


CLAUSES = (
    Clause(
        "trim-or-art",
        "TrimBox or ArtBox",
        ALL,
        Severity.QUERY,
        "every page has to state one of the two, and not both",
        "one of the two",
        "Export with the page size as TrimBox, and without an ArtBox.",
        "ISO 15930: TrimBox or ArtBox must be defined (an industry site on PDF/X); not both, from memory",
        _trim_or_art,
    ),
    Clause(
        "boxes",
        "boxes one in another",
        ALL,
        Severity.QUERY,
        "trim has to lie within bleed, and bleed within the page",
        "one in another",
        "Let the layout program write the boxes, and do not crop the pages afterwards.",
        "ISO 15930-1: BleedBox between TrimBox and MediaBox (prepress notes on PDF/X-1a); CropBox, from memory",
        _nesting,
    ),
    Clause(
        "annotations",
        "no annotations on the matter",
        ALL,
        Severity.QUERY,
        "links, notes and fields have to lie outside the bleed",
        "outside the bleed",
        "Export without hyperlinks, comments and fields.",
        "ISO 15930-1: annotations lie outside the bleed area (prepress notes on PDF/X-1a); for -7 from memory",
        _annotations,
    ),
    Clause(
        "user-unit",
        "no unit of a page's own",
        ALL,
        Severity.QUERY,
        "pages have to be measured in points",
        "points",
        "Export at true size.",
        f"{RECALLED}; ISO 32000-1, table 30: from PDF 1.6 on",
        _user_unit,
    ),
)
