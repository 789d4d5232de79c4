# SPDX-License-Identifier: AGPL-3.0-or-later
"""Signatures, counts of sections and collation marks against published facts (tests/handbook/signatures.toml)."""

from __future__ import annotations

import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.makeup.sections import SHORT_SIZES, Unit, divide
from foldproof.makeup.signatures import leaf_signature, signature_letters
from foldproof.units import pt_to_mm
from tests.handbook.facts import given, told

HOUSE = load_house(None)


def _planned(pages: int, section: int, trim: tuple[float, float] = (140.0, 216.0)) -> Plan:
    job = Job.model_validate({"sections": {"pages": section}})
    return plans(pages, trim, job, HOUSE, title="A book", most=1)[0]


def test_letters_and_their_doubling() -> None:
    """sig-carter, sig-brewer: A to Z without J, U and W, then 2A, then 3A."""
    alphabet = told("sig-carter")["alphabet"]
    letters = signature_letters(3 * len(alphabet))
    assert "".join(letters[:23]) == alphabet
    assert letters[23] == told("sig-brewer")["double"] and letters[46] == told("sig-brewer")["treble"]
    assert len(set(letters)) == len(letters)


def test_figures() -> None:
    """sig-numerals."""
    assert list(signature_letters(3, "figures")) == told("sig-numerals")["first"]


def test_marks_on_the_leaves_of_the_first_half() -> None:
    """sig-leaves: leaves 1, 2, 3 are pages 1, 3, 5; sig-second: the third page carries letter and 2."""
    pages = told("sig-leaves")["pages"]
    assert len(pages) == given("sig-leaves")["leaves_signed"]
    marks = {page: leaf_signature("B", (page + 1) // 2) for page in pages}
    assert marks == {1: "B", 3: "B2", 5: "B3"}
    fact = told("sig-second")
    assert [leaf_signature(letter, (fact["page"] + 1) // 2) for letter in "BC"] == fact["marks"]


@pytest.mark.parametrize(("section", "first"), [(16, told("sig-figure")["first_pages"]), (32, [1, 33, 65])])
def test_first_page_of_each_section(section: int, first: list[int]) -> None:
    """sig-figure: s (n - 1) + 1; for 32s in the handbook's words."""
    plan = _planned(section * len(first), section)
    assert [one.first + 1 for one in plan.sections] == first
    assert [one.pages for one in plan.sections] == [section] * len(first)


@pytest.mark.parametrize(("section", "count"), [(32, "in_32"), (16, "in_16")])
def test_how_many_sections_a_book_has(section: int, count: str) -> None:
    """section-count."""
    division = divide(given("section-count")["pages"], Unit((section,)), SHORT_SIZES)
    assert len(division.units) == told("section-count")[count]
    assert len(_planned(given("section-count")["pages"], section).sections) == told("section-count")[count]


# --- collation --------------------------------------------------------------------------------------------------------


def _tops(plan: Plan) -> list[float]:
    """How far below the head trim the mark of each section begins, mm."""
    mark = plan.instructions.collation
    assert mark is not None
    return [mark.first_mm + (unit % mark.steps) * mark.step_mm for unit in range(len(plan.sections))]


def test_marks_step_down_the_spine() -> None:
    """collate-step: each a step below the last, and a step no less than the mark is long, so that no two cover."""
    plan = _planned(16 * given("collate-step")["sections"], 16)
    mark = plan.instructions.collation
    # a section that stands on its sheet more than once has its mark on every copy
    assert mark is not None and len({bar.unit for bar in plan.bars}) == given("collate-step")["sections"]
    steps = {round(below - above, 6) for above, below in zip(_tops(plan), _tops(plan)[1:], strict=False)}
    assert steps == {round(mark.step_mm, 6)} and mark.step_mm >= mark.length_mm
    # ten steps of theirs run 240 pt down the spine; ours run as many of our own
    ours, theirs = _tops(plan)[-1] - _tops(plan)[0] + mark.step_mm, told("collate-step")["run_pt"]
    assert ours / mark.step_mm == pytest.approx(theirs / given("collate-step")["step_pt"])


def test_the_mark_is_a_six_point_rule() -> None:
    """collate-6pt, collate-step: 6 pt thick; ours 2 mm across the crease of a sewn section, a ninth of a point off."""
    mark = _planned(64, 16).instructions.collation
    assert mark is not None
    assert mark.width_mm == pytest.approx(pt_to_mm(told("collate-6pt")["thick_pt"]), abs=0.12)
    assert told("collate-6pt")["thick_pt"] == given("collate-step")["thick_pt"]


@pytest.mark.parametrize("height", [148.0, 216.0, 230.0, 297.0])
def test_steps_to_a_run_fill_the_spine_and_begin_again_at_the_head(height: float) -> None:
    """collate-wrap: whole steps that go into the height; ours between the margins at head and foot."""
    fact = given("collate-wrap")
    assert fact["height_mm"] // pt_to_mm(fact["step_pt"]) == told("collate-wrap")["steps"]
    plan = _planned(16 * 60, 16, (100.0, height))
    mark = plan.instructions.collation
    assert mark is not None
    room = height - 2 * mark.first_mm
    assert mark.steps == (room + 1e-6) // mark.step_mm
    tops = _tops(plan)
    assert tops[mark.steps] == tops[0] == mark.first_mm
    assert max(tops) + mark.length_mm <= height - mark.first_mm + 1e-6
