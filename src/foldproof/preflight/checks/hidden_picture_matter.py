# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures of which most lies behind the clip or off the page, and travels along all the same."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from attrs import frozen

from foldproof.manuscript.file_facts import ImageFact
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import Placed, of_images, placed, weight
from foldproof.preflight.words import counted, on_page


@frozen
class _Hidden:
    image: ImageFact
    first: Placed
    share: float  #: 0 to 1: part of the picture that is seen nowhere


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least, least_bytes = limits.number("least_percent") / 100, limits.number("least_kb") * 1000
    found: dict[int, list[_Hidden]] = defaultdict(list)
    for image, uses in of_images(placed(facts)):
        # parts seen in several places may be the same part or not: taken for different ones, so that nothing is accused
        share = 1 - min(1.0, sum(map(_seen_share, uses)))
        if share >= least and share * image.stored_bytes >= least_bytes:
            found[uses[0].index].append(_Hidden(image, uses[0], share))
    for index, several in sorted(found.items()):
        worst = max(several, key=lambda one: one.share * one.image.stored_bytes)
        heavy = weight(sum(one.share * one.image.stored_bytes for one in several))
        percent = worst.share * 100
        part = "Nothing" if worst.share >= 1 else f"{max(1, round(100 - percent))} %"
        which = "a picture" if len(several) == 1 else f"the heaviest of {counted(len(several), 'picture')}"
        yield on_page(
            facts,
            index,
            "hidden-picture-matter",
            Severity.NOTE,
            f"{part.lower()} of {which} is seen; what lies behind its frame or off the page is still in the file "
            f"(about {heavy}).",
            "If nobody is to see the rest, or the file is to be lighter, crop the picture itself, or have it cropped "
            "to its frame when exporting.",
            place_mm=worst.first.seen_mm or worst.first.use.place_mm,
            measured=percent,
            limit=limits.number("least_percent"),
            unit="%",
            count=len(several),
        )


def _seen_share(one: Placed) -> float:
    place, seen = one.use.place_mm, one.seen_mm
    if seen is None:
        return 0.0
    area = place.width * place.height
    return min(1.0, seen.width * seen.height / area) if area > 0 else 1.0


CHECK = Check(
    id="hidden-picture-matter",
    title="Hidden picture matter",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="How much of a picture lies behind its clip or beyond the bleed wherever it is placed, and about what "
    "that part weighs. Of a clip the upright box counts, so that rather too little is told.",
    why="Whoever gets the file can bring to light what was cropped away; and it makes the file heavy.",
    remedy="Crop the picture itself, or have it cropped to its frame when exporting.",
    source="common practice, no source",
    run=_run,
    limits={"least_percent": 50, "least_kb": 50},
    limit_sources={
        "least_percent": "more than half a picture; common practice, no source",
        "least_kb": "less is not worth a word; common practice, no source",
    },
    severity=Severity.NOTE,
)
