# SPDX-License-Identifier: AGPL-3.0-or-later
"""Thickness of sections, block and spine against published figures (tests/handbook) and by hand."""

from __future__ import annotations

from math import asin, cos, pi, radians, sin, sqrt

import pytest
from attrs import evolve

from foldproof.errors import AskedWrong
from foldproof.job.model import Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.book import arc_height_mm
from foldproof.quantities.cover_kind import cover_kind
from foldproof.quantities.model import Thickness
from foldproof.quantities.thickness import arc_mm, leaf_mm, swell_mm, thickness
from foldproof.units import inch_to_mm, mm_to_inch
from tests.handbook.facts import given, told
from tests.quantities.made import HOUSE, finished, job_of, plan_of, usual


def on_paper(plan: Plan, pages: int, caliper_mm: float) -> Plan:
    """The first so many pages of a plan, every leaf of that caliper."""
    sheets = tuple(evolve(sheet, caliper_mm=caliper_mm) for sheet in plan.instructions.sheets)
    return evolve(
        plan,
        places=plan.places[:pages],
        caliper_mm=caliper_mm,
        instructions=evolve(plan.instructions, sheets=sheets),
    )


@pytest.fixture(scope="module")
def glued() -> Plan:
    return plan_of(256, job_of("glued", paper={"stock": "Wick Thin 60"}))


def block_of(plan: Plan, pages: int, caliper_mm: float) -> Thickness:
    return thickness(on_paper(plan, pages, caliper_mm), job_of("glued"), HOUSE)


def test_a_leaf_is_grammage_times_bulk(glued: Plan) -> None:
    """bulk-formula, bulk-80-1.5 (the source prints 4 mm; its own figures give 6.0)."""
    for fact in ("bulk-formula", "bulk-80-1.5"):
        figures, wanted = given(fact), told(fact)
        leaf = leaf_mm(figures["gsm"], figures["volume"])
        assert leaf == pytest.approx(wanted.get("leaf_mm", 0.09))
        block = block_of(glued, figures["pages"], leaf).block_mm
        assert block == pytest.approx(wanted.get("block_mm", wanted.get("mm")))
    assert told("bulk-80-1.5")["block_mm"] == 6.0


def test_blocks_in_inches(glued: Plan) -> None:
    """spine-128: pages / 2 x caliper; ppi-caliper: so many pages to the inch, within the table's 1 per cent."""
    figures, wanted = given("spine-128"), told("spine-128")
    made = block_of(glued, figures["pages"], inch_to_mm(figures["caliper_in"]))
    assert made.leaves == figures["pages"] / 2
    assert mm_to_inch(made.block_mm) == pytest.approx(wanted["in"])
    assert mm_to_inch(made.spine_mm) == pytest.approx(wanted["in"])  # a paper cover: the block alone
    assert round(mm_to_inch(made.spine_mm) * 32) / 32 == wanted["rounded_in"]
    table = told("ppi-caliper")
    for mil, ppi in zip(table["caliper_mil"], table["ppi"], strict=True):
        made = block_of(glued, 240, inch_to_mm(mil / 1000))
        assert mm_to_inch(made.block_mm) * ppi / 240 == pytest.approx(1, rel=0.01)


def test_a_case_adds_to_the_spine(glued: Plan) -> None:
    """hard-spine-add: pages / 2 x caliper and what the house adds, there 1/8 in."""
    figures = given("hard-spine-add")
    plan = on_paper(glued, figures["pages"], inch_to_mm(figures["caliper_in"]))
    job = job_of("glued", cover={"kind": "case", "endpapers": "none"})
    made = thickness(plan, job, finished(lining=inch_to_mm(figures["case_in"])))
    assert mm_to_inch(made.spine_mm) == pytest.approx(told("hard-spine-add")["in"])
    assert made.arc_mm == made.spine_mm


def test_every_leaf_has_the_caliper_of_its_own_sheet() -> None:
    """An insert on other paper: 152 leaves in all are reckoned leaf by leaf, by the sheet that each stands on."""
    job = job_of("sewn", insert=[{"first_page": 65, "pages": 16, "stock": "Glaze Silk 135"}])
    plan = plan_of(150, job)
    made = thickness(plan, job, HOUSE)
    plates = [s for s in made.sections if s.paper_mm == pytest.approx(8 * 0.122)]  # caliper as the house states it
    assert [s.leaves for s in plates] == [8]
    text = made.leaves - 8
    assert made.block_mm == pytest.approx(8 * 0.122 + text * 90 * 1.3 / 1000)  # 90 g/m2 of bulk 1.3
    assert made.block_mm == pytest.approx(plan.bulk_mm)
    assert sum(s.paper_mm for s in made.sections) == pytest.approx(made.block_mm)
    assert [s.number for s in made.sections] == list(range(1, len(plan.sections) + 1))


def test_the_back_holds_a_thread_for_each_section() -> None:
    """sew-threads; sew-two-on: half as many threads, half the swell."""
    sections = given("sew-two-on")["sections"]
    threads = told("sew-two-on")
    all_along = swell_mm(threads["threads_all_along"], 0.3, 0.5, 1.0)
    assert all_along == pytest.approx(sections * 0.15)  # as pressed, none of it nipped away
    assert swell_mm(threads["threads_two_on"], 0.3, 0.5, 1.0) == pytest.approx(all_along / 2)
    plan, job = usual("sewn")
    made = thickness(plan, job, finished(thread=0.4, thread_pressed=0.5, swell_left=0.25))
    assert made.swell_mm == pytest.approx(len(plan.sections) * 0.4 * 0.5 * 0.25)
    assert thickness(*usual("glued"), HOUSE).swell_mm == 0


def test_the_spine_of_a_case_by_hand() -> None:
    """150 pages and 2 blanks on 90 g/m2 of bulk 1.3, ten sections, as the shipped house binds."""
    plan, job = usual("sewn")
    made = thickness(plan, job, HOUSE)
    assert (made.leaves, len(made.sections)) == (76, 10)
    assert made.block_mm == pytest.approx(76 * 0.117)  # 8.892
    assert made.endpapers_mm == pytest.approx(4 * 0.117)  # two folded sheets of two leaves, of the text's paper
    assert made.swell_mm == pytest.approx(10 * 0.3 * 0.5 * 0.5)
    assert made.lining_mm == 0.5
    assert made.spine_mm == pytest.approx(8.892 + 0.468 + 0.75 + 0.5)
    assert made.arc_mm == made.spine_mm  # flat
    assert any("10.61 mm" in line for line in made.says)


@pytest.mark.parametrize("endpapers", ["separate", "self", "none"])
def test_only_separate_endpapers_lie_between_block_and_boards(endpapers: str) -> None:
    plan, _ = usual("sewn")
    job = job_of("sewn", cover={"endpapers": endpapers, "endpaper_stock": "Glaze Silk 135"})
    made = thickness(plan, job, HOUSE)
    assert made.endpapers_mm == pytest.approx(4 * 0.122 if endpapers == "separate" else 0)
    assert any(line.startswith("Endpapers:") for line in made.says)


def test_a_paper_cover_goes_round_block_and_swell() -> None:
    plan, _ = usual("sewn")
    made = thickness(plan, job_of("sewn", cover={"kind": "paper"}), HOUSE)
    assert (made.endpapers_mm, made.lining_mm) == (0, 0)
    assert made.spine_mm == pytest.approx(made.block_mm + made.swell_mm)


@pytest.mark.parametrize("binding", ["stitched", "leaflet"])
def test_what_is_folded_once_has_no_flat_spine(binding: str) -> None:
    """Common practice, no source."""
    made = thickness(*usual(binding), HOUSE)
    assert made.block_mm > 0 and (made.spine_mm, made.arc_mm) == (0, 0)


# --- rounded spines ---------------------------------------------------------------------------------------------------


def test_a_rounded_spine_is_as_wide_as_its_arc() -> None:
    """case-arc: 1.2092 chords at 120 degrees; and by the radius, of which the chord is root 3 then (geometry)."""
    assert arc_mm(1.0, 120) == pytest.approx(told("case-arc")["exact_120"], abs=5e-5)
    radius = 20 / sqrt(3)
    assert arc_mm(20.0, 120) == pytest.approx(radius * 2 * pi / 3)
    assert arc_height_mm(20.0, 120) == pytest.approx(radius * (1 - cos(pi / 3)))
    plan, _ = usual("sewn")
    made = thickness(plan, job_of("sewn", cover={"rounding": "rounded"}), HOUSE)
    assert made.arc_mm == pytest.approx(made.spine_mm * told("case-arc")["exact_120"], rel=1e-4)


@pytest.mark.parametrize("angle", [20, 90, 120, 150])
def test_an_arc_made_of_many_short_lines_is_as_long(angle: float) -> None:
    """The circle drawn as 20,000 chords (geometry)."""
    radius = 10.0
    chord = 2 * radius * sin(radians(angle) / 2)
    steps = 20_000
    length = steps * 2 * radius * sin(radians(angle) / 2 / steps)
    assert arc_mm(chord, angle) == pytest.approx(length, rel=1e-8)
    assert 2 * asin(chord / 2 / radius) == pytest.approx(radians(angle))


def test_strips_over_a_rounded_and_a_backed_spine() -> None:
    """case-rounded: of a bulk of 13/16 in the rounded strip is .95 in, which is an arc of about 109 degrees; the backed
    one, 1.18 in, is that arc over shoulders of a board each side.  A board of .098 in (2.5 mm): common practice, no
    source."""
    bulk, wanted = inch_to_mm(given("case-rounded")["bulk_in"]), told("case-rounded")
    angle = 109.0
    assert mm_to_inch(arc_mm(bulk, angle)) == pytest.approx(wanted["rounded_in"], abs=0.005)
    plan, _ = usual("sewn")
    # the block as thick as that bulk, nothing added to it
    plain = finished(lining=0.0, thread=0.0, round_angle=angle)
    plan = on_paper(plan, len(plan.places), bulk / (len(plan.places) / 2))
    strips = {}
    for rounding in ("rounded", "rounded and backed"):
        job = job_of("sewn", cover={"rounding": rounding, "endpapers": "none", "board": "Grey Board 2.5"})
        strips[rounding] = mm_to_inch(thickness(plan, job, plain).arc_mm)
    assert strips["rounded"] == pytest.approx(wanted["rounded_in"], abs=0.005)
    assert strips["rounded and backed"] == pytest.approx(wanted["backed_in"], abs=0.005)


# --- what goes round a book -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("binding", "kind"), [("sewn", "case"), ("glued", "paper"), ("stitched", "paper"), ("leaflet", "none")]
)
def test_what_goes_round_a_book_by_custom(binding: str, kind: str) -> None:
    """Common practice, no source; a job that says something else has its way."""
    assert cover_kind(Job(), binding) == kind
    for asked in ("case", "paper", "none"):
        assert cover_kind(job_of(binding, cover={"kind": asked}), binding) == asked


def test_a_paper_that_the_house_has_not_is_refused_by_name() -> None:
    plan, _ = usual("sewn")
    with pytest.raises(AskedWrong, match=r'cover\.endpaper_stock: Lantern Row Press has no stock "Smoke"'):
        thickness(plan, job_of("sewn", cover={"endpaper_stock": "Smoke"}), HOUSE)
