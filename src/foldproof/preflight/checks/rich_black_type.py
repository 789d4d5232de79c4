# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small black type with other inks under it."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import TextUse
from foldproof.preflight.inks import PROCESS, is_rich_black, printing, said
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page

_REMEDY = "Set the type in black alone (0, 0, 0, 100) and let it overprint."


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least = limits.number("least_pt")
    for seen, texts in painted_type(facts):
        small: list[tuple[TextUse, dict[str, float]]] = []
        four: list[tuple[TextUse, dict[str, float]]] = []
        for use in texts:
            amounts = printing(use.space, use.values)
            if amounts is None or len(amounts) < 2 or not is_rich_black(amounts):
                continue
            if use.space == "Separation(All)":
                continue  # paint in every plate has a check of its own
            if all(amounts.get(name, 0.0) >= 0.98 for name in PROCESS):
                four.append((use, amounts))
            elif not use.type3 and 0 < use.size_pt < least:
                small.append((use, amounts))
        if four:
            use, amounts = min(four, key=lambda one: one[0].size_pt)
            yield on_page(
                facts,
                seen.index,
                "rich-black-type/all-inks",
                Severity.QUERY,
                f"type of {use.size_pt:g} pt ({face(use.font)}) is solid in all four inks, as register marks are.",
                _REMEDY,
                place_mm=use.first_mm,
                measured=sum(amounts.values()) * 100,
                limit=100,
                unit="%",
            )
        if small:
            use, amounts = min(small, key=lambda one: one[0].size_pt)
            yield on_page(
                facts,
                seen.index,
                "rich-black-type/small",
                Severity.QUERY,
                f"black type of {use.size_pt:g} pt ({face(use.font)}) is printed in {said(amounts)}; under {least:g} "
                "pt black alone is asked for.",
                _REMEDY,
                place_mm=use.first_mm,
                measured=use.size_pt,
                limit=least,
                unit="pt",
            )


CHECK = Check(
    id="rich-black-type",
    title="Black type in several inks",
    needs=frozenset({Needs.OBJECTS}),
    measures="Type in black with cyan, magenta or yellow under it below a size limit, and type that is solid in all "
    "four inks at any size. Headings and display type in a deep black are left alone.",
    why="Each letter is printed several times; a tenth of a millimetre out of register gives coloured edges, and the "
    "ink dries badly.",
    remedy="Black type is 100 % black and nothing else.",
    source="Ghent Workgroup, GWG2015, contents: rich black text; the size: common practice, no source",
    run=_run,
    limits={"least_pt": 12},
    limit_sources={"least_pt": "as for black type that overprints (Ghent Workgroup); common practice, no source"},
    severity=Severity.QUERY,
)
