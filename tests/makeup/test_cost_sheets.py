# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many sheets are wanted: against tests/handbook/waste.toml, and by running the sheets forwards."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.job.covering import allowances_for
from foldproof.job.load import load_house
from foldproof.job.model import Allowances, Binding, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.cost_sheets import books_fed, exact, half_up, sheets_needed
from tests.conftest import SHARED

FACTS: dict[str, dict[str, Any]] = {
    fact["id"]: fact
    for fact in tomllib.loads((Path(__file__).parents[1] / "handbook" / "waste.toml").read_text("utf-8"))["check"]
}
CLEAN = Allowances()


def figures(name: str) -> tuple[dict[str, int], dict[str, int]]:
    return FACTS[name]["inputs"], FACTS[name]["outputs"]


def come_out(
    sheets: int, copies_on: int, binding: Binding, spoils: Allowances, presses: list[int], folder: int
) -> Fraction:
    """Books from so many sheets, run forwards, operation after operation, with per cents as they are written."""

    def keep(number: Fraction, per_cent: float) -> Fraction:
        return number - number * Fraction(Decimal(repr(per_cent))) / 100

    number = Fraction(sheets)
    for set_up in presses:
        number = keep(number - set_up, spoils.spoil_press)
    if binding == "leaflet":
        number = keep(number, spoils.spoil_trimming)
    number = keep(number - folder, spoils.spoil_folding) * copies_on
    if binding == "leaflet":
        return number
    number = keep(number, spoils.spoil_gathering)
    if binding == "sewn":
        number = keep(number, spoils.spoil_sewing)
    return keep(keep(number, spoils.spoil_trimming), spoils.spoil_casing)


@pytest.mark.parametrize("name", FACTS)
def test_the_figure_stands_in_the_handbook(name: str) -> None:
    handbook = SHARED / "handbook" / "handbook.toml"
    if not handbook.exists():
        pytest.skip(f"{handbook} is not here")
    entry = {entry["id"]: entry for entry in tomllib.loads(handbook.read_text("utf-8"))["check"]}[name]
    for key in ("inputs", "outputs", "read", "url"):
        assert FACTS[name].get(key) == entry.get(key)
    assert entry["source"].lower().startswith(FACTS[name]["source"].lower())


def test_a_form_of_half_a_sheet_wants_half_the_sheets() -> None:
    """sheets-formula."""
    given_, wanted = figures("sheets-formula")
    copies_on = given_["sheet_pages"] // given_["form_pages"]
    assert sheets_needed(given_["copies"], copies_on, "sewn", CLEAN).net == wanted["sheets"]
    assert sheets_needed(given_["copies"] + 1, copies_on, "sewn", CLEAN).net == wanted["sheets"] + 1


def test_work_and_turn_halves_the_sheets() -> None:
    """imp-wat-halves."""
    given_, wanted = figures("imp-wat-halves")
    assert sheets_needed(given_["copies"], given_["units_per_sheet"], "sewn", CLEAN).net == wanted["press_sheets_net"]


def test_folding_is_set_up_by_a_count_and_spoils_by_the_hundred() -> None:
    """waste-fold: of 10000 sheets that run 110 are spoilt, so 9890 come out; 40 more set the folder."""
    given_, wanted = figures("waste-fold")
    spoils = Allowances(spoil_folding=1.1)
    left = given_["sheets"] - wanted["running"]
    sheets = sheets_needed(left, 1, "sewn", spoils, folder_set_up=wanted["setup"])
    assert sheets.gross == sheets.folding == given_["sheets"] + wanted["setup"]
    assert sheets_needed(left + 1, 1, "sewn", spoils, folder_set_up=wanted["setup"]).gross > sheets.gross


def test_the_press_is_set_up_by_a_count_and_spoils_by_the_hundred() -> None:
    """waste-press: of 2500 sheets that run 92.5 are spoilt, rounded up 93; 2407 good ones are left."""
    given_, wanted = figures("waste-press")
    spoils = Allowances(spoil_press=3.7)
    left = given_["sheets"] - wanted["running"]
    laid_on = given_["sheets"] + wanted["setup"]
    assert sheets_needed(left, 1, "sewn", spoils, press_set_ups=[wanted["setup"]]).gross == laid_on
    assert sheets_needed(left + 1, 1, "sewn", spoils, press_set_ups=[wanted["setup"]]).gross > laid_on


def test_the_press_spoils_in_every_pass() -> None:
    """waste-3pc takes its part of what comes out, 60; of what goes in it is 1000 / 0.97 / 0.97 = 1062.8, so 63."""
    given_, wanted = figures("waste-3pc")
    sheets = sheets_needed(given_["net"], 1, "sewn", Allowances(spoil_press=3.0), press_set_ups=[0] * given_["passes"])
    assert (sheets.net, sheets.gross) == (1000, 1063)
    assert wanted["extra"] <= sheets.gross - sheets.net < wanted["extra"] * 1.1


@pytest.mark.parametrize("name", ["waste-custom", "waste-5pc"])
def test_what_is_delivered_is_never_short_and_within_the_custom(name: str) -> None:
    given_, wanted = figures(name)
    spoils = load_house(None).allowances
    for copies_on in (1, 2, 4):
        gross = sheets_needed(
            given_["ordered"], copies_on, "sewn", spoils, press_set_ups=[240, 240], folder_set_up=20
        ).gross
        out = come_out(gross, copies_on, "sewn", spoils, [240, 240], 20)
        assert wanted["min"] < given_["ordered"] <= out < wanted["max"]


@settings(max_examples=300, deadline=None)
@given(
    copies=st.integers(1, 200_000),
    copies_on=st.integers(1, 16),
    binding=st.sampled_from(get_args(Binding)),
    spoilt=st.lists(st.integers(0, 499), min_size=6, max_size=6),
    presses=st.lists(st.integers(0, 700), max_size=4),
    folder=st.integers(0, 60),
)
def test_enough_books_come_out_and_with_a_sheet_less_too_few(
    copies: int, copies_on: int, binding: Binding, spoilt: list[int], presses: list[int], folder: int
) -> None:
    """waste-chain backwards against the operations forwards: the gross is the least number that does."""
    names = ("spoil_press", "spoil_folding", "spoil_gathering", "spoil_sewing", "spoil_trimming", "spoil_casing")
    spoils = Allowances(**{name: tenths / 10 for name, tenths in zip(names, spoilt, strict=True)})
    gross = sheets_needed(copies, copies_on, binding, spoils, press_set_ups=presses, folder_set_up=folder).gross
    assert come_out(gross, copies_on, binding, spoils, presses, folder) >= copies
    assert come_out(gross - 1, copies_on, binding, spoils, presses, folder) < copies


def test_each_operation_spoils_only_the_books_that_go_through_it() -> None:
    spoils = Allowances(spoil_gathering=10.0, spoil_sewing=20.0, spoil_trimming=50 - 10.0)
    # 720 / 0.6 = 1200 into the trimmer; / 0.8 = 1500 into the sewer; / 0.9 = 1666 2/3 into the gatherer
    sewn = books_fed(720, "sewn", spoils)
    assert (sewn.trimmed, sewn.sewn, sewn.gathered) == (1200, 1500, Fraction(5000, 3))
    # no sewing: 1200 / 0.9 = 1333 1/3
    glued = books_fed(720, "glued", spoils)
    assert (glued.trimmed, glued.sewn, glued.gathered) == (1200, 1200, Fraction(4000, 3))
    leaflet = books_fed(720, "leaflet", spoils)
    assert (leaflet.trimmed, leaflet.sewn, leaflet.gathered) == (1200, 1200, 1200)


def test_casing_in_spoils_books_that_get_a_case_alone() -> None:
    """The last operation of all: 900 / 0.9 = 1000 into casing-in, / 0.8 = 1250 into the trimmer (waste-chain)."""
    spoils = Allowances(spoil_trimming=20.0, spoil_casing=10.0)
    assert (books_fed(900, "glued", spoils).cased, books_fed(900, "glued", spoils).trimmed) == (1000, 1250)
    assert books_fed(900, "leaflet", spoils).trimmed == 1125  # bound by nothing, cased in nothing
    house = load_house(None)
    for binding, kind, spoilt in (
        ("sewn", None, 0.5),  # what custom gives them: common practice, no source
        ("glued", None, 0.0),
        ("stitched", None, 0.0),
        ("leaflet", None, 0.0),
        ("sewn", "paper", 0.0),
        ("glued", "case", 0.5),
    ):
        job = Job.model_validate({"book": {"binding": binding}, "cover": {"kind": kind}})
        assert allowances_for(job, house).spoil_casing == spoilt, (binding, kind)
        assert allowances_for(job, house).spoil_trimming == house.allowances.spoil_trimming


def test_a_plan_buys_the_paper_that_casing_in_spoils() -> None:
    house = load_house(None)
    bought = {}
    for kind in ("case", "paper"):
        job = Job.model_validate({"book": {"binding": "sewn"}, "cover": {"kind": kind}, "run": {"copies": 10_000}})
        plan = plans(64, (140.0, 216.0), job, house, title="A book", most=1)[0]
        bought[kind] = sum(run.gross_sheets * run.copies_on for run in plan.runs) / len(plan.runs)
    # half a per cent of 10,000, and of what is spoilt before them: 10,000 / 0.995 - 10,000 = 50.3 and a few more
    assert 50 <= bought["case"] - bought["paper"] <= 60


def test_numbers_are_taken_as_they_are_written() -> None:
    assert exact(4.35) == Fraction(435, 100)
    assert exact(1e-05) == Fraction(1, 100_000)
    assert [half_up(Fraction(n, 1000), 2) for n in (4, 5, 12345, 12344)] == [0, 1, 1235, 1234]


def test_no_run_and_no_sheet_are_refused() -> None:
    with pytest.raises(ValueError, match="0 copies"):
        sheets_needed(0, 1, "sewn", CLEAN)
    with pytest.raises(ValueError, match="0 copies of its sections"):
        sheets_needed(1, 0, "sewn", CLEAN)
