# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the file is one open cover of the size that the book asks for, and leaves the right width for its spine."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.covers.matter import is_ground
from foldproof.covers.model import SIZE_SLACK_MM, CoverFacts, Folds, over_cover, told
from foldproof.manuscript.model import TrimSource
from foldproof.pdf.cover_things import Mark
from foldproof.preflight.measures import alike, page_mm, room_mm
from foldproof.preflight.model import Check, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed
from foldproof.units import format_mm, format_size_mm, pt_to_mm

#: how far from its fold an edge of a tint or a mark is taken to be meant for it (common practice, no source)
_MEANT_MM = 8.0
#: a fold mark: a hairline of so much length (common practice, no source)
_MARK_WIDE_MM, _MARK_LEAST_MM, _MARK_MOST_MM = 0.6, 1.5, 15.0


def _pages(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    pages = facts.manuscript.pages
    if len(pages) == 1:
        return
    kind = facts.sizes.kind
    words = f"The file has {len(pages):,} pages; a {kind} is one page, lying open, printed side up."
    if len(pages) in (2, 3, 4, 5):
        words += " Are they its panels, one by one?"
    yield told(
        "cover-pages",
        Severity.STOP,
        words,
        f"Set the {kind} as one page: {_panels(facts)}, and export that page alone.",
        measured=len(pages),
        limit=1,
        unit="pages",
    )


def _panels(facts: CoverFacts) -> str:
    """``back 140 mm, spine 18.6 mm, front 140 mm`` from the left."""
    sizes = facts.sizes
    flap = [f"flap {format_mm(sizes.flap_mm)}"] if sizes.flap_mm else []
    panel = format_mm(sizes.panel_mm[0] + sizes.wrap_mm)
    first, last = ("back", "front") if sizes.reading == "left to right" else ("front", "back")
    return ", ".join([*flap, f"{first} {panel}", f"spine {format_mm(sizes.spine_mm)}", f"{last} {panel}", *flap])


def _trim_box(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    page = facts.page
    if page.boxes.trim_source is TrimSource.TRIM_BOX:
        return
    size, trim = page_mm(page), facts.measured_mm
    beyond = (size[0] - trim[0]) / 2
    around = f"less {format_mm(beyond)} of bleed on every side" if beyond > 0 else "as it is, without any bleed"
    yield told(
        "cover-trim-box",
        Severity.QUERY,
        f"The file states no TrimBox. The page, {format_size_mm(*size)}, was taken {around}: "
        f"{format_size_mm(*trim)}, with the cover in its middle.",
        "Export as PDF/X, which states where the cover is trimmed; or tell us that this is right.",
        measured="none",
        limit="TrimBox",
    )


def _size(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    size, asked = facts.measured_mm, facts.sizes.trimmed_mm
    if facts.is_ours:
        return
    sizes, says = facts.sizes, f"The cover is {format_size_mm(*size)}; the book asks for {format_size_mm(*asked)}"
    says += f" ({_panels(facts)})."
    remedy = "Set the page size in the document as the drawing of the cover gives it, and export again."
    cause = "cover-size/other"
    slack = max(SIZE_SLACK_MM, facts.house.finishing.spine_tolerance)
    if alike((size[1], size[0]), asked, slack):
        cause = "cover-size/turned"
        says = f"The cover lies on its side: it is {format_size_mm(*size)}, and is to be {format_size_mm(*asked)}."
        remedy = "Turn the page upright in the document, or take the rotation off, and export again."
    elif sizes.flap_mm and abs(size[0] - (asked[0] - 2 * sizes.flap_mm)) <= slack:
        cause = "cover-size/no-flaps"
        says += f" It seems to lack its two flaps of {format_mm(sizes.flap_mm)}."
        remedy = "Add the flaps to the document, or take them out of the job."
    elif alike(size, sizes.panel_mm, slack):
        cause = "cover-size/one-panel"
        says += " It is one panel alone."
        remedy = f"Set the {sizes.kind} as one open page, back, spine and front side by side."
    elif facts.height_is_right:
        says += f" That would leave {format_mm(facts.implied_spine_mm)} for the spine."
    yield told(
        cause,
        Severity.STOP,
        says,
        remedy,
        measured=format_size_mm(*size).removesuffix(" mm"),
        limit=format_size_mm(*asked).removesuffix(" mm"),
        unit="mm",
    )


def _spine(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    if not facts.is_ours:
        facts.folds  # noqa: B018 - says why nothing can be said
    spine, implied = facts.sizes.spine_mm, facts.implied_spine_mm
    tolerance = facts.house.finishing.spine_tolerance
    if abs(implied - spine) > tolerance:
        which = "narrow" if implied < spine else "wide"
        yield told(
            "spine-width/size",
            Severity.STOP,
            f"The cover is {format_mm(facts.measured_mm[0])} wide, which leaves {format_mm(max(implied, 0.0))} for the "
            f"spine; the book is {format_mm(spine)} thick: {format_mm(abs(implied - spine))} too {which}.",
            f"Set the spine in the document to {format_mm(spine)} and export again; front and back keep their width.",
            measured=implied,
            limit=spine,
            unit="mm",
        )
        return
    yield from _drawn_spine(facts, tolerance)


def _drawn_spine(facts: CoverFacts, tolerance: float) -> Iterable[Finding]:
    """The spine that tints and fold marks draw, where they do: only what stands near the folds on both sides."""
    if facts.seen is None or facts.sizes.spine_mm <= 0:
        return
    folds = facts.folds
    for cause, what, edges in (
        ("spine-width/marks", "The fold marks", _mark_places(facts.seen.marks, folds)),
        ("spine-width/tint", "The tint of the spine", _tint_edges(facts.seen.marks, folds)),
    ):
        if edges is None:
            continue
        off = max((a - b for a, b in zip(edges, folds.spine, strict=True)), key=abs)
        if abs(off) <= tolerance:
            continue
        left, right = edges
        yield told(
            cause,
            Severity.QUERY,
            f"{what} {'stand' if cause.endswith('marks') else 'runs'} from {format_mm(left)} to {format_mm(right)} "
            f"from the left trim, {format_mm(right - left)} wide; the spine lies from {format_mm(folds.spine[0])} to "
            f"{format_mm(folds.spine[1])}, {format_mm(folds.spine[1] - folds.spine[0])} wide.",
            "Move it to the folds of the drawing; or tell us that the colour is to change beside the fold.",
            place_mm=folds.spine_panel,
            measured=right - left,
            limit=folds.spine[1] - folds.spine[0],
            unit="mm",
        )


def _tint_edges(marks: tuple[Mark, ...], folds: Folds) -> tuple[float, float] | None:
    """The edges of a tint over the whole height that ends near both folds of the spine."""
    left, right = folds.spine
    for mark in marks:
        box = mark.box_mm
        near = abs(box.x0 - left) <= _MEANT_MM and abs(box.x1 - right) <= _MEANT_MM
        if mark.what in ("fill", "shading") and near and is_ground(mark, folds) and box.height >= 0.9 * folds.height_mm:
            return box.x0, box.x1
    return None


def _mark_places(marks: tuple[Mark, ...], folds: Folds) -> tuple[float, float] | None:
    """Two upright hairlines beside the trim, at head or foot, that stand near the folds of the spine."""
    places = [
        mark.box_mm.centre[0]
        for mark in marks
        if mark.what in ("stroke", "fill")
        and mark.box_mm.width <= _MARK_WIDE_MM
        and _MARK_LEAST_MM <= mark.box_mm.height <= _MARK_MOST_MM
        and (mark.box_mm.y0 >= folds.height_mm - 0.1 or mark.box_mm.y1 <= 0.1)
    ]
    found = []
    for fold in folds.spine:
        near = [x for x in places if abs(x - fold) <= _MEANT_MM]
        if not near:
            return None
        found.append(min(near, key=lambda x: abs(x - fold)))
    return (found[0], found[1]) if found[1] - found[0] > 0.5 else None


def _bleed(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    asked = facts.bleed_mm
    enough = asked - limits.number("tolerance_mm")
    ink = facts.observations.ink[0] if facts.page and facts.observations.ink else None
    if ink is None or asked <= 0:
        return
    room = room_mm(facts.page)
    short = sorted((e for e in ink.edges if e.reaches and e.bleed_mm < enough), key=lambda e: e.bleed_mm)
    names = {"left": "left edge", "right": "right edge", "head": "head", "foot": "foot"}
    if short:
        worst = short[0]
        parts = [
            ("at the trim" if e.bleed_mm < 0.1 else f"{format_mm(e.bleed_mm)} beyond the trim")
            + f" at the {names[e.edge]}"
            for e in short
        ]
        cramped = room[worst.edge] < asked - 0.1
        says = f"What is printed up to the edge stops {listed(parts)}; {format_mm(asked)} of bleed are asked for."
        if cramped:
            says += f" The PDF page itself ends {format_mm(max(0.0, room[worst.edge]))} beyond the trim there."
        yield told(
            "cover-bleed/no-room" if cramped else "cover-bleed/short",
            Severity.STOP if worst.bleed_mm < min(limits.number("stop_below_mm"), asked) else Severity.QUERY,
            says,
            f"Extend the ground past the edge on that side, and export again with {format_mm(asked)} of bleed.",
            place_mm=worst.bleed_place_mm,
            measured=worst.bleed_mm,
            limit=asked,
            unit="mm",
            count=len(short),
        )
        return
    page = facts.page
    if "BleedBox" not in page.boxes.stated or not any(e.reaches for e in ink.edges):
        return
    box, (width, height) = page.to_trim.rect(page.boxes.bleed), page.trim_size_pt
    beyond = {"left": -box.x0, "right": box.x1 - width, "foot": -box.y0, "head": box.y1 - height}
    tight = [e for e in ink.edges if e.reaches and beyond[e.edge] * _PT < enough]
    if tight:
        least = min(beyond[e.edge] * _PT for e in tight)
        yield told(
            "cover-bleed/box",
            Severity.QUERY,
            f"The ground runs on far enough, but the BleedBox goes only {format_mm(max(least, 0.0))} beyond the trim: "
            "programs that obey the box cut the bleed off.",
            f"Export again with {format_mm(asked)} of bleed set, so that the box takes it in.",
            measured=least,
            limit=asked,
            unit="mm",
        )


_PT = pt_to_mm(1.0)

_STRUCTURE, _OBJECTS = frozenset({Needs.STRUCTURE}), frozenset({Needs.STRUCTURE, Needs.OBJECTS})

CHECKS = (
    Check(
        id="cover-pages",
        title="One open page",
        needs=_STRUCTURE,
        measures="The number of pages of the file: a cover or jacket is one page, all its panels side by side.",
        why="Panels that come one by one must be put together by somebody who was not asked how they meet.",
        remedy="Set back, spine and front, and the flaps, as one page, and export that page alone.",
        source="common practice, no source",
        run=over_cover(_pages),
        limits={},
        severity=Severity.STOP,
    ),
    Check(
        id="cover-trim-box",
        title="Trim of the cover stated",
        needs=_STRUCTURE,
        measures="Whether the page states a TrimBox, and what was taken for it where it does not.",
        why="The spine is found from the trim: a guessed trim moves every fold.",
        remedy="Export as PDF/X, which states where the cover is trimmed.",
        source="ISO 15930 (PDF/X): TrimBox or ArtBox is stated",
        run=over_cover(_trim_box),
        limits={},
        severity=Severity.QUERY,
    ),
    Check(
        id="cover-size",
        title="Size of the cover",
        needs=_STRUCTURE,
        measures="Width and height of the trimmed cover against two panels, the spine and the flaps as the book asks "
        f"for them, to {format_mm(SIZE_SLACK_MM)} in height; whether it lies on its side, lacks its flaps or is one "
        "panel alone. A width that only the spine can be at fault for is told by spine-width.",
        why="A cover of another size does not go round the book: it is short at head or fore-edge, or the title walks "
        "off the spine.",
        remedy="Set the page size in the document as the drawing of the cover gives it.",
        source="geometry of panels, spine and flaps; the tolerance: sizes in whole points are up to 0.18 mm off, "
        "common practice, no source",
        run=over_cover(_size),
        limits={},
        severity=Severity.STOP,
    ),
    Check(
        id="spine-width",
        title="Width of the spine",
        needs=_OBJECTS,
        measures="What the width of the cover leaves for the spine, against the thickness of the book as it is made "
        "up, within the house's tolerance ([finishing] spine_tolerance). Where a tint over the whole height, or fold "
        "marks beside the trim, draw a spine of their own near the folds, whether they stand at them.",
        why="A spine too narrow pulls the front round the back edge, one too wide leaves the title beside the middle.",
        remedy="Ask for the drawing of the cover once the number of pages and the paper are settled, and set the spine "
        "to it.",
        source="the thickness: pages / 2 x caliper of the leaf (ISO 534 for the caliper); the tolerance is the house's",
        run=over_cover(_spine),
        limits={},
        severity=Severity.STOP,
    ),
    Check(
        id="cover-bleed",
        title="Bleed of the cover",
        needs=frozenset({Needs.STRUCTURE, Needs.INK}),
        measures="On each of the four edges where ink touches the trim, how far it runs on beyond it, measured from "
        "the inks; and whether the page, and a stated BleedBox, go as far.",
        why="Knives are a little off on every copy: a ground that ends at the line leaves a white edge.",
        remedy="Extend grounds and pictures past all four edges and export with the bleed.",
        source="common practice: data sheets of three printers and a reproduction house agree on 3 mm; the bleed "
        "itself is the house's or the job's",
        run=over_cover(_bleed),
        limits={"stop_below_mm": 1.5, "tolerance_mm": 0.3},
        limit_sources={
            "stop_below_mm": "common practice: the general tolerance of cutting, 1.5 mm on a printer's data sheet",
            "tolerance_mm": "sizes in whole points are up to 0.18 mm off, and the ink is measured to 0.09 mm",
        },
        severity=Severity.STOP,
    ),
)
