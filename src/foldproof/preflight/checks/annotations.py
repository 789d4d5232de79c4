# SPDX-License-Identifier: AGPL-3.0-or-later
"""Annotations that would print, or vanish: remarks, stamps, highlighting."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.manuscript.model import AnnotationFact
from foldproof.preflight.checks import multimedia
from foldproof.preflight.measures import around, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page

#: those that belong to the screen (links, the windows of notes) and those that PDF/X itself allows: no loss on paper
_OF_THE_SCREEN = frozenset({"Link", "Popup", "PrinterMark", "TrapNet", "FileAttachment"})
#: those that have checks of their own: form fields, and what plays
_ELSEWHERE = frozenset({"Widget", *multimedia.NAMES})
_NAMES = {
    "Text": "sticky note",
    "FreeText": "text note",
    "Highlight": "highlighting",
    "Stamp": "rubber stamp",
    "FileAttachment": "attached-file sign",
    "Link": "drawn link",
}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for page in facts.manuscript.pages:
        known = [a for a in page.annotations if a.subtype not in _ELSEWHERE]
        if not known:
            continue
        width, height = size_mm(page)
        paper = Rect(0, 0, width, height).grown(facts.bleed_mm)
        printing = [a for a in known if a.prints and a.subtype not in ("PrinterMark", "TrapNet")]
        printing = [a for a in printing if a.place_mm.meets(paper)]
        vanishing = [a for a in known if a.shows and not a.prints and a.subtype not in _OF_THE_SCREEN]
        vanishing = [a for a in vanishing if a.place_mm.meets(paper)]
        if printing:
            yield on_page(
                facts,
                page.index,
                "annotations/print",
                Severity.QUERY,
                f"{_named(printing)} will be printed on the page.",
                "Delete remarks, or export without comments; flatten what belongs to the book into the page.",
                place_mm=around([a.place_mm for a in printing]),
                measured=len(printing),
                limit=0,
            )
        if vanishing:
            yield on_page(
                facts,
                page.index,
                "annotations/vanish",
                Severity.QUERY,
                f"{_named(vanishing)} will not be printed, whatever a screen shows.",
                "Flatten what belongs to the book into the page; delete the rest, or export without comments.",
                place_mm=around([a.place_mm for a in vanishing]),
                measured=len(vanishing),
                limit=0,
            )


def _named(annotations: list[AnnotationFact]) -> str:
    kinds = Counter(_NAMES.get(a.subtype, f"annotation of kind {a.subtype}") for a in annotations)
    return listed([counted(count, kind) for kind, count in sorted(kinds.items())])


CHECK = Check(
    id="annotations",
    title="Annotations",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Remarks, stamps, highlighting and the like inside trim and bleed that are set to print, and those seen "
    "on the screen only; links without an appearance of their own are passed over.",
    why="A reader's remark is printed in the book, or a note that everybody saw on the screen is not.",
    remedy="Export without comments; flatten what belongs to the page.",
    source="ISO 15930-7 (PDF/X-4): annotations lie outside the BleedBox; the clause from memory. Print flag: "
    "ISO 32000-1, 12.5.3.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
