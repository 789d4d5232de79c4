# SPDX-License-Identifier: AGPL-3.0-or-later
"""Places where all inks together are more than the paper takes up."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import InkPeak
from foldproof.preflight.inks import said
from foldproof.preflight.measures import ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page, rounded

#: four plates of 8 bits are each rounded by up to half a step, 0.2 % of the ink: not even a whole per cent together
_SLACK_PERCENT = 1.0
#: less of the page than this is not worth a figure
_A_LITTLE = 0.005


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    limit = limits.number("limit_percent")
    for ink in ink_of(facts):
        if ink is None or ink.peak is None or ink.peak.total * 100 <= limit + _SLACK_PERCENT:
            continue
        peak = ink.peak
        yield on_page(
            facts,
            ink.index,
            "total-ink",
            Severity.QUERY,
            f"{peak.total * 100:.0f} % of ink, as a mean over {peak.side_mm:g} x {peak.side_mm:g} mm "
            f"({said({name: round(cover, 2) for name, cover in peak.by_ink if cover >= 0.005})}); {limit:g} % is the "
            f"most{_spread(peak, limit)}.",
            f"Convert the picture with a profile of the printing condition, whose total stays under {limit:g} %; build "
            "tints and black grounds from fewer inks (black with 40 to 70 % of cyan is deep enough).",
            place_mm=peak.place_mm,
            measured=round(peak.total * 100, 1),
            limit=limit,
            unit="%",
        )


def _spread(peak: InkPeak, limit: float) -> str:
    """How much of the page lies in places too heavy, by the tenth next above the limit."""
    share = next((part for tenth, part in peak.over if tenth * 100 >= limit), 0.0)
    return f"; {rounded(share * 100)} % of the page lies in places as heavy" if share >= _A_LITTLE else ""


CHECK = Check(
    id="total-ink",
    title="Total ink",
    needs=frozenset({Needs.INK}),
    measures="The sum of all plates, spot colours too, as a mean over the heaviest square of 5 x 5 mm inside the "
    "trim, with overprint and transparency reckoned. The inks are those that the file itself states. What is in RGB or "
    "Lab is turned into inks by somebody later; until then it counts as its plain complement with all grey in black, "
    "never more than 200 %, so that it is not judged here: convert first.",
    why="Ink that the paper cannot take up does not dry: it sets off on the next sheet, smears at the folder and fills "
    "in the shadows.",
    remedy="Convert pictures with the profile of the printing condition; build grounds from fewer inks.",
    source="ISO 12647-2 (tone value sum) and the characterisation data of printing conditions, from memory; a "
    "reproduction house's glossary; see the limit",
    run=_run,
    limits={"limit_percent": 360},
    limit_sources={"limit_percent": "the most that is customary in sheet-fed offset (a reproduction house's glossary)"},
    severity=Severity.QUERY,
)
