# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans side by side on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.makeup.plan import Plan
from foldproof.report.words import count, sentence
from foldproof.units import format_size_mm


def plans_text(plans: Sequence[Plan]) -> str:
    """A table, a column a plan, the best first; then what the best assumes and offers."""
    names = [
        "press",
        "sheet",
        "stock",
        "grain",
        "fold",
        "sections",
        "sheets",
        "pages a side",
        "blanks",
        "paper, m2 a copy",
    ]
    columns = [[f"plan {number}", *_column(plan)] for number, plan in enumerate(plans, 1)]
    rows = [["", *(column[0] for column in columns)]]
    rows += [[name, *(column[row] for column in columns)] for row, name in enumerate(names, 1)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    best = plans[0]
    lines += ["", "Plan 1", *(f"  {sentence(line)}" for line in (*best.assumptions, *best.offers))]
    if best.refused:
        lines += ["", "Refused", *(f"  {sentence(line)}" for line in best.refused)]
    return "\n".join(lines)


def _column(plan: Plan) -> list[str]:
    width_mm, height_mm = plan.sheet_mm
    by_pages: dict[int, int] = {}
    for section in plan.sections:
        by_pages[section.pages] = by_pages.get(section.pages, 0) + 1
    sides: dict[tuple[int, str], int] = {}
    for place in plan.places:
        side = (place.sheet, place.side.value)
        sides[side] = sides.get(side, 0) + 1
    return [
        plan.press.name,
        format_size_mm(width_mm, height_mm),
        plan.stock,
        f"{plan.grain}, {'along' if plan.grain_along_spine else 'ACROSS'} the spine",
        ", ".join(dict.fromkeys(kind.scheme for kind in plan.kinds)),
        " + ".join(f"{number} x {pages}" for pages, number in sorted(by_pages.items(), reverse=True)),
        str(plan.sheets),
        str(max(sides.values())),
        count(plan.blanks_front + plan.blanks_back, "page"),
        f"{plan.sheets * width_mm * height_mm / 1e6:.2f}",
    ]
