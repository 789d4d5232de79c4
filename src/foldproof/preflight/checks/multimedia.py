# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sound, film and other things that play."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.manuscript.model import AnnotationFact
from foldproof.preflight.measures import around, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page

#: kinds of annotation that play, and what people call them
NAMES = {
    "Sound": "sound",
    "Movie": "film",
    "Screen": "film or sound",
    "RichMedia": "film or game",
    "3D": "model in three dimensions",
}
_MANY = {"film or sound": "films or sounds", "film or game": "films or games"}
_MANY["model in three dimensions"] = "models in three dimensions"


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for page in facts.manuscript.pages:
        playing = [a for a in page.annotations if a.subtype in NAMES]
        paper = Rect(0, 0, *size_mm(page)).grown(facts.bleed_mm)
        # sounds have no place that anybody would miss on paper, but their sign is drawn where they stand
        here = [a for a in playing if a.place_mm.meets(paper) and (a.shows or a.prints)]
        if here:
            prints = [a for a in here if a.prints]
            becomes = (
                "its still picture is printed" if len(prints) == len(here) == 1
                else "their still pictures are printed" if len(prints) == len(here)
                else "nothing is printed in its place" if len(here) == 1
                else "not all of them leave a picture on paper"
            )  # fmt: skip
            yield on_page(
                facts,
                page.index,
                "multimedia",
                Severity.QUERY,
                f"{_named(here)} on the page; {becomes}.",
                "Put a picture into the page where one should be printed, and take the rest out before export.",
                place_mm=around([a.place_mm for a in here]),
                measured=len(here),
                limit=0,
                count=len(here),
            )


def _named(playing: list[AnnotationFact]) -> str:
    kinds = Counter(NAMES[a.subtype] for a in playing)
    return listed([counted(count, kind, _MANY.get(kind)) for kind, count in sorted(kinds.items())])


CHECK = Check(
    id="multimedia",
    title="Sound and film",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Sounds, films, games and models that stand on a page inside trim and bleed.",
    why="Paper plays nothing. What is printed in their place is a still picture of low resolution, or a gap.",
    remedy="Put a picture in their place.",
    source="ISO 15930 (PDF/X): no such annotations within the bleed; the clause from memory. Kinds: ISO 32000-1, "
    "12.5.6 and 13.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
