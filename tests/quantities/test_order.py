# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets to order and plates to make: against the plan, published figures and by hand."""

from __future__ import annotations

import pytest
from attrs import evolve

from foldproof.quantities.order import REAM, orders, sheets_kg
from foldproof.quantities.plates import plates
from tests.handbook.facts import given, told
from tests.quantities.made import HOUSE, PROCESS, job_of, plan_of, usual


def test_a_ream_is_twenty_quires() -> None:
    """ream-units."""
    units = told("ream-units")
    assert units["ream"] == REAM == 20 * units["quire"]
    plan, job = usual("sewn")
    for order in orders(plan, job, HOUSE):
        assert order.reams * units["ream"] == pytest.approx(order.gross)


def test_a_sheet_of_a4_weighs_five_grammes() -> None:
    """a4-5g: 80 g/m2.  The nominal sheet is a sixteenth of a square metre, 210 x 297 mm a little less."""
    assert float(sheets_kg(1000, (210.0, 297.0), given("a4-5g")["gsm"])) == pytest.approx(told("a4-5g")["g"], rel=0.003)
    assert sheets_kg(16, (1000.0, 62.5), 80) * 1000 == 16 * told("a4-5g")["g"]


def test_two_sizes_of_one_stock_by_hand() -> None:
    """150 pages on the shipped house, of which tests/makeup/test_cost_by_hand.py reckons the sheets.

    2163 + 1110 of 1620 x 1200 mm at 90 g/m2: 3273 x 0.17496 kg; at 1.1 a kg 629.908.  1064 of 700 x 500 mm: 33.516 kg,
    36.868.
    """
    plan, job = usual("sewn")
    large, small = orders(plan, job, HOUSE)
    assert (large.sheet_mm, large.sheets, large.gross) == ((1620, 1200), (1, 2), 2163 + 1110)
    assert (large.weight_kg, large.price) == (pytest.approx(572.64408), 629.91)
    assert (small.sheet_mm, small.sheets, small.gross) == ((700, 500), (3,), 1064)
    assert (small.weight_kg, small.price) == (pytest.approx(33.516), 36.87)
    # sheet 1 carries one copy of each section, 2 and 3 two of theirs
    assert (large.net, small.net) == (1500 + 750, 750)


@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched", "leaflet"])
def test_orders_are_the_sheets_of_the_plan(binding: str) -> None:
    plan, job = usual(binding)
    made = orders(plan, job, HOUSE)
    assert sorted(sheet for order in made for sheet in order.sheets) == list(range(1, plan.sheets + 1))
    assert sum(order.gross for order in made) == sum(run.gross_sheets for run in plan.runs)
    assert len({(o.stock, o.sheet_mm, o.grain) for o in made}) == len(made)
    paper = sum(line.amount or 0 for line in plan.cost.lines if line.what == "paper") if plan.cost else 0
    assert sum(order.price or 0 for order in made) == pytest.approx(paper, abs=0.01 * len(made))


def test_an_insert_is_ordered_apart_and_no_price_is_made_up() -> None:
    job = job_of("sewn", insert=[{"first_page": 65, "pages": 16, "stock": "Glaze Silk 135"}])
    plan = plan_of(150, job)
    stocks = tuple(
        stock.model_copy(update={"price_per_kg": None}) if stock.name == "Glaze Silk 135" else stock
        for stock in HOUSE.stocks
    )
    made = orders(plan, job, HOUSE.model_copy(update={"stocks": stocks}))
    assert {order.stock for order in made} == {"Hearth Book 90", "Glaze Silk 135"}
    for order in made:
        assert (order.price is None) == (order.stock == "Glaze Silk 135")
        assert order.weight_kg > 0


def test_paper_that_the_job_describes_is_priced_as_the_stock_it_is_taken_from() -> None:
    job = job_of("glued", paper={"stock": "Hearth Book 90", "grammage": 95})
    (order, *_) = orders(plan_of(64, job), job, HOUSE)
    assert order.stock != "Hearth Book 90" and order.grammage == 95
    assert order.price == pytest.approx(order.weight_kg * 1.1, abs=0.006)


# --- plates -----------------------------------------------------------------------------------------------------------


def test_a_plate_for_every_ink_of_every_side_and_one_set_where_one_set_prints_both() -> None:
    """48 pages in four colours: two formes of four plates, one set for the sheet that is turned (imp-wat-halves)."""
    plan, _ = usual("stitched")
    made = plates(plan)
    assert len(made) == plan.plates == 12
    assert [(p.side, p.ink) for p in made if p.sheet == 1] == [
        (side, ink) for side in ("front", "back") for ink in PROCESS
    ]
    assert [(p.side, p.ink) for p in made if p.sheet == 2] == [("both", ink) for ink in PROCESS]


def test_a_side_that_is_not_printed_wants_no_plate() -> None:
    plan, _ = usual("glued")
    run = evolve(plan.runs[0], way="one side", inks=(("Black", "Spot 1"), ()))
    assert [(p.side, p.ink) for p in plates(evolve(plan, runs=(run,)))] == [("front", "Black"), ("front", "Spot 1")]
