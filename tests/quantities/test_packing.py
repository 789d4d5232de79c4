# SPDX-License-Identifier: AGPL-3.0-or-later
"""Books in cartons, cartons on pallets: against brute force, by hand, and never over a limit."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.case.sizes import case_sizes
from foldproof.job.finishing import HouseBoard, HouseCarton, Pallet
from foldproof.job.model import House
from foldproof.quantities.book import bound_book
from foldproof.quantities.footprint import best_rows
from foldproof.quantities.model import Packing
from foldproof.quantities.packing import packing
from foldproof.quantities.thickness import thickness
from foldproof.units import inch_to_mm
from tests.handbook.facts import told
from tests.quantities.made import HOUSE, job_of, usual


@cache
def in_rows(width: int, depth: int, a: int, b: int) -> int:
    """The most pieces in rows across a floor: the first row is of either kind, or there is none (brute force)."""
    found = [0]
    for long, deep in ((a, b), (b, a)):
        if deep <= depth and long <= width:
            found.append(width // long + in_rows(width, depth - deep, a, b))
    return max(found)


@settings(max_examples=200, deadline=None)
@given(floor=st.tuples(st.integers(1, 40), st.integers(1, 40)), piece=st.tuples(st.integers(4, 15), st.integers(4, 15)))
def test_rows_are_the_best_there_are(floor: tuple[int, int], piece: tuple[int, int]) -> None:
    made = best_rows(floor, piece)
    assert made.pieces == max(in_rows(*floor, *piece), in_rows(*floor[::-1], *piece))
    assert made.pieces == len(made.places)
    for nth, one in enumerate(made.places):
        assert one.x0 >= 0 and one.y0 >= 0 and one.x1 <= floor[0] + 1e-6 and one.y1 <= floor[1] + 1e-6
        assert sorted((one.x1 - one.x0, one.y1 - one.y0)) == pytest.approx(sorted(piece))
        for other in made.places[:nth]:
            apart = one.x0 >= other.x1 - 1e-6 or other.x0 >= one.x1 - 1e-6
            assert apart or one.y0 >= other.y1 - 1e-6 or other.y0 >= one.y1 - 1e-6


def test_turned_rows_are_mixed_where_that_holds_more() -> None:
    """By hand: 15 x 8 takes a row of five of 3 x 5, 5 deep, and a row of three turned, 3 deep: nothing is left over."""
    assert best_rows((9, 10), (3, 5)).says == "2 rows of 3"
    mixed = best_rows((15, 8), (3, 5))
    assert mixed.pieces * 3 * 5 == 15 * 8
    assert mixed.says == "1 row of 5 and 1 row of 3 turned"


# --- cartons ----------------------------------------------------------------------------------------------------------


def house_with(*cartons: dict[str, Any], pallet: dict[str, Any] | None = None) -> House:
    made = tuple(HouseCarton.model_validate(carton) for carton in cartons)
    return HOUSE.model_copy(
        update={"cartons": made, "pallet": None if pallet is None else Pallet.model_validate(pallet)}
    )


BOX = {"name": "Box", "inside": "300 x 220 mm", "height": "100 mm", "weight_max": 12, "weight": 0.5, "wall": "5 mm"}


def packed(house: House, copies: int = 1500, binding: str = "glued", **job: Any) -> Packing | str:
    plan, _ = usual(binding)
    asked = job_of(binding, copies, **job)
    plan = evolve(plan, run_copies=copies)
    return packing(plan, asked, house, thickness(plan, asked, house))


def test_a_carton_by_hand() -> None:
    """150 pages glued, each leaf 140 x 216 mm at 90 g/m2 and 0.117 mm thick; a cover of the text's paper, two panels
    and the spine wide, adds two calipers.  In 300 x 220 mm lie two stacks, as high as 100 mm holds."""
    plan, job = usual("glued")
    leaves = (150 + plan.blanks_back) / 2
    grams = leaves * 140 * 216 * 90 / 1e6 + (280 + leaves * 0.117) * 216 * 90 / 1e6
    thick = leaves * 0.117 + 2 * 0.117
    made = packed(house_with(BOX))
    assert isinstance(made, Packing)
    assert made.book_g == pytest.approx(grams)
    assert made.book_mm == pytest.approx((140.117, 216, thick))
    assert (made.per_carton, made.bound_by) == (2 * int(100 / thick), "size")
    assert made.cartons == -(-1500 // made.per_carton)
    assert made.last_carton == 1500 - (made.cartons - 1) * made.per_carton
    assert made.carton_kg == pytest.approx(made.per_carton * grams / 1000 + 0.5)
    assert made.kg == pytest.approx(1.5 * grams + made.cartons * 0.5)
    assert job.book.binding == "glued"


def test_a_carton_is_no_heavier_than_a_person_may_lift() -> None:
    light = packed(house_with({**BOX, "weight_max": 2.0}))
    assert isinstance(light, Packing)
    assert light.bound_by == "weight"
    assert light.carton_kg <= 2.0 < light.carton_kg + light.book_g / 1000


@settings(max_examples=80, deadline=None)
@given(
    inside=st.tuples(st.integers(100, 500), st.integers(100, 400)),
    height=st.integers(5, 300),
    heaviest=st.floats(0.3, 25),
    empty=st.floats(0, 0.2),
    copies=st.integers(1, 20_000),
    pallet=st.tuples(st.integers(300, 1300), st.integers(300, 1300)),
    tall=st.integers(200, 2000),
    load=st.floats(5, 1000),
)
def test_nothing_goes_over_weight_or_size(
    inside: tuple[int, int], height: int, heaviest: float, empty: float, copies: int, pallet: tuple[int, int],
    tall: int, load: float,
) -> None:  # fmt: skip
    box = {
        "name": "Box", "inside": f"{inside[0]} x {inside[1]} mm", "height": f"{height} mm", "weight_max": heaviest,
        "weight": empty, "wall": "4 mm",
    }  # fmt: skip
    floor = {
        "size": f"{pallet[0]} x {pallet[1]} mm", "height": "144 mm", "height_max": f"{tall} mm", "weight_max": load,
    }  # fmt: skip
    made = packed(house_with(box, pallet=floor), copies)
    plan, _ = usual("glued")
    if isinstance(made, str):
        small = bound_book(plan, job_of("glued"), HOUSE, thickness(plan, job_of("glued"), HOUSE))
        assert not isinstance(small, str)
        wide, high, thick = small.size_mm
        goes = sorted(inside)[0] >= min(wide, high) and sorted(inside)[1] >= max(wide, high) and height >= thick
        assert not goes or heaviest < empty + small.grams / 1000
        return
    wide, high, thick = made.book_mm
    # stacks on the floor of the carton, from the words of the layout
    stacks = sum(int(word) for word, what in zip(made.layout.split(), made.layout.split()[1:], strict=False)
                 if what.strip(",") in ("stack", "stacks"))  # fmt: skip
    assert stacks * wide * high <= inside[0] * inside[1] * (1 + 1e-9)
    assert -(-made.per_carton // stacks) * thick <= height * (1 + 1e-9)
    assert made.carton_kg <= heaviest * (1 + 1e-9)
    # not one more: neither by weight nor by size
    floor_most = max(in_rows(*inside, int(wide + 1), int(high)), in_rows(*inside[::-1], int(wide + 1), int(high)))
    more = made.per_carton + 1
    assert made.carton_kg + made.book_g / 1000 > heaviest * (1 - 1e-9) or more > floor_most * int(height / thick)
    assert (made.cartons - 1) * made.per_carton + made.last_carton == copies
    assert 1 <= made.last_carton <= made.per_carton
    if made.pallets:
        outside = inside[0] + 8, inside[1] + 8
        assert made.per_layer * outside[0] * outside[1] <= pallet[0] * pallet[1] * (1 + 1e-9)
        assert 144 + made.layers * (height + 16) <= tall + 1e-6
        assert made.per_layer * made.layers * made.carton_kg <= load * (1 + 1e-9)
        assert made.pallets * made.per_layer * made.layers >= made.cartons
        assert (made.pallets - 1) * made.per_layer * made.layers < made.cartons
    else:
        floored = min(pallet) >= min(inside) + 8 and max(pallet) >= max(inside) + 8
        assert not floored or 144 + height + 16 > tall or made.carton_kg > load


def test_the_carton_that_makes_fewest_is_taken_and_of_equals_the_smallest() -> None:
    large = {**BOX, "name": "Large", "inside": "440 x 440 mm", "weight_max": 40}
    many = packed(house_with(BOX, large))
    assert isinstance(many, Packing) and many.carton == "Large"
    few = packed(house_with(large, BOX), copies=3)
    assert isinstance(few, Packing) and (few.carton, few.cartons, few.last_carton) == ("Box", 1, 3)


# --- the book ---------------------------------------------------------------------------------------------------------


def test_a_case_stands_out_a_quarter_of_an_inch() -> None:
    """hard-spine-add: 8 1/2 x 11 in become 8 3/4 x 11 1/4: squares of 1/8 in, and 1/8 in for strip and cloth behind.

    Boards are cut to a tenth of a millimetre."""
    plan, _ = usual("sewn")
    plan = evolve(plan, trim_mm=(inch_to_mm(8.5), inch_to_mm(11)))
    job = job_of("sewn", cover={"square": "1/8 in"})
    board, cloth = HOUSE.boards[0], HOUSE.cloths[0]
    thin = cloth.model_copy(update={"thickness": inch_to_mm(0.125) - board.thickness})
    house = HOUSE.model_copy(update={"cloths": (thin,)})
    made = bound_book(plan, job, house, thickness(plan, job, house))
    assert not isinstance(made, str)
    outer = [inch_to_mm(side) for side in told("hard-spine-add")["outer_in"]]
    assert made.size_mm[:2] == pytest.approx(outer, abs=0.0501)


def test_what_a_cased_book_weighs_by_hand() -> None:
    """76 leaves and 4 of endpapers, 140 x 216 mm at 90 g/m2: 217.73 g.  Boards of 2.5 mm, 1550 g/m2: of a joint of 7 mm
    one board and 1 mm in the groove are taken up, so that they stand 3.5 forward (case-dingword of the handbook: a gap
    of 10 makes 6.5): two of 140 - 3.5 + 3 = 139.5 by 222 mm, 96.00 g.  The strip is as wide as a spine of 10.61 and two
    boards less 0.5 (case-dingword): 15.1 by 222 mm, 5.20 g.  Cloth 260 g/m2: 2 x (139.5 + 7 + 15) + 15.1 by 252,
    22.15 g.
    """
    plan, job = usual("sewn")
    made = bound_book(plan, job, HOUSE, thickness(plan, job, HOUSE))
    assert not isinstance(made, str)
    assert made.grams == pytest.approx(217.728 + 96.004 + 5.196 + 22.152, abs=0.01)
    assert "boards 96 g + spine strip 5 g + cloth 22 g" in made.says[1]
    assert made.size_mm == pytest.approx((140 + 3 + 2.85, 222, 10.61 + 2 * 2.85))
    jacket = bound_book(plan, job_of("sewn", jacket={"stock": "Glaze Silk 135"}), HOUSE, thickness(plan, job, HOUSE))
    assert not isinstance(jacket, str)
    # 2 x (145.85 + flaps of 90) + 16.31 by 222 mm at 135 g/m2
    assert jacket.grams - made.grams == pytest.approx((2 * 235.85 + 16.31) * 222 * 135 / 1e6)
    rounded = job_of("sewn", cover={"rounding": "rounded"})
    over = bound_book(plan, rounded, HOUSE, thickness(plan, rounded, HOUSE))
    assert not isinstance(over, str)
    assert over.size_mm[0] > made.size_mm[0]


def test_the_card_of_a_rounded_spine_weighs_what_the_house_states() -> None:
    """The strip is as wide as the arc over a spine of 10.61 mm: 12.83 (case-arc: x 1.2092), cut to 12.8, by 222 mm.

    At 500 g/m2 that is 1.42 g; of board it would be 4.40.  Behind the back lie 0.8 mm of card and not 2.5 of board.
    Where no card that bends is stated, or none of its grammage, nothing is made up: it is left out, and that is said.
    """
    plan, _ = usual("sewn")
    job = job_of("sewn", cover={"rounding": "rounded"})
    told_of = {"name": "Card 0.8", "thickness": "0.8 mm", "sheet": "700 x 1000 mm"}
    card = HouseBoard.model_validate({**told_of, "grammage": 500})
    boards = {"none": (), "unweighed": (HouseBoard.model_validate(told_of),), "weighed": (card,)}
    made = {}
    for name, more in boards.items():
        house = HOUSE.model_copy(update={"boards": (*HOUSE.boards, *more)})
        book = bound_book(plan, job, house, thickness(plan, job, house))
        assert not isinstance(book, str)
        made[name] = book
    assert made["weighed"].grams - made["none"].grams == pytest.approx(12.8 * 222 * 500 / 1e6)
    assert made["unweighed"].grams == made["none"].grams
    assert made["none"].size_mm[0] - made["weighed"].size_mm[0] == pytest.approx(2.5 - 0.8)
    assert [("card of the spine" in book.says[1]) for book in made.values()] == [True, True, False]


@pytest.mark.parametrize(
    ("cover", "wide"),
    [
        # 70 mm of block, joint 7: 3.5 forward, square 3
        ({}, 69.5),
        # at the shoulder of a backed spine board and strip end at one height: 7 - 1 = 6 forward
        ({"rounding": "rounded and backed"}, 67.0),
        ({"board": "Grey Board 2", "joint": "10 mm"}, 66.0),
    ],
)
def test_boards_are_weighed_as_they_are_cut(cover: dict[str, Any], wide: float) -> None:
    """common practice, no source; worked by hand from a block of 70 mm."""
    plan = evolve(usual("sewn")[0], trim_mm=(70.0, 216.0))
    job = job_of("sewn", cover=cover)
    thick = thickness(plan, job, HOUSE)
    case, book = case_sizes(plan, job, HOUSE, thick), bound_book(plan, job, HOUSE, thick)
    assert case is not None and not isinstance(book, str)
    assert case.board_mm == pytest.approx((wide, 222.0))
    grammage = {"Grey Board 2.5": 1550, "Grey Board 2": 1250}[case.board]
    assert f"boards {2 * wide * 222 * grammage / 1e6:.0f} g" in book.says[1]


def test_a_case_that_cannot_be_made_is_not_weighed() -> None:
    told_ = packed(house_with(BOX), binding="sewn", cover={"joint": "2 mm"})
    assert isinstance(told_, str) and "cover.joint at least 2.5 mm" in told_


def test_a_heavier_book_makes_more_cartons() -> None:
    """341.1 g a book (as worked above), 12 kg less 0.5 of the carton: 33.7; with boards of 136 mm it would be 34.2.

    1500 / 33 = 45.5.  Two stacks of 145.85 x 222 mm lie in 300 x 230, 16.31 thick: 48 by size."""
    tall = {**BOX, "inside": "300 x 230 mm", "height": "400 mm"}
    made = packed(house_with(tall), binding="sewn")
    assert isinstance(made, Packing)
    assert (made.bound_by, made.per_carton, made.cartons) == ("weight", 33, 46)


def test_the_limit_that_keeps_a_book_out_is_told() -> None:
    """A glued book of 140.1 x 216 mm, 9 mm thick and some 210 g (test_a_carton_by_hand)."""
    narrow = {**BOX, "name": "Narrow", "inside": "215 x 130 mm"}
    low = {**BOX, "name": "Low", "height": "8 mm"}
    weak = {**BOX, "name": "Weak", "weight_max": 0.6}
    told_ = packed(house_with(narrow, low, weak))
    assert isinstance(told_, str) and "goes into no carton of the house" in told_
    assert "lie flat in Narrow (215 x 130 mm inside)" in told_ and "too thick for Low (8 mm high inside)" in told_
    assert "too heavy for Weak (0.6 kg at the most, 0.5 kg of it the carton)" in told_


def test_what_is_not_stated_is_not_made_up() -> None:
    assert packed(house_with()) == "Cartons are not reckoned: the house states none."
    bare = HOUSE.model_copy(update={"boards": ()})
    told_ = packed(bare, binding="sewn")
    assert isinstance(told_, str) and "states no board" in told_
    unweighed = HOUSE.model_copy(update={"cloths": (HOUSE.cloths[0].model_copy(update={"grammage": None}),)})
    told_ = packed(unweighed, binding="sewn")
    assert isinstance(told_, str) and "no grammage is stated for Wharf Buckram" in told_
    tiny = packed(house_with({**BOX, "inside": "90 x 90 mm"}))
    assert isinstance(tiny, str) and "goes into no carton" in tiny
    without = packed(house_with(BOX))
    assert isinstance(without, Packing) and (without.per_layer, without.pallets) == (0, 0)
