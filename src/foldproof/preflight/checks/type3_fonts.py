# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type 3 fonts: letters drawn by little programs or kept as pixels."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import FontKind
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, listed, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    type3 = {key: font for key, font in facts.manuscript.fonts.items() if font.kind is FontKind.TYPE3}
    if not type3:
        return
    for page in facts.manuscript.pages:
        fonts = [type3[key] for key in page.fonts if key in type3]
        if not fonts:
            continue
        names = sorted({font.name for font in fonts if font.name})
        called = f" ({listed(names)})" if names else ""
        yield on_page(
            facts,
            page.index,
            "type3-fonts",
            Severity.QUERY,
            f"{counted(len(fonts), 'Type 3 font')}{called} {'is' if len(fonts) == 1 else 'are'} used.",
            "Set the text in an outline font (Type 1, TrueType, OpenType) and export again; see at high magnification "
            "whether the letters have steps.",
            measured=len(fonts),
            limit=0,
        )


CHECK = Check(
    id="type3-fonts",
    title="Type 3 fonts",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Fonts of Type 3 among those that a page calls for.",
    why="Their letters may be pixels of one resolution, with steps on a finer plate, and they have no hints.",
    remedy="Use outline fonts.",
    source="ISO 32000-1, 9.6.5 (Type 3 fonts); that they are asked about: common practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
