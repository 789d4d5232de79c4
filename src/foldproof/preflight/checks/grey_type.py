# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small type in a tint of one ink, which the screen breaks up."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import TextUse
from foldproof.preflight.inks import PROCESS, printing
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page

#: sizes are told to a tenth of a point: a size of 8 pt in TeX's points is 7.97
_SLACK_PT = 0.05


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least, solid = limits.number("least_pt"), limits.number("solid_percent") / 100
    for seen, texts in painted_type(facts):
        tints = []
        for use in texts:
            if use.type3 or not 0 < use.size_pt < least - _SLACK_PT or use.glyphs <= use.spaces:
                continue
            tone = _tone(use)
            if tone is not None and tone[1] < solid:
                tints.append((use, *tone))
        if tints:
            worst, ink, amount = min(tints, key=lambda one: (one[0].size_pt, one[2]))
            yield on_page(
                facts,
                seen.index,
                "grey-type",
                Severity.QUERY,
                f"type of {worst.size_pt:g} pt ({face(worst.font)}) is set in a tint of {amount * 100:.3g} % "
                f"{ink.lower() if ink in PROCESS else ink}; its edges will be broken up by the screen below "
                f"{least:g} pt.",
                "Set small type in the full ink, or larger.",
                place_mm=worst.first_mm,
                measured=worst.size_pt,
                limit=least,
                unit="pt",
            )


def _tone(use: TextUse) -> tuple[str, float] | None:
    """The one ink of a piece of type and how much of it, transparency reckoned in; ``None`` for any other type."""
    amounts = printing(use.space, use.values)
    if amounts is None or len(amounts) != 1:
        return None
    ((ink, amount),) = amounts.items()
    return ink, amount * (use.alpha if use.blend == "Normal" else 1.0)


CHECK = Check(
    id="grey-type",
    title="Small type in a tint",
    needs=frozenset({Needs.OBJECTS}),
    measures="Type under a size limit that is set in a tint of one ink, grey above all, whether by its colour or by "
    "transparency. Type 3 fonts have no size that could be measured.",
    why="A tint is made of dots as coarse as the strokes of small letters: the letters look frayed.",
    remedy="Set small type in solid ink.",
    source="common practice, no source",
    run=_run,
    limits={"least_pt": 8, "solid_percent": 97},
    limit_sources={
        "least_pt": "common practice, no source",
        "solid_percent": "ISO 12647-2, tone values that print as a screen end at 97 %; from memory",
    },
    severity=Severity.QUERY,
)
