# SPDX-License-Identifier: AGPL-3.0-or-later
"""Minutes at each bench: against the hours that the plan's cost is made of, and by hand."""

from __future__ import annotations

import pytest

from foldproof.quantities.model import TimeNeed
from foldproof.quantities.time import times
from tests.quantities.made import HOUSE, finished, job_of, usual

#: lines of the cost, and the bench and part of its time that they are paid for
PAID = {
    "make-ready": ("press", "make_ready_min"),
    "press time": ("press", "run_min"),
    "folding": ("folding", "minutes"),
    "gathering": ("gathering", "minutes"),
    "stitching": ("stitching", "minutes"),
    "sewing": ("sewing", "minutes"),
}


@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched", "leaflet"])
def test_the_minutes_are_the_hours_that_are_paid_for(binding: str) -> None:
    """The cost is held by hand in tests/makeup/test_cost_by_hand.py; it and the times are reckoned apart."""
    plan, job = usual(binding)
    made = times(plan, job, HOUSE)
    assert plan.cost is not None
    for what, (bench, part) in PAID.items():
        hours = sum(line.quantity for line in plan.cost.lines if line.what == what)
        minutes = sum(getattr(need, part) for need in made if need.bench == bench)
        assert minutes == pytest.approx(60 * hours), what
    assert len({(need.bench, need.machine) for need in made}) == len(made)


def of(made: tuple[TimeNeed, ...], bench: str) -> TimeNeed:
    return next(need for need in made if need.bench == bench)


def test_cases_and_casing_in_by_hand() -> None:
    """1508 cases at 900 an hour, 1508 books at 1200."""
    plan, job = usual("sewn")
    made = times(plan, job, HOUSE)
    assert of(made, "case").run_min == pytest.approx(1508 / 900 * 60)
    assert of(made, "casing-in").run_min == pytest.approx(1508 / 1200 * 60)
    assert "12 h in the press" in of(made, "casing-in").says
    assert of(made, "trimming").run_min == pytest.approx(1514 / 1200 * 60)  # the Weaver's trimmer, by itself
    paper = times(plan, job_of("sewn", cover={"kind": "paper"}), HOUSE)
    assert not {"case", "casing-in"} & {need.bench for need in paper}


def test_glued_and_stitched_books_are_trimmed_in_line_unless_the_house_says_more() -> None:
    """Common practice, no source."""
    plan, job = usual("glued")
    made = times(plan, job, HOUSE)
    assert not [need for need in made if need.bench == "trimming"] and "in line" in of(made, "gathering").says
    lines = tuple(line.model_copy(update={"trimmed_per_hour": 2000}) for line in HOUSE.lines)
    apart = times(plan, job, HOUSE.model_copy(update={"lines": lines}))
    assert of(apart, "trimming").run_min == pytest.approx(1507 / 2000 * 60)
    assert "in line" not in of(apart, "gathering").says


def test_a_speed_that_is_not_stated_is_not_made_up() -> None:
    plan, job = usual("sewn")
    slow = HOUSE.model_copy(
        update={
            "presses": tuple(press.model_copy(update={"sheets_per_hour": None}) for press in HOUSE.presses),
            "folders": tuple(folder.model_copy(update={"sheets_per_hour": None}) for folder in HOUSE.folders),
            "lines": (),
        }
    )
    made = times(plan, job, finished(slow, cases_per_hour=None, casing_per_hour=None))
    assert {need.run_min for need in made} == {None}
    assert all(need.minutes is None and "states no speed" in need.says for need in made)
    assert of(made, "press").make_ready_min == 3 * 20  # the Beacon's formes all the same
