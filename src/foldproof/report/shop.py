# SPDX-License-Identifier: AGPL-3.0-or-later
"""A house as a table for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.job.model import House
from foldproof.makeup.capability import Capability
from foldproof.units import format_mm, format_size_mm

#: the most that a side is made up for
_FULL = 64


def shop_lines(house: House) -> list[str]:
    """Presses, folders, schemes and stocks, a line each."""
    lines = [house.name, "", "Presses"]
    for press in house.presses:
        lines.append(
            f"  {press.name}: sheets {format_size_mm(*press.sheet_min)} to {format_size_mm(*press.sheet_max)}, "
            f"gripper {format_mm(press.gripper)}, {press.inks} ink{'s' if press.inks > 1 else ''} in one pass"
        )
    lines += ["", "Folders"]
    for folder in house.folders:
        heaviest = ", ".join(f"{p} pages to {g:g} g/m2" for p, g in sorted(folder.grammage_max.items()))
        lines.append(
            f"  {folder.name}: up to {format_size_mm(*folder.sheet_max)}; {', '.join(folder.schemes)}"
            + (f"; {heaviest}" if heaviest else "")
        )
    lines += ["", "Schemes"]
    for scheme in house.schemes:
        pages = 2 * scheme.columns * scheme.rows
        lines.append(f"  {scheme.name}: {pages} pages, {scheme.columns} x {scheme.rows}: {', '.join(scheme.folds)}")
    lines += ["", "Stocks"]
    for stock in house.stocks:
        sheets = ", ".join(f"{format_size_mm(*s.size)} {s.grain} grain" for s in stock.sheets)
        usual = " (usual)" if stock.name == house.usual_stock else ""
        lines.append(f"  {stock.name}{usual}: {stock.grammage:g} g/m2, {stock.caliper_mm:.3f} mm a leaf; {sheets}")
    return lines


def reach_lines(reach: Sequence[Capability]) -> list[str]:
    """Most pages a side for each press and usual trim, the grain along the spine."""
    presses = list(dict.fromkeys(one.press for one in reach))
    trims = list(dict.fromkeys(one.trim for one in reach))
    cells = {(one.press, one.trim): one for one in reach}
    rows = [["Most pages a side", *presses]]
    rows += [[trim, *(_reach(cells[press, trim]) for press in presses)] for trim in trims]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    most = [f"{one.trim} on {one.press}" for one in reach if one.pages_a_side >= _FULL]
    told = "; ".join(most) if most else "on no press of the house"
    return [*lines, "", f"{_FULL} pages a side (a {2 * _FULL}-page sheet): {told}."]


def _reach(one: Capability) -> str:
    if not one.pages_a_side:
        return "none"
    return f"{one.pages_a_side} ({one.across} x {one.up} of {one.scheme}, to {one.heaviest:g} g/m2)"
