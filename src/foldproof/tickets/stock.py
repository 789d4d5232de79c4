# SPDX-License-Identifier: AGPL-3.0-or-later
"""The stock bench: which paper, how many sheets, how the grain lies, and how larger sheets are cut to it.

After the press sheets of the text comes the paper of endpapers, cover and jacket (:mod:`foldproof.case.parts`).
"""

from __future__ import annotations

from itertools import chain
from math import floor
from typing import Any

from attrs import frozen

from foldproof.case.parts import PIECES, PartOrder, paper_parts
from foldproof.job.model import House
from foldproof.quantities.model import StockOrder, Work
from foldproof.tickets.bench import Bench
from foldproof.tickets.cautions import cautions_of, load_words
from foldproof.tickets.labels import sheets_words
from foldproof.units import format_size_mm

#: sheets of a ream
REAM = 500
#: a millimetre's part by which a sheet may be too small for its pieces on paper: float dust
_DUST_MM = 1e-6
#: what squaring an edge takes off, at least; where less is left over the sheet must come square (common practice, no
#: source)
_EDGE_MM = 1.0


@frozen
class ParentCut:
    """A larger sheet that the house holds, cut into press sheets; along the press sheet's gripper edge first."""

    sheet_mm: tuple[float, float]
    across: int
    up: int

    @property
    def out(self) -> int:
        return self.across * self.up

    def waste(self, press_mm: tuple[float, float]) -> float:
        """Part of the sheet that is left over, 0 to 1."""
        return 1 - self.out * press_mm[0] * press_mm[1] / (self.sheet_mm[0] * self.sheet_mm[1])


def benches(work: Work) -> tuple[Bench, ...]:
    """One ticket for all stocks of the job."""
    parts = paper_parts(work.plan, work.job, work.house, work.quantities.thickness)
    orders: tuple[StockOrder | PartOrder, ...] = (*work.quantities.orders, *parts.orders)
    if not orders:
        return ()
    heaviest = max(orders, key=lambda order: order.weight_kg / order.gross)
    kilos = heaviest.weight_kg / heaviest.gross * REAM
    gross = sum(order.gross for order in orders)
    copies = work.quantities.copies
    text = sum(order.gross for order in work.quantities.orders)
    leave = [number for number in (text, *(order.gross for order in parts.orders)) if number]
    return (
        Bench(
            bench="stock",
            name="Stock",
            what=f"{gross:,} sheets for {copies:,} {'copy' if copies == 1 else 'copies'}",
            layout="stock",
            body={
                "orders": [_order(work, order) for order in work.quantities.orders],
                "parts": [_part(order) for order in parts.orders],
                "unknown": unknown_words(work),
            },
            cautions=cautions_of("stock", load_words(f"A ream of {heaviest.stock}", kilos)),
            checks=(
                "stock and grammage as stated, one making",
                "grain tried: tear or wet a strip",
                "counted",
                "lies in the press room’s air",
            ),
            due=("", " + ".join(f"{number:,}" for number in leave)),
            most_pages=2 + len(orders),
        ),
    )


def unknown_words(work: Work) -> str:
    """What could not be reckoned of the job, each sentence once; ``""`` where everything was."""
    parts = paper_parts(work.plan, work.job, work.house, work.quantities.thickness)
    return " ".join(dict.fromkeys((*work.quantities.unknown, *parts.unknown)))


def _order(work: Work, order: StockOrder) -> dict[str, Any]:
    wide, high = order.sheet_mm
    grain_upright = (order.grain == "long") == (high > wide)
    runs = [work.plan.run_of(number) for number in order.sheets] if work.plan.runs else []
    spine = {run.grain_along_spine for run in runs}
    along = "" if len(spine) != 1 else f", {'along' if spine == {True} else 'across'} the spine"
    cut, told = _cut(work.house, order)
    return {
        "stock": f"{order.stock}, {order.grammage:g} g/m²",
        "size": format_size_mm(wide, high),
        "size_mm": [wide, high],
        "grain_upright": grain_upright,
        "grain": f"along the {order.grain} side ({'up' if grain_upright else 'across'} the sheet){along}",
        "gross": f"{order.gross:,}",
        "net": f"{order.net:,}",
        "reams": f"{order.reams:,.1f}",
        "weight": _weight(order.weight_kg),
        "price": f"{order.price:,.2f}" if order.price is not None else "",
        "sheets": sheets_words(order.sheets),
        "cut": cut,
        "cut_words": told,
    }


def _part(order: PartOrder) -> dict[str, Any]:
    """As an order of press sheets; a sheet that is cut at this bench comes with its cuts."""
    wide, high = order.sheet_mm
    # what is not printed is drawn with its grain upright, a square sheet too
    upright = not order.press or (order.grain == "long") == (high > wide)
    pieces = f"{order.pieces:,} {PIECES[order.part]}{'' if order.pieces == 1 else 's'}"
    if order.layout is None:
        lie = f"Goes to {order.press}, {order.across} side by side, {order.up} one above the other; cut when printed."
    else:
        over = min(
            side - n * own
            for side, n, own in zip(order.sheet_mm, (order.across, order.up), order.piece_mm, strict=True)
        )
        square = "Square the first edge." if over >= _EDGE_MM else "Take square sheets: nothing is left to square them."
        lie = " ".join([square, *(step.words for step in order.layout.steps)])
    return {
        "stock": f"{order.part.capitalize()}: {order.stock}, {order.grammage:g} g/m²",
        "size": format_size_mm(wide, high),
        "size_name": "size, gripper edge first" if order.press else "size, as it is cut",
        "size_mm": [wide, high],
        "grain_upright": upright,
        "grain": f"along the {order.grain} side ({'up' if upright else 'across'} the sheet), along the spine",
        "gross": f"{order.gross:,}",
        "net": f"{order.net:,}",
        "reams": f"{order.reams:,.1f}",
        "weight": _weight(order.weight_kg),
        "price": f"{order.price:,.2f}" if order.price is not None else "",
        "sheets": f"{pieces} of {format_size_mm(*order.piece_mm)}, the height along the spine",
        "cut": None,
        "cut_words": f"{lie} {order.says}",
        "pieces": {"piece": list(order.piece_mm), "across": order.across, "up": order.up} if order.layout else None,
    }


def _weight(kilos: float) -> str:
    return f"{kilos:,.0f} kg" if kilos >= 10 else f"{kilos:.1f} kg"


def _cut(house: House, order: StockOrder) -> tuple[dict[str, Any] | None, str]:
    """The cut plan, if one is wanted, and what is said of it."""
    if _held(house, order):
        return None, "As delivered: the house holds it in this size, no cut."
    parent = parent_for(house, order)
    if parent is None:
        return None, "The house does not hold it in this size: bought so, no cut."
    wanted = -(-order.gross // parent.out)
    plan = {
        "sheet_mm": list(parent.sheet_mm),
        "across": parent.across,
        "up": parent.up,
    }
    into = f"into {parent.out} each" if parent.out > 1 else "down to it"
    return plan, (
        f"The house does not hold it in this size: buy it so, or cut {wanted:,} sheets of"
        f" {format_size_mm(*parent.sheet_mm)} {into} ({100 * parent.waste(order.sheet_mm):.0f} % left over). Square the"
        " first edge; every cut from edge to edge."
    )


def _held(house: House, order: StockOrder) -> bool:
    return any(
        sorted(sheet.size) == sorted(order.sheet_mm) and sheet.grain == order.grain
        for stock in house.stocks
        if stock.name == order.stock
        for sheet in stock.sheets
    )


def parent_for(house: House, order: StockOrder) -> ParentCut | None:
    """The held sheet of the stock that cuts into press sheets with the least waste; ``None`` where none is large.

    The grain must lie in the pieces as the press wants it, so no piece may be turned.  Pieces of one size that may not
    be turned lie best in rows and columns: a lattice whose meshes are a hair smaller than the piece has a point in
    every piece, and so no more pieces than points (worked here; the bound is common practice, no source).
    """
    wide, high = order.sheet_mm
    grain_upright = (order.grain == "long") == (high > wide)
    found = []
    for sheet in chain.from_iterable(stock.sheets for stock in house.stocks if stock.name == order.stock):
        short, long = sorted(sheet.size)
        # laid so that its grain runs as the press sheet's does
        upright = long if (sheet.grain == "long") == grain_upright else short
        across = short if upright == long else long
        cut = ParentCut((across, upright), floor((across + _DUST_MM) / wide), floor((upright + _DUST_MM) / high))
        if cut.out:
            found.append(cut)
    return min(found, key=lambda cut: (cut.waste(order.sheet_mm), cut.sheet_mm), default=None)
