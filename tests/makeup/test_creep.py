# SPDX-License-Identifier: AGPL-3.0-or-later
"""Push-out on written sheets: what is reckoned by hand against what MuPDF finds, folded as the bindery is told.

The worked example.  40 pages, stitched, on Glaze Silk 115: 115 g/m2 of bulk 0.92 cm3/g, so (ISO 534: bulk is thickness
over grammage) a leaf is 115 x 0.92 / 1000 = 0.1058 mm thick.  40 pages are 20 leaves, 10 on either side of the stitch,
0 to 9 of them lying round a leaf.  Sharp folds: each leaf stands out by one thickness more than the one outside it
(handbook creep-arc), so the middle ones by 9 x 0.1058 = 0.9522 mm.  The three knives cut all leaves in one plane, 80
mm from the outermost crease; so a leaf is cut, on its own paper, at 80 mm less its push-out from its own crease: the
middle ones at 79.0478 mm.  A page whose fore-edge margin is to stay 8 mm there must stand nearer to its crease by as
much (creep-direction: the bind margin narrows to the centre and widens again).
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from attrs import evolve

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.prove.model import Leg, Verdict
from tests.handbook.facts import facts
from tests.makeup.real_books import FRAME_MM, TRIM_MM, Made, frames, made, proved_whole, with_allowances

LEAF_MM = 115 * 0.92 / 1000
PAGES = 40
#: the proof and the margins hold to this (asked of the program)
HELD_MM = 0.05
#: of a place read back from a written file: matrices are written with so many places
READ_MM = 0.003


def outside(page: int, leaves: int = PAGES // 2) -> int:
    """Leaves that lie round the leaf of a page of a nested pile: 0 the outermost, the same for both its pages."""
    leaf = (page - 1) // 2
    return min(leaf, leaves - 1 - leaf)


@pytest.fixture(scope="module")
def stitched(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("stitched")
    return made(folder, PAGES, book={"binding": "stitched"}, paper={"stock": "Glaze Silk 115"})


def test_the_worked_example_has_equal_margins_all_through(stitched: Made) -> None:
    assert stitched.plan.caliper_mm == pytest.approx(0.1058, abs=1e-9) == pytest.approx(LEAF_MM)
    assert [outside(page) for page in (1, 2, 3, 19, 20, 21, 22, 40)] == [0, 0, 1, 9, 9, 9, 9, 0]
    proof = proved_whole(stitched)
    assert max(page.shift_mm or 0.0 for page in proof.pages) < READ_MM
    read = frames(stitched)
    assert sorted(read) == list(range(1, PAGES + 1))
    for page, frame in read.items():
        push = outside(page) * LEAF_MM
        # trimmed: 8 mm to the knife, 8 mm to the spine of the block, on every page
        assert TRIM_MM[0] - push - frame.outer_mm == pytest.approx(FRAME_MM, abs=HELD_MM)
        assert frame.inner_mm + push == pytest.approx(FRAME_MM, abs=HELD_MM)
        assert TRIM_MM[0] - push - frame.outer_mm == pytest.approx(FRAME_MM, abs=READ_MM)
        assert frame.inner_mm + push == pytest.approx(FRAME_MM, abs=READ_MM)
    # creep-direction: as the opened book shows it, from the leaf's own crease, 8 mm down to 7.0478, and back
    assert facts()["creep-direction"]["source"]
    shown = [read[page].inner_mm for page in range(1, PAGES + 1)]
    assert shown[0] == pytest.approx(8.0, abs=READ_MM) == pytest.approx(shown[-1], abs=2 * READ_MM)
    assert shown[18] == pytest.approx(7.0478, abs=READ_MM)
    assert shown[:20:2] == sorted(shown[:20:2], reverse=True)
    assert shown[20::2] == sorted(shown[20::2])
    # creep-monotone: the same for both pages of a leaf
    assert shown[::2] == pytest.approx(shown[1::2], abs=READ_MM)


def residue(stitched: Made, told: FoldingInstructions) -> tuple[dict[int, float], set[int | None]]:
    """What the proof finds each page to be off by, and the pages that it fails."""
    proof = stitched.proof(told)
    assert proof.verdict is Verdict.FAILED
    wrong = {fault.page for fault in proof.faults if fault.leg is Leg.WHERE and "stands" in fault.says}
    return {page.expected: page.shift_mm or 0.0 for page in proof.pages if page.expected}, wrong


def thicker(told: FoldingInstructions, times: float) -> FoldingInstructions:
    sheets = tuple(evolve(sheet, caliper_mm=(sheet.caliper_mm or told.caliper_mm) * times) for sheet in told.sheets)
    return evolve(told, caliper_mm=told.caliper_mm * times, sheets=sheets)


def test_paper_a_tenth_thicker_leaves_a_tenth_of_the_push_out(stitched: Made) -> None:
    """0.1 x 0.1058 = 0.01058 mm for every leaf outside: 0.04232 with four, 0.0529 with five, 0.09522 with nine.

    So those with five or more lie beyond the 0.05 mm that the proof holds to: leaves 6 to 15, pages 11 to 30.
    """
    off, wrong = residue(stitched, thicker(stitched.told, 1.1))
    assert off == pytest.approx({page: outside(page) * 0.01058 for page in range(1, PAGES + 1)}, abs=2e-4)
    assert max(off.values()) == pytest.approx(0.09522, abs=2e-4)
    assert wrong == set(range(11, 31))


def test_round_folds_planned_and_sharp_ones_made(tmp_path: Path) -> None:
    """(pi/2 - 1) x 0.1058 = 0.060390 mm for every leaf outside; nine times that, 0.54351 mm, in the middle.

    Every page but those of the outermost leaf on either side of the stitch (1, 2, 39, 40) is off by more than 0.05 mm.
    """
    house = with_allowances(creep_factor=1.5708)
    one = made(tmp_path, PAGES, house=house, book={"binding": "stitched"}, paper={"stock": "Glaze Silk 115"})
    assert one.told.creep_factor == pytest.approx(math.pi / 2, abs=1e-5)
    proved_whole(one)
    off, wrong = residue(one, evolve(one.told, creep_factor=1.0))
    assert off == pytest.approx({page: outside(page) * 0.06039 for page in range(1, PAGES + 1)}, abs=2e-4)
    assert max(off.values()) == pytest.approx(0.54351, abs=2e-4)
    assert wrong == set(range(3, 39))


def test_the_bounds_of_the_handbook_hold_for_the_middle_leaf() -> None:
    """creep-arc gives 12 sheets of 0.10 mm; the example has 10 of 0.1058: 9 t and 9 x 1.571 t."""
    fact = facts()["creep-arc"]
    n, t = fact["inputs"]["sheets"], fact["inputs"]["caliper_mm"]
    assert (n - 1) * t == pytest.approx(fact["outputs"]["min_mm"])
    assert (n - 1) * t * math.pi / 2 == pytest.approx(fact["outputs"]["max_mm"], abs=5e-4)
    least, most = 9 * LEAF_MM, 9 * LEAF_MM * math.pi / 2
    assert (least, most) == pytest.approx((0.9522, 1.4957), abs=1e-4)


def test_by_scale_the_page_ends_at_the_knife_and_begins_at_the_crease(tmp_path: Path) -> None:
    """Narrowed to (80 - push) / 80 of its width: the middle leaves to 79.0478 / 80 = 0.988097 of it.

    The frame, 8 mm inside the page, then stands at 8 x 0.988097 = 7.90478 mm from the crease and from the knife; its
    height does not change.
    """
    one = made(
        tmp_path, PAGES, book={"binding": "stitched"}, paper={"stock": "Glaze Silk 115"}, sections={"creep": "scale"}
    )
    proved_whole(one)
    for page, frame in frames(one).items():
        push = outside(page) * LEAF_MM
        part = (80 - push) / 80
        assert frame.inner_mm == pytest.approx(8 * part, abs=READ_MM)
        assert 80 - push - frame.outer_mm == pytest.approx(8 * part, abs=READ_MM)
        low, high = frame.corners[0][1], frame.corners[1][1]
        assert high - low == pytest.approx(TRIM_MM[1] - 16, abs=READ_MM)
        # carried on to the page's own edges: its spine edge on the crease, its fore-edge on the knife
        wide = (frame.outer_mm - frame.inner_mm) / (80 - 16) * 8
        assert frame.inner_mm - wide == pytest.approx(0.0, abs=READ_MM)
        assert frame.outer_mm + wide == pytest.approx(80 - push, abs=READ_MM)
    assert frames(one)[20].inner_mm == pytest.approx(7.90478, abs=READ_MM)
    # a page that was narrowed is not one that was moved: told so, the proof fails the inner leaves
    proof = one.proof(evolve(one.told, creep_by="shift"))
    assert {f.page for f in proof.faults if "of its width" in f.says or "stands" in f.says} >= set(range(5, 37))


def test_by_scale_paper_a_tenth_thicker_leaves_half_of_its_push_out_at_the_centre(tmp_path: Path) -> None:
    """The spine edge is kept: the centre of the page is off by half of 0.01058 mm a leaf, its width by all of it."""
    one = made(
        tmp_path, PAGES, book={"binding": "stitched"}, paper={"stock": "Glaze Silk 115"}, sections={"creep": "scale"}
    )
    off = {page.expected: page.shift_mm for page in one.proof(thicker(one.told, 1.1)).pages}
    assert off == pytest.approx({page: outside(page) * 0.00529 for page in range(1, PAGES + 1)}, abs=2e-4)


@pytest.mark.parametrize("creep", ["shift", "scale"])
def test_in_a_sewn_book_it_begins_again_in_every_section(tmp_path: Path, creep: str) -> None:
    """creep-monotone: gathered sections start again at 0.  48 pages in 16s: 0, 1, 2, 3 leaves outside and back."""
    one = made(tmp_path, 48, paper={"stock": "Glaze Silk 115"}, sections={"pages": 16, "creep": creep})
    assert [section.pages for section in one.plan.sections] == [16, 16, 16]
    proved_whole(one)
    for page, frame in frames(one).items():
        push = outside((page - 1) % 16 + 1, 8) * LEAF_MM
        part = (80 - push) / 80 if creep == "scale" else 1.0
        inner = 8 * part if creep == "scale" else 8 - push
        assert frame.inner_mm == pytest.approx(inner, abs=READ_MM)
        assert 80 - push - frame.outer_mm == pytest.approx(8 * part, abs=READ_MM)
    pushes = {round(place.creep_mm, 4) for place in one.plan.places}
    assert pushes == {0.0, 0.1058, 0.2116, 0.3174}


@pytest.mark.parametrize("creep", ["shift", "scale"])
def test_glued_by_position_every_gutter_is_ground_alike(tmp_path: Path, creep: str) -> None:
    """3 mm are ground off the outermost crease; of a leaf with k leaves outside it 3 mm less k thicknesses of its own.

    So its page begins at that place by shift; by scale it begins at 3 mm, and its bleed fills the strip before it.
    """
    one = made(
        tmp_path, 32, book={"binding": "glued"}, paper={"stock": "Glaze Silk 115"},
        sections={"pages": 16, "creep": creep},
    )  # fmt: skip
    proved_whole(one)
    for page, frame in frames(one).items():
        push = outside((page - 1) % 16 + 1, 8) * LEAF_MM
        cut = 3 + 80 - push
        if creep == "shift":
            assert frame.inner_mm - (3 - push) == pytest.approx(8, abs=READ_MM)
            assert cut - frame.outer_mm == pytest.approx(8, abs=READ_MM)
        else:
            assert frame.inner_mm - 3 == pytest.approx(8 * (80 - push) / 80, abs=READ_MM)
            assert cut - frame.outer_mm == pytest.approx(8 * (80 - push) / 80, abs=READ_MM)


def test_glued_the_same_gutter_stands_on_every_leaf(tmp_path: Path) -> None:
    """Every page begins 3 mm from its crease.  Ground and cut by position it is off by k x 0.1058 mm, and so proved.

    0.1058 mm is more than 0.05: every leaf but the outermost, pages 1, 2, 15 and 16 of each section.
    """
    house = with_allowances(glued_gutter="same")
    one = made(
        tmp_path, 32, house=house, book={"binding": "glued"}, paper={"stock": "Glaze Silk 115"},
        sections={"pages": 16},
    )  # fmt: skip
    assert one.told.creep_factor == 0
    proved_whole(one)
    assert {round(frame.inner_mm, 2) for frame in frames(one).values()} == {11.0}
    off, wrong = residue(one, evolve(one.told, creep_factor=1.0))
    assert off == pytest.approx({page: outside((page - 1) % 16 + 1, 8) * LEAF_MM for page in range(1, 33)}, abs=2e-4)
    assert wrong == {page for page in range(1, 33) if (page - 1) % 16 not in (0, 1, 14, 15)}


@pytest.mark.parametrize("binding", ["stitched", "sewn"])
def test_read_from_right_to_left_the_margins_are_as_equal(tmp_path: Path, binding: str) -> None:
    one = made(
        tmp_path, PAGES, book={"binding": binding, "reading": "right to left"}, paper={"stock": "Glaze Silk 115"},
        sections={"pages": 8},
    )  # fmt: skip
    proved_whole(one)
    read = frames(one)
    assert read[1].outward == -1  # page 1 is a left-hand page: its spine is at its right
    for page, frame in read.items():
        push = LEAF_MM * (outside(page) if binding == "stitched" else outside((page - 1) % 8 + 1, 4))
        assert frame.inner_mm + push == pytest.approx(8, abs=READ_MM)
        assert 80 - push - frame.outer_mm == pytest.approx(8, abs=READ_MM)


# --- bottling ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("pages", "stock"), [(32, "Wick Thin 60"), (16, "Hearth Book 90")])
@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_heads_lean_from_the_spine_by_what_the_house_states(
    tmp_path: Path, pages: int, stock: str, reading: str
) -> None:
    """0.4 mm over the 110 mm of the trim on the outermost leaf, (n - k) / n of it with k of n leaves outside.

    A 32 has 8 leaves on either side: 0.4, 0.35 … 0.05 mm.  The frame is 94 mm high: its spine edge leans by 94 / 110 of
    that.  A right-hand page leans to the right, a left-hand one to the left: what the folding pressed towards the spine
    at the closed head is turned out again (the house's figure; its direction common practice, no source).
    """
    house = with_allowances(bottling=0.4, creep_factor=0.0)
    one = made(
        tmp_path, 2 * pages, house=house, book={"reading": reading}, paper={"stock": stock}, sections={"pages": pages}
    )
    proved_whole(one)
    assert any("0.4 mm against bottling" in rule for rule in one.plan.rules)
    halves = pages // 4
    for page, frame in frames(one).items():
        k = outside((page - 1) % pages + 1, pages // 2)
        angle = math.atan2(0.4 * (halves - k) / halves, TRIM_MM[1])
        assert frame.lean_mm == pytest.approx((TRIM_MM[1] - 16) * math.sin(angle), abs=READ_MM)
        # turned about the foot of the page's spine edge, which stays: drawn here from the angle alone
        x, y = FRAME_MM, FRAME_MM
        foot = x * math.cos(angle) + y * math.sin(angle), y * math.cos(angle) - x * math.sin(angle)
        assert frame.corners[0][0] == pytest.approx(foot[0], abs=READ_MM)
        assert frame.corners[0][1] - 5 == pytest.approx(foot[1], abs=READ_MM)
    first = frames(one)[1]
    assert first.outward == (1 if reading == "left to right" else -1)
    assert first.lean_mm == pytest.approx(0.3418, abs=READ_MM)  # 0.4 x 94 / 110
    # told of no lean, the proof finds pages askew
    sheets = tuple(
        evolve(sheet, sections=tuple(evolve(section, bottling_mm=0.0) for section in sheet.sections))
        for sheet in one.told.sheets
    )
    faults = one.proof(evolve(one.told, sheets=sheets)).faults
    assert 1 in {fault.page for fault in faults if "askew" in fault.says}


def test_fewer_than_three_folds_across_one_another_press_nothing_askew(tmp_path: Path) -> None:
    """An eight of two folds: the house's figure speaks of three or more right-angle folds."""
    one = made(tmp_path, 16, house=with_allowances(bottling=0.4), sections={"pages": 8, "fold": "8"})
    proved_whole(one)
    assert {round(frame.lean_mm, 3) for frame in frames(one).values()} == {0.0}
    assert {section.bottling_mm for sheet in one.told.sheets for section in sheet.sections} == {0.0}
    assert not any("bottling" in rule for rule in one.plan.rules)
