# SPDX-License-Identifier: AGPL-3.0-or-later
"""What one printed sheet costs, and what binding costs: plates, make-ready, paper, hours.  Pure.

Quantities are exact fractions and always known.  Money is known where the house states every price and speed that it
wants; a price that is left out is never guessed.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil

from attrs import field, frozen

from foldproof.job.model import Allowances, Binding, HouseLine, HousePress, Way
from foldproof.makeup.cost_charges import (
    Charge,
    FoldedPiece,
    Stock,
    folding_charge,
    make_ready_charge,
    money,
    paper_charge,
    plate_charge,
    press_time_charge,
    price_of,
    timed,
)
from foldproof.makeup.cost_rates import folding_rates, paper_rates, press_rates, ranks_of, summed
from foldproof.makeup.cost_sheets import books_fed, exact, sheets_needed


@frozen
class RunInput:
    """One press sheet as it is printed and folded; press and stock are told apart as objects, as folders are."""

    press: HousePress = field(eq=id)
    way: Way
    inks_front: int
    inks_back: int  #: of one set of plates for both sides: as on the front
    stock: Stock = field(eq=id)
    sheet_mm: tuple[float, float]
    copies_on: int  #: so many copies of each of its sections
    pieces: tuple[FoldedPiece, ...]


@frozen
class RunCost:
    """What one press sheet takes."""

    run: RunInput
    net_sheets: int
    gross_sheets: int  #: to be bought
    folded_sheets: int  #: laid on at the folder
    plates: int
    formes: tuple[int, ...]  #: of every pass the formes that are made ready for it
    money: int | None  #: in millionths of the house's currency; ``None`` where a price or speed is not stated
    #: to rank by where prices are not stated: plates, gross paper in mm2, minutes of press (make-ready and running)
    quantity: tuple[int, int, int]

    @property
    def charges(self) -> tuple[Charge, ...]:
        """All that money is asked for; together they are :attr:`money`."""
        run, passes = self.run, len(self.formes)
        press = run.press
        return (
            plate_charge(press, self.plates, (run.way, run.inks_front, run.inks_back)),
            make_ready_charge(press, sum(self.formes)),
            paper_charge(run.stock, run.sheet_mm, self.gross_sheets),
            press_time_charge(press, self.gross_sheets * passes, (passes, self.gross_sheets, press.sheets_per_hour)),
            *(folding_charge(piece, self.folded_sheets, piece.set_anew) for piece in run.pieces),
        )


@frozen
class BindingCost:
    """What gathering, sewing or stitching takes."""

    feeds: int  #: pockets that are filled: pieces, one in another or not
    passes: int  #: through the gatherer
    gathered: int  #: books that go into gathering
    sewn: int  #: books that go into sewing; 0 where nothing is sewn
    spoilt: int  #: books lost from gathering to the last operation
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
    front, back = -(-inks_front // press.inks), -(-inks_back // press.inks)
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
    plates, loads, passes = plates_of(run.way, run.inks_front, run.inks_back), sum(formes), len(formes)
    ranked = ranks_of(press, run.sheet_mm)
    return RunCost(
        run=run,
        net_sheets=sheets.net,
        gross_sheets=sheets.gross,
        folded_sheets=sheets.folding,
        plates=plates,
        formes=formes,
        money=summed(
            (press_rates(press), (plates, loads, sheets.gross * passes)),
            (paper_rates(run.stock, run.sheet_mm), (sheets.gross,)),
            (folding_rates(run.pieces), (sheets.folding, 1)),
        ),
        quantity=(plates, ranked.area(sheets.gross), ranked.minutes(loads, sheets.gross * passes)),
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
    hour = price_of(line.hour_price) if line else None
    minutes, station = (line.make_ready_minutes, line.station_minutes) if line else (0.0, 0.0)
    speed = line.books_per_hour if line else None
    charges = [
        timed(
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
        charges.append(timed("sewing", name, "sections", units * sewn, speed, hour, (units, sewn, speed)))
    return BindingCost(feeds, passes, gathered, sewn, gathered - copies, tuple(charges), money(charges))
