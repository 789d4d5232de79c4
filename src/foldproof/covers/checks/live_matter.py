# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether type and small things keep clear of trim, hinge and folds."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

from foldproof.covers.matter import Thing, live_things
from foldproof.covers.model import CoverFacts, Folds, over_cover, told
from foldproof.preflight.model import Check, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted
from foldproof.units import format_mm

#: what was set on the line, and stands on it but for rounding
_SLACK_MM = 0.05


def _run(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    folds = facts.folds
    things = live_things(facts)
    yield from chain(
        _trim(things, folds, limits.number("trim_mm")),
        _hinge(facts, things, folds, limits.number("hinge_mm")),
        _flaps(things, folds, limits.number("fold_mm")),
    )


def _trim(things: tuple[Thing, ...], folds: Folds, least: float) -> Iterable[Finding]:
    def nearest(thing: Thing) -> tuple[float, str]:
        box = thing.box_mm
        return min(
            (box.x0, "left edge"),
            (folds.width_mm - box.x1, "right edge"),
            (box.y0, "foot"),
            (folds.height_mm - box.y1, "head"),
        )

    close = sorted(((*nearest(thing), thing) for thing in things), key=lambda found: found[0])
    close = [found for found in close if found[0] < least - _SLACK_MM]
    if not close:
        return
    distance, edge, worst = close[0]
    lies = (
        f"is cut off {format_mm(-distance)} at the {edge}"
        if distance < 0
        else f"stands {format_mm(distance)} from the trim at the {edge}"
    )
    yield told(
        "cover-live-matter/trim",
        Severity.STOP if distance < 0 else Severity.QUERY,
        f"{_begin(worst)} {lies}; {format_mm(least)} are to be kept free.{_more(len(close))}",
        "Move it inwards; or, if it is meant to be cut, extend it past the edge as bleed.",
        place_mm=worst.box_mm,
        measured=distance,
        limit=least,
        unit="mm",
        count=len(close),
    )


def _hinge(facts: CoverFacts, things: tuple[Thing, ...], folds: Folds, beyond: float) -> Iterable[Finding]:
    """Front and back between the spine and the crease beside it; on a jacket beside the fold alone."""
    kept = facts.sizes.hinge_mm + beyond if facts.sizes.hinge_mm else beyond
    left, right = folds.spine
    found: list[tuple[float, str, Thing]] = []
    for thing in things:
        box = thing.box_mm
        if box.centre[0] < left:
            found.append((left - box.x1, "back" if folds.back.x0 < left else "front", thing))
        elif box.centre[0] > right:
            found.append((box.x0 - right, "front" if folds.front.x0 >= right else "back", thing))
    close = sorted((one for one in found if one[0] < kept - _SLACK_MM), key=lambda one: one[0])
    if not close:
        return
    distance, panel, worst = close[0]
    lies = (
        f"runs {format_mm(-distance)} over the fold onto the spine"
        if distance < 0
        else f"stands {format_mm(distance)} from the fold of the spine"
    )
    asked = (
        f"the cover is creased {format_mm(facts.sizes.hinge_mm)} from it, and {format_mm(kept)} are to be kept free"
        if facts.sizes.hinge_mm
        else f"{format_mm(kept)} are to be kept free"
    )
    yield told(
        "cover-live-matter/hinge",
        Severity.QUERY,
        f"{_begin(worst)} on the {panel} {lies}; {asked}.{_more(len(close))}",
        "Move it towards the fore-edge, clear of the crease.",
        place_mm=worst.box_mm,
        measured=distance,
        limit=kept,
        unit="mm",
        count=len(close),
    )


def _flaps(things: tuple[Thing, ...], folds: Folds, least: float) -> Iterable[Finding]:
    close = []
    for thing in things:
        for fold in folds.flaps:
            box = thing.box_mm
            distance = min(abs(box.x0 - fold), abs(box.x1 - fold))
            distance = -distance if box.x0 < fold < box.x1 else distance
            if distance < least - _SLACK_MM:
                close.append((distance, thing))
    if not close:
        return
    distance, worst = min(close, key=lambda one: one[0])
    lies = "runs over the fold of a flap" if distance < 0 else f"stands {format_mm(distance)} from the fold of a flap"
    yield told(
        "cover-live-matter/flap",
        Severity.QUERY,
        f"{_begin(worst)} {lies}; {format_mm(least)} are to be kept free on either side.{_more(len(close))}",
        "Move it clear of the fold.",
        place_mm=worst.box_mm,
        measured=distance,
        limit=least,
        unit="mm",
        count=len(close),
    )


def _begin(thing: Thing) -> str:
    return thing.name[0].upper() + thing.name[1:]


def _more(count: int) -> str:
    return f" {counted(count, 'thing')} in all." if count > 1 else ""


CHECKS = (
    Check(
        id="cover-live-matter",
        title="Live matter of the cover",
        needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
        measures="How near type and small things come to the trim, to the crease beside the spine and to the folds of "
        "the flaps, from the ink of their glyphs and outlines. Grounds, bare panels and art that runs off the page or "
        "over a fold are left out. The folds are those that the width of the cover leaves.",
        why="Knife and crease are a millimetre or more off on some copies: type close to them looks cut, or is, and "
        "what stands in the crease breaks.",
        remedy="Keep type and emblems clear of trim, crease and folds.",
        source="common practice: a printer's data sheet asks for 3 mm at a general tolerance of 1.5 mm; beside creases "
        "and folds: common practice, no source",
        run=over_cover(_run),
        limits={"trim_mm": 3.0, "hinge_mm": 1.0, "fold_mm": 3.0},
        limit_sources={
            "trim_mm": "common practice: matter 3 mm inside the trim, on a printer's data sheet",
            "hinge_mm": "beyond the crease, or the fold of a jacket; common practice, no source",
            "fold_mm": "as beside the trim; common practice, no source",
        },
        severity=Severity.STOP,
    ),
)
