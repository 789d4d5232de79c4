# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stands on the spine: in its middle, clear of the folds, reading the right way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from foldproof.covers.matter import TOUCH_MM, Thing, covered_by_picture, spine_things
from foldproof.covers.model import CoverFacts, over_cover, told
from foldproof.geometry import Rect
from foldproof.preflight.measures import around
from foldproof.preflight.model import Check, Finding, Limits, Needs, NotJudged, Severity
from foldproof.preflight.words import counted, listed
from foldproof.units import format_mm

#: letters that reach below the base line alone move the middle of the ink by up to so much of its width: they reach a
#: quarter of it down on one side (proportions of type; common practice, no source)
_DESCENDERS = 1 / 8
#: two lines of a title, or an emblem beside it, are one thing; what lies farther apart along the spine is another
_QUARTER = 12.0


def _all(facts: CoverFacts) -> tuple[Thing, ...]:
    """What stands on the spine.

    Raises:
        NotJudged: it cannot be told from a picture.
    """
    things = spine_things(facts)
    if not things and covered_by_picture(facts):
        raise NotJudged("A picture lies over the whole spine; what stands in it cannot be told from the file.")
    return things


def _title(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    folds, safe = facts.folds, limits.number("least_mm")
    left, right = folds.spine
    things = _all(facts)
    whole = around([thing.box_mm for thing in things])
    if whole is None:
        return
    over = [t for t in things if t.box_mm.x0 < left - TOUCH_MM or t.box_mm.x1 > right + TOUCH_MM]
    close = [t for t in things if t not in over and min(t.box_mm.x0 - left, right - t.box_mm.x1) < safe - TOUCH_MM]
    if over:
        yield _at_fold("spine-title/over", Severity.STOP, over, left, right, safe)
    elif close:
        yield _at_fold("spine-title/close", Severity.QUERY, close, left, right, safe)
    middle, tolerance = (left + right) / 2, max(limits.number("tolerance_mm"), whole.width * _DESCENDERS)
    off = whole.centre[0] - middle
    if abs(off) > tolerance and not over:
        yield told(
            "spine-title/centre",
            Severity.QUERY,
            f"What stands on the spine lies {format_mm(abs(off))} to the {'right' if off > 0 else 'left'} of its "
            f"middle: its ink runs from {format_mm(whole.x0 - left)} to {format_mm(whole.x1 - left)} of a spine that "
            f"is {format_mm(right - left)} wide.",
            "Centre the title and the rest between the two folds; or tell us that it is meant so.",
            place_mm=whole,
            measured=abs(off),
            limit=tolerance,
            unit="mm",
            count=len(things),
        )


def _at_fold(
    cause: str, severity: Severity, things: Sequence[Thing], left: float, right: float, safe: float
) -> Finding:
    def free(thing: Thing) -> float:
        return min(thing.box_mm.x0 - left, right - thing.box_mm.x1)

    worst = min(things, key=free)
    distance = free(worst)
    side = "left" if worst.box_mm.x0 - left <= right - worst.box_mm.x1 else "right"
    lies = (
        f"runs {format_mm(-distance)} over the {side} fold of the spine"
        if distance < 0
        else f"stands {format_mm(distance)} from the {side} fold of the spine"
    )
    rest = f" {counted(len(things), 'thing')} in all." if len(things) > 1 else ""
    return told(
        cause,
        severity,
        f"On the spine {worst.name} {lies}; {format_mm(safe)} are to be kept free on either side.{rest}",
        "Set it smaller, or leave the spine bare: covers fold up to a millimetre beside the line.",
        place_mm=worst.box_mm,
        measured=distance,
        limit=safe,
        unit="mm",
        count=len(things),
    )


def _direction(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    asked = facts.job.stamping.spine_reads if facts.job.stamping is not None else "head to foot"
    whose = "the job asks for" if facts.job.stamping is not None else "by custom it reads"
    wrong: list[Thing] = []
    for thing in _all(facts):
        if thing.line is None:
            continue
        reads = _reads(thing.line.angle)
        if reads is not None and reads != asked:
            wrong.append(thing)
    if wrong:
        texts = listed([f"“{thing.line.text[:30]}”" for thing in wrong if thing.line is not None], 3)
        yield told(
            "spine-direction",
            Severity.QUERY,
            f"On the spine {texts} {'reads' if len(wrong) == 1 else 'read'} "
            f"{'foot to head' if asked == 'head to foot' else 'head to foot'}; {whose} {asked}.",
            "Turn the type of the spine by half a turn; or put spine_reads in the job right.",
            place_mm=_round(wrong),
            measured="foot to head" if asked == "head to foot" else "head to foot",
            limit=asked,
            count=len(wrong),
        )


def _reads(angle: float) -> str | None:
    """Which way type runs along the spine; ``None`` for what stands upright or slants."""
    if abs(angle - 270) <= _QUARTER:
        return "head to foot"
    return "foot to head" if abs(angle - 90) <= _QUARTER else None


def _round(things: Sequence[Thing]) -> Rect | None:
    return around([thing.box_mm for thing in things])


def _empty(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    folds, enough = facts.folds, limits.number("least_mm")
    width = folds.spine[1] - folds.spine[0]
    if width < enough or _all(facts):
        return
    if facts.looked.cut_short:
        raise NotJudged("There is so much on the cover that not all of it was looked at.")
    yield told(
        "spine-empty",
        Severity.QUERY,
        f"Nothing stands on the spine, and at {format_mm(width)} it is wide enough for a title.",
        "Set title and author on the spine; or tell us that it is to stay bare.",
        place_mm=folds.spine_panel,
        measured=width,
        limit=enough,
        unit="mm",
    )


_NEEDS = frozenset({Needs.STRUCTURE, Needs.OBJECTS})

CHECKS = (
    Check(
        id="spine-title",
        title="Title on the spine",
        needs=_NEEDS,
        measures="Type and small things on the spine, from the ink of their glyphs and outlines: how far the middle of "
        "all of them lies from the middle of the spine, and how near each comes to its folds. Letters that reach below "
        "the line may move the middle by an eighth of the width.",
        why="A cover goes on up to a millimetre beside the line: type too near a fold comes to lie on the front, and a "
        "title that was out of the middle before is seen to be.",
        remedy="Centre the title between the folds and keep it clear of both.",
        source="common practice, no source",
        run=over_cover(_title),
        limits={"least_mm": 1.5, "tolerance_mm": 1.0},
        limit_sources={
            "least_mm": "about 1/16 in, as printers of paper covers ask; common practice, no source",
            "tolerance_mm": "as far as a cover may be drawn on beside the line; common practice, no source",
        },
        severity=Severity.STOP,
    ),
    Check(
        id="spine-direction",
        title="Reading of the spine",
        needs=_NEEDS,
        measures="Which way live type along the spine reads, against the job ([stamping] spine_reads) or, where it "
        "says nothing, head to foot. Outlines have no direction that could be told, and type that stands upright is "
        "left alone.",
        why="On a shelf a spine that reads the other way stands on its head beside its neighbours.",
        remedy="Turn the type of the spine by half a turn.",
        source="ISO 6357: titles along the spine read from head to foot; from memory",
        run=over_cover(_direction),
        limits={},
        severity=Severity.QUERY,
    ),
    Check(
        id="spine-empty",
        title="Bare spine",
        needs=_NEEDS,
        measures="Whether anything stands on a spine that is wide enough for a title.",
        why="Without a title on its spine a book is not found on the shelf.",
        remedy="Set title and author on the spine, or say that it is to stay bare.",
        source="common practice, no source",
        run=over_cover(_empty),
        limits={"least_mm": 6.0},
        limit_sources={"least_mm": "room for 8-point type with 1.5 mm free on either side; common practice, no source"},
        severity=Severity.QUERY,
    ),
)
