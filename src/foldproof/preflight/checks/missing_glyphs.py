# SPDX-License-Identifier: AGPL-3.0-or-later
"""Letters that the font does not have."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    # a font that is not in the file has a check of its own: what stands in for it says nothing
    absent = {face(font.name) for font in facts.manuscript.fonts.values() if not font.embedded}
    for seen, texts in painted_type(facts):
        lacking = [use for use in texts if use.undefined and face(use.font) not in absent]
        if not lacking:
            continue
        worst = max(lacking, key=lambda use: use.undefined)
        count = sum(use.undefined for use in lacking)
        yield on_page(
            facts,
            seen.index,
            "missing-glyphs",
            Severity.QUERY,
            f"{counted(count, 'sign is', 'signs are')} shown that {listed(sorted({face(u.font) for u in lacking}))} "
            "does not have; a box or a gap stands in the place.",
            "Look at the place; choose a font that has the sign, or put the sign in that is meant, and export again.",
            place_mm=worst.undefined_mm or worst.first_mm,
            measured=count,
            limit=0,
        )


CHECK = Check(
    id="missing-glyphs",
    title="Signs the font lacks",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Signs for which the embedded font shows its stand-in (.notdef) instead of a letter.",
    why="A box, a cross or a gap is printed where a letter should be.",
    remedy="Use a font that has the sign.",
    source="ISO 15930-7 (PDF/X-4): no text shows .notdef; from memory",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
