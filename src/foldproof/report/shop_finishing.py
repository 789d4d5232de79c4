# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a house has for ink, cases, covers and packing, and what it does there by custom, as rows of tables.  Pure."""

from __future__ import annotations

from collections.abc import Iterator

from foldproof.job.finishing import Finishing, HouseBoard, HouseCarton, HouseCloth, Pallet
from foldproof.job.model import House
from foldproof.units import format_mm, format_size_mm

NOT_STATED = "not stated"
#: heads of the columns, and rows
Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]


def finishing_tables(house: House) -> Iterator[Rows]:
    """The tables; of what the house states none of, there is none."""
    yield ("Press", "an ink zone"), [(press.name, _length(press.ink_zone)) for press in house.presses]
    if house.boards:
        rows = [_board(board, house) for board in house.boards]
        yield ("Board", "thickness", "sheet", "grain", "g/m2", "price a sheet"), rows
    if house.cloths:
        yield ("Cloth", "thickness", "roll", "g/m2", "price a metre"), [_cloth(cloth, house) for cloth in house.cloths]
    if house.cartons:
        rows = [_carton(carton, house) for carton in house.cartons]
        yield ("Carton", "inside", "height", "wall", "empty", "at most", "price"), rows
    if house.pallet is not None:
        yield ("Pallet", ""), _pallet(house.pallet)
    yield ("Finishing", ""), _finishing(house.finishing, house)


def speed(each_hour: float | None, what: str) -> str:
    return "no speed stated" if each_hour is None else f"{each_hour:g} {what}/h"


def price(stated: float | None, house: House) -> str:
    if stated is None:
        return "no price stated"
    return f"{stated:.2f} {house.currency}".rstrip()


def _length(length_mm: float | None) -> str:
    return NOT_STATED if length_mm is None else format_mm(length_mm, 2)


def _weight(grammage: float | None) -> str:
    return NOT_STATED if grammage is None else f"{grammage:g}"


def _board(board: HouseBoard, house: House) -> tuple[str, ...]:
    return (
        board.name,
        format_mm(board.thickness, 2),
        format_size_mm(*board.sheet),
        board.grain,
        _weight(board.grammage),
        price(board.price_per_sheet, house),
    )


def _cloth(cloth: HouseCloth, house: House) -> tuple[str, ...]:
    return (
        cloth.name,
        format_mm(cloth.thickness, 2),
        f"{format_mm(cloth.roll_width)} wide",
        _weight(cloth.grammage),
        price(cloth.price_per_metre, house),
    )


def _carton(carton: HouseCarton, house: House) -> tuple[str, ...]:
    return (
        carton.name,
        format_size_mm(*carton.inside),
        format_mm(carton.height),
        format_mm(carton.wall),
        f"{carton.weight:g} kg",
        f"{carton.weight_max:g} kg",
        price(carton.price, house),
    )


def _pallet(pallet: Pallet) -> list[tuple[str, ...]]:
    return [
        ("size", f"{format_size_mm(*pallet.size)}, {format_mm(pallet.height)} high, {pallet.weight:g} kg"),
        ("load", f"to {format_mm(pallet.height_max)} with the pallet, at most {pallet.weight_max:g} kg without it"),
    ]


def _finishing(custom: Finishing, house: House) -> list[tuple[str, ...]]:
    film = house.ink_film
    return [
        ("squares, joint", f"{format_mm(custom.square)}, {format_mm(custom.joint)}"),
        ("turn-in", format_mm(custom.turn_in)),
        ("back", f"lining {format_mm(custom.lining)}; rounded to an arc of {custom.round_angle:g} degrees"),
        (
            "sewing",
            f"thread of {format_mm(custom.thread, 2)}, pressed to {custom.thread_pressed:.0%}; nipping leaves"
            f" {custom.swell_left:.0%} of the swell; kettle stitches {format_mm(custom.kettle)} from head and foot,"
            f" holes at most {format_mm(custom.stitch_max)} apart",
        ),
        ("knives", ", then ".join(custom.knives) + f"; piles to {format_mm(custom.pile_max)}"),
        (
            "paper cover",
            f"creased {format_mm(custom.hinge)} from the spine; spine to {format_mm(custom.spine_tolerance)}",
        ),
        (
            "cases",
            f"{speed(custom.cases_per_hour, 'cases')}, {speed(custom.casing_per_hour, 'books cased in')},"
            f" {price(custom.hour_price, house)} an hour; {custom.press_hours:g} hours in the press",
        ),
        ("dies", f"lines from {format_mm(custom.die_line, 2)}, spaces from {format_mm(custom.die_space, 2)}"),
        (
            "ink",
            f"{film.coated:g} g/m2 of a solid on coated, {film.uncoated:g} on uncoated paper;"
            f" {price(film.price_per_kg, house)} a kg",
        ),
    ]
