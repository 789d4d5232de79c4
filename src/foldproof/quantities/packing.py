# SPDX-License-Identifier: AGPL-3.0-or-later
"""Books into cartons, cartons onto pallets: by weight and by size.  Pure; millimetres, kilogrammes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from foldproof.job.finishing import HouseCarton, Pallet
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.book import Bound, bound_book
from foldproof.quantities.footprint import Layout, best_rows
from foldproof.quantities.model import Packing, Thickness
from foldproof.units import format_mm, format_size_mm

_SLACK = 1e-9
#: walls of a carton one above the other: two layers of flaps at the bottom and two at the top (common practice, no
#: source)
_FLAPS = 4


@frozen
class _Filled:
    """One kind of carton with as many books as go in."""

    carton: HouseCarton
    floor: Layout
    high: int  #: books in a full stack
    by_weight: int
    cartons: int

    @property
    def by_size(self) -> int:
        return self.floor.pieces * self.high

    @property
    def holds(self) -> int:
        return min(self.by_size, self.by_weight)


def packing(plan: Plan, job: Job, house: House, thick: Thickness) -> Packing | str:
    """Cartons and pallets of the whole run; a sentence of what is missing where they cannot be reckoned.

    Books lie flat in stacks, the stacks in rows (:func:`~foldproof.quantities.footprint.best_rows`).  A carton is
    filled until it is full or as heavy as the house lets a person lift, its own weight counted.  Of the house's cartons
    the one is taken that makes the fewest; of equals the smallest, then the first.
    """
    if not house.cartons:
        return "Cartons are not reckoned: the house states none."
    book = bound_book(plan, job, house, thick)
    if isinstance(book, str):
        return f"Cartons are not reckoned. {book}"
    tried = [_fill(carton, book, plan.run_copies) for carton in house.cartons]
    filled = [one for one in tried if one.holds]
    if not filled:
        return (
            f"Cartons are not reckoned: a book of {_size(*book.size_mm)} and {book.grams / 1000:.2f} kg goes into no "
            f"carton of the house: {'; '.join(_ruled_out(tried))}."
        )
    best = min(filled, key=lambda one: (one.cartons, _volume(one.carton)))
    holds, copies, carton = best.holds, plan.run_copies, best.carton
    full_kg = holds * book.grams / 1000 + carton.weight
    layer, layers, pallets, told = _on_pallets(house.pallet, carton, full_kg, best.cartons)
    return Packing(
        book_g=book.grams,
        book_mm=book.size_mm,
        carton=carton.name,
        per_carton=holds,
        layout=_layout(best, holds),
        cartons=best.cartons,
        last_carton=copies - holds * (best.cartons - 1),
        carton_kg=full_kg,
        per_layer=layer,
        layers=layers,
        pallets=pallets,
        kg=copies * book.grams / 1000 + best.cartons * carton.weight,
        bound_by="weight" if best.by_weight < best.by_size else "size",
        says=(*book.says, _why(best), told),
    )


def _fill(carton: HouseCarton, book: Bound, copies: int) -> _Filled:
    floor = best_rows(carton.inside, book.size_mm[:2])
    high = int(carton.height / book.size_mm[2] + _SLACK)
    by_weight = max(0, int((carton.weight_max - carton.weight) * 1000 / book.grams + _SLACK))
    holds = min(floor.pieces * high, by_weight)
    return _Filled(carton, floor, high, by_weight, -(-copies // holds) if holds else 0)


def _ruled_out(tried: Sequence[_Filled]) -> Iterator[str]:
    """Which limit of each carton keeps a book out, those with one limit together; the first that does is told."""
    floor = [one.carton for one in tried if not one.floor.pieces]
    low = [one.carton for one in tried if one.floor.pieces and not one.high]
    light = [one.carton for one in tried if one.by_size and not one.by_weight]
    if floor:
        held = ", ".join(f"{one.name} ({format_size_mm(*one.inside)} inside)" for one in floor)
        yield f"too wide or too high to lie flat in {held}"
    if low:
        yield f"too thick for {', '.join(f'{one.name} ({format_mm(one.height)} high inside)' for one in low)}"
    if light:
        held = ", ".join(f"{c.name} ({c.weight_max:g} kg at the most, {c.weight:g} kg of it the carton)" for c in light)
        yield f"too heavy for {held}"


def _size(wide_mm: float, high_mm: float, thick_mm: float) -> str:
    return f"{format_size_mm(wide_mm, high_mm).removesuffix(' mm')} x {format_mm(thick_mm)}"


def _volume(carton: HouseCarton) -> float:
    return carton.inside[0] * carton.inside[1] * carton.height


def _layout(one: _Filled, holds: int) -> str:
    """``"2 stacks of 7, flat, in 1 row of 2"``"""
    stacks = min(one.floor.pieces, holds)
    low, more = divmod(holds, stacks)
    told = [(more, low + 1), (stacks - more, low)]
    words = " and ".join(f"{count} {'stack' if count == 1 else 'stacks'} of {high}" for count, high in told if count)
    return f"{words}, flat, in {one.floor.says}"


def _why(one: _Filled) -> str:
    carton = one.carton
    room = _size(*carton.inside, carton.height)
    return (
        f"{carton.name}, {room} inside, takes {one.by_size:,} by size and {one.by_weight:,} by weight "
        f"({carton.weight_max:g} kg at the most, {carton.weight:g} kg of it the carton)."
    )


def _on_pallets(pallet: Pallet | None, carton: HouseCarton, full_kg: float, cartons: int) -> tuple[int, int, int, str]:
    """Cartons in a layer, layers, pallets, and how they came about; whole layers, as long as one is not too heavy."""
    if pallet is None:
        return 0, 0, 0, "Pallets are not reckoned: the house states none."
    outside = carton.inside[0] + 2 * carton.wall, carton.inside[1] + 2 * carton.wall
    high = carton.height + _FLAPS * carton.wall
    floor = best_rows(pallet.size, outside)
    by_height = max(0, int((pallet.height_max - pallet.height) / high + _SLACK))
    by_weight = max(0, int(pallet.weight_max / full_kg + _SLACK))
    if not floor.pieces or not by_height or not by_weight:
        return 0, 0, 0, f"Pallets are not reckoned: no {carton.name} goes on one, by its size or its weight."
    layer = min(floor.pieces, by_weight)
    layers = min(by_height, by_weight // layer)
    pallets = -(-cartons // (layer * layers))
    return (
        layer,
        layers,
        pallets,
        f"A layer is {floor.says}; {by_height} {'layer' if by_height == 1 else 'layers'} by height "
        f"({format_mm(pallet.height_max)} with the pallet), {by_weight} cartons by weight ({pallet.weight_max:g} kg).",
    )
