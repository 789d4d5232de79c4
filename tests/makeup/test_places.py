# SPDX-License-Identifier: AGPL-3.0-or-later
"""Places on the sheet: inside the printable area, clear of each other, backing each other up, creeping to the spine."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from foldproof.errors import NoPlan
from foldproof.geometry import Rect
from foldproof.job.load import load_house
from foldproof.job.model import WAYS, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT
from foldproof.makeup.plan import CollationBar, PagePlace, Plan, SheetRun, Side
from foldproof.prove.gathering import Place, bind
from foldproof.units import PT_PER_MM

HOUSE = load_house(None)
TIGHT = 1e-6


def planned(pages: int, trim: tuple[float, float], nth: int = 0, **job: object) -> Plan:
    made = plans(pages, trim, Job.model_validate(job), HOUSE, title="A book", most=nth + 1)
    return made[nth % len(made)]


@st.composite
def books(draw: st.DrawFn) -> Plan:
    """Any book or leaflet that the house can make, by one of the best plans that it is offered."""
    trim = draw(st.sampled_from([(140.0, 216.0), (105.0, 148.0), (210.0, 297.0), (215.9, 279.4), (240.0, 170.0)]))
    binding = draw(st.sampled_from(["sewn", "glued", "stitched", "leaflet"]))
    sizes = [None, 4, 8, 12, 16, 24, 32, 64] + ([6] if binding == "glued" else [])
    stock = draw(st.sampled_from(["Wick Bible 40", "Hearth Book 90", "Glaze Silk 115"]))
    job: dict[str, object] = {
        "book": {
            "binding": binding,
            "reading": draw(st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT])),
            "bleed": draw(st.sampled_from(["0 mm", "3 mm", "6 mm"])),
            "blanks_front": draw(st.sampled_from([0, 0, 2, 4])) if binding != "leaflet" else 0,
        },
        "paper": {"stock": stock},
        "press": {"way": way} if (way := draw(st.sampled_from([None, *WAYS[:4]]))) else {},
        "run": {"copies": draw(st.sampled_from([1, 300, 1500]))},
    }
    if binding == "leaflet":
        folds = ["4", "6 roll", "6 concertina", "8", "8 strip", "8 gate", "8 concertina", "8 roll"]
        job["sections"] = {"fold": (fold := draw(st.sampled_from(folds)))}
        pages = int(fold.split()[0]) - draw(st.integers(0, 1))
    else:
        size = draw(st.sampled_from(sizes))
        job["sections"] = {"pages": size} if size else {}
        pages = draw(st.integers(1, 120 if binding == "stitched" else 250))
    if binding == "stitched":  # its line opens sections by a lip
        job["bindery"] = {"lip": lip} if (lip := draw(st.sampled_from([None, "low folio", "none"]))) else {}
    elif binding != "leaflet" and draw(st.integers(0, 3)) == 0:
        job["insert"] = [{"first_page": 33, "pages": draw(st.sampled_from([4, 8])), "stock": "Glaze Silk 135"}]
        job["book"] |= {"blanks_front": 0}  # type: ignore[operator]
        pages = max(pages, 80)
    try:
        return planned(pages, trim, draw(st.integers(0, 2)), **job)
    except NoPlan:
        assume(False)
        raise


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(books())
def test_every_page_of_any_book_has_its_place(plan: Plan) -> None:
    """One book, three questions: planning it takes longest."""
    stands_once_inside_the_printable_area_clear_of_the_others(plan)
    backs_up(plan)
    the_proof_finds_every_page_where_the_plan_puts_it(plan)


def stands_once_inside_the_printable_area_clear_of_the_others(plan: Plan) -> None:
    """Inside what the sheet's own press prints: a sheet that turns head to tail is gripped at both ends in turn."""
    assert [place.position for place in plan.places] == list(range(len(plan.places)))
    assert [p.page for p in plan.places if p.page is not None] == list(range(plan.pages))
    assert len(plan.places) == plan.blanks_front + plan.pages + plan.blanks_back
    sides: dict[tuple[int, Side], list[PagePlace]] = {}
    for place in (*plan.places, *plan.again):
        sides.setdefault((place.sheet, place.side), []).append(place)
    for (sheet, _), places in sides.items():
        run = plan.run_of(sheet)
        (width, height), press = run.sheet_mm, run.press
        top = max(press.gripper_mm, press.tail_mm) if head_to_tail(run) else press.tail_mm
        free = Rect(press.side_mm, press.gripper_mm, width - press.side_mm, height - top).scaled(PT_PER_MM)
        assert len(places) <= 64
        for nth, place in enumerate(places):
            assert free.holds(place.clip_pt, TIGHT)
            smaller = place.clip_pt.grown(-TIGHT)
            assert not any(smaller.meets(other.clip_pt) for other in places[nth + 1 :])
        clips = [place.clip_pt for place in places]
        image = [
            max(c.x1 for c in clips) - min(c.x0 for c in clips),
            max(c.y1 for c in clips) - min(c.y0 for c in clips),
        ]
        most = next(one.printable for one in HOUSE.presses if one.name == press.name)
        assert most is not None
        assert all(size <= limit * PT_PER_MM + TIGHT for size, limit in zip(image, most, strict=True))
    # copies: as many of each section as the run says, all of them whole
    for run in plan.runs:
        counted = Counter(p.position for p in (*plan.places, *plan.again) if p.sheet == run.sheet)
        assert set(counted.values()) == {run.copies_on}


def head_to_tail(run: SheetRun) -> bool:
    return run.way in ("work and tumble", "perfecting")


def backs_up(plan: Plan) -> None:
    """Side to side x runs from the other end and y stays; head to tail y runs from the other end and x stays."""
    for places in (plan.places, plan.again):
        by_leaf: dict[tuple[int, str, int], list[PagePlace]] = {}
        for place in places:
            by_leaf.setdefault((place.sheet, place.section, place.leaf), []).append(place)
        for recto, verso in by_leaf.values():
            assert recto.position + 1 == verso.position and recto.position % 2 == 0
            assert {recto.side, verso.side} == {Side.FRONT, Side.BACK}
            assert recto.creep_mm == verso.creep_mm
            run, box = plan.run_of(recto.sheet), verso.trim_pt
            across, up = (size * PT_PER_MM for size in run.sheet_mm)
            seen, turn = Rect(across - box.x1, box.y0, across - box.x0, box.y1), (-1, 1)
            if head_to_tail(run):
                seen, turn = Rect(box.x0, up - box.y1, box.x1, up - box.y0), (1, -1)
            assert recto.trim_pt.holds(seen, TIGHT) and seen.holds(recto.trim_pt, TIGHT)
            head_up = (recto.matrix.c, recto.matrix.d)
            assert (turn[0] * verso.matrix.c, turn[1] * verso.matrix.d) == pytest.approx(head_up, abs=1e-12)


def the_proof_finds_every_page_where_the_plan_puts_it(plan: Plan) -> None:
    """The proof reckons from the folding instructions alone and shares no code with the make-up."""
    book = bind(plan.instructions)
    assert book.troubles == ()
    count = len(plan.places)
    assert len(book.places) == count + len(plan.again)
    theirs = [place for place in book.places if place is not None]
    own = list(zip(plan.places, theirs[:count], strict=True))

    def order(place: PagePlace | Place) -> tuple[int, str, int]:
        return place.sheet, place.section, place.position

    own += zip(sorted(plan.again, key=order), sorted(theirs[count:], key=order), strict=True)
    for mine, other in own:
        assert (mine.sheet, mine.side.value, mine.section) == (other.sheet, other.side, other.section)
        a, b, c, d, e, f = other.to_side
        x, y = other.centre
        centre = ((a * x + c * y + e) * PT_PER_MM, (b * x + d * y + f) * PT_PER_MM)
        assert centre == pytest.approx((mine.matrix.e, mine.matrix.f), abs=TIGHT)
        assert mine.creep_mm == pytest.approx(other.push_mm)


@pytest.mark.parametrize("way", ["work and tumble", "perfecting"])
def test_a_sheet_that_turns_head_to_tail_backs_up(way: str) -> None:
    """Worked by hand: the front's lower edge is the back's upper one.

    So a page that stands so far above the gripper edge of the front has its back as far under the upper edge there.
    """
    plan = planned(32, (140.0, 216.0), press={"name": "Beacon 1620", "way": way}, sections={"pages": 16})
    assert {run.way for run in plan.runs} == {way}
    backs_up(plan)
    stands_once_inside_the_printable_area_clear_of_the_others(plan)
    one, two = plan.places[0].trim_pt, plan.places[1].trim_pt
    height = plan.runs[0].sheet_mm[1] * PT_PER_MM
    assert (one.x0, one.x1) == pytest.approx((two.x0, two.x1))
    assert one.y0 == pytest.approx(height - two.y1)


def test_known_octavo_stands_on_its_sheet_to_the_millimetre() -> None:
    """Worked by hand: A4 in 16s on 640 x 900, sewn.  Panels 214 x 307; the block 856 x 614.

    Gripper 11 and tail 6 leave 9 mm over, half of it below: the block starts at (22, 15.5).  Page 1 is the lower right
    panel: crease at 22 + 3 x 214 = 664, trim from there 210 wide, foot at 15.5 + 5.
    """
    plan = planned(
        16,
        (210.0, 297.0),
        paper={"sheet": "640 x 900 mm"},
        press={"name": "Lamplighter 1020", "way": "two formes"},
        book={"bleed": "3 mm"},
        sections={"fold": "16"},
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


def mark_of(plan: Plan, first: PagePlace) -> CollationBar:
    """The bar of a section on one of its copies: the one that touches the leaf of its first page."""
    unit = next(n for n, section in enumerate(plan.sections) if section.signature == first.signature)
    leaf = first.clip_pt.scaled(1 / PT_PER_MM).grown(9)
    (bar,) = (
        bar
        for bar in plan.bars
        if (bar.sheet, bar.side) == (first.sheet, first.side) and bar.unit == unit and bar.rect_mm.meets(leaf)
    )
    return bar


@pytest.mark.parametrize(("binding", "half"), [("sewn", 1.0), ("glued", 2.5)])
@pytest.mark.parametrize("reading", [LEFT_TO_RIGHT, RIGHT_TO_LEFT])
def test_collation_bars_step_down_the_outside_of_every_section(binding: str, half: float, reading: str) -> None:
    plan = planned(150, (140.0, 216.0), book={"binding": binding, "reading": reading})
    told = plan.instructions.collation
    assert told is not None and told.width_mm == 2 * half
    copies = {place.section for place in (*plan.places, *plan.again)}
    assert {bar.unit for bar in plan.bars} == set(range(len(plan.sections))) and len(plan.bars) == len(copies)
    heads = []
    for section in plan.sections:
        first, last = plan.places[section.first], plan.places[section.first + section.pages - 1]
        bar = mark_of(plan, first)
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
    def first(**book: str) -> Rect:
        """What may print of page 1, upright, mm."""
        place = planned(16, (140.0, 216.0), book=book).places[0]
        return place.matrix.inverse().rect(place.clip_pt).scaled(1 / PT_PER_MM)

    sewn = first(bleed="3 mm")
    assert (sewn.width, sewn.height) == pytest.approx((140 + 3, 216 + 6))
    glued = first(bleed="3 mm", binding="glued")
    assert (glued.width, glued.height) == pytest.approx((140 + 6, 216 + 6))
    # more bleed than the grind-off: it stops at the crease, and the outer allowances grow to hold it
    wide = first(bleed="6 mm", binding="glued")
    assert (wide.width, wide.height) == pytest.approx((140 + 3 + 6, 216 + 12))


def test_blanks_in_front_keep_rectos_rectos() -> None:
    plan = planned(30, (140.0, 216.0), book={"blanks_front": 2})
    assert [place.page for place in plan.places[:4]] == [None, None, 0, 1]
    assert plan.blanks_back == 0
    assert [section.blanks for section in plan.sections] == [2, 0]
