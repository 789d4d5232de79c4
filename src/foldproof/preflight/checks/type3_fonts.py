# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type 3 fonts: letters drawn by little programs."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import FontKind
from foldproof.preflight.matter import surely_no_type3, type3_place
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    # those whose letters are pictures have a check of their own
    bitmaps = {program.key for program in facts.manuscript.facts.programs if program.bitmap}
    type3 = {
        key: font for key, font in facts.manuscript.fonts.items() if font.kind is FontKind.TYPE3 and key not in bitmaps
    }
    if not type3:
        return
    for page in facts.manuscript.pages:
        fonts = [type3[key] for key in page.fonts if key in type3]
        if not fonts or surely_no_type3(facts, page.index):
            continue
        names = sorted({font.name for font in fonts if font.name})
        called = f" ({listed(names)})" if names else ""
        yield on_page(
            facts,
            page.index,
            "type3-fonts",
            Severity.QUERY,
            f"{counted(len(fonts), 'Type 3 font')}{called} {'is' if len(fonts) == 1 else 'are'} used.",
            "Set the text in an outline font (Type 1, TrueType, OpenType) and export again; or see at high "
            "magnification whether the letters are sharp.",
            place_mm=type3_place(facts, page.index),
            measured=len(fonts),
            limit=0,
        )


CHECK = Check(
    id="type3-fonts",
    title="Type 3 fonts",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Fonts of Type 3, whose letters are drawn by little programs, among those that a page calls for; those "
    "whose letters are pictures have a check of their own.",
    why="Their strokes are not evened out for the plate as those of outline fonts are, and some programs paint them "
    "heavier or in colours of their own.",
    remedy="Use outline fonts.",
    source="ISO 32000-1, 9.6.5 (Type 3 fonts); that they are asked about: common practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
