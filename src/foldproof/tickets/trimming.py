# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the knives take off, for the trimming ticket."""

from __future__ import annotations

from typing import Any

from attrs import frozen

from foldproof.makeup.instructions import Section, Sheet
from foldproof.makeup.plan import Plan, SheetKind
from foldproof.units import format_mm, format_size_mm

_FROM = {"sewn": "the binder", "glued": "the gluing", "stitched": "stitching", "leaflet": "the folder"}


@frozen
class Amount:
    """What comes off a folded section, mm."""

    size_mm: tuple[float, float]  #: folded, untrimmed, width first
    head_mm: float
    foot_mm: float
    fore_edge_mm: float
    spine_mm: float
    lip_mm: float = 0.0  #: what one half stands out by at the fore-edge; ``fore_edge_mm`` is measured there


def trimming(plan: Plan) -> dict[str, Any]:
    """Words, rows and the drawing of the trimming ticket."""
    untrimmed = [(kind, amount) for kind in plan.kinds for amount in amounts(plan, kind)]
    first = untrimmed[0][1]
    left_mm, right_mm = first.spine_mm, first.fore_edge_mm
    right_to_left = plan.reading == "right to left"
    if right_to_left:
        left_mm, right_mm = right_mm, left_mm
    return {
        "words": _words(plan, max(lip_of(plan, kind) for kind in plan.kinds)),
        "rows": [
            [
                kind.label,
                format_size_mm(*amount.size_mm),
                format_mm(amount.head_mm),
                format_mm(amount.foot_mm),
                format_mm(amount.fore_edge_mm),
                format_mm(amount.spine_mm),
            ]
            for kind, amount in untrimmed
        ],
        "drawing": [*plan.trim_mm, first.head_mm, first.foot_mm, left_mm, right_mm],
        "caption": f"First kind of sheet, front cover up, head at the top; the spine is at the "
        f"{'right' if right_to_left else 'left'}. Full line: as it comes from {_FROM[plan.binding]};"
        " broken line: trimmed.",
    }


def amounts(plan: Plan, kind: SheetKind) -> list[Amount]:
    """What comes off the sections of a kind; one entry for those that are alike."""
    sheet = next(s for s in plan.instructions.sheets if s.number == kind.sheets[0])
    return list(dict.fromkeys(_amount(plan, sheet, section) for section in sheet.sections))


def lip_of(plan: Plan, kind: SheetKind) -> float:
    """The widest lip of the sections of a kind, mm; 0 where they have none."""
    return max(amount.lip_mm for amount in amounts(plan, kind))


def sizes_folded(plan: Plan, kind: SheetKind) -> list[str]:
    """Sizes of the folded, untrimmed sections of a kind, in words."""
    return list(dict.fromkeys(format_size_mm(*amount.size_mm) for amount in amounts(plan, kind)))


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


def lip_words(lip_mm: float) -> str:
    """What the folder is told of a lip, as a sentence; nothing where there is none."""
    return f"One half of each section stands out by a lip of {format_mm(lip_mm)} at the fore-edge." if lip_mm else ""


def _words(plan: Plan, lip_mm: float) -> str:
    width, height = plan.trim_mm
    if plan.binding == "leaflet":
        return (
            f"Cut every piece flat, before it is folded, along the lines that the folding ticket gives; one page is"
            f" {format_size_mm(width, height)}, width first. Nothing is trimmed after folding; measure the first sheet."
        )
    text = f"Trim to {format_size_mm(width, height)}, width first. Amounts are measured on the outermost leaf"
    text += ", the fore-edge from the lip. " if lip_mm else ". "
    if plan.binding == "glued":
        text += "The spine amount is ground off before gluing; the width counts from the ground edge. "
    else:
        text += "The width counts from the spine fold. "
    return (
        text + "Cut the fore-edge first, then head and foot, unless the house does otherwise; measure the first book."
    )
