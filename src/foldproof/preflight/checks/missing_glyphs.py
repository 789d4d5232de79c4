# SPDX-License-Identifier: AGPL-3.0-or-later
"""Letters that the font does not have."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import FontKind
from foldproof.manuscript.seen import TextUse
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page

_COMPOSITE = frozenset({FontKind.CID_CFF, FontKind.CID_TRUETYPE})


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    # a font that is not in the file has a check of its own: what stands in for it says nothing
    absent = {face(font.name) for font in facts.manuscript.fonts.values() if not font.embedded}
    composite = {face(font.name) for font in facts.manuscript.fonts.values() if font.kind in _COMPOSITE}
    for seen, texts in painted_type(facts):
        lacking: list[tuple[int, TextUse]] = []
        for use in texts:
            name = face(use.font)
            # music and symbol fonts have spaces of their own at codes that no encoding names
            count = use.undefined if name in composite else use.undefined - use.undefined_blank
            if count > 0 and name not in absent:
                lacking.append((count, use))
        if not lacking:
            continue
        _, worst = max(lacking, key=lambda one: one[0])
        names = sorted({face(use.font) for _, use in lacking})
        count = sum(number for number, _ in lacking)
        yield on_page(
            facts,
            seen.index,
            "missing-glyphs",
            Severity.QUERY,
            f"{counted(count, 'sign is', 'signs are')} shown that {listed(names)} "
            f"{'does' if len(names) == 1 else 'do'} not have; a box or a gap stands in the place.",
            "Look at the place; choose a font that has the sign, or put the sign in that is meant, and export again.",
            place_mm=worst.undefined_mm or worst.first_mm,
            measured=count,
            limit=0,
        )


CHECK = Check(
    id="missing-glyphs",
    title="Signs the font lacks",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Signs for which the embedded font shows its stand-in (.notdef) instead of a letter. Empty signs at codes "
    "that no encoding names are taken for the spaces of a music or symbol font.",
    why="A box, a cross or a gap is printed where a letter should be.",
    remedy="Use a font that has the sign.",
    source="ISO 15930-7 (PDF/X-4): no text shows .notdef; from memory",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
