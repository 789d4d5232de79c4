# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a book costs: two books reckoned by hand, line by line, and each rule of the reckoning by itself.

The shop of the worked examples is made up, its figures chosen to be reckoned with a pencil.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.job.load import load_house
from foldproof.job.model import Allowances, HouseFolder, HouseLine, HousePress, HouseStock, Way
from foldproof.makeup.cost import Cost, CostLine
from foldproof.makeup.cost_charges import FoldedPiece, money
from foldproof.makeup.cost_lines import cost_lines
from foldproof.makeup.cost_run import RunInput, binding_cost, formes_by_pass, perfects, plates_of, run_cost

PRESS = HousePress.model_validate(
    {
        "name": "Press",
        "sheet_max": "1000 x 720 mm",
        "sheet_min": "400 x 300 mm",
        "gripper": "10 mm",
        "tail": "10 mm",
        "side": "5 mm",
        "inks": 4,
        "perfecting": 2,
        "plate_price": 10,
        "make_ready_sheets": 100,
        "make_ready_minutes": 30,
        "sheets_per_hour": 6000,
        "hour_price": 120,
    }
)
FOLDER = HouseFolder.model_validate(
    {
        "name": "Folder",
        "schemes": ["16"],
        "sheet_max": "1000 x 720 mm",
        "sheet_min": "200 x 200 mm",
        "make_ready_sheets": 40,
        "make_ready_minutes": 20,
        "sheets_per_hour": 4000,
        "hour_price": 50,
    }
)
LINE = HouseLine.model_validate(
    {
        "name": "Line",
        "bindings": ["sewn", "stitched"],
        "stations": 8,
        "trim_min": "100 x 100 mm",
        "trim_max": "300 x 400 mm",
        "block_max": "50 mm",
        "books_per_hour": 2000,
        "sewn_sections_per_hour": 5000,
        "make_ready_minutes": 20,
        "station_minutes": 3,
        "hour_price": 90,
    }
)
STOCK = HouseStock.model_validate(
    {
        "name": "Stock",
        "grammage": 80,
        "bulk": 1.25,
        "sheets": [{"size": "700 x 1000 mm", "grain": "long"}],
        "price_per_kg": 2.5,
    }
)
SPOILS = Allowances(spoil_press=4, spoil_folding=2, spoil_gathering=1, spoil_sewing=1, spoil_trimming=1)


def sheet(way: Way = "two formes", front: int = 1, back: int = 1, *, copies_on: int = 1, pieces: int = 2) -> RunInput:
    piece = FoldedPiece(FOLDER, "16", pieces)
    return RunInput(PRESS, way, front, back, STOCK, (1000.0, 700.0), copies_on, (piece,))


def lines_of(cost: Cost) -> dict[str, CostLine]:
    assert len({line.what for line in cost.lines}) == len(cost.lines)
    return {line.what: line for line in cost.lines}


def test_a_sewn_book_of_96_pages_by_hand() -> None:
    """Six sections of 16, two on a sheet: three sheets, two black on black, one four inks on four; 1000 copies.

    Worked example, reckoned by hand.  Backwards from 1000 books:

        trimming  1 %   1000      / 0.99        = 1010.1010 books into it
        sewing    1 %   1010.1010 / 0.99        = 1020.3041                 1021 to be sewn
        gathering 1 %   1020.3041 / 0.99        = 1030.6102                 1031 to be gathered
        folding   2 %   1030.6102 / 0.98        = 1051.6431
                        + 40 pieces, 2 on a sheet: 20 sheets = 1071.6431    1072 to be folded
        back      4 %   1071.6431 / 0.96 + 100  = 1216.2949
        front     4 %   1216.2949 / 0.96 + 100  = 1366.9739                 1367 of each sheet to be bought

        plates      (1 + 1) + (1 + 1) + (4 + 4) = 12                    x  10   =  120.00
        make-ready  6 formes x 30 min = 180 min = 3 h                   x 120   =  360.00
        paper       3 x 1367 = 4101; x 0.7 m2 x 80 g/m2 (0.056 kg) = 229.656 kg x 2.50 = 574.14
        press time  4101 x 2 passes = 8202; / 6000 = 1.367 h            x 120   =  164.04
        folding     3 x 2 x 1072 = 6432; / 4000 = 1.608 h, + 3 x 20 min = 2.608 h x 50 = 130.40
        gathering   6 sections in 8 pockets: 1 pass; 1031 / 2000 = 0.5155 h
                    + 20 min + 6 x 3 min = 38 min = 0.63333 h           1.148833 h x 90 = 103.395, so 103.40
        sewing      6 x 1021 = 6126; / 5000 = 1.2252 h                  x  90   =  110.268, so 110.27
                                                                        together 1562.25
    """
    black, colour = (run_cost(sheet(front=n, back=n), 1000, "sewn", SPOILS) for n in (1, 4))
    assert (black.net_sheets, black.folded_sheets, black.gross_sheets) == (1000, 1072, 1367)
    bound = binding_cost(6, 0, 1000, LINE, "sewn", SPOILS)
    assert (bound.passes, bound.feeds, bound.gathered, bound.sewn, bound.spoilt) == (1, 6, 1031, 1021, 31)
    cost = cost_lines([black, black, colour], bound, 1000, "crowns")
    told = lines_of(cost)
    assert {what: line.amount for what, line in told.items()} == {
        "plates": 120.00,
        "make-ready": 360.00,
        "paper": 574.14,
        "press time": 164.04,
        "folding": 130.40,
        "gathering": 103.40,
        "sewing": 110.27,
    }
    assert cost.total == 1562.25
    assert (cost.currency, cost.copies) == ("crowns", 1000)
    quantities = {what: (round(line.quantity, 6), line.unit, line.price) for what, line in told.items()}
    assert quantities == {
        "plates": (12, "plates", 10),
        "make-ready": (3, "h", 120),
        "paper": (229.656, "kg", 2.5),
        "press time": (1.367, "h", 120),
        "folding": (2.608, "h", 50),
        "gathering": (1.148833, "h", 90),
        "sewing": (1.2252, "h", 90),
    }
    assert {what: line.says for what, line in told.items()} == {
        "plates": "Press: 2 sheets × (1 + 1) + 1 sheet × (4 + 4)",
        "make-ready": "Press: 6 formes × 30 min",
        "paper": "Stock: 3 sheets × 1,367 of 1000 x 700 mm at 80 g/m2",
        "press time": "Press: 3 sheets × 2 passes × 1,367, at 6,000 an hour",
        "folding": "Folder: 3 sheets × 2 pieces × 1,072, at 4,000 an hour; 3 settings × 20 min",
        "gathering": "Line: 1 pass × 1,031 books, at 2,000 an hour; 1 pass × 20 min; 6 pockets × 3 min",
        "sewing": "Line: 6 sections × 1,021 books, at 5,000 an hour",
    }
    # the sheet in colour by itself: 80 + 120 + 1367 x 0.056 x 2.5 + 2734 / 6000 x 120 + (2144 / 4000 + 1/3) x 50
    #   = 200 + 191.38 + 54.68 + 43.4666667
    assert colour.money == 489_526_667
    # 8 plates; 1367 x 700 000 mm2; 2 x 30 min + 2734 sheets at 100 a minute = 87.34 min
    assert colour.quantity == (8, 956_900_000, 87)


def test_a_stitched_book_of_32_pages_by_hand() -> None:
    """Two sections of 16, one in the other, each worked and turned, two copies on a sheet, two inks; 500 copies.

    Worked example, reckoned by hand.  Backwards from 500 books:

        trimming  1 %   500      / 0.99         =  505.0505
        stitching 1 %   505.0505 / 0.99         =  510.1520                  511 to be stitched
        two copies on a sheet: / 2              =  255.0760 sheets
        folding   2 %   255.0760 / 0.98         =  260.2816
                        + 40 pieces, 2 on a sheet: 20 sheets = 280.2816      281 to be folded
        second pass 4 % 280.2816 / 0.96         =  291.9600   (the forme is on the press already)
        first pass  4 % 291.9600 / 0.96 + 100   =  404.1250                  405 of each sheet to be bought

        plates      2 sheets x 2, which print both sides = 4            x  10   =   40.00
        make-ready  2 formes x 30 min = 1 h                             x 120   =  120.00
        paper       2 x 405 = 810; x 0.056 kg = 45.36 kg                x 2.50  =  113.40
        press time  810 x 2 passes = 1620; / 6000 = 0.27 h              x 120   =   32.40
        folding     2 x 2 x 281 = 1124; / 4000 = 0.281 h, + 2 x 20 min = 0.947667 h x 50 = 47.38333, so 47.38
        stitching   2 pieces, 1 pass; 511 / 2000 = 0.2555 h + 20 min + 2 x 3 min = 0.688833 h x 90 = 61.995, so 62.00
                                                                        together  415.18
    """
    run = run_cost(sheet("work and turn", 2, 2, copies_on=2), 500, "stitched", SPOILS)
    assert (run.net_sheets, run.folded_sheets, run.gross_sheets) == (250, 281, 405)
    assert (run.plates, run.formes) == (2, (1, 0))
    cost = cost_lines([run, run], binding_cost(1, 1, 500, LINE, "stitched", SPOILS), 500, "crowns")
    told = lines_of(cost)
    assert {what: line.amount for what, line in told.items()} == {
        "plates": 40.00,
        "make-ready": 120.00,
        "paper": 113.40,
        "press time": 32.40,
        "folding": 47.38,
        "stitching": 62.00,
    }
    assert cost.total == 415.18
    assert told["plates"].says == "Press: 2 sheets × 2 for both sides"
    assert told["stitching"].says == ("Line: 1 pass × 511 books, at 2,000 an hour; 1 pass × 20 min; 2 pockets × 3 min")


def test_passes_and_formes_of_each_way() -> None:
    """Common practice, no source; one set of plates and two passes of work and turn: handbook imp-styles-4."""
    assert formes_by_pass(PRESS, "two formes", 4, 1) == (1, 1)
    assert formes_by_pass(PRESS, "work and turn", 4, 4) == formes_by_pass(PRESS, "work and tumble", 4, 4) == (1, 0)
    assert formes_by_pass(PRESS, "perfecting", 2, 2) == (2,)
    assert formes_by_pass(PRESS, "one side", 3, 0) == (1,)
    # more inks than the press has units: another load of plates, another pass, another make-ready
    assert formes_by_pass(PRESS, "two formes", 6, 4) == (1, 1, 1)
    assert formes_by_pass(PRESS, "two formes", 9, 5) == (1, 1, 1, 1, 1)
    assert formes_by_pass(PRESS, "work and turn", 5, 5) == (1, 0, 1, 0)
    assert formes_by_pass(PRESS, "one side", 5, 0) == (1, 1)
    # a side without inks is not printed
    assert formes_by_pass(PRESS, "two formes", 1, 0) == formes_by_pass(PRESS, "two formes", 0, 1) == (1,)
    assert formes_by_pass(PRESS, "perfecting", 0, 2) == (1,)
    assert formes_by_pass(PRESS, "two formes", 0, 0) == formes_by_pass(PRESS, "perfecting", 0, 0) == ()
    assert [plates_of(way, 4, 4) for way in ("two formes", "work and turn", "work and tumble", "perfecting")] == [
        8,
        4,
        4,
        8,
    ]


def test_a_perfecting_press_shares_its_units() -> None:
    """Four units, of which two print the back: two on two at most, whatever the other side carries."""
    allowed = [(front, back) for front in range(6) for back in range(6) if perfects(PRESS, front, back)]
    assert allowed == [(front, back) for front in range(3) for back in range(3)]
    assert not perfects(PRESS.model_copy(update={"perfecting": 0}), 1, 0)


@pytest.mark.parametrize(
    ("way", "front", "back", "words"),
    [
        ("perfecting", 3, 2, "does not perfect 3 inks on 2"),
        ("work and turn", 2, 1, "not 2 inks on 1"),
        ("one side", 1, 1, "no 1 inks on its back"),
        ("two formes", -1, 1, "-1 inks"),
    ],
)
def test_inks_that_do_not_go_with_the_way_are_refused(way: Way, front: int, back: int, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        run_cost(sheet(way, front, back), 1000, "sewn", SPOILS)


def test_perfecting_spoils_once_and_passes_once() -> None:
    """As in the sewn book, but both formes at once: 1071.6431 / 0.96 + 200 = 1316.29, so 1317 sheets, once through."""
    run = run_cost(sheet("perfecting", 1, 1), 1000, "sewn", SPOILS)
    assert (run.formes, run.gross_sheets) == ((2,), 1317)
    # 2 x 30 min + 1317 sheets at 100 a minute
    assert run.quantity == (2, 1317 * 700_000, 73)


def test_more_inks_than_units_pay_plates_make_ready_and_passes() -> None:
    """Six inks on four units: as the back goes through, so does the front twice.

    1216.2949 after the front's second load (see the sewn book), / 0.96 + 100 = 1366.9739, / 0.96 + 100 = 1523.9311.
    """
    run = run_cost(sheet(front=6, back=4), 1000, "sewn", SPOILS)
    assert (run.plates, run.formes, run.gross_sheets) == (10, (1, 1, 1), 1524)
    told = {charge.what: charge.quantity for charge in run.charges}
    assert told["make-ready"] == Fraction(3, 2)
    assert told["press time"] == Fraction(3 * 1524, 6000)


def test_the_piece_that_wants_most_sheets_settles_the_setting_of_the_folders() -> None:
    """40 pieces set each: one kind has 3 on a sheet (14 sheets), one has 1 (40 sheets); the same 40 give both."""
    kinds = FoldedPiece(FOLDER, "16", 3), FoldedPiece(FOLDER, "8", 1)
    one = sheet()
    run = run_cost(evolve(one, pieces=kinds), 98, "leaflet", Allowances(spoil_folding=2))
    # 98 / 0.98 = 100
    assert run.folded_sheets == 140
    assert run_cost(evolve(one, pieces=kinds[:1]), 98, "leaflet", Allowances(spoil_folding=2)).folded_sheets == 114
    # as the sheet before left it: no sheets and no minutes; an offcut goes through a second time, and is set for too
    stands = evolve(one, pieces=(evolve(kinds[0], set_anew=False),))
    twice = evolve(one, pieces=(evolve(kinds[0], passes=2),))
    left, again = (run_cost(run, 98, "leaflet", Allowances(spoil_folding=2)) for run in (stands, twice))
    assert left.folded_sheets == 100
    assert left.charges[-1].quantity == Fraction(300, 4000)
    assert again.charges[-1].quantity == Fraction(2 * 3 * 114, 4000) + Fraction(2 * 20, 60)


def test_more_pieces_than_pockets_are_gathered_in_a_pass_more() -> None:
    """Nine sections, one of them with another in it: ten pockets where the line has eight.  Sewn are nine."""
    bound = binding_cost(9, 1, 1000, LINE, "sewn", Allowances())
    assert (bound.feeds, bound.passes) == (10, 2)
    hours = {charge.what: charge.quantity for charge in bound.charges}
    assert hours == {
        "gathering": Fraction(2 * 1000, 2000) + Fraction(2 * 20 + 10 * 3, 60),
        "sewing": Fraction(9 * 1000, 5000),
    }
    assert binding_cost(8, 0, 1000, LINE, "sewn", Allowances()).passes == 1
    leaflet = binding_cost(1, 0, 99, None, "leaflet", Allowances(spoil_trimming=1))
    assert (leaflet.charges, leaflet.money, leaflet.spoilt) == ((), 0, 1)


def test_without_prices_the_quantities_stay() -> None:
    bare = {"plate_price": None, "hour_price": None}
    run = run_cost(
        evolve(
            sheet(),
            press=PRESS.model_copy(update=bare),
            stock=STOCK.model_copy(update={"price_per_kg": None}),
            pieces=(FoldedPiece(FOLDER.model_copy(update=bare), "16", 2),),
        ),
        1000,
        "sewn",
        SPOILS,
    )
    priced = run_cost(sheet(), 1000, "sewn", SPOILS)
    assert run.money is None
    assert run.quantity == priced.quantity
    bound = binding_cost(6, 0, 1000, LINE.model_copy(update={"hour_price": None}), "sewn", SPOILS)
    assert bound.money is None
    cost = cost_lines([run], bound, 1000, "")
    assert all(line.price is None and line.amount is None for line in cost.lines)
    assert cost.total is None
    rich = cost_lines([priced], binding_cost(6, 0, 1000, LINE, "sewn", SPOILS), 1000, "")
    assert [(line.what, line.quantity, line.unit, line.says) for line in cost.lines] == [
        (line.what, line.quantity, line.unit, line.says) for line in rich.lines
    ]


def test_without_speeds_pieces_are_counted_instead_of_hours() -> None:
    slow = {"sheets_per_hour": None}
    run = run_cost(
        evolve(
            sheet(),
            press=PRESS.model_copy(update=slow),
            pieces=(FoldedPiece(FOLDER.model_copy(update=slow), "16", 2),),
        ),
        1000,
        "sewn",
        SPOILS,
    )
    assert run.money is None
    told = lines_of(cost_lines([run], binding_cost(6, 0, 1000, None, "sewn", SPOILS), 1000, ""))
    assert {what: (line.quantity, line.unit, line.amount) for what, line in told.items()} == {
        "plates": (2, "plates", 20.0),
        "make-ready": (1, "h", 120.0),
        "paper": (pytest.approx(1367 * 0.056), "kg", 191.38),
        "press time": (2 * 1367, "sheets", None),
        "folding": (2 * 1072, "pieces", None),
        "gathering": (1031, "books", None),
        "sewing": (6 * 1021, "sections", None),
    }
    assert told["press time"].says == "Press: 1 sheet × 2 passes × 1,367, its speed is not stated"


def test_one_price_that_lacks_leaves_the_sum_unknown_unless_nothing_is_wanted_of_it() -> None:
    dear = run_cost(evolve(sheet(), press=PRESS.model_copy(update={"plate_price": None})), 1000, "sewn", SPOILS)
    assert dear.money is None
    assert cost_lines([dear], None, 1000, "").total is None
    # a sheet without inks wants no plates and no press
    blank = evolve(
        sheet(front=0, back=0), press=PRESS.model_copy(update={"plate_price": None, "sheets_per_hour": None})
    )
    run = run_cost(blank, 1000, "sewn", SPOILS)
    assert (run.plates, run.formes, run.gross_sheets) == (0, (), 1072)
    # 1072 x 0.056 x 2.5 + (2144 / 4000 + 1/3) x 50 = 150.08 + 43.466667
    assert run.money == 193_546_667
    assert [line.what for line in cost_lines([run], None, 1000, "").lines] == ["paper", "folding"]


def test_two_presses_have_a_line_each() -> None:
    other = evolve(sheet(), press=PRESS.model_copy(update={"name": "Other", "plate_price": 4.0}))
    runs = [run_cost(run, 1000, "sewn", SPOILS) for run in (sheet(), other, sheet())]
    plates = [line for line in cost_lines(runs, None, 1000, "").lines if line.what == "plates"]
    assert [(line.quantity, line.price, line.amount) for line in plates] == [(4, 10, 40), (2, 4, 8)]
    assert [line.says for line in plates] == ["Press: 2 sheets × (1 + 1)", "Other: 1 sheet × (1 + 1)"]


HOUSE = load_house(None)


@settings(max_examples=200, deadline=None)
@given(
    press=st.sampled_from(HOUSE.presses),
    stock=st.sampled_from(HOUSE.stocks),
    folders=st.lists(st.sampled_from(HOUSE.folders), max_size=3),
    way=st.sampled_from(["two formes", "work and turn"]),
    inks=st.integers(0, 6),
    copies=st.integers(1, 30_000),
    copies_on=st.integers(1, 8),
    anew=st.booleans(),
)
def test_the_money_of_a_sheet_is_that_of_its_charges(
    press: HousePress,
    stock: HouseStock,
    folders: list[HouseFolder],
    way: Way,
    inks: int,
    copies: int,
    copies_on: int,
    anew: bool,
) -> None:
    pieces = tuple(FoldedPiece(folder, "16", nth + 1, nth + 1, anew) for nth, folder in enumerate(folders))
    run = RunInput(press, way, inks, inks, stock, stock.sheets[0].size, copies_on, pieces)
    reckoned = run_cost(run, copies, "sewn", HOUSE.allowances)
    assert reckoned.money is not None
    assert reckoned.money == money(reckoned.charges)
    cost = cost_lines([reckoned], None, copies, HOUSE.currency)
    assert cost.total == pytest.approx(reckoned.money / 1e6, abs=0.005 * len(cost.lines) + 0.001)


def test_a_sheet_reckoned_once_is_known_at_once() -> None:
    """A search asks for thousands of sheets, most of them again and again."""
    run_cost.cache_clear()
    for _ in range(20):
        run_cost(sheet(), 1500, "sewn", HOUSE.allowances)
    assert (run_cost.cache_info().misses, run_cost.cache_info().hits) == (1, 19)
