# SPDX-License-Identifier: AGPL-3.0-or-later
"""The costs of all sheets of a book and of its binding, gathered into lines that a person can check.  Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction

from foldproof.makeup.cost import Cost, CostLine
from foldproof.makeup.cost_charges import Charge
from foldproof.makeup.cost_run import BindingCost, RunCost
from foldproof.makeup.cost_sheets import half_up
from foldproof.units import format_size_mm

#: the order of the benches
_ORDER = ("plates", "make-ready", "paper", "press time", "folding", "gathering", "sewing", "stitching")


def cost_lines(runs: Sequence[RunCost], binding: BindingCost | None, copies: int, currency: str) -> Cost:
    """A line for each kind of charge on each machine or stock; what nothing is wanted of has none.

    Amounts are reckoned from exact quantities and rounded once, halves upwards, to hundredths.  Where a price or a
    speed is not stated the amount is ``None`` and the quantity stays, in pieces where hours are not known.

    Args:
        runs: of every press sheet of the book, one that occurs twice twice.
        binding: ``None``: left out.
    """
    alike: dict[tuple[str, str, str, Fraction | None], list[Charge]] = {}
    for charge in [c for run in runs for c in run.charges] + list(binding.charges if binding else ()):
        if charge.quantity:
            alike.setdefault((charge.what, charge.of, charge.unit, charge.price), []).append(charge)
    # a stable sort: machines of one bench stay in the order of the sheets
    ordered = sorted(alike.values(), key=lambda charges: _ORDER.index(charges[0].what))
    return Cost(tuple(_line(charges) for charges in ordered), currency, copies)


def _line(charges: list[Charge]) -> CostLine:
    first = charges[0]
    quantity = sum((charge.quantity for charge in charges), Fraction(0))
    return CostLine(
        what=first.what,
        quantity=float(quantity),
        unit=first.unit,
        price=None if first.price is None else float(first.price),
        amount=None if first.price is None else half_up(quantity * first.price, 2) / 100,
        says=f"{first.of}: {_SAYS[first.what](charges)}" if first.of else _SAYS[first.what](charges),
    )


# --- the arithmetic in words: figures as cost_run sets them down ------------------------------------------------------


def _plates(charges: list[Charge]) -> str:
    def one(way: str, front: int, back: int) -> str:
        if way in ("work and turn", "work and tumble"):
            return f"{front} for both sides"
        return f"({front} + {back})" if back else f"{front}"

    return _times(Counter(one(*charge.figures) for charge in charges), "sheet")  # type: ignore[arg-type]


def _make_ready(charges: list[Charge]) -> str:
    formes = sum(int(charge.figures[0] or 0) for charge in charges)
    return f"{_count(formes, 'forme')} × {_plain(charges[0].figures[1])} min"


def _paper(charges: list[Charge]) -> str:
    def one(gross: int, width_mm: float, height_mm: float, grammage: float) -> str:
        return f"{gross:,} of {format_size_mm(width_mm, height_mm)} at {_plain(grammage)} g/m2"

    return _times(Counter(one(*charge.figures) for charge in charges), "sheet")  # type: ignore[arg-type]


def _press_time(charges: list[Charge]) -> str:
    def one(passes: int, gross: int, speed: float | None) -> str:
        return f"{_count(passes, 'pass')} × {gross:,}"

    told = _times(Counter(one(*charge.figures) for charge in charges), "sheet")  # type: ignore[arg-type]
    return f"{told}, {_at(charges[0].figures[2])}"


def _folding(charges: list[Charge]) -> str:
    def one(pieces: int, sheets: int, *_: object) -> str:
        return f"{_count(pieces, 'piece')} × {sheets:,}"

    told = _times(Counter(one(*charge.figures) for charge in charges), "sheet")  # type: ignore[arg-type]
    settings, minutes = sum(int(charge.figures[3] or 0) for charge in charges), charges[0].figures[4]
    told += f", {_at(charges[0].figures[2])}"
    return told + (f"; {_count(settings, 'setting')} × {_plain(minutes)} min" if settings and minutes else "")


def _gathering(charges: list[Charge]) -> str:
    (passes, books, speed, minutes, feeds, station) = charges[0].figures
    told = f"{_count(passes, 'pass')} × {books:,} books, {_at(speed)}"
    if minutes:
        told += f"; {_count(passes, 'pass')} × {_plain(minutes)} min"
    return told + (f"; {_count(feeds, 'pocket')} × {_plain(station)} min" if station else "")


def _sewing(charges: list[Charge]) -> str:
    (sections, books, speed) = charges[0].figures
    return f"{_count(sections, 'section')} × {books:,} books, {_at(speed)}"


_SAYS: dict[str, Callable[[list[Charge]], str]] = {
    "plates": _plates,
    "make-ready": _make_ready,
    "paper": _paper,
    "press time": _press_time,
    "folding": _folding,
    "gathering": _gathering,
    "stitching": _gathering,
    "sewing": _sewing,
}


def _times(terms: Counter[str], what: str) -> str:
    """``"3 sheets × (4 + 4) + 1 sheet × 4"``"""
    return " + ".join(f"{_count(number, what)} × {term}" for term, number in terms.items())


def _at(speed: object) -> str:
    return "its speed is not stated" if speed is None else f"at {_plain(speed)} an hour"


def _count(number: object, what: str) -> str:
    several = "es" if what.endswith("s") else "s"
    return f"{_plain(number)} {what}{'' if number == 1 else several}"


def _plain(number: object) -> str:
    """``6000.0`` is ``6,000``; ``12.5`` stays."""
    if isinstance(number, float) and not number.is_integer():
        return f"{number:,.6f}".rstrip("0")
    return f"{int(number):,}" if isinstance(number, int | float) else str(number)
