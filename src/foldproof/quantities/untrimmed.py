# SPDX-License-Identifier: AGPL-3.0-or-later
"""How large a section is before the knives come to it, and what they take off.  Pure; millimetres."""

from __future__ import annotations

from attrs import frozen

from foldproof.makeup.instructions import Section, Sheet
from foldproof.makeup.plan import Plan, SheetKind


@frozen
class Amount:
    """What comes off a folded section, mm."""

    size_mm: tuple[float, float]  #: folded, untrimmed, width first
    head_mm: float
    foot_mm: float
    fore_edge_mm: float
    spine_mm: float
    lip_mm: float = 0.0  #: what one half stands out by at the fore-edge; ``fore_edge_mm`` is measured there


def amounts(plan: Plan, kind: SheetKind) -> list[Amount]:
    """What comes off the sections of a kind; one entry for those that are alike."""
    sheet = next(s for s in plan.instructions.sheets if s.number == kind.sheets[0])
    return list(dict.fromkeys(_amount(plan, sheet, section) for section in sheet.sections))


def endpaper_leaf_mm(plan: Plan) -> tuple[float, float]:
    """Width and height of an endpaper's leaf as it is tipped to the block: as the first section, its back ground."""
    first = amounts(plan, plan.kinds[0])[0]
    return first.size_mm[0] - first.spine_mm, first.size_mm[1]


def _amount(plan: Plan, sheet: Sheet, section: Section) -> Amount:
    """Size of the folded, untrimmed section: one panel, the widest and highest of the scheme, and its lip."""
    places = (*plan.places, *plan.again)
    page = next(p for p in places if p.sheet == sheet.number and p.section == section.id)
    # a page stands upright in the scheme when it and the scheme are turned by the same quarter, or by half a turn more
    page_is_level = abs(page.matrix.a) < abs(page.matrix.b)
    widths, heights = section.column_mm, section.row_mm
    if page_is_level is not (section.turned in (90, 270)):
        widths, heights = heights, widths
    width, height = round(max(widths), 6), round(max(heights), 6)
    # the panels of a leaflet that are narrower are tucked in: no lip
    lip = 0.0 if plan.binding == "leaflet" else round(width - min(widths), 6)
    fore_edge = max(0.0, width - plan.trim_mm[0] - section.spine_trim_mm)
    return Amount((width, height), section.head_trim_mm, section.foot_trim_mm, fore_edge, section.spine_trim_mm, lip)
