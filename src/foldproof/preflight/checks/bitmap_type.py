# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type whose letters are pictures of one resolution."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.matter import surely_no_type3, type3_place
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    bitmaps = {program.key for program in facts.manuscript.facts.programs if program.bitmap}
    if not bitmaps:
        return
    for page in facts.manuscript.pages:
        fonts = [facts.manuscript.fonts[key] for key in page.fonts if key in bitmaps]
        if not fonts or surely_no_type3(facts, page.index):
            continue
        names = sorted({font.name for font in fonts if font.name})
        called = f" ({listed(names)})" if names else ""
        yield on_page(
            facts,
            page.index,
            "bitmap-type",
            Severity.QUERY,
            f"the letters of {counted(len(fonts), 'font')}{called} are kept as small pictures, not as outlines.",
            "Set the text in an outline font (Type 1, TrueType, OpenType) and export again; with TeX, see that the "
            "outlines of its fonts are installed. Otherwise look at a print of the page under a glass.",
            place_mm=type3_place(facts, page.index),
            measured=len(fonts),
            limit=0,
        )


CHECK = Check(
    id="bitmap-type",
    title="Letters kept as pictures",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Type 3 fonts whose letters paint nothing but pictures, among the fonts that a page calls for; the first "
    "few letters of each font are looked at.",
    why="Such letters were made for one resolution, often that of an office printer: on a finer plate their edges "
    "show steps, and stems come out too heavy or too light.",
    remedy="Use outline fonts.",
    source="ISO 32000-1, 9.6.5 (Type 3 fonts); that they are asked about: common practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
