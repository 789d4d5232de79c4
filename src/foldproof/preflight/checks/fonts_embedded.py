# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fonts that the file calls for and does not hold."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.matter import face, surely_unused
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    missing = {key: font for key, font in facts.manuscript.fonts.items() if not font.embedded}
    if not missing:
        return
    for page in facts.manuscript.pages:
        # several font objects may stand for one face; the reader sees one
        names = sorted({missing[key].name or "a font without a name" for key in page.fonts if key in missing})
        unused = surely_unused(facts, page.index, {face(name) for name in names}) if names else frozenset()
        for name in names:
            if face(name) in unused:
                continue
            yield on_page(
                facts,
                page.index,
                f"fonts-embedded/{name}",
                Severity.STOP,
                f"the font {name} is not in the file; another one would be printed in its place.",
                "Embed all fonts when exporting. If it comes from a placed picture or graph, export that one again "
                "with its fonts, or its text as outlines.",
                measured="not embedded",
                limit="embedded",
            )


CHECK = Check(
    id="fonts-embedded",
    title="Fonts embedded",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Whether the file holds the program of every font that a page calls for, in forms, patterns, Type 3 "
    "glyphs and appearances too. The fourteen fonts that every reader knows count as missing as well. "
    "A font that is merely listed for a page, and of which nothing is shown there, is left out.",
    why="The plate-setter puts another font in its place: lines run differently, letters go missing.",
    remedy="Export with all fonts embedded; choose fonts that allow it.",
    source="ISO 15930 (PDF/X): all fonts are embedded; the clause from memory",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
