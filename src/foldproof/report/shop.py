# SPDX-License-Identifier: AGPL-3.0-or-later
"""A house as a table for the terminal."""

from __future__ import annotations

from foldproof.job.model import House
from foldproof.units import format_mm, format_size_mm


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
