# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages whose content could not be interpreted, or not to its end."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    absent = facts.manuscript.facts.absent_pages
    if absent:
        yield in_book(
            "lost-pages/absent",
            Severity.STOP,
            f"The list of pages names {counted(absent, 'page')} that cannot be found or read: the book is short of as "
            "many.",
            "Export the book again, and count its pages.",
            measured=absent,
            limit=0,
        )
    for index, why in sorted(facts.observations.lost.items()):
        yield on_page(
            facts,
            index,
            "lost-pages/lost",
            Severity.STOP,
            f"its content could not be interpreted: {why.rstrip('.')}. No check has looked at it.",
            "Open the page in a reader and in the layout program; export it again, and replace the picture or graph "
            "that breaks it.",
        )
    for seen in facts.observations.objects:
        if seen is not None and seen.cut_short and seen.index not in facts.observations.lost:
            yield on_page(
                facts,
                seen.index,
                "lost-pages/cut-short",
                Severity.QUERY,
                "it holds so many objects that only the first of them were looked at.",
                "Turn the drawing with many thousand parts into a picture, or look at the page yourself.",
            )


CHECK = Check(
    id="lost-pages",
    title="Pages that cannot be interpreted",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS, Needs.INK}),
    measures="Pages that the file names and does not hold, or on which the interpreter gave up, ran out of time, or "
    "met more objects than it counts.",
    why="What cannot be interpreted here may stop the plate-setter, or print as an empty page.",
    remedy="Export the page again; replace what breaks it.",
    source="common practice, no source",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
