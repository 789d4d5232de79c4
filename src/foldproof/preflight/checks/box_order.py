# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the boxes of a page lie one in another."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page
from foldproof.units import mm_to_pt


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_pt = mm_to_pt(limits.number("tolerance_mm"))
    for page in facts.manuscript.pages:
        boxes = page.boxes
        # a TrimBox beyond the page itself is put right while reading, and told as such
        beyond = sorted(boxes.beyond - {"TrimBox"})
        if beyond:
            yield on_page(
                facts,
                page.index,
                "box-order/beyond",
                Severity.NOTE,
                f"the {listed(beyond)} {'runs' if len(beyond) == 1 else 'run'} beyond the MediaBox; what lies out "
                "there is not on the page.",
                "Nothing to do if the bleed is there all the same; otherwise export with the bleed inside the page.",
            )
        if "TrimBox" not in boxes.stated:
            continue
        slack = slack_pt / page.user_unit
        smaller = []
        if "BleedBox" in boxes.stated and not boxes.bleed.holds(boxes.trim, slack):
            smaller.append("BleedBox")
        if "CropBox" in boxes.stated and not boxes.crop.holds(boxes.trim, slack):
            smaller.append("CropBox")
        if smaller:
            yield on_page(
                facts,
                page.index,
                "box-order/" + "-".join(smaller),
                Severity.QUERY,
                f"the TrimBox reaches beyond the {listed(smaller)}.",
                "Export again with the page size as trim and the bleed outside it; do not crop the pages afterwards.",
            )


CHECK = Check(
    id="box-order",
    title="Boxes inside one another",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Whether a stated BleedBox and CropBox hold the TrimBox, and no box runs beyond the MediaBox.",
    why="Boxes that cross tell two programs two sizes, and one of them cuts off matter that belongs to the page.",
    remedy="Let the layout program write the boxes, and leave them as they are.",
    source="ISO 15930 (PDF/X): the TrimBox does not extend beyond BleedBox or CropBox; the clause from memory; "
    "boxes are cut to the MediaBox: ISO 32000-1, 14.11.2",
    run=_run,
    limits={"tolerance_mm": 0.2},
    limit_sources={"tolerance_mm": "half a point, for boxes written in whole points; common practice, no source"},
    severity=Severity.QUERY,
)
