# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sizes of a case against published ones, and what comes of them in a job."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from foldproof.case.sizes import case_sizes, corner_leg_mm, reckoned_case
from foldproof.errors import AskedWrong
from foldproof.job.finishing import HouseBoard
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.quantities.case_pieces import (
    board_height_mm,
    board_width_mm,
    cloth_size_mm,
    forward_mm,
    strip_width_mm,
)
from foldproof.quantities.model import Thickness
from foldproof.units import inch_to_mm
from tests.handbook.facts import given, told
from tests.report import samples

HOUSE = load_house(None)


def thick(spine_mm: float, arc_mm: float | None = None) -> Thickness:
    return Thickness((), 8, spine_mm, 0.0, 0.0, 0.0, spine_mm, spine_mm if arc_mm is None else arc_mm, ())


def job_of(**cover: Any) -> Job:
    return Job.model_validate({"book": {"binding": "sewn"}, "cover": cover})


def test_the_case_of_a_printers_blog() -> None:
    """case-dingword: all of it, as a job states it."""
    block, wanted = given("case-dingword"), told("case-dingword")
    plan = evolve(samples.plan(), trim_mm=(float(block["X"]), float(block["Z"])))
    job = job_of(board="Grey Board 2.5", square="3 mm", joint="10 mm", turn_in="17 mm")
    case = case_sizes(plan, job, HOUSE, thick(block["Y"]))
    assert case is not None
    assert case.board_thickness_mm == block["A"]
    assert case.board_mm == pytest.approx(wanted["board"])
    assert case.strip_mm == pytest.approx((wanted["spine"], wanted["board"][1]))
    assert case.cloth_mm == pytest.approx(wanted["paper"])
    # the blog: paper is 2 (board + gap) + strip + 34, so that all of that lies open within the turn-ins
    assert case.open_mm == pytest.approx((wanted["paper"][0] - 34, wanted["paper"][1] - 34))


def test_boards_as_wide_as_the_book() -> None:
    """case-squares: the board moves forward by the square."""
    wide, high = map(inch_to_mm, given("case-squares")["block_in"])
    square = inch_to_mm(given("case-squares")["square_in"])
    board = board_width_mm(wide, square, forward_mm=square), board_height_mm(high, square)
    assert board == pytest.approx([inch_to_mm(side) for side in told("case-squares")["board_in"]])


def test_a_quarter_joint() -> None:
    """case-quarter-joint: a quarter of the thickness forward; 1/16 in at the fore-edge, half of it at head and foot."""
    wide, high = map(inch_to_mm, given("case-quarter-joint")["block_in"])
    forward = inch_to_mm(given("case-quarter-joint")["thickness_in"]) / 4
    square = inch_to_mm(1 / 16)
    board = board_width_mm(wide, square, forward), board_height_mm(high, square / 2)
    assert board == pytest.approx([inch_to_mm(side) for side in told("case-quarter-joint")["board_in"]])


def test_the_customs_of_the_house_are_those_of_edition_work() -> None:
    """case-3mm."""
    custom, house = told("case-3mm"), HOUSE.finishing
    assert house.square == custom["square"]
    assert custom["joint"][0] <= house.joint <= custom["joint"][1]
    assert house.turn_in == custom["turn_in"]
    assert all(custom["board"][0] <= board.thickness <= custom["board"][1] for board in HOUSE.boards)
    case = case_sizes(samples.plan(), job_of(), HOUSE, thick(20))
    assert case is not None
    assert case.board_mm[1] == samples.TRIM_MM[1] + custom["higher"]


def test_customary_squares_make_the_untrimmed_height() -> None:
    """trim-customary: what was trimmed at head and foot, the squares give back."""
    block = inch_to_mm(told("trim-customary")["block_h"])
    square = inch_to_mm(given("trim-customary")["square_in"])
    assert board_height_mm(block, square) == pytest.approx(inch_to_mm(told("trim-customary")["board_h"]))


def test_a_turn_in_for_each_edge() -> None:
    """case-turnin."""
    turn_in = inch_to_mm(told("case-turnin")["in"])
    assert cloth_size_mm((300.0, 200.0), turn_in) == pytest.approx((300 + inch_to_mm(1.5), 200 + inch_to_mm(1.5)))


def test_a_corner_by_coordinates() -> None:
    """The corner of the board is as far from the slanting cut as asked (distance of a point from a line)."""
    leg = corner_leg_mm(15.0, 3.75)
    # the cut runs from (leg, 0) to (0, leg), that is x + y = leg; the corner of the board stands at (15, 15)
    assert (15 + 15 - leg) / 2**0.5 == pytest.approx(3.75)


@pytest.mark.parametrize(
    ("joint", "board", "rounding", "wanted"),
    [
        # case-dingword: X - 3.5 with a square of 3 lies 6.5 forward
        (10.0, 2.5, "flat", 6.5),
        (7.0, 2.5, "rounded", 3.5),
        (7.0, 2.5, "rounded and backed", 6.0),
        (3.0, 2.5, "flat", 0.0),
        (2.5, 2.5, "flat", 0.0),
        (2.4, 2.5, "flat", None),
        (0.0, 2.5, "rounded and backed", 0.0),
    ],
)
def test_how_far_forward(joint: float, board: float, rounding: Any, wanted: float | None) -> None:
    assert forward_mm(joint, board, rounding) == (None if wanted is None else pytest.approx(wanted))


def test_a_rounded_strip_is_as_wide_as_the_arc() -> None:
    """case-rounded: wider than the bulk; a third of a circle is 1.2092 chords long (case-arc)."""
    bulk = inch_to_mm(given("case-rounded")["bulk_in"])
    arc = bulk * told("case-arc")["exact_120"]
    case = case_sizes(samples.plan(), job_of(rounding="rounded"), HOUSE, thick(bulk, arc))
    assert case is not None
    assert case.strip_mm[0] == pytest.approx(arc, abs=0.05) and case.strip_mm[0] > bulk
    assert (case.arc_mm, case.chord_mm) == (pytest.approx(arc, abs=0.005), pytest.approx(bulk, abs=0.005))
    # no board of the house bends: the strip is of card, and that is said
    assert case.strip_board == "" and any("card that bends" in line for line in case.says)


def test_a_thin_board_becomes_the_strip_of_a_rounded_spine() -> None:
    card = HouseBoard.model_validate({"name": "Card 0.8", "thickness": "0.8 mm", "sheet": "700 x 1000 mm"})
    house = HOUSE.model_copy(update={"boards": (*HOUSE.boards, card)})
    case = case_sizes(samples.plan(), job_of(rounding="rounded and backed"), house, thick(20, 30.2))
    assert case is not None
    assert (case.board, case.strip_board, case.strip_thickness_mm) == ("Grey Board 2.5", "Card 0.8", 0.8)
    # shoulders of a board at either side of the spine
    assert case.chord_mm == 25


def test_every_size_says_its_arithmetic() -> None:
    case = case_sizes(samples.plan(), job_of(), HOUSE, thick(21.37))
    assert case is not None
    told_in = " ".join(case.says)
    for size in (*case.board_mm, *case.strip_mm, *case.open_mm, *case.cloth_mm, case.corner_mm, case.forward_mm):
        assert f"{size:.2f}".rstrip("0").rstrip(".") in told_in
    assert case.grain in told_in
    assert case.strip_mm[0] == 25.9, "21.37 + 5 - 0.5, to a tenth"


def test_the_job_goes_before_the_house() -> None:
    job = job_of(board="Grey Board 2", cloth="Lantern Linen", square="4 mm", joint="8 mm", turn_in="20 mm")
    case = case_sizes(samples.plan(), job, HOUSE, thick(20))
    assert case is not None
    assert (case.board, case.cloth, case.square_mm, case.joint_mm, case.turn_in_mm) == (
        "Grey Board 2", "Lantern Linen", 4.0, 8.0, 20.0,
    )  # fmt: skip
    # 140 - (8 - 2 - 1) + 4; 216 + 8
    assert case.board_mm == (139.0, 224.0)


@pytest.mark.parametrize("cover", [{"kind": "paper"}, {"kind": "none"}])
def test_another_cover_is_no_case(cover: dict[str, str]) -> None:
    found = reckoned_case(samples.plan(), job_of(**cover), HOUSE, thick(20))
    assert (found.sizes, found.unknown) == (None, "")


def house_without(what: str) -> House:
    return HOUSE.model_copy(update={what: ()})


@pytest.mark.parametrize(
    ("house", "cover", "says"),
    [
        (house_without("boards"), {}, "states no board; put a [[board]]"),
        (house_without("cloths"), {}, "states no cloth; put a [[cloth]]"),
        (HOUSE, {"joint": "2 mm"}, "cover.joint at least 2.5 mm"),
        (HOUSE, {"turn_in": "4 mm"}, "cover.turn_in at least 5 mm"),
        (HOUSE, {"joint": "150 mm"}, "make cover.joint narrower"),
    ],
)
def test_what_cannot_be_reckoned_is_told(house: House, cover: dict[str, str], says: str) -> None:
    found = reckoned_case(samples.plan(), job_of(**cover), house, thick(20))
    assert found.sizes is None
    assert found.unknown.startswith("No case is reckoned: ") and says in found.unknown


def test_a_board_that_nobody_has() -> None:
    with pytest.raises(AskedWrong, match=r'cover.board: .* has no board "Gray Board 2"; did you mean "Grey Board 2'):
        case_sizes(samples.plan(), job_of(board="Gray Board 2"), HOUSE, thick(20))


def test_strip_width() -> None:
    """case-dingword: Y + 2A - 0.5."""
    block = given("case-dingword")
    assert strip_width_mm(block["Y"], block["A"]) == told("case-dingword")["spine"]
