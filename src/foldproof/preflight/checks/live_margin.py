# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether matter keeps clear of the trim."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import edge_name, ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page
from foldproof.units import format_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_mm = limits.number("tolerance_mm")
    outer_mm = limits.number("least_mm")
    for ink in ink_of(facts):
        if ink is None:
            continue
        close = [e for e in ink.edges if e.nearest_mm is not None and e.nearest_mm + slack_mm < outer_mm]
        if not close:
            continue
        named = [(edge_name(facts, ink.index, e.edge), e, e.nearest_mm or 0.0) for e in close]
        outer = sorted((n for n in named if n[0] != "spine" and n[2] + slack_mm < outer_mm), key=lambda n: n[2])
        if outer:
            _, worst, least = outer[0]
            said = listed([f"{format_mm(distance)} from the trim at the {name}" for name, _, distance in outer])
            yield on_page(
                facts,
                ink.index,
                "live-margin/outer",
                Severity.QUERY,
                f"matter stands {said}; {format_mm(outer_mm)} are to be kept free.",
                "Move it inwards; or, if it is meant to be cut, extend it past the page edge as bleed.",
                place_mm=worst.nearest_place_mm,
                measured=least,
                limit=outer_mm,
                unit="mm",
            )


CHECK = Check(
    id="live-margin",
    title="Live-matter margin",
    needs=frozenset({Needs.STRUCTURE, Needs.INK}),
    measures="The distance of the nearest ink that does not touch the trim, at head, foot and fore-edge. The spine has "
    "a check of its own, inner-margin.",
    why="Cutting is a millimetre or more off on some copies: a folio close to the edge looks cut, or is.",
    remedy="Keep text and everything that must be whole clear of the trim.",
    source="common practice: a printer's data sheet asks for 3 mm at a general tolerance of 1.5 mm; magazines ask for "
    "3/8 in, which is wider than most books have",
    run=_run,
    limits={"least_mm": 3.0, "tolerance_mm": 0.4},
    limit_sources={
        "least_mm": "common practice: matter 3 mm inside the trim, on a printer's data sheet",
        "tolerance_mm": "one pixel of the ink pass at 72 dpi, 0.35 mm, rounded up",
    },
    severity=Severity.QUERY,
)
