# SPDX-License-Identifier: AGPL-3.0-or-later
"""Grey type that cyan, magenta and yellow make together."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.inks import is_four_colour_grey, printing, said
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least = limits.number("least_pt")
    for seen, texts in painted_type(facts):
        greys = []
        for use in texts:
            amounts = printing(use.space, use.values)
            if amounts and is_four_colour_grey(amounts) and (not use.type3 and 0 < use.size_pt < least):
                greys.append((use, amounts))
        if greys:
            use, amounts = min(greys, key=lambda one: one[0].size_pt)
            yield on_page(
                facts,
                seen.index,
                "four-colour-grey",
                Severity.QUERY,
                f"grey type of {use.size_pt:g} pt ({face(use.font)}) is made of {said(amounts)}; under {least:g} pt "
                "one ink is asked for.",
                "Set grey type as a tint of black alone, or in black; turn the drawing it comes from to grey with text "
                "in black alone.",
                place_mm=use.first_mm,
                measured=use.size_pt,
                limit=least,
                unit="pt",
            )


CHECK = Check(
    id="four-colour-grey",
    title="Grey type of three inks",
    needs=frozenset({Needs.OBJECTS}),
    measures="Type under a size limit in a grey, or a black, that cyan, magenta and yellow make together: magenta and "
    "yellow about alike, cyan the same or a little more, with black or without.",
    why="Three or four screens must meet in strokes a fifth of a millimetre wide; the least shift shows as colour, and "
    "the grey drifts towards red or green as the inks run.",
    remedy="Grey type is a tint of black.",
    source="common practice, no source",
    run=_run,
    limits={"least_pt": 12},
    limit_sources={"least_pt": "common practice, no source"},
    severity=Severity.QUERY,
)
