# SPDX-License-Identifier: AGPL-3.0-or-later
"""Presets of the ink zones as a job ticket of its own: for every side and ink the part of each zone that is covered.

``ZoneSettingsX`` goes from the left of the side as its plate prints it, 0 to 1 (from memory of the standard; the schema
states a list of numbers), ``ZoneWidth`` is in points.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from typing import Any

from foldproof.quantities.ink import zone_presets
from foldproof.quantities.model import Work
from foldproof.xjdf.model import HeldPlan
from foldproof.xjdf.sheets import add_colours
from foldproof.xjdf.terms import SIDES, points, sheet_name, tokens
from foldproof.xjdf.tree import Ticket, element

_PROCESS = "InkZoneCalculation"


def ink_zones(work: Work, plan: HeldPlan, job: str, day: str) -> bytes:
    """The file; ``plan``: what a job ticket holds of the plan of the work, whose inks were measured.

    Args:
        job: name of the job, a token.
        day: ``YYYY-MM-DD``, or empty.
    """
    ticket = Ticket(job, plan.title, [_PROCESS])
    if day:
        ticket.created(day)
    ticket.comment(
        "Zones are counted from the left of each side as its plate prints it, its own gripper edge at the bottom; "
        "settings are the covered part of the zone, 0 to 1. PrintableArea is what the zones cover, the "
        "side's own lower left at 0 0; the outermost may reach beyond the paper. Without a Side one plate prints both."
    )
    for note in work.ink.notes if work.ink else ():
        ticket.comment(note)
    presets = zone_presets(work)
    named = tokens(one["ink"] for one in presets)
    add_colours(ticket, named)
    heights = {sheet.number: sheet.size_mm[1] for sheet in plan.sheets}
    asked = ticket.resources("InkZoneCalculationParams", process=_PROCESS)
    asked.add_alike(
        {
            one["sheet"]: (_asked(one, heights[one["sheet"]]), {"SheetName": sheet_name(one["sheet"])})
            for one in presets
        }.values()
    )
    profiles = ticket.resources("InkZoneProfile", usage="Output", process=_PROCESS)
    for one in presets:
        profile = {
            "ZoneWidth": points(one["zone_mm"]),
            "ZoneSettingsX": " ".join(f"{part:.4f}" for part in one["zones"]),
        }
        part = {"SheetName": sheet_name(one["sheet"]), "Side": SIDES.get(one["side"]), "Separation": named[one["ink"]]}
        profiles.add(element("InkZoneProfile", profile), [{key: told for key, told in part.items() if told}])
    return ticket.as_bytes()


def _asked(one: Mapping[str, Any], high_mm: float) -> ET.Element:
    """How the zones lie: the area that they cover, of which the outermost may reach beyond the paper."""
    first, width = one["first_mm"], one["zone_mm"]
    told = {
        "Zones": str(len(one["zones"])),
        "ZoneWidth": points(width),
        "PrintableArea": points(first, 0.0, first + len(one["zones"]) * width, high_mm),
    }
    return element("InkZoneCalculationParams", told)
