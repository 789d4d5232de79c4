# SPDX-License-Identifier: AGPL-3.0-or-later
"""What one printed sheet costs, and what binding costs: plates, make-ready, paper, hours.  Pure.

Quantities are exact fractions and always known.  Money is known where the house states every price and speed that it
wants; a price that is left out is never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import Protocol

from attrs import field, frozen

from foldproof.job.model import Allowances, Binding, HouseFolder, HouseLine, HousePress, Way
from foldproof.makeup.cost_sheets import books_fed, exact, half_up, sheets_needed

#: sheets an hour of a press that states no speed: for its rank among others alone, never for money (from memory)
_RANKED_SPEED = 8000
#: decimal places of money in a :class:`RunCost`
MILLIONTHS = 6


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

    Houses' machines are told apart as objects, not by what they state: that is quick, and the house is read once.
    """

    folder: HouseFolder = field(eq=id)
    scheme: str
    count: int  #: such pieces on one press sheet
    passes: int = 1  #: times that each goes through a folder; an offcut folded by itself goes once more
    set_anew: bool = True  #: the folder is set for them; else it stands as the sheet before left it


@frozen
class RunInput:
    """One press sheet as it is printed and folded."""

    press: HousePress = field(eq=id)
    way: Way
    inks_front: int
    inks_back: int  #: of one set of plates for both sides: as on the front
    stock: Stock = field(eq=id)
    sheet_mm: tuple[float, float]
    copies_on: int  #: so many copies of each of its sections
    pieces: tuple[FoldedPiece, ...]


@frozen
class Charge:
    """So much of something at a price, exactly, before it becomes a line."""

    what: str  #: as :attr:`foldproof.makeup.cost.CostLine.what`
    of: str  #: machine or stock
    unit: str
    quantity: Fraction
    price: Fraction | None
    #: the figures that the quantity was reckoned from; :mod:`foldproof.makeup.cost_lines` words them
    figures: tuple[int | float | str | None, ...]

    @property
    def amount(self) -> Fraction | None:
        """``None`` where no price is known; nothing costs nothing all the same."""
        if not self.quantity:
            return Fraction(0)
        return None if self.price is None else self.quantity * self.price


@frozen
class RunCost:
    """What one press sheet takes."""

    run: RunInput
    net_sheets: int
    gross_sheets: int  #: to be bought
    folded_sheets: int  #: laid on at the folder
    plates: int
    formes: tuple[int, ...]  #: of every pass the formes that are made ready for it
    charges: tuple[Charge, ...]
    money: int | None  #: in millionths of the house's currency; ``None`` where a price or speed is not stated
    #: to rank by where prices are not stated: plates, gross paper in mm2, minutes of press (make-ready and running)
    quantity: tuple[int, int, int]


@frozen
class BindingCost:
    """What gathering, sewing or stitching takes."""

    feeds: int  #: pockets that are filled: pieces, one in another or not
    passes: int  #: through the gatherer
    gathered: int  #: books that go into gathering
    sewn: int  #: books that go into sewing; 0 where nothing is sewn
    spoilt: int  #: books lost from gathering to trimming
    charges: tuple[Charge, ...]
    money: int | None  #: in millionths; ``None`` where a price or speed is not stated


def perfects(press: HousePress, inks_front: int, inks_back: int) -> bool:
    """Whether the press puts so many inks on both sides in one pass: its units are shared between them."""
    return press.perfecting > 0 and inks_back <= press.perfecting and inks_front <= press.inks - press.perfecting


def formes_by_pass(press: HousePress, way: Way, inks_front: int, inks_back: int) -> tuple[int, ...]:
    """Of every pass through the press, how many formes are made ready for it.

    Two formes: one and one.  Work and turn, work and tumble: the forme stays on the press for the second pass.
    Perfecting: both at once.  A side with more inks than the press has units takes a pass, and a make-ready, for every
    load of its units.  A side without inks is not printed.

    Raises:
        ValueError: the inks do not go with the way, e.g. a back on a sheet that is printed on one side.
    """
    if min(inks_front, inks_back) < 0:
        raise ValueError(f"a side with {min(inks_front, inks_back)} inks is none")
    front, back = ceil(Fraction(inks_front, press.inks)), ceil(Fraction(inks_back, press.inks))
    if way == "perfecting":
        if not perfects(press, inks_front, inks_back):
            raise ValueError(f"{press.name} does not perfect {inks_front} inks on {inks_back}")
        formes = (inks_front > 0) + (inks_back > 0)
        return (formes,) if formes else ()
    if way in ("work and turn", "work and tumble"):
        if inks_front != inks_back:
            raise ValueError(f"one set of plates prints both sides, not {inks_front} inks on {inks_back}")
        return (1, 0) * front
    if way == "one side" and inks_back:
        raise ValueError(f"a sheet printed on one side has no {inks_back} inks on its back")
    return (1,) * (front + back)


def plates_of(way: Way, inks_front: int, inks_back: int) -> int:
    """A plate for every ink of every forme."""
    return inks_front if way in ("work and turn", "work and tumble") else inks_front + inks_back


@lru_cache(maxsize=65536)
def run_cost(run: RunInput, copies: int, binding: Binding, allowances: Allowances) -> RunCost:
    """What a press sheet takes for a run of so many books.

    Plates: one for every ink of every forme.  Make-ready: formes made ready, each so many minutes.  Paper: gross sheets
    x area x grammage.  Press time: gross sheets x passes / speed (every sheet is counted for every pass).  Folding:
    pieces x sheets laid on at the folder / speed, and its minutes for every setting.

    A folder is set up on pieces of the same press sheets at once, so that the kind that wants most sheets settles how
    many: its make-ready sheets over the pieces it has on a sheet, rounded up.

    Raises:
        ValueError: fewer copies than one, fewer on a sheet, or inks that do not go with the way.
    """
    press = run.press
    formes = formes_by_pass(press, run.way, run.inks_front, run.inks_back)
    set_up = max((-(-p.folder.make_ready_sheets // p.count) for p in run.pieces if p.set_anew), default=0)
    sheets = sheets_needed(
        copies,
        run.copies_on,
        binding,
        allowances,
        press_set_ups=[press.make_ready_sheets * forme for forme in formes],
        folder_set_up=set_up,
    )
    plates = plates_of(run.way, run.inks_front, run.inks_back)
    hour = _price(press.hour_price)
    charges = [
        Charge(
            "plates",
            press.name,
            "plates",
            Fraction(plates),
            _price(press.plate_price),
            (run.way, run.inks_front, run.inks_back),
        ),
        Charge(
            "make-ready",
            press.name,
            "h",
            sum(formes) * exact(press.make_ready_minutes) / 60,
            hour,
            (sum(formes), press.make_ready_minutes),
        ),
        Charge(
            "paper",
            run.stock.name,
            "kg",
            # mm2 x g/m2 is 1e-6 g, and so 1e-9 kg
            sheets.gross * _sheet_weight(*run.sheet_mm, run.stock.grammage),
            _price(run.stock.price_per_kg),
            (sheets.gross, *run.sheet_mm, run.stock.grammage),
        ),
        _timed(
            "press time",
            press.name,
            "sheets",
            sheets.gross * len(formes),
            press.sheets_per_hour,
            hour,
            (len(formes), sheets.gross, press.sheets_per_hour),
        ),
        *(_folding(piece, sheets.folding) for piece in run.pieces),
    ]
    speed = exact(press.sheets_per_hour or _RANKED_SPEED)
    minutes = sum(formes) * exact(press.make_ready_minutes) + sheets.gross * len(formes) * 60 / speed
    area = sheets.gross * _area(*run.sheet_mm)
    return RunCost(
        run=run,
        net_sheets=sheets.net,
        gross_sheets=sheets.gross,
        folded_sheets=sheets.folding,
        plates=plates,
        formes=formes,
        charges=tuple(charges),
        money=_money(charges),
        quantity=(plates, half_up(area, 0), half_up(minutes, 0)),
    )


def binding_cost(
    units: int, pieces_nested: int, copies: int, line: HouseLine | None, binding: Binding, allowances: Allowances
) -> BindingCost:
    """What gathering, sewing or stitching takes.

    Every piece comes out of a pocket of its own, those that are set into others too; pieces beyond the pockets of the
    line are gathered in a pass more.  Sewing goes by sections: one set into another is sewn with it.  A leaflet is not
    gathered.

    Args:
        units: gathered sections; 1 of a stitched book.
        pieces_nested: pieces that lie in others.
        line: the binding line; ``None``: the house states none, and what it costs is not known.

    Raises:
        ValueError: fewer copies than one, or no sections.
    """
    if units < 1 or pieces_nested < 0:
        raise ValueError(f"{units} sections with {pieces_nested} in others are no book")
    books = books_fed(copies, binding, allowances)
    if binding == "leaflet":
        return BindingCost(0, 0, 0, 0, ceil(books.trimmed) - copies, (), 0)
    feeds, gathered = units + pieces_nested, ceil(books.gathered)
    passes = 1 if line is None else -(-feeds // line.stations)
    what = "stitching" if binding == "stitched" else "gathering"
    name = line.name if line else ""
    hour = _price(line.hour_price) if line else None
    minutes, station = (line.make_ready_minutes, line.station_minutes) if line else (0.0, 0.0)
    speed = line.books_per_hour if line else None
    charges = [
        _timed(
            what,
            name,
            "books",
            gathered * passes,
            speed,
            hour,
            (passes, gathered, speed, minutes, feeds, station),
            passes * exact(minutes) + feeds * exact(station),
        )
    ]
    sewn = 0
    if binding == "sewn":
        sewn, speed = ceil(books.sewn), line.sewn_sections_per_hour if line else None
        charges.append(_timed("sewing", name, "sections", units * sewn, speed, hour, (units, sewn, speed)))
    return BindingCost(feeds, passes, gathered, sewn, gathered - copies, tuple(charges), _money(charges))


def _folding(piece: FoldedPiece, sheets: int) -> Charge:
    folder = piece.folder
    settings = piece.passes if piece.set_anew else 0
    return _timed(
        "folding",
        folder.name,
        "pieces",
        sheets * piece.count * piece.passes,
        folder.sheets_per_hour,
        _price(folder.hour_price),
        (piece.count * piece.passes, sheets, folder.sheets_per_hour, settings, folder.make_ready_minutes),
        settings * exact(folder.make_ready_minutes),
    )


def _timed(
    what: str,
    of: str,
    unit: str,
    number: int,
    an_hour: float | None,
    price: Fraction | None,
    figures: tuple[int | float | str | None, ...],
    minutes: Fraction = Fraction(0),
) -> Charge:
    """Hours where a speed is stated, else so many pieces at a price that nobody knows."""
    if an_hour is None and number:
        return Charge(what, of, unit, Fraction(number), None, figures)
    running = number / exact(an_hour) if an_hour is not None else Fraction(0)
    return Charge(what, of, "h", running + minutes / 60, price, figures)


def _money(charges: Iterable[Charge]) -> int | None:
    total = Fraction(0)
    for charge in charges:
        amount = charge.amount
        if amount is None:
            return None
        total += amount
    return half_up(total, MILLIONTHS)


def _price(price: float | None) -> Fraction | None:
    return None if price is None else exact(price)


@lru_cache(maxsize=1024)
def _area(width_mm: float, height_mm: float) -> Fraction:
    return exact(width_mm) * exact(height_mm)


@lru_cache(maxsize=1024)
def _sheet_weight(width_mm: float, height_mm: float, grammage: float) -> Fraction:
    """Kilogrammes of one sheet."""
    return _area(width_mm, height_mm) * exact(grammage) / 10**9
