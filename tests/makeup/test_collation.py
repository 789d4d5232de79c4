# SPDX-License-Identifier: AGPL-3.0-or-later
"""Collation marks of any number of sections: no two alike, all on the spine, all to be told apart by eye."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.binding import panel_for
from foldproof.makeup.candidates import way_of
from foldproof.makeup.choose import plans
from foldproof.makeup.folding import LEFT_TO_RIGHT
from foldproof.makeup.places import collation_for
from foldproof.makeup.shapes import laid
from foldproof.prove.gathering import bind

HOUSE = load_house()
EIGHT = next(way_of(told).main for told in HOUSE.schemes if told.name == "8")


@given(st.floats(60, 400), st.integers(1, 700))
def test_marks_stand_on_the_spine_and_are_told_apart(height_mm: float, sections: int) -> None:
    """Common practice, no source: what an eye tells apart on a spine is half a millimetre and more."""
    panel = panel_for((height_mm / 1.5, height_mm), 3.0, "sewn", HOUSE.allowances)
    mark = collation_for("sewn", panel, [laid(EIGHT, LEFT_TO_RIGHT, panel, True)], sections)
    if mark is None:
        assert sections > 4 * (height_mm * 0.8 - 6)  # four rows of steps a millimetre apart would not hold them
        return
    tops = [(number % mark.steps, number // mark.steps) for number in range(sections)]
    assert len(set(tops)) == sections
    for step, row in (tops[-1], tops[min(sections, mark.steps) - 1]):
        assert mark.first_mm + step * mark.step_mm + mark.length_mm <= height_mm - mark.first_mm + 1e-6
        part = (mark.length_mm - row * mark.gap_mm) / (row + 1)
        assert part >= 0.7 and (row == 0 or mark.gap_mm >= 0.5)
    assert mark.step_mm >= 1.0 or mark.steps == 1


@pytest.mark.parametrize("pages", [2415, 4000])
def test_the_proof_takes_the_marks_of_a_book_of_hundreds_of_sections(pages: int) -> None:
    job = Job.model_validate({"sections": {"pages": 8}, "paper": {"stock": "Wick Bible 40"}})
    plan = plans(pages, (215.9, 279.4), job, HOUSE, title="x", most=1)[0]
    assert plan.instructions.collation is not None and len(plan.sections) > 300
    assert bind(plan.instructions).troubles == ()
