# SPDX-License-Identifier: AGPL-3.0-or-later
"""Form fields that would print, or vanish; and forms that draw the pages themselves."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.preflight.measures import around, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    form = facts.manuscript.facts
    if form.xfa:
        yield in_book(
            "form-fields/drawn",
            Severity.QUERY,
            "The file holds a form of the kind that some viewers draw anew (XFA); its pages as they stand may be a "
            "stand-in, or look otherwise than on the screen.",
            "Print the form to a new PDF from the program that shows it as it should be, and send that.",
        )
    elif facts.manuscript.has_form:
        fields = f" of {counted(form.fields, 'field')}" if form.fields else ""
        yield in_book(
            "form-fields/form",
            Severity.NOTE,
            f"The file holds a form{fields}; on paper it stays as it looks now.",
            "Flatten the form, or export without form fields.",
            measured=form.fields,
            limit=0,
        )
    for page in facts.manuscript.pages:
        fields_here = [a for a in page.annotations if a.subtype == "Widget"]
        if not fields_here:
            continue
        paper = Rect(0, 0, *size_mm(page)).grown(facts.bleed_mm)
        printing = [a for a in fields_here if a.prints and a.place_mm.meets(paper)]
        vanishing = [a for a in fields_here if a.shows and not a.prints and a.place_mm.meets(paper)]
        if printing:
            yield on_page(
                facts,
                page.index,
                "form-fields/print",
                Severity.QUERY,
                f"{counted(len(printing), 'form field')} will be printed, filled in or empty, as it looks now.",
                "Flatten what belongs to the page; delete the rest, or export without form fields.",
                place_mm=around([a.place_mm for a in printing]),
                measured=len(printing),
                limit=0,
                count=len(printing),
            )
        if vanishing:
            yield on_page(
                facts,
                page.index,
                "form-fields/vanish",
                Severity.QUERY,
                f"{counted(len(vanishing), 'form field')} will not be printed, whatever a screen shows.",
                "Flatten what belongs to the page; delete the rest, or export without form fields.",
                place_mm=around([a.place_mm for a in vanishing]),
                measured=len(vanishing),
                limit=0,
                count=len(vanishing),
            )


CHECK = Check(
    id="form-fields",
    title="Form fields",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Fields and buttons inside trim and bleed that are set to print, and those that are seen on the screen "
    "only; fields with nothing to show are passed over. Also whether the form draws its pages itself (XFA).",
    why="An empty field is printed as a box, or a filled-in one that everybody saw on the screen is not printed.",
    remedy="Flatten the form into the pages, or export without form fields.",
    source="ISO 15930 (PDF/X): no form fields within the bleed; the clause from memory. Print flag: ISO 32000-1, "
    "12.5.3; appearances that a viewer makes: 12.7.2; XFA: 12.7.8.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
