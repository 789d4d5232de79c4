# SPDX-License-Identifier: AGPL-3.0-or-later
"""Places on the sheet: inside the printable area, clear of each other, backing each other up, creeping to the spine."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from foldproof.errors import NoPlan
from foldproof.geometry import Rect
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.prove.gathering import bind
from foldproof.units import PT_PER_MM

HOUSE = load_house(None)
TIGHT = 1e-6


def planned(pages: int, trim: tuple[float, float], nth: int = 0, **job: object) -> Plan:
    made = plans(pages, trim, Job.model_validate(job), HOUSE, title="A book")
    return made[nth % len(made)]


@st.composite
def books(draw: st.DrawFn) -> Plan:
    """Any book that the house can make, by any of the plans it is offered."""
    trim = draw(st.sampled_from([(140.0, 216.0), (105.0, 148.0), (210.0, 297.0), (215.9, 279.4), (240.0, 170.0)]))
    binding = draw(st.sampled_from(["sewn", "glued", "stitched"]))
    sizes = [None, 4, 8, 12, 16, 24, 32, 64] + ([6] if binding == "glued" else [])
    size = draw(st.sampled_from(sizes))
    job: dict[str, object] = {
        "book": {
            "binding": binding,
            "reading": draw(st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT])),
            "bleed": draw(st.sampled_from(["0 mm", "3 mm", "6 mm"])),
            "blanks_front": draw(st.sampled_from([0, 0, 2, 4])),
        },
        "paper": {"stock": draw(st.sampled_from(["Wick Bible 40", "Hearth Book 90", "Glaze Silk 115"]))},
        "sections": {"pages": size} if size else {},
    }
    pages = draw(st.integers(1, 120 if binding == "stitched" else 300))
    try:
        return planned(pages, trim, draw(st.integers(0, 30)), **job)
    except NoPlan:
        assume(False)
        raise


def by_side(plan: Plan) -> dict[tuple[int, Side], list[PagePlace]]:
    sides: dict[tuple[int, Side], list[PagePlace]] = {}
    for place in plan.places:
        sides.setdefault((place.sheet, place.side), []).append(place)
    return sides


@settings(max_examples=60, deadline=None)
@given(books())
def test_every_page_stands_once_inside_the_printable_area_clear_of_the_others(plan: Plan) -> None:
    assert [place.position for place in plan.places] == list(range(len(plan.places)))
    assert [p.page for p in plan.places if p.page is not None] == list(range(plan.pages))
    assert len(plan.places) == plan.blanks_front + plan.pages + plan.blanks_back
    width, height = plan.sheet_mm
    press = plan.press
    printable = Rect(press.side_mm, press.gripper_mm, width - press.side_mm, height - press.tail_mm).scaled(PT_PER_MM)
    for places in by_side(plan).values():
        assert len(places) <= 64
        for nth, place in enumerate(places):
            assert printable.holds(place.clip_pt, TIGHT)
            smaller = place.clip_pt.grown(-TIGHT)
            assert not any(smaller.meets(other.clip_pt) for other in places[nth + 1 :])


@settings(max_examples=40, deadline=None)
@given(books())
def test_the_two_pages_of_a_leaf_back_each_other_up(plan: Plan) -> None:
    """The sheet turned side to side: x runs from the other end, y stays."""
    across = plan.sheet_mm[0] * PT_PER_MM
    for recto, verso in zip(plan.places[::2], plan.places[1::2], strict=True):
        assert (recto.sheet, recto.section, recto.leaf) == (verso.sheet, verso.section, verso.leaf)
        assert {recto.side, verso.side} == {Side.FRONT, Side.BACK}
        assert recto.creep_mm == verso.creep_mm
        box = verso.trim_pt
        seen = Rect(across - box.x1, box.y0, across - box.x0, box.y1)
        assert recto.trim_pt.holds(seen, TIGHT) and seen.holds(recto.trim_pt, TIGHT)
        head_up = (recto.matrix.c, recto.matrix.d)
        assert (-verso.matrix.c, verso.matrix.d) == pytest.approx(head_up, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(books())
def test_the_proofs_own_folding_finds_every_page_where_the_plan_puts_it(plan: Plan) -> None:
    """The proof reckons from the folding instructions alone and shares no code with the make-up."""
    book = bind(plan.instructions)
    assert book.troubles == ()
    assert len(book.places) == len(plan.places)
    for ours, theirs in zip(plan.places, book.places, strict=True):
        assert theirs is not None
        assert (ours.sheet, ours.side.value, ours.section) == (theirs.sheet, theirs.side, theirs.section)
        a, b, c, d, e, f = theirs.to_side
        x, y = theirs.centre
        centre = ((a * x + c * y + e) * PT_PER_MM, (b * x + d * y + f) * PT_PER_MM)
        assert centre == pytest.approx((ours.matrix.e, ours.matrix.f), abs=TIGHT)
        assert ours.creep_mm == pytest.approx(theirs.push_mm)


def test_known_octavo_stands_on_its_sheet_to_the_millimetre() -> None:
    """Worked by hand: A4 in 16s on 640 x 900, sewn.  Panels 214 x 307; the block 856 x 614.

    Gripper 11 and tail 6 leave 9 mm over, half of it below: the block starts at (22, 15.5).  Page 1 is the lower right
    panel: crease at 22 + 3 x 214 = 664, trim from there 210 wide, foot at 15.5 + 5.
    """
    plan = planned(
        16, (210.0, 297.0), paper={"sheet": "640 x 900 mm"}, press={"name": "Lamplighter 1020"}, book={"bleed": "3 mm"}
    )
    assert plan.sheet_mm == (900.0, 640.0)
    one, sixteen, two = plan.places[0], plan.places[15], plan.places[1]
    assert one.trim_pt.scaled(1 / PT_PER_MM) == approx_rect(Rect(664, 20.5, 874, 317.5))
    assert one.clip_pt.scaled(1 / PT_PER_MM) == approx_rect(Rect(664, 17.5, 877, 320.5))
    assert sixteen.trim_pt.scaled(1 / PT_PER_MM) == approx_rect(Rect(454, 20.5, 664, 317.5))
    assert two.side is Side.BACK
    assert two.trim_pt.scaled(1 / PT_PER_MM) == approx_rect(Rect(26, 20.5, 236, 317.5))
    section = plan.instructions.sheets[0].sections[0]
    assert section.rect_mm == pytest.approx((22, 15.5, 878, 629.5))
    assert [fold.line_mm for fold in section.folds] == [
        (pytest.approx((450, 15.5)), pytest.approx((450, 629.5))),
        (pytest.approx((22, 322.5)), pytest.approx((450, 322.5))),
        (pytest.approx((236, 15.5)), pytest.approx((236, 322.5))),
    ]
    assert plan.instructions.sheets[0].slits_mm == (
        ((22, 0), (22, 640)),
        ((878, 0), (878, 640)),
        ((0, 15.5), (900, 15.5)),
        ((0, 629.5), (900, 629.5)),
    )


def approx_rect(rect: Rect) -> object:
    class Near:
        def __eq__(self, other: object) -> bool:
            return isinstance(other, Rect) and rect.holds(other, TIGHT) and other.holds(rect, TIGHT)

        def __repr__(self) -> str:
            return repr(rect)

    return Near()


def test_inner_leaves_have_less_back_margin() -> None:
    """imp-quire-less-back, creep-direction: the back margin narrows to the centre and widens again; the face stays."""
    plan = planned(64, (140.0, 216.0), book={"binding": "stitched"})
    moves = [place.creep_mm for place in plan.places[::2]]
    caliper = plan.caliper_mm
    assert moves == pytest.approx([caliper * min(leaf, 31 - leaf) for leaf in range(32)])
    backs = []
    for leaf in range(16):
        # across the crease of a folio: from the trim of one page to that of the other, negative once they overlap
        here, there = plan.places[2 * leaf + 1], plan.places[2 * (31 - leaf)]
        assert here.side is there.side and here.sheet == there.sheet
        gap = max(here.trim_pt.x0, there.trim_pt.x0) - min(here.trim_pt.x1, there.trim_pt.x1)
        if abs(here.trim_pt.y0 - there.trim_pt.y0) > TIGHT:
            gap = max(here.trim_pt.y0, there.trim_pt.y0) - min(here.trim_pt.y1, there.trim_pt.y1)
        backs.append(gap / PT_PER_MM)
    assert backs == pytest.approx([-2 * caliper * leaf for leaf in range(16)], abs=1e-6)


def test_creep_starts_again_in_every_gathered_section() -> None:
    plan = planned(48, (140.0, 216.0))
    assert [round(place.creep_mm / plan.caliper_mm) for place in plan.places[::2]] == [0, 1, 2, 3, 3, 2, 1, 0] * 3


@pytest.mark.parametrize(("binding", "half"), [("sewn", 1.0), ("glued", 2.5)])
@pytest.mark.parametrize("reading", [LEFT_TO_RIGHT, RIGHT_TO_LEFT])
def test_collation_bars_step_down_the_outside_of_every_section(binding: str, half: float, reading: str) -> None:
    plan = planned(150, (140.0, 216.0), book={"binding": binding, "reading": reading})
    told = plan.instructions.collation
    assert told is not None and told.width_mm == 2 * half
    assert [bar.unit for bar in plan.bars] == list(range(len(plan.sections)))
    heads = []
    for bar, section in zip(plan.bars, plan.sections, strict=True):
        first, last = plan.places[section.first], plan.places[section.first + section.pages - 1]
        assert (first.sheet, first.side) == (last.sheet, last.side) == (bar.sheet, bar.side)
        to_page = first.matrix.inverse()
        box = to_page.rect(bar.rect_mm.scaled(PT_PER_MM)).scaled(1 / PT_PER_MM)
        inwards = -1 if reading == LEFT_TO_RIGHT else 1
        ground = plan.instructions.sheets[0].sections[0].spine_trim_mm
        assert box.centre[0] == pytest.approx(inwards * (plan.trim_mm[0] / 2 + ground))
        assert box.width == pytest.approx(2 * half)
        trim = first.trim_pt.scaled(1 / PT_PER_MM)
        if binding == "glued":
            assert not bar.rect_mm.meets(trim) and not bar.rect_mm.meets(last.trim_pt.scaled(1 / PT_PER_MM))
        heads.append(plan.trim_mm[1] / 2 - box.y1)
    assert heads[0] == pytest.approx(told.first_mm)
    assert all(after - before == pytest.approx(told.step_mm) for before, after in pairwise(heads))


def test_stitched_work_has_no_collation_bar() -> None:
    plan = planned(64, (140.0, 216.0), book={"binding": "stitched"})
    assert plan.instructions.collation is None and plan.bars == ()


def test_bleed_is_whole_at_the_knife_and_ends_at_the_crease() -> None:
    sewn = planned(16, (140.0, 216.0), book={"bleed": "3 mm"}).places[0]
    assert sewn.clip_pt.width / PT_PER_MM == pytest.approx(140 + 3)
    assert sewn.clip_pt.height / PT_PER_MM == pytest.approx(216 + 6)
    glued = planned(16, (140.0, 216.0), book={"bleed": "3 mm", "binding": "glued"}).places[0]
    assert glued.clip_pt.width / PT_PER_MM == pytest.approx(140 + 6)
    # more bleed than the grind-off: it stops at the crease, and the outer allowances grow to hold it
    wide = planned(16, (140.0, 216.0), book={"bleed": "6 mm", "binding": "glued"}).places[0]
    assert wide.clip_pt.width / PT_PER_MM == pytest.approx(140 + 3 + 6)
    assert wide.clip_pt.height / PT_PER_MM == pytest.approx(216 + 12)


def test_blanks_in_front_keep_rectos_rectos() -> None:
    plan = planned(30, (140.0, 216.0), book={"blanks_front": 2})
    assert [place.page for place in plan.places[:4]] == [None, None, 0, 1]
    assert plan.blanks_back == 0
    assert [section.blanks for section in plan.sections] == [2, 0]
