# SPDX-License-Identifier: AGPL-3.0-or-later
"""Operation by operation: the chain holds, by itself and against the sheets that the plan buys."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.job.load import load_house
from foldproof.job.model import Allowances, House, Job
from foldproof.makeup.plan import FoldedAlike, Plan, Press, SheetRun
from foldproof.quantities.counts import counts, sheet_chain
from foldproof.quantities.model import Count
from tests.handbook.facts import HERE
from tests.quantities.made import HOUSE, job_of, plan_of, usual

WASTE: dict[str, dict[str, Any]] = {
    fact["id"]: fact for fact in tomllib.loads((HERE / "waste.toml").read_text("utf-8"))["check"]
}
BINDINGS = ("sewn", "glued", "stitched", "leaflet")


def holds(made: tuple[Count, ...], plan: Plan) -> None:
    """Every line adds up, and what comes out of one goes into the next, from the pile to the packed copies."""
    for count in made:
        assert count.goes_in - count.set_up - count.spoil == count.comes_out, count
        assert min(count.set_up, count.spoil, count.comes_out) >= 0, count
    books = [count for count in made if not count.sheets and count.bench != "case"]
    for run in plan.runs:
        mine = [count for count in made if count.sheets == (run.sheet,)]
        assert mine[0].goes_in == run.gross_sheets * (run.copies_on if mine[0].bench == "folding" else 1)
        for one, after in pairwise(mine):
            assert one.comes_out * after.copies_on == after.goes_in, (one, after)
        assert mine[-1].bench == "folding" and mine[-1].comes_out == books[0].goes_in
    for one, after in pairwise(books):
        assert one.comes_out == after.goes_in, (one, after)
    assert books[-1].bench == "packing" and books[-1].comes_out == plan.run_copies
    cases = [count for count in made if count.bench == "case"]
    assert [count.comes_out for count in cases] == [c.goes_in for c in made if c.bench == "casing-in"]


@pytest.mark.parametrize("binding", BINDINGS)
def test_what_comes_out_of_one_goes_into_the_next(binding: str) -> None:
    plan, job = usual(binding)
    holds(counts(plan, job, HOUSE), plan)


@pytest.mark.parametrize("kind", ["case", "paper", "none"])
@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched"])
def test_the_chain_holds_whatever_goes_round_the_book(binding: str, kind: str) -> None:
    job = job_of(binding, 777, cover={"kind": kind})
    plan = plan_of(32, job)
    made = counts(plan, job, HOUSE)
    holds(made, plan)
    benches = [count.bench for count in made if not count.sheets]
    assert ("casing-in" in benches) == ("case" in benches) == (kind == "case")
    assert benches[0] == "gathering" and ("stitching" in benches) == (binding == "stitched")
    assert ("sewing" in benches) == (binding == "sewn") and ("gluing" in benches) == (binding == "glued")


@settings(max_examples=80, deadline=None)
@given(
    copies=st.integers(1, 100_000),
    copies_on=st.integers(1, 16),
    binding=st.sampled_from(BINDINGS),
    cased=st.booleans(),
    spoilt=st.lists(st.integers(0, 499), min_size=6, max_size=6),
    formes=st.lists(st.integers(0, 2), max_size=4),
    press_sheets=st.integers(0, 700),
    folder_sheets=st.integers(0, 60),
    pieces=st.lists(st.integers(1, 12), min_size=1, max_size=3),
)
def test_the_chain_holds_whatever_is_spoilt(
    copies: int, copies_on: int, binding: str, cased: bool, spoilt: list[int], formes: list[int], press_sheets: int,
    folder_sheets: int, pieces: list[int],
) -> None:  # fmt: skip
    names = ("spoil_press", "spoil_folding", "spoil_gathering", "spoil_sewing", "spoil_trimming", "spoil_casing")
    spoils = Allowances(**{name: tenths / 10 for name, tenths in zip(names, spoilt, strict=True)})
    house = shop(spoils, press_sheets, folder_sheets)
    run = a_run(copies_on, tuple(formes), tuple(pieces))
    usual_plan, _ = usual(binding)
    job = job_of(binding, copies, cover={"kind": "case" if cased else "paper"})
    # the plan's own gross, by the same house: what the first operation takes
    allowed = house.allowances if cased and binding != "leaflet" else spoils.model_copy(update={"spoil_casing": 0.0})
    gross = sheet_chain(run, copies, binding, house, allowed).first
    plan = plan_with(usual_plan, run, gross, copies)
    holds(counts(plan, job, house), plan)
    # forwards, in exact fractions: enough come out
    number = Fraction(gross)
    for forme in formes:
        number = (number - forme * press_sheets) * (1 - Fraction(spoilt[0], 1000))
    set_up = max(-(-folder_sheets // count) for count in pieces)
    if binding == "leaflet":
        number *= 1 - Fraction(spoilt[4], 1000)
    number = (number - set_up) * (1 - Fraction(spoilt[1], 1000)) * copies_on
    if binding != "leaflet":
        for nth in (2, *((3,) if binding == "sewn" else ()), 4, *((5,) if cased else ())):
            number *= 1 - Fraction(spoilt[nth], 1000)
    assert number >= copies


def shop(spoils: Allowances, press_sheets: int, folder_sheets: int) -> House:
    press = HOUSE.presses[0].model_copy(update={"make_ready_sheets": press_sheets})
    folder = HOUSE.folders[0].model_copy(update={"make_ready_sheets": folder_sheets})
    return HOUSE.model_copy(update={"presses": (press,), "folders": (folder,), "allowances": spoils})


def a_run(copies_on: int, formes: tuple[int, ...], pieces: tuple[int, ...]) -> SheetRun:
    return SheetRun(
        sheet=1, press=Press(HOUSE.presses[0].name, 10, 5, 5), way="two formes", stock="told", grammage=90,
        caliper_mm=0.1, grain="long", grain_along_spine=True, sheet_mm=(1000, 700), copies_on=copies_on,
        inks=(("Black",), ("Black",)), folder=HOUSE.folders[0].name, net_sheets=1, gross_sheets=1, formes=formes,
        pieces=tuple(FoldedAlike(HOUSE.folders[0].name, "16", count, 1) for count in pieces),
    )  # fmt: skip


def plan_with(plan: Plan, run: SheetRun, gross: int, copies: int) -> Plan:
    return evolve(plan, runs=(evolve(run, gross_sheets=gross),), run_copies=copies)


# --- against published figures ----------------------------------------------------------------------------------------


def the_folder(spoil: float, sheets: int, copies: int) -> Count:
    house = shop(Allowances(spoil_folding=spoil), 0, sheets)
    plan, _ = usual("glued")
    made = counts(plan_with(plan, a_run(1, (), (1,)), 0, copies), job_of("glued", copies), house)
    return next(count for count in made if count.bench == "folding")


def test_a_folder_spoils_by_the_hundred_and_is_set_by_a_count() -> None:
    """waste-fold: of 10000 that run 110 are spoilt; 40 more set the folder."""
    sheets, wanted = WASTE["waste-fold"]["inputs"]["sheets"], WASTE["waste-fold"]["outputs"]
    count = the_folder(1.1, wanted["setup"], sheets - wanted["running"])
    assert (count.set_up, count.spoil) == (wanted["setup"], wanted["running"])
    assert count.goes_in == sheets + wanted["setup"]


def test_a_press_spoils_by_the_hundred_and_is_set_by_a_count() -> None:
    """waste-press: of 2500 that run 92.5 are spoilt, 93 of whole sheets; 220 more get two colours right."""
    sheets, wanted = WASTE["waste-press"]["inputs"]["sheets"], WASTE["waste-press"]["outputs"]
    house = shop(Allowances(spoil_press=3.7), wanted["setup"], 0)
    plan, _ = usual("glued")
    copies = sheets - wanted["running"]
    made = counts(plan_with(plan, a_run(1, (1,), (1,)), 0, copies), job_of("glued", copies), house)
    press = made[0]
    assert (press.bench, press.goes_in) == ("press", sheets + wanted["setup"])
    assert (press.set_up, press.spoil) == (wanted["setup"], wanted["running"])


def test_half_a_sheet_is_printed_half_as_often() -> None:
    """imp-wat-halves, sheets-formula: nothing spoilt, two copies of each section on a sheet."""
    house = shop(Allowances(), 0, 0)
    plan, _ = usual("sewn")
    for fact, net in (("imp-wat-halves", "press_sheets_net"), ("sheets-formula", "sheets")):
        asked, wanted = WASTE[fact]["inputs"], WASTE[fact]["outputs"][net]
        copies = asked["copies"]
        on = asked.get("units_per_sheet") or asked["sheet_pages"] // asked["form_pages"]
        made = counts(plan_with(plan, a_run(on, (1, 0), (on,)), 0, copies), job_of("sewn", copies), house)
        assert made[0].bench == "press" and made[0].goes_in == wanted
        assert (made[1].bench, made[1].goes_in, made[1].copies_on) == ("folding", wanted * on, on)


def test_a_job_run_backwards_by_hand() -> None:
    """waste-chain on the shipped house: 1500 sewn and cased books of 150 pages (as tests/makeup/test_cost_by_hand.py).

    1500 / 0.995 = 1507.54 into casing-in, / 0.996 = 1513.59 into trimming, / 0.995 = 1521.20 into sewing, / 0.994 =
    1530.38 into gathering; of sheet 1, six pieces, / 0.989 + 7 = 1554.40 at the folder, / 0.97 + 560 = 2162.48.
    """
    plan, job = usual("sewn")
    made = {(count.bench, count.sheets): count for count in counts(plan, job, HOUSE)}
    told_in = {bench: made[bench, ()].goes_in for bench in ("gathering", "sewing", "trimming", "casing-in", "packing")}
    assert told_in == {"gathering": 1531, "sewing": 1522, "trimming": 1514, "casing-in": 1508, "packing": 1500}
    assert made["folding", (1,)].goes_in == 1555 and made["folding", (1,)].set_up == 7
    assert made["press", (1,)].goes_in == 2163 and made["press", (1,)].set_up == 560
    assert made["folding", (2,)].goes_in == 2 * ceil(Fraction(1530380, 2000) / Fraction(989, 1000) + 7)


def test_a_house_that_states_no_waste_buys_what_it_binds() -> None:
    house = load_house(None).model_copy(update={"allowances": Allowances()})
    job = Job.model_validate({"run": {"copies": 100}})
    plan = plan_of(16, job, house)
    for count in counts(plan, job, house):
        assert count.spoil == 0
