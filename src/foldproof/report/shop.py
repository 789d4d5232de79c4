# SPDX-License-Identifier: AGPL-3.0-or-later
"""A house as tables for the terminal.  Pure; no line is wider than :data:`WIDTH`."""

from __future__ import annotations

import io
from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from foldproof.job.model import Allowances, House, HouseFolder, HouseLine, HousePress, HouseScheme, HouseStock
from foldproof.makeup.capability import Capability
from foldproof.makeup.folding import Scheme, fold
from foldproof.report.shop_finishing import NOT_STATED, finishing_tables, price, speed
from foldproof.units import format_mm, format_size_mm

#: columns of the terminal that a line may take
WIDTH = 118
#: the most that a side is made up for
_FULL = 64
#: of the private use area, one column wide: the table breaks a line at every kind of space that has a name
_HARD_SPACE = "\ue000"


def shop_lines(house: House) -> list[str]:
    """Presses, folders, binding lines, schemes, stocks, what finishing has, and allowances, each as a table.

    Raises:
        FoldError: a scheme of the house, or its offcut, does not fold.
    """
    prices = f"Prices are in {house.currency}." if house.currency else "Prices are bare figures: no currency is stated."
    usual = f"Reckoned for {house.usual_copies} copies when a job names no number."
    across = "Sheets and images of a press: along its gripper edge x across it."
    lines = [house.name, f"{prices}  {usual}", across, ""]
    lines += _table(
        ("Press", "smallest sheet", "largest sheet", "largest image", "gripper", "tail", "side", "lay", "inks"),
        [_press_sizes(press) for press in house.presses],
    )
    lines += _table(
        ("Press", "prints", "make-ready of a forme", "speed", "price an hour", "price a plate"),
        [_press_work(press, house) for press in house.presses],
    )
    lines += _table(
        ("Folder", "smallest sheet", "largest sheet", "fold to fold", "last fold", "lip", "heaviest paper by pages"),
        [_folder_sizes(folder) for folder in house.folders],
    )
    lines += _table(
        ("Folder", "schemes", "make-ready", "speed", "price an hour"),
        [_folder_work(folder, house) for folder in house.folders],
    )
    if house.lines:
        lines += _table(
            ("Binding line", "books", "stations", "smallest book", "largest book", "thickness", "lip"),
            [_line_sizes(line) for line in house.lines],
        )
        lines += _table(
            ("Binding line", "speed", "make-ready of a pass", "price an hour"),
            [_line_work(line, house) for line in house.lines],
        )
    else:
        lines += ["No binding line is stated: nothing is held against limits of the bindery.", ""]
    lines += _table(("Scheme", "pages", "leaves", "folds, front up", "head"), [_scheme(one) for one in house.schemes])
    lines += _table(
        ("Stock", "g/m2", "a leaf", "price a kg", "grain: sheets in mm"), [_stock(one, house) for one in house.stocks]
    )
    for heads, rows in finishing_tables(house):
        lines += _table(heads, rows)
    return [*lines, *_table(("Allowances", ""), _allowances(house.allowances))[:-1]]


def reach_lines(reach: Sequence[Capability]) -> list[str]:
    """Most pages a side for each press and usual trim, the grain along the spine."""
    presses = list(dict.fromkeys(one.press for one in reach))
    trims = list(dict.fromkeys(one.trim for one in reach))
    cells = {(one.press, one.trim): one for one in reach}
    lines = _table(
        ("Most pages a side", *presses), [(trim, *(_reach(cells[press, trim]) for press in presses)) for trim in trims]
    )
    most = [f"{one.trim} on {one.press}" for one in reach if one.pages_a_side >= _FULL]
    told = "; ".join(most) if most else "on no press of the house"
    return [*lines, f"{_FULL} pages a side (a {2 * _FULL}-page sheet): {told}."]


def _reach(one: Capability) -> str:
    if not one.pages_a_side:
        return "none"
    return f"{one.pages_a_side} ({one.across} x {one.up} of {one.scheme})\nto {one.heaviest:g} g/m2"


# --- rows -------------------------------------------------------------------------------------------------------------


def _press_sizes(press: HousePress) -> tuple[str, ...]:
    inks = str(press.inks)
    if press.perfecting:
        inks += f", {press.perfecting} of them on the back when perfecting"
    return (
        press.name,
        format_size_mm(*press.sheet_min),
        format_size_mm(*press.sheet_max),
        format_size_mm(*press.printable) if press.printable else "inside the margins",
        format_mm(press.gripper),
        format_mm(press.tail),
        format_mm(press.side),
        press.lay,
        inks,
    )


def _press_work(press: HousePress, house: House) -> tuple[str, ...]:
    return (
        press.name,
        ", ".join(_unbroken(way) for way in press.can),
        _make_ready(press.make_ready_sheets, press.make_ready_minutes),
        speed(press.sheets_per_hour, "sheets"),
        price(press.hour_price, house),
        price(press.plate_price, house),
    )


def _folder_sizes(folder: HouseFolder) -> tuple[str, ...]:
    heaviest = ", ".join(f"{pages}: {grammage:g} g/m2" for pages, grammage in sorted(folder.grammage_max.items()))
    return (
        folder.name,
        format_size_mm(*folder.sheet_min),
        format_size_mm(*folder.sheet_max),
        _range(folder.panel_min, folder.panel_max),
        f"to {format_mm(folder.thickest, 2)}" if folder.thickest is not None else NOT_STATED,
        _range(folder.lip_min, folder.lip_max) if folder.lip_min is not None else "none",
        heaviest or NOT_STATED,
    )


def _folder_work(folder: HouseFolder, house: House) -> tuple[str, ...]:
    return (
        folder.name,
        ", ".join(_unbroken(name) for name in folder.schemes),
        _make_ready(folder.make_ready_sheets, folder.make_ready_minutes),
        speed(folder.sheets_per_hour, "sheets"),
        price(folder.hour_price, house),
    )


def _line_sizes(line: HouseLine) -> tuple[str, ...]:
    return (
        line.name,
        ", ".join(line.bindings),
        str(line.stations),
        format_size_mm(*line.trim_min),
        format_size_mm(*line.trim_max),
        _range(line.block_min, line.block_max),
        f"{line.lip}, {format_mm(line.lip_size)}" if line.lip is not None else "none",
    )


def _line_work(line: HouseLine, house: House) -> tuple[str, ...]:
    works = speed(line.books_per_hour, "books")
    if line.sewn_sections_per_hour is not None:
        works += f", {line.sewn_sections_per_hour:g} sections/h sewn"
    if line.trimmed_per_hour is not None:
        works += f", {line.trimmed_per_hour:g} books/h trimmed"
    return (
        line.name,
        works,
        f"{line.make_ready_minutes:g} min, and {line.station_minutes:g} min a station",
        price(line.hour_price, house),
    )


def _scheme(scheme: HouseScheme) -> tuple[str, ...]:
    rest = Scheme(scheme.name, scheme.columns, scheme.rows - scheme.offcut_rows, scheme.folds, scheme.head)
    folds = ", ".join(_unbroken(words) for words in scheme.folds)
    if scheme.offcut_rows:
        # folded here to see that it folds at all
        fold(Scheme(f"{scheme.name}, offcut", scheme.columns, scheme.offcut_rows, scheme.offcut_folds, scheme.head))
        rows = "top row" if scheme.offcut_rows == 1 else f"top {scheme.offcut_rows} rows"
        inside = ", ".join(_unbroken(words) for words in scheme.offcut_folds)
        folds = f"{rows} cut off and folded {inside}, then set into the middle of the rest, folded {folds}"
    pages = 2 * scheme.columns * scheme.rows
    # a scheme that names no head has one all the same
    return scheme.name, str(pages), f"{scheme.columns} x {scheme.rows}", folds, fold(rest).head


def _stock(stock: HouseStock, house: House) -> tuple[str, ...]:
    usual = " (usual)" if stock.name == house.usual_stock else ""
    grains: dict[tuple[float, float], list[str]] = {}
    for sheet in stock.sheets:
        grains.setdefault((min(sheet.size), max(sheet.size)), []).append(sheet.grain)
    sizes: dict[tuple[str, ...], list[str]] = {}
    for size_mm, held in grains.items():
        sizes.setdefault(tuple(sorted(set(held))), []).append(format_size_mm(*size_mm).removesuffix(" mm"))
    sheets = "\n".join(
        f"{' or '.join(held)}: {', '.join(_unbroken(size) for size in alike)}" for held, alike in sizes.items()
    )
    leaf = f"{stock.caliper_mm:.3f} mm" + (" as stated" if stock.caliper is not None else "")
    return stock.name + usual, f"{stock.grammage:g}", leaf, price(stock.price_per_kg, house), sheets


def _allowances(given: Allowances) -> list[tuple[str, ...]]:
    spoilt = (
        ("press", given.spoil_press),
        ("folding", given.spoil_folding),
        ("gathering", given.spoil_gathering),
        ("sewing", given.spoil_sewing),
        ("trimming", given.spoil_trimming),
        ("casing-in", given.spoil_casing),
        *([] if given.spoil_jacketing is None else [("jacketing", given.spoil_jacketing)]),
    )
    creep = "pages moved towards the spine" if given.creep_by == "shift" else "pages narrowed"
    gutter = (
        "less on every inner leaf by its push-out" if given.glued_gutter == "by position" else "alike on all leaves"
    )
    return [
        ("bleed", format_mm(given.bleed)),
        (
            "taken off",
            f"head {format_mm(given.head)}, foot {format_mm(given.foot)}, fore-edge {format_mm(given.fore_edge)}, "
            f"spine before gluing {format_mm(given.spine_grind)}",
        ),
        ("bolts", f"at least {format_mm(given.bolt_min)} outside the trim"),
        ("push-out", f"{given.creep_factor:g} x the thickness of a leaf for every leaf outside it; {creep}"),
        ("gutter, glued", gutter),
        ("lean at the head", format_mm(given.bottling) if given.bottling else "none reckoned with"),
        ("blanks", f"{given.blanks} at the end, at most"),
        ("spoilt", ", ".join(f"{what} {per_cent:g} %" for what, per_cent in spoilt)),
    ]


# --- cells ------------------------------------------------------------------------------------------------------------


def _range(least: float | None, most: float | None) -> str:
    if least is None and most is None:
        return NOT_STATED
    if most is None:
        return f"from {format_mm(least or 0.0, 2)}"
    if not least:
        return f"to {format_mm(most, 2)}"
    return f"{format_mm(least, 2).removesuffix(' mm')} to {format_mm(most, 2)}"


def _make_ready(sheets: int, minutes: float) -> str:
    return f"{sheets} sheet{'' if sheets == 1 else 's'}, {minutes:g} min"


def _unbroken(words: str) -> str:
    """Words that stay on one line."""
    return words.replace(" ", _HARD_SPACE)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table and an empty line after it; what is wide is broken into lines, nothing is cut off."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="", show_header=True)
    for nth, head in enumerate(heads):
        # names keep to one line as long as they leave room for the rest
        widest = max([cell_len(head), *(cell_len(row[nth]) for row in rows)])
        table.add_column(Text(head), overflow="fold", no_wrap=nth == 0 and widest <= WIDTH // 3)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console = Console(
        file=io.StringIO(), width=WIDTH, force_terminal=False, color_system=None, legacy_windows=False, _environ={}
    )
    with console.capture() as said:
        console.print(table)
    return [line.replace(_HARD_SPACE, " ").rstrip() for line in said.get().splitlines()] + [""]
