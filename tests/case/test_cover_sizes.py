# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paper covers and jackets against the handbook's figures and reckonings by hand."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from foldproof.case.cover_sizes import FOOT_EXTRA_MM, cover_sizes, jacket_sizes
from foldproof.case.model import CoverSizes
from foldproof.errors import AskedWrong
from foldproof.quantities.thickness import thickness
from foldproof.units import inch_to_mm, mm_to_inch
from tests.case.made import BACKED, DINGWORD, ROUNDED
from tests.handbook.facts import given, told
from tests.quantities.made import DEMY, HOUSE, job_of, plan_of, usual


def cover(binding: str, **tables: Any) -> CoverSizes:
    plan, _ = usual(binding)
    job = job_of(binding, **tables)
    found = cover_sizes(plan, job, HOUSE, thickness(plan, job, HOUSE))
    assert found is not None
    return found


def jacket(binding: str = "sewn", case: Any = DINGWORD, **tables: Any) -> CoverSizes:
    plan, _ = usual(binding)
    job = job_of(binding, **{"jacket": {}, **tables})
    found = jacket_sizes(plan, job, HOUSE, thickness(plan, job, HOUSE), case)
    assert found is not None
    return found


def test_the_spine_is_half_the_pages_times_the_caliper() -> None:
    """spine-128: 128 pages of .0039 in make .2496 in; to a 32nd of an inch, a quarter."""
    figures = given("spine-128")
    paper = {"grammage": 74, "caliper": f"{figures['caliper_in']} in", "sheet": "640 x 900 mm", "grain": "long"}
    job = job_of("glued", paper=paper)
    plan = plan_of(figures["pages"], job)
    found = cover_sizes(plan, job, HOUSE, thickness(plan, job, HOUSE))
    assert found is not None
    assert mm_to_inch(found.spine_mm) == pytest.approx(told("spine-128")["in"], abs=0.0002)  # told to 0.01 mm
    assert round(mm_to_inch(found.spine_mm) * 32) / 32 == told("spine-128")["rounded_in"]


def test_a_glued_cover_by_hand() -> None:
    # 150 pages and two blanks, as the plan says: leaves of 0.117 mm (90 g/m2 at 1.3 cm3/g, bulk-formula)
    plan, _ = usual("glued")
    leaves = (plan.pages + plan.blanks_front + plan.blanks_back) / 2
    found = cover("glued")
    assert found.panel_mm == DEMY
    assert found.spine_mm == pytest.approx(leaves * 0.117, abs=0.006)
    assert (found.flap_mm, found.wrap_mm, found.hinge_mm) == (0, 0, 6)
    assert found.trimmed_mm == pytest.approx((2 * 140 + found.spine_mm, 216))
    assert found.folds_mm == pytest.approx((140, 140 + found.spine_mm))


def test_a_glued_cover_is_longer_at_the_foot_before_trimming() -> None:
    """trim-perfect: 3/16 in."""
    assert pytest.approx(inch_to_mm(told("trim-perfect")["cover_extra_in"])) == FOOT_EXTRA_MM
    assert any("4.76 mm beyond the block at the foot" in line for line in cover("glued").says)  # 3/16 x 25.4 = 4.7625
    assert not any("beyond the block" in line for line in cover("stitched").says)


def test_a_stitched_cover_is_folded_once() -> None:
    """Common practice, no source."""
    found = cover("stitched")
    assert (found.spine_mm, found.hinge_mm) == (0, 0)
    assert found.trimmed_mm == (280, 216)
    assert any("folded once" in line for line in found.says)


def test_flaps_and_hinge_as_the_job_says() -> None:
    found = cover("glued", cover={"flaps": "80 mm", "hinge": "4 mm", "stock": "Glaze Silk 135"})
    assert (found.flap_mm, found.hinge_mm, found.stock, found.caliper_mm) == (80, 4, "Glaze Silk 135", 0.122)
    assert found.trimmed_mm[0] == pytest.approx(2 * (140 + 80) + found.spine_mm)
    assert found.folds_mm == pytest.approx((80, 220, 220 + found.spine_mm, 360 + found.spine_mm))


def test_a_cover_bleeds_where_the_pages_do_not() -> None:
    """bleed of the house, 3 mm; the job may ask for more (common practice, no source)."""
    plan, job = usual("glued")
    still = evolve(plan, bleed_mm=0.0)
    wide = evolve(plan, bleed_mm=5.0)
    found = [cover_sizes(one, job, HOUSE, thickness(one, job, HOUSE)) for one in (still, wide)]
    assert [one.bleed_mm for one in found if one] == [3.0, 5.0]


def test_who_gets_none() -> None:
    plan, job = usual("sewn")
    thick = thickness(plan, job, HOUSE)
    assert cover_sizes(plan, job, HOUSE, thick) is None  # a case
    assert jacket_sizes(plan, job, HOUSE, thick, DINGWORD) is None  # not asked for
    leaflet, unbound = usual("leaflet")
    assert cover_sizes(leaflet, unbound, HOUSE, thickness(leaflet, unbound, HOUSE)) is None


def test_a_jacket_adds_boards_to_the_spine() -> None:
    """hard-spine-add: pages / 2 x caliper and 1/8 in for the case, here two boards of 1/16 in and cloth of none."""
    fact = given("hard-spine-add")
    block = inch_to_mm(fact["pages"] / 2 * fact["caliper_in"])
    case = evolve(DINGWORD, arc_mm=block, chord_mm=block, board_thickness_mm=inch_to_mm(1 / 16), cloth_thickness_mm=0.0)
    assert mm_to_inch(jacket(case=case).spine_mm) == pytest.approx(told("hard-spine-add")["in"], abs=0.0002)


def test_a_jacket_round_a_flat_case_by_hand() -> None:
    # case-dingword: block 150 x 230 x 20, boards of 2.5 mm standing 6.5 mm forward and 146.5 mm wide, so the fore-edge
    # of the board lies 6.5 + 146.5 = 153 mm from the back; behind it the strip, 2.5 mm, and cloth, 0.35 mm
    found = jacket()
    assert found.panel_mm == pytest.approx((153 + 2.85, 236))
    assert found.spine_mm == pytest.approx(20 + 5 + 0.7)
    assert found.wrap_mm == pytest.approx(2.5 + 0.7)
    assert found.flap_mm == 90 and found.hinge_mm == 0
    assert found.trimmed_mm == pytest.approx((2 * (155.85 + 3.2 + 90) + 25.7, 236))
    assert found.folds_mm[0] == 90 and found.folds_mm[-1] == pytest.approx(found.trimmed_mm[0] - 90)


def test_a_jacket_takes_the_arc_of_a_rounded_spine() -> None:
    """case-arc: an arc of 120 degrees is 1.2092 of its chord.  Where it is not backed the boards lie beside it."""
    ratio = told("case-arc")["exact_120"]
    assert jacket(case=ROUNDED).spine_mm == pytest.approx(20 * ratio + 5 + 0.7, abs=0.02)
    assert jacket(case=BACKED).spine_mm == pytest.approx(25 * ratio + 0.7, abs=0.02)
    assert jacket(case=ROUNDED).panel_mm[0] == pytest.approx(153)


def test_a_jacket_round_a_covered_book() -> None:
    plan, _ = usual("glued")
    found = jacket("glued", None, cover={"stock": "Glaze Silk 135"})
    leaves = (plan.pages + plan.blanks_front + plan.blanks_back) / 2
    assert found.spine_mm == pytest.approx(leaves * 0.117 + 2 * 0.122, abs=0.006)
    assert (found.panel_mm, found.wrap_mm) == (DEMY, 0.12)
    # round a stitched book it goes round all leaves, though its cover has no spine
    assert jacket("stitched", None).spine_mm > 2


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"cover": {"flaps": "140 mm"}}, "cover.flaps"),
        ({"cover": {"hinge": "150 mm"}}, "cover.hinge"),
        ({"cover": {"stock": "Nothing 90"}}, 'no stock "Nothing 90"'),
    ],
)
def test_what_cannot_be_is_told(tables: dict[str, Any], words: str) -> None:
    with pytest.raises(AskedWrong, match=words):
        cover("glued", **tables)


def test_flaps_wider_than_the_front_are_told() -> None:
    with pytest.raises(AskedWrong, match=r"jacket\.flaps"):
        jacket(jacket={"flaps": "200 mm"})


def test_the_arithmetic_is_said() -> None:
    said = " ".join(jacket().says)
    assert "+ flap 90 mm) + spine 25.7 mm = 523.8 mm, by 236 mm" in said  # 2 x (155.85 + 3.2 + 90) + 25.7 = 523.8
