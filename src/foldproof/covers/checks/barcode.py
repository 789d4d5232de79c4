# SPDX-License-Identifier: AGPL-3.0-or-later
"""The bars on the back: there, readable, large enough, with room beside them, dark on light.

ISO/IEC 15420 and the general specifications of GS1 are told from memory throughout.
"""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.covers.model import Bars, CoverFacts, over_cover, told
from foldproof.preflight.model import Check, Finding, Limits, Needs, NotJudged, Severity
from foldproof.preflight.words import listed
from foldproof.units import format_mm

#: width of a module at 100 % (ISO/IEC 15420, from memory)
NOMINAL_MODULE_MM = 0.330
#: an ink of less than this does not make up a bar: edges and rounding
_PRINTS = 0.05
#: below so many dots an inch a thin bar of the smallest symbol is no longer three pixels
_LEAST_DPI = 300.0


def _bars(facts: CoverFacts) -> Bars:
    """The bars that were read and measured.

    Raises:
        NotJudged: none were.
    """
    bars = facts.looked.bars
    if bars is None:
        raise NotJudged("No bars could be read on the back.")
    if not bars.upright:
        raise NotJudged("The bars stand aslant, and were not measured.")
    return bars


def _there(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    seen = facts.looked
    asked = facts.job.book.isbn
    if seen.bars is None:
        back = facts.folds.back
        if seen.dpi and seen.dpi < _LEAST_DPI:
            raise NotJudged("The back is too large to be looked at finely enough for bars.")
        if seen.unread_mm is not None:
            yield told(
                "barcode/unread",
                Severity.STOP,
                "Something like bars stands on the back and cannot be read: no EAN-13 comes out of it.",
                "Make the bars afresh with a program for them, as vectors, and place them without scaling; never draw "
                "or trace them.",
                place_mm=seen.unread_mm,
                measured="unread",
                limit="EAN-13",
            )
            return
        yield told(
            "barcode/none",
            Severity.STOP if asked else Severity.QUERY,
            "No bars of a book (EAN-13) were found on the back"
            + (f"; the job states the ISBN {asked}." if asked else "."),
            "Place the bars of the book's ISBN on the back, dark on light; or tell us that it is sold without.",
            place_mm=back,
            measured="none",
            limit="EAN-13",
        )
        return
    bars = seen.bars
    if not bars.valid:
        yield told(
            "barcode/check-digit",
            Severity.STOP,
            f"The bars on the back read {bars.digits}, and its last digit does not fit the others: every scanner "
            "refuses it.",
            "Make the bars afresh from the right ISBN.",
            place_mm=bars.box_mm,
            measured=bars.digits,
            limit="EAN-13",
        )
    elif not bars.upright:
        yield told(
            "barcode/aslant",
            Severity.QUERY,
            f"The bars on the back, {bars.digits}, stand aslant; their size and the room beside them were not "
            "measured.",
            "Place them level or upright.",
            place_mm=bars.box_mm,
            measured="aslant",
            limit="level or upright",
        )


def _quiet_zone(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    bars = _bars(facts)
    slack = limits.number("tolerance_ratio")
    asked = (limits.number("left_ratio"), limits.number("right_ratio"))
    short = [
        (side, quiet / bars.module_mm, least)
        for side, quiet, least in zip(("before", "behind"), bars.quiet_mm, asked, strict=True)
        if quiet / bars.module_mm < least - slack
    ]
    if not short:
        return
    said = listed(
        [
            f"{side} the bars only {format_mm(has * bars.module_mm)} are free, and {format_mm(least * bars.module_mm)} "
            f"({least:g} thin bars) are to be"
            for side, has, least in short
        ]
    )
    _, has, least = min(short, key=lambda one: one[1] / one[2])
    yield told(
        "barcode-quiet-zone",
        Severity.STOP if has < least / 2 else Severity.QUERY,
        f"{said[0].upper()}{said[1:]}: something dark stands there, or a dark ground begins.",
        "Move it away, or lay a larger white panel under the bars.",
        place_mm=bars.box_mm,
        measured=has,
        limit=least,
        unit="thin bars",
        count=len(short),
    )


def _size(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    bars = _bars(facts)
    percent = 100 * bars.module_mm / NOMINAL_MODULE_MM
    least, most = limits.number("least_percent"), limits.number("most_percent")
    slack = limits.number("tolerance_percent")
    if least - slack <= percent <= most + slack:
        return
    which = "small" if percent < least else "large"
    yield told(
        "barcode-size",
        Severity.STOP if percent < least else Severity.QUERY,
        f"The bars stand at {percent:.0f} % of their full size, {format_mm(bars.box_mm.width)} x "
        f"{format_mm(bars.box_mm.height)}, and are too {which}: {least:g} to {most:g} % are allowed.",
        "Make them afresh in the right size: scaled bars are no longer as wide as they should be.",
        place_mm=bars.box_mm,
        measured=percent,
        limit=least if percent < least else most,
        unit="%",
    )


def _colour(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    bars = _bars(facts)
    if bars.inverted:
        yield told(
            "barcode-colour/inverted",
            Severity.STOP,
            "The bars are light on a dark ground; scanners look for dark bars on light.",
            "Lay a white panel under the bars and print them in black.",
            place_mm=bars.box_mm,
            measured="light on dark",
            limit="dark on light",
        )
        return
    contrast = 100 * (bars.light - bars.dark)
    stop, query = limits.number("stop_below_percent"), limits.number("query_below_percent")
    if contrast < query:
        yield told(
            "barcode-colour/contrast",
            Severity.STOP if contrast < stop else Severity.QUERY,
            f"In the red light of a scanner the bars stand out by {contrast:.0f} % alone ({100 * bars.light:.0f} % "
            f"comes back from the ground, {100 * bars.dark:.0f} % from the bars): red, orange and yellow bars are not "
            "seen, nor are dark grounds.",
            "Print the bars in black on white, or in another dark colour that holds no red.",
            place_mm=bars.box_mm,
            measured=contrast,
            limit=query,
            unit="%",
        )
        return
    inks = [(name, amount) for name, amount in bars.inks if amount >= _PRINTS]
    if len(inks) > 1:
        built = listed([f"{name} {100 * amount:.0f} %" for name, amount in inks], 5)
        yield told(
            "barcode-colour/inks",
            Severity.QUERY,
            f"The bars are built of {len(inks)} inks ({built}): a tenth of a millimetre out of register changes the "
            "width of every bar.",
            "Print the bars in one ink, black for choice.",
            place_mm=bars.box_mm,
            measured=len(inks),
            limit=1,
            unit="inks",
        )
    elif len(inks) == 1 and inks[0][1] < limits.number("solid_percent") / 100:
        yield told(
            "barcode-colour/tint",
            Severity.QUERY,
            f"The bars are a tint of {inks[0][0]}, {100 * inks[0][1]:.0f} %: the screen gives them ragged edges.",
            "Print the bars in a solid ink.",
            place_mm=bars.box_mm,
            measured=100 * inks[0][1],
            limit=limits.number("solid_percent"),
            unit="%",
        )


_NEEDS = frozenset({Needs.STRUCTURE, Needs.INK})

CHECKS = (
    Check(
        id="barcode",
        title="Barcode on the back",
        needs=_NEEDS,
        measures="Whether an EAN-13 can be read on the back, from the page as it prints, drawn at 600 dots an inch; "
        "whether its check digit holds; whether something stands there that looks like bars and reads as nothing.",
        why="A book without bars, or with bars that no till reads, comes back from the shops.",
        remedy="Place the bars of the book's ISBN on the back, made by a program for them, dark on light.",
        source="ISO/IEC 15420 (EAN-13) and ISO 2108 (ISBN), from memory",
        run=over_cover(_there),
        limits={},
        severity=Severity.STOP,
    ),
    Check(
        id="barcode-quiet-zone",
        title="Room beside the bars",
        needs=_NEEDS,
        measures="How far it is free of ink before the first and behind the last bar, in widths of the thinnest bar.",
        why="A scanner finds the bars by the light beside them: with type or a dark edge there it finds none.",
        remedy="Keep the room before and behind the bars bare.",
        source="ISO/IEC 15420 and GS1: 11 modules before and 7 behind an EAN-13; from memory",
        run=over_cover(_quiet_zone),
        limits={"left_ratio": 11.0, "right_ratio": 7.0, "tolerance_ratio": 0.5},
        limit_sources={
            "left_ratio": "ISO/IEC 15420: 11 modules; from memory",
            "right_ratio": "ISO/IEC 15420: 7 modules; from memory",
            "tolerance_ratio": "half a module: raster, and panels in whole points; common practice, no source",
        },
        severity=Severity.STOP,
    ),
    Check(
        id="barcode-size",
        title="Size of the bars",
        needs=_NEEDS,
        measures="The width of the thinnest bar, a 95th of the whole, against 0.330 mm, which is 100 %.",
        why="Small bars close up as the ink gains; large ones do not fit under a hand scanner.",
        remedy="Make the bars in a size that is allowed, and place them without scaling.",
        source="ISO/IEC 15420 and GS1: 80 to 200 % of 0.330 mm; from memory",
        run=over_cover(_size),
        limits={"least_percent": 80.0, "most_percent": 200.0, "tolerance_percent": 1.5},
        limit_sources={
            "least_percent": "GS1: 80 %; from memory",
            "most_percent": "GS1: 200 %; from memory",
            "tolerance_percent": "what the raster can tell of 95 modules, doubled; common practice, no source",
        },
        severity=Severity.STOP,
    ),
    Check(
        id="barcode-colour",
        title="Colour of the bars",
        needs=_NEEDS,
        measures="How much red light comes back from the bars and from the ground, reckoned from the colours on a "
        "screen; whether bars are dark on light; whether they are one solid ink.",
        why="Scanners look with red light: red, orange or brown bars are as white as the paper to them. Bars of "
        "several inks change their widths with the register.",
        remedy="Black bars on white paper.",
        source="ISO/IEC 15416 (symbol contrast: grade C from 40 %, D from 20 %) and GS1, from memory",
        run=over_cover(_colour),
        limits={"stop_below_percent": 20.0, "query_below_percent": 40.0, "solid_percent": 90.0},
        limit_sources={
            "stop_below_percent": "ISO/IEC 15416, symbol contrast, below grade D; from memory",
            "query_below_percent": "ISO/IEC 15416, symbol contrast, below grade C; from memory",
            "solid_percent": "a darker tint is printed as a solid or nearly so; common practice, no source",
        },
        severity=Severity.STOP,
    ),
)
