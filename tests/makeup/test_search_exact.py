# SPDX-License-Identifier: AGPL-3.0-or-later
"""The search against brute force: every division, every way to part its sections among sheets, every setting, every
number of copies, every block face up or face down, each reckoned for what really stands there.

The brute force shares with the search the geometry of a bed (which cells a sheet has) and the cost of one printed sheet
(held by hand in test_cost.py and test_cost_by_hand.py).  Divisions, the inks of a side, packing into cells and the
choice are its own.  That the cheapest is wanted, and where short sections go, is the rule of the house and the custom
of the trade (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from unittest import mock

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from foldproof.errors import NoPlan
from foldproof.job.model import House, Job
from foldproof.makeup import choose
from foldproof.makeup.outlines import Outline, Request
from foldproof.makeup.plan import Plan
from tests.makeup.brute_search import Book, Brute, partitions

#: told at the end of the rules of a plan that did not tell every set of inks apart
MERGED = "weighed together"


def test_there_are_as_many_partitions_as_bell_counts() -> None:
    """Bell numbers: 1, 2, 5, 15, 52, 203, 877 (E. T. Bell, Exponential numbers, 1934)."""
    counts = [len({frozenset(parts) for parts in partitions(tuple(range(n)))}) for n in range(1, 8)]
    assert counts == [1, 2, 5, 15, 52, 203, 877]


# --- small houses and small books -------------------------------------------------------------------------------------


SCHEMES = {
    16: ("16", 4, 2, ("right under", "top over", "left over")),
    8: ("8", 2, 2, ("top under", "left under")),
    4: ("4", 2, 1, ("left under",)),
    80: ("8 strip", 4, 1, ("right under", "left under")),
}
#: panels of 100 x 150 mm are 104 x 160: a 16 is 416 x 320
SHEETS = ["350 x 500 mm", "450 x 640 mm", "640 x 900 mm"]
INKS = [("Black",), ("Black",), ("Black",), (), ("Cyan", "Magenta", "Yellow", "Black"), ("Black", "Spot red")]
PRICES = ["plate_price", "hour_price", "sheets_per_hour"]


def scheme(told: tuple[str, int, int, tuple[str, ...]]) -> dict[str, object]:
    name, columns, rows, folds = told
    return {"name": name, "columns": columns, "rows": rows, "folds": folds}


@st.composite
def houses(draw: st.DrawFn) -> House:
    chosen = draw(st.sampled_from([(16, 8, 4), (16, 8), (8, 4), (16, 4), (16, 80, 8, 4), (16, 80)]))
    schemes = [scheme(SCHEMES[size]) for size in chosen]
    presses: list[dict[str, object]] = []
    least = ["300 x 200 mm", "300 x 200 mm", "600 x 400 mm"]
    for nth, largest in enumerate(draw(st.permutations(["1020 x 720 mm", "740 x 530 mm"]))):
        inks = draw(st.integers(1, 4))
        press: dict[str, object] = {
            "name": f"Press {nth}", "sheet_max": largest, "sheet_min": draw(st.sampled_from(least)),
            "gripper": "10 mm", "tail": draw(st.sampled_from(["5 mm", "10 mm"])), "side": "5 mm", "inks": inks,
            "perfecting": draw(st.integers(0, inks - 1)),
            "make_ready_sheets": draw(st.integers(0, 200)), "make_ready_minutes": draw(st.integers(0, 30)),
            "plate_price": draw(st.integers(0, 30)), "hour_price": draw(st.integers(0, 200)),
            "sheets_per_hour": draw(st.integers(2000, 12000)),
        }  # fmt: skip
        if draw(st.booleans()):
            press["ways"] = draw(
                st.sampled_from([["two formes"], ["two formes", "work and turn"], ["work and tumble", "perfecting"]])
            )
        presses.append(press)
    folder: dict[str, object] = {
        "name": "Folder", "schemes": [one["name"] for one in schemes], "sheet_max": "900 x 1200 mm",
        "sheet_min": "90 x 120 mm", "make_ready_sheets": draw(st.integers(0, 50)),
        "make_ready_minutes": draw(st.integers(0, 40)), "sheets_per_hour": 5000,
        "hour_price": draw(st.integers(0, 80)),
    }  # fmt: skip
    sizes = draw(st.lists(st.sampled_from(SHEETS), min_size=2, max_size=2, unique=True))
    sheets = [{"size": size, "grain": draw(st.sampled_from(["long", "short"]))} for size in sizes]
    insert_sheets = [{"size": SHEETS[0], "grain": grain} for grain in ("long", "short")]
    stocks: list[dict[str, object]] = [
        {"name": name, "grammage": 90, "bulk": 1.2, "sheets": held, "price_per_kg": draw(st.integers(0, 5))}
        for name, held in (("Text", sheets), ("Plates", insert_sheets))
    ]
    if draw(st.integers(0, 2)) == 0:  # one price is not stated
        machine = draw(st.sampled_from([*presses, folder, *stocks]))
        machine.pop(draw(st.sampled_from([key for key in (*PRICES, "price_per_kg") if key in machine])))
    line = {
        "name": "Line", "bindings": ["sewn", "stitched", "glued"], "stations": draw(st.integers(2, 6)),
        "trim_min": "10 x 10 mm", "trim_max": "500 x 500 mm", "block_max": "90 mm", "books_per_hour": 3000,
        "sewn_sections_per_hour": 5000, "hour_price": draw(st.integers(0, 99)), "make_ready_minutes": 30,
        "station_minutes": 2,
    }  # fmt: skip
    spoilt = {f"spoil_{what}": draw(st.sampled_from([0, 1.5, 4])) for what in ("press", "folding", "gathering")}
    return House.model_validate(
        {
            "name": "Small house", "usual_stock": "Text", "press": presses, "scheme": schemes, "folder": [folder],
            "line": [line], "stock": stocks, "allowances": {**spoilt, "blanks": draw(st.integers(0, 4))},
        }
    )  # fmt: skip


@st.composite
def books(draw: st.DrawFn, house: House) -> tuple[Job, tuple[tuple[str, ...], ...], int | None]:
    """Up to seven sections; inks change from stretch to stretch, and on the pages of one forme only where it is said.

    Of a section folded by halves the pages 1, 4, 5, 8 ... stand on one forme, 2, 3, 6, 7 ... on the other: here
    that only makes useful examples; the brute force reads them off the fold.
    """
    sizes = sorted({2 * s.columns * s.rows for s in house.schemes})
    binding = draw(st.sampled_from(["sewn", "sewn", "glued", "stitched"]))
    job: dict[str, object] = {
        "book": {"binding": binding}, "run": {"copies": draw(st.sampled_from([1, 2, 7, 300, 1500, 20_000]))},
    }  # fmt: skip
    pinned = draw(st.sampled_from([None, *sizes]))
    insert_at = None
    if 4 in sizes and 16 in sizes and binding != "stitched" and draw(st.integers(0, 2)) == 0:
        pinned, insert_at = 16, 16
        pages = 16 + 4 + 32 + draw(st.integers(0, 31))
        job["insert"] = [{"first_page": 17, "pages": 4, "stock": "Plates"}]
    else:
        pages = draw(st.integers(1, 7 * (pinned or min(sizes))))
    if pinned:
        job["sections"] = {"pages": pinned}
    inks: list[tuple[str, ...]] = []
    while len(inks) < pages:
        here, there = draw(st.sampled_from(INKS)), draw(st.sampled_from(INKS))
        pattern = draw(st.sampled_from([(here,), (here, there, there, here), (here, there)]))
        inks += (pattern * 16)[: draw(st.sampled_from([1, 3, 4, 8, 8, 16]))]
    return Job.model_validate(job), tuple(inks[:pages]), insert_at


def planned(house: House, job: Job, inks: Sequence[Sequence[str]]) -> tuple[Plan | None, Request, Outline | None]:
    """The best plan, if any, with the request that it answers and the outline that it was built from."""
    seen: list[Any] = []

    def watched(asked: Any, request: Request, one: Outline, *rest: Any) -> Plan:
        seen[:] = [request, one]
        return true(asked, request, one, *rest)

    def refused(base: Any, misses: Any, request: Request) -> NoPlan:
        seen[:] = [request, None]
        return NoPlan("Nothing goes.")

    true = choose.built
    with mock.patch.object(choose, "built", watched), mock.patch.object(choose, "no_plan", refused):
        try:
            plan = choose.plans(len(inks), (100.0, 150.0), job, house, title="A book", most=1, inks=inks)[0]
        except NoPlan:
            return None, seen[0], None
    return plan, seen[0], seen[1]


def held(house: House, job: Job, inks: Sequence[Sequence[str]], insert_at: int | None) -> str:
    """The plan is the cheapest of all, or there is none; says what it was."""
    plan, request, one = planned(house, job, inks)
    priced = (
        all(None not in (p.plate_price, p.hour_price, p.sheets_per_hour) for p in house.presses)
        and all(None not in (f.hour_price, f.sheets_per_hour) for f in house.folders)
        and all(
            s.price_per_kg is not None for s in house.stocks if s.name == "Text" or job.inserts
        )
    )  # fmt: skip
    bits = sorted({name for page in inks for name in page})
    masks = tuple(sum(1 << bits.index(name) for name in page) for page in inks)
    book = Book(len(inks), masks, job.book.binding == "stitched", insert_at)
    brute = Brute(request.task, request.line, book, priced)
    sizes = [job.sections.pages] if job.sections.pages else sorted(request.task.ways, reverse=True)
    best = brute.best(sizes, house.allowances.blanks)
    if plan is None or one is None:
        assert best is None
        return "no plan"
    assert one.exact and not any(MERGED in rule for rule in plan.rules)
    assert one.key[:3] == best
    if priced:
        # the plan's lines are rounded one by one, to hundredths
        assert plan.cost is not None and plan.cost.total is not None
        assert abs(plan.cost.total - one.key[0] / 1e6) <= 0.005 * len(plan.cost.lines) + 1e-5
    return f"priced: {priced}, sheets: {plan.sheets}"


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_the_plan_costs_no_more_than_any_other_way(data: st.DataObject) -> None:
    house = data.draw(houses())
    event(held(house, *data.draw(books(house))))


# --- what chance seldom draws -----------------------------------------------------------------------------------------


def one_press(**more: object) -> House:
    """Dear plates, one press that prints with two formes, a sheet that takes two 8s."""
    press = {
        "name": "Press", "sheet_max": "740 x 530 mm", "sheet_min": "300 x 200 mm", "gripper": "10 mm", "tail": "5 mm",
        "side": "5 mm", "inks": 4, "ways": ["two formes"], "plate_price": 50, "make_ready_minutes": 20,
        "sheets_per_hour": 8000, "hour_price": 100, **more,
    }  # fmt: skip
    folder = {
        "name": "Folder", "schemes": ["8", "4"], "sheet_max": "900 x 1200 mm", "sheet_min": "90 x 120 mm",
        "sheets_per_hour": 5000, "hour_price": 60,
    }  # fmt: skip
    line = {
        "name": "Line", "bindings": ["sewn"], "stations": 20, "trim_min": "10 x 10 mm", "trim_max": "500 x 500 mm",
        "block_max": "90 mm", "books_per_hour": 3000, "sewn_sections_per_hour": 5000, "hour_price": 60,
    }  # fmt: skip
    held_in = [{"size": "350 x 500 mm", "grain": grain} for grain in ("long", "short")]
    return House.model_validate(
        {
            "name": "One press", "usual_stock": "Text", "press": [press], "folder": [folder],
            "scheme": [scheme(SCHEMES[8]), scheme(SCHEMES[4])],
            "stock": [{"name": "Text", "grammage": 90, "bulk": 1.2, "sheets": held_in, "price_per_kg": 1}],
            "line": [line],
        }
    )  # fmt: skip


FOUR, BLACK = ("Cyan", "Magenta", "Yellow", "Black"), ("Black",)
EIGHTS = Job.model_validate({"sections": {"pages": 8}})


def test_a_section_lies_face_down_where_that_saves_plates() -> None:
    """Pages 1, 4, 5, 8 of an 8 stand on one forme, 2, 3, 6, 7 on the other: a quarto folded by halves.

    Colour on 1 and 8 of the first section and on 2 and 7 of the second; both share a sheet.  Both face up both sides
    carry four inks, 8 plates; one of them face down, one side carries four and the other one: 5 plates.
    """
    first = [FOUR, *[BLACK] * 6, FOUR]
    second = [BLACK, FOUR, *[BLACK] * 4, FOUR, BLACK]
    made, _, _ = planned(one_press(), EIGHTS, [*first, *second])
    assert made is not None and (made.sheets, made.plates) == (1, 5)
    assert any("face down" in rule for rule in made.rules)
    held(one_press(), EIGHTS, [*first, *second], None)


def test_a_short_run_is_not_printed_in_more_copies_than_it_wants() -> None:
    """One copy of an 8 on a sheet that takes two: the second would be folded for no book.

    The paper, plates and press are the same either way: one sheet.
    """
    job = Job.model_validate({"sections": {"pages": 8}, "run": {"copies": 1}})
    made, _, _ = planned(one_press(), job, [BLACK] * 8)
    assert made is not None and [run.copies_on for run in made.runs] == [1]
    many, _, _ = planned(one_press(), EIGHTS, [BLACK] * 8)
    assert many is not None and [run.copies_on for run in many.runs] == [2]
    held(one_press(), job, [BLACK] * 8, None)


def test_more_sets_of_inks_than_are_told_apart_are_said() -> None:
    """Twelve sections, each with a spot ink of its own: 2 to the 12 sets of sections are more than are looked at."""
    made, _, one = planned(one_press(), EIGHTS, [("Black", f"Spot {n // 8:02}") for n in range(96)])
    assert made is not None and one is not None
    assert not one.exact and any(MERGED in rule for rule in made.rules)
    # what is printed is what the pages carry all the same: black and one spot for each section of a sheet, both sides
    for run, sheet in zip(made.runs, made.instructions.sheets, strict=True):
        units = {place.position // 8 for place in made.places if place.sheet == run.sheet}
        assert len(units) <= len(sheet.sections)
        assert all(len(inks) <= 1 + len(units) for inks in run.inks)
    few, _, one = planned(one_press(), EIGHTS, [("Black", f"Spot {n // 8:02}") for n in range(56)])
    assert few is not None and one is not None
    assert one.exact and not any(MERGED in rule for rule in few.rules)


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_a_few_of_the_best_are_the_best_of_all(data: st.DataObject) -> None:
    """What is left out because it cannot be among the best would not have been."""
    house = data.draw(houses())
    job, inks, _ = data.draw(books(house))

    def told(most: int | None) -> list[tuple[object, ...]]:
        try:
            made = choose.plans(len(inks), (100.0, 150.0), job, house, title="A book", most=most, inks=inks)
        except NoPlan:
            return []
        return [(plan.cost, [(run.press.name, run.way, run.sheet_mm) for run in plan.runs]) for plan in made]

    assert told(3) == told(None)[:3]
