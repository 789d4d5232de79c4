# SPDX-License-Identifier: AGPL-3.0-or-later
"""Money and ranks of many sheets, quickly: the charges of one of each thing, over one denominator.  Exact.  Pure."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from math import lcm

from attrs import frozen

from foldproof.job.model import HousePress
from foldproof.makeup.cost_charges import (
    MILLIONTHS,
    FoldedPiece,
    Stock,
    folding_charge,
    make_ready_charge,
    paper_charge,
    plate_charge,
    press_time_charge,
    together,
)
from foldproof.makeup.cost_sheets import exact, half_up

#: sheets an hour of a press that states no speed: for its rank among others alone, never for money (from memory)
_RANKED_SPEED = 8000


@frozen
class Rates:
    """Amounts of one of each thing as whole numbers over one denominator; ``None`` where no price is known."""

    over: int
    each: tuple[int | None, ...]


def _rates(amounts: Iterable[Fraction | None]) -> Rates:
    known = tuple(amounts)
    over = lcm(*(amount.denominator for amount in known if amount is not None))
    return Rates(over, tuple(None if amount is None else int(amount * over) for amount in known))


@lru_cache(maxsize=1024)
def press_rates(press: HousePress) -> Rates:
    """Of a plate, of a forme made ready, of a sheet in one pass."""
    return _rates(
        charge.amount for charge in (plate_charge(press, 1), make_ready_charge(press, 1), press_time_charge(press, 1))
    )


@lru_cache(maxsize=4096)
def _weighed(grammage: float, price_per_kg: float | None, sheet_mm: tuple[float, float]) -> Rates:
    return _rates([paper_charge(_Priced("", grammage, price_per_kg), sheet_mm, 1).amount])


def paper_rates(stock: Stock, sheet_mm: tuple[float, float]) -> Rates:
    """Of a sheet, whatever the stock is called."""
    return _weighed(stock.grammage, stock.price_per_kg, sheet_mm)


@lru_cache(maxsize=4096)
def folding_rates(pieces: tuple[FoldedPiece, ...]) -> Rates:
    """Of a sheet with all its pieces, and of setting the folders."""
    running = together(folding_charge(piece, 1, False).amount for piece in pieces)
    setting = together(folding_charge(piece, 0, piece.set_anew).amount for piece in pieces)
    return _rates([running, setting])


def summed(*parts: tuple[Rates, tuple[int, ...]]) -> int | None:
    """Millionths, halves upwards, of so many of each thing; ``None`` where one that is wanted has no price."""
    above, below = 0, 1
    for rates, numbers in parts:
        part = 0
        for rate, number in zip(rates.each, numbers, strict=True):
            if rate is None:
                if number:
                    return None
                continue
            part += rate * number
        above, below = above * rates.over + part * below, below * rates.over
    return half_up(Fraction(above, below), MILLIONTHS)


@frozen
class _Priced:
    name: str
    grammage: float
    price_per_kg: float | None


@frozen
class Ranks:
    """Area of a sheet, minutes of a forme and of a sheet in one pass: numerators and denominators."""

    area_of: tuple[int, int]
    forme: int
    sheet: int
    over: int

    def area(self, sheets: int) -> int:
        """Of so many sheets, mm2, rounded."""
        return (2 * sheets * self.area_of[0] + self.area_of[1]) // (2 * self.area_of[1])

    def minutes(self, formes: int, sheets: int) -> int:
        """Of making ready so many formes and running so many sheets, rounded."""
        return (2 * (formes * self.forme + sheets * self.sheet) + self.over) // (2 * self.over)


@lru_cache(maxsize=4096)
def ranks_of(press: HousePress, sheet_mm: tuple[float, float]) -> Ranks:
    """What a sheet of this size on this press is ranked by."""
    area = exact(sheet_mm[0]) * exact(sheet_mm[1])
    forme, sheet = exact(press.make_ready_minutes), 60 / exact(press.sheets_per_hour or _RANKED_SPEED)
    over = lcm(forme.denominator, sheet.denominator)
    return Ranks((area.numerator, area.denominator), int(forme * over), int(sheet * over), over)
