# SPDX-License-Identifier: AGPL-3.0-or-later
"""Colour in a book that is printed in black alone."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page, rounded

_COLOURED = ("Cyan", "Magenta", "Yellow")


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    if limits.text("inks") != "black":
        return
    trace = limits.number("trace_percent") / 100
    for ink in ink_of(facts):
        if ink is None:
            continue
        found = [(name, ink.coverage[name]) for name in _COLOURED if ink.coverage.get(name, 0.0) > trace]
        if found:
            most = max(share for _, share in found) * 100
            yield on_page(
                facts,
                ink.index,
                "extra-inks",
                Severity.QUERY,
                f"{listed([name.lower() for name, _ in found])} would print, on {rounded(most)} % of the page at most; "
                "the book is printed in black alone.",
                "Set text and rules in black alone (100 % K) and turn pictures to grey; colours that are left become "
                "grey tints in the plate.",
                measured=most,
                limit=limits.number("trace_percent"),
                unit="%",
            )


CHECK = Check(
    id="extra-inks",
    title="Colour in a black book",
    needs=frozenset({Needs.INK}),
    measures="Coverage of the trim with cyan, magenta and yellow, where the spec says that black alone is printed.",
    why="Text that was meant to be black comes out as a grey tint, broken up by the screen; or three plates too many "
    "are made.",
    remedy="Export in grey, with text in black alone.",
    source="common practice, no source",
    run=_run,
    limits={"inks": "any", "trace_percent": 0.01},
    limit_sources={
        "inks": "the spec's own say; without one every ink is taken",
        "trace_percent": "below it is what edges leave in the raster; common practice, no source",
    },
    choices={"inks": ("any", "cmyk", "black")},
    severity=Severity.QUERY,
)
