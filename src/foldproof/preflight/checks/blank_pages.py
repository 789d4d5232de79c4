# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages without ink."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen = ink_of(facts)
    if seen and all(ink is not None and ink.blank for ink in seen):
        yield in_book(
            "blank-pages/all",
            Severity.STOP,
            "No page of the book carries any ink inside its trim.",
            "Look at the file on the screen; export again with every layer that is to be printed switched on.",
        )
        return
    for ink in seen:
        if ink is None or not ink.blank:
            continue
        if ink.ink_mm is not None:
            yield on_page(
                facts,
                ink.index,
                "blank-pages/outside",
                Severity.QUERY,
                "all its matter lies outside the trim; the page comes out blank.",
                "Check the TrimBox and where the matter stands on the page.",
                place_mm=ink.ink_mm,
            )
        else:
            yield on_page(
                facts,
                ink.index,
                "blank-pages",
                Severity.NOTE,
                "the page is blank.",
                "Nothing to do if it is meant to be; otherwise look for matter in white, or on a layer that is hidden.",
            )


CHECK = Check(
    id="blank-pages",
    title="Blank pages",
    needs=frozenset({Needs.INK}),
    measures="Pages on which the rendered inks leave nothing inside the trim.",
    why="A page that lost its matter looks like one that was meant to be blank.",
    remedy="Compare with the layout; a blank page that is meant needs nothing.",
    source="common practice, no source",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
