# SPDX-License-Identifier: AGPL-3.0-or-later
"""Embedded fonts that do not read."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.matter import face, surely_unused
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    damaged = {program.key: program.damaged for program in facts.manuscript.facts.programs if program.damaged}
    if not damaged:
        return
    for page in facts.manuscript.pages:
        why: dict[str, str] = {}
        for key in page.fonts:
            if key in damaged:
                why.setdefault(face(facts.manuscript.fonts[key].name), damaged[key])
        unused = surely_unused(facts, page.index, why.keys()) if why else frozenset()
        for name, words in sorted(why.items()):
            if name in unused:
                continue
            yield on_page(
                facts,
                page.index,
                f"damaged-fonts/{name}",
                Severity.STOP,
                f"the font {name} is in the file and does not read ({words}); another one would be printed in its "
                "place, or nothing.",
                "Export again from the layout program; install the font afresh if it happens again. If it comes from a "
                "placed picture or graph, export that one again.",
                measured="does not read",
                limit="reads",
            )


CHECK = Check(
    id="damaged-fonts",
    title="Damaged fonts",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Whether every embedded font opens, has its letters and is not cut short.",
    why="The plate-setter puts another font in its place or leaves the text out.",
    remedy="Export afresh.",
    source="ISO 32000-1, 9.9 (embedded font programs)",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
