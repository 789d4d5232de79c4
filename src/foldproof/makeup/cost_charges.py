# SPDX-License-Identifier: AGPL-3.0-or-later
"""So much of one thing at a price: plates, make-ready, paper, hours.  Exact.  Pure."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Protocol

from attrs import field, frozen

from foldproof.job.model import HouseFolder, HousePress
from foldproof.makeup.cost_sheets import exact, half_up

#: decimal places of money in a :class:`RunCost`
MILLIONTHS = 6
#: what a charge was reckoned from
Figures = tuple[int | float | str | None, ...]


class Stock(Protocol):
    """What a stock must say of itself; a stock of the house does."""

    @property
    def name(self) -> str: ...
    @property
    def grammage(self) -> float: ...
    @property
    def price_per_kg(self) -> float | None: ...


@frozen
class FoldedPiece:
    """Pieces of one press sheet that a folder takes in one setting.

    Folders are told apart as objects, not by what they state: that is quick, and the house is read once.
    """

    folder: HouseFolder = field(eq=id)
    scheme: str
    count: int  #: such pieces on one press sheet
    passes: int = 1  #: times that each goes through a folder; an offcut folded by itself goes once more
    set_anew: bool = True  #: the folder is set for them; else it stands as the sheet before left it


@frozen
class Charge:
    """So much of something at a price, exactly, before it becomes a line."""

    what: str  #: as :attr:`foldproof.makeup.cost.CostLine.what`
    of: str  #: machine or stock
    unit: str
    quantity: Fraction
    price: Fraction | None
    #: the figures that the quantity was reckoned from; :mod:`foldproof.makeup.cost_lines` words them
    figures: Figures

    @property
    def amount(self) -> Fraction | None:
        """``None`` where no price is known; nothing costs nothing all the same."""
        if not self.quantity:
            return Fraction(0)
        return None if self.price is None else self.quantity * self.price


# --- charges: each is so much of one thing ----------------------------------------------------------------------------


def plate_charge(press: HousePress, plates: int, figures: Figures = ()) -> Charge:
    """Plates at the price of one."""
    return Charge("plates", press.name, "plates", Fraction(plates), price_of(press.plate_price), figures)


def make_ready_charge(press: HousePress, formes: int) -> Charge:
    """Formes made ready x minutes of one, in hours."""
    hours = formes * exact(press.make_ready_minutes) / 60
    return Charge("make-ready", press.name, "h", hours, price_of(press.hour_price), (formes, press.make_ready_minutes))


def paper_charge(stock: Stock, sheet_mm: tuple[float, float], sheets: int) -> Charge:
    """Sheets x area x grammage, in kilogrammes."""
    # mm2 x g/m2 is 1e-6 g, and so 1e-9 kg
    weight = sheets * exact(sheet_mm[0]) * exact(sheet_mm[1]) * exact(stock.grammage) / 10**9
    return Charge("paper", stock.name, "kg", weight, price_of(stock.price_per_kg), (sheets, *sheet_mm, stock.grammage))


def press_time_charge(press: HousePress, sheets: int, figures: Figures = ()) -> Charge:
    """Sheets, counted once for every pass, over the speed of the press."""
    return timed("press time", press.name, "sheets", sheets, press.sheets_per_hour, price_of(press.hour_price), figures)


def folding_charge(piece: FoldedPiece, sheets: int, set_anew: bool) -> Charge:
    """Pieces of so many press sheets over the speed of the folder, and the minutes of setting it."""
    folder = piece.folder
    settings = piece.passes if set_anew else 0
    return timed(
        "folding",
        folder.name,
        "pieces",
        sheets * piece.count * piece.passes,
        folder.sheets_per_hour,
        price_of(folder.hour_price),
        (piece.count * piece.passes, sheets, folder.sheets_per_hour, settings, folder.make_ready_minutes),
        settings * exact(folder.make_ready_minutes),
    )


def timed(
    what: str,
    of: str,
    unit: str,
    number: int,
    an_hour: float | None,
    price: Fraction | None,
    figures: Figures,
    minutes: Fraction = Fraction(0),
) -> Charge:
    """Hours where a speed is stated, else so many pieces at a price that nobody knows."""
    if an_hour is None and number:
        return Charge(what, of, unit, Fraction(number), None, figures)
    running = number / exact(an_hour) if an_hour is not None else Fraction(0)
    return Charge(what, of, "h", running + minutes / 60, price, figures)


def together(amounts: Iterable[Fraction | None]) -> Fraction | None:
    """The sum; ``None`` where one of them is not known."""
    total = Fraction(0)
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total


def money(charges: Iterable[Charge]) -> int | None:
    """All charges in millionths, halves upwards; ``None`` where one has no price."""
    total = together(charge.amount for charge in charges)
    return None if total is None else half_up(total, MILLIONTHS)


def price_of(price: float | None) -> Fraction | None:
    """A price as the house file writes it."""
    return None if price is None else exact(price)
