# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pixels an inch of pictures at the size at which they are placed: too few, and more than can be printed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from attrs import frozen

from foldproof.manuscript.file_facts import ImageFact
from foldproof.manuscript.model import PictureKind
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import (
    LEAST_SIDE_MM,
    LEAST_SIDE_SOURCE,
    Placed,
    of_images,
    placed,
    ppi_in_words,
    weight,
)
from foldproof.preflight.words import counted, on_page
from foldproof.units import format_size_mm, inch_to_mm

#: limits by kind; a soft mask is the edge of another picture, which is judged itself
_GROUP = {
    PictureKind.CONTONE: "contone",
    PictureKind.LINE_WORK: "line",
    PictureKind.STENCIL: "line",
}
_WORDS = {"contone": "picture", "line": "1-bit picture"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_side_mm")
    judged = [one for one in placed(facts) if one.seen_mm is not None and not one.is_small(least_mm)]
    yield from _too_low(facts, limits, judged)
    yield from _too_high(facts, limits, judged)


def _too_low(facts: Facts, limits: Limits, judged: list[Placed]) -> Iterator[Finding]:
    stop = {group: limits.number(f"{group}_stop_ppi") for group in _WORDS}
    least_stop_mm = limits.number("stop_side_mm")
    asked = {group: max(limits.number(f"{group}_query_ppi"), stop[group]) for group in _WORDS}
    low: dict[tuple[int, str], list[Placed]] = defaultdict(list)
    for one in judged:
        group = _GROUP[one.use.kind]
        if one.ppi < asked[group]:
            low[one.index, group].append(one)
    for (index, group), several in low.items():
        # an icon does not spoil a book; the first of the worst, so that the same file names the same picture
        stopping = [one for one in several if one.ppi < stop[group] and max(one.size_mm) >= least_stop_mm]
        worst = min(stopping or several, key=lambda one: one.ppi)
        yield _low(facts, index, group, worst, len(several), asked[group], bool(stopping))


def _low(facts: Facts, index: int, group: str, worst: Placed, count: int, asked: float, stops: bool) -> Finding:
    kind, ppi = _WORDS[group], worst.ppi
    width_mm, height_mm = worst.size_mm
    share = ppi / asked
    which = f"the worst of {count} {kind}s" if count > 1 else f"a {kind}"
    return on_page(
        facts,
        index,
        f"picture-resolution/{group}",
        Severity.STOP if stops else Severity.QUERY,
        f"{which} has {ppi_in_words(ppi)} ppi at its placed size ({worst.size}); {asked:g} ppi are asked for.",
        f"Place a picture with at least {_pixels(width_mm, asked)} x {_pixels(height_mm, asked)} pixels, or make it no "
        f"larger than {format_size_mm(width_mm * share, height_mm * share)}. More pixels reckoned from the same "
        "picture do not help.",
        place_mm=worst.use.place_mm,
        measured=ppi,
        limit=asked,
        unit="ppi",
        count=count,
    )


def _pixels(length_mm: float, ppi: float) -> int:
    return round(length_mm * ppi / inch_to_mm(1.0))


@frozen
class _Waste:
    """A picture that is finer than needed wherever it stands."""

    image: ImageFact
    largest: Placed  #: the painting with the lowest resolution
    saved_bytes: float  #: reckoned by area: what is stored for the pixels that are too many


def _too_high(facts: Facts, limits: Limits, judged: list[Placed]) -> Iterator[Finding]:
    """Of each picture the largest painting counts, and the page where that is tells of it."""
    most = {group: limits.number(f"{group}_most_ppi") for group in _WORDS}
    least_bytes = limits.number("least_saving_kb") * 1000
    found: dict[tuple[int, str], list[_Waste]] = defaultdict(list)
    for image, uses in of_images(judged):
        largest = min(uses, key=lambda one: one.ppi)
        group = _GROUP[largest.use.kind]
        if largest.ppi > most[group]:
            saved = image.stored_bytes * (1 - (most[group] / largest.ppi) ** 2)
            if saved >= least_bytes:
                found[largest.index, group].append(_Waste(image, largest, saved))
    for (index, group), several in sorted(found.items()):
        worst = max(several, key=lambda one: one.saved_bytes)
        saved, ppi = sum(one.saved_bytes for one in several), worst.largest.ppi
        which = f"{counted(len(several), _WORDS[group])}, the heaviest with" if len(several) > 1 else "a picture with"
        yield on_page(
            facts,
            index,
            f"picture-resolution/{group}-high",
            Severity.NOTE,
            f"{which} {ppi:.0f} ppi at its placed size ({worst.largest.size}); what goes beyond {most[group]:g} ppi "
            f"does not show in print and makes the file about {weight(saved)} heavier.",
            f"Nothing has to be done. To make the file lighter, have pictures reduced to {most[group] / 1.5:.0f} ppi "
            "when exporting.",
            place_mm=worst.largest.use.place_mm,
            measured=ppi,
            limit=most[group],
            unit="ppi",
            count=len(several),
        )


CHECK = Check(
    id="picture-resolution",
    title="Picture resolution",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pixels an inch along both sides of every picture at its placed size, the lower of the two. Contone "
    "pictures, and 1-bit line work with stencils, have limits of their own, below and above; soft masks are not judged "
    "alone.",
    why="Too few pixels print as soft or stepped pictures, line work with jagged edges. Too many only make the file "
    "heavy and slow.",
    remedy="Place the picture smaller, or scan or ask for it larger.",
    source="Ghent Workgroup specifications for sheet-fed work, from memory: colour and grey 150 and 225 ppi, 1-bit "
    "550 and 800 ppi; rule of the screen: 1.41 to 2 times its lines an inch",
    run=_run,
    limits={
        "contone_query_ppi": 225,
        "contone_stop_ppi": 150,
        "contone_most_ppi": 450,
        "line_query_ppi": 800,
        "line_stop_ppi": 550,
        "line_most_ppi": 3600,
        "least_side_mm": LEAST_SIDE_MM,
        "stop_side_mm": 10,
        "least_saving_kb": 20,
    },
    limit_sources={
        "contone_query_ppi": "Ghent Workgroup, sheet-fed, warning; from memory",
        "contone_stop_ppi": "Ghent Workgroup, sheet-fed, error; from memory",
        "contone_most_ppi": "1.5 times the 300 ppi that go with a screen of 150 lines; common practice, no source",
        "line_query_ppi": "Ghent Workgroup, 1-bit, warning; from memory; least of trade custom",
        "line_stop_ppi": "Ghent Workgroup, 1-bit, error; from memory",
        "line_most_ppi": "1.5 times the 2,400 dots an inch that a plate-setter draws; common practice, no source",
        "least_side_mm": LEAST_SIDE_SOURCE,
        "stop_side_mm": "smaller ones are icons, which are asked about and stop nothing; common practice, no source",
        "least_saving_kb": "less is not worth a word; common practice, no source",
    },
    severity=Severity.STOP,
)
