# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the proof makes of folding instructions before it looks at any page."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from foldproof.makeup.instructions import Collation, Fold, FoldingInstructions, Section
from foldproof.pdf.proof_affine import at
from foldproof.prove.gathering import bind
from tests.prove.by_hand import EDGE_MM, PANEL_MM, folds_of, told

OCTAVO = ("V2 right part over left", "H1 top part down over bottom", "V1 right part over left")
FOLIO = ("V1 right part over left",)


def octavo(**more: Any) -> FoldingInstructions:
    return told(4, 2, folds_of(OCTAVO, 4, 2), **more)


def section(instructions: FoldingInstructions, **changes: Any) -> FoldingInstructions:
    """The instructions with the first section changed."""
    sheet = instructions.sheets[0]
    changed = evolve(sheet, sections=(evolve(sheet.sections[0], **changes), *sheet.sections[1:]))
    return evolve(instructions, sheets=(changed, *instructions.sheets[1:]))


def says(instructions: FoldingInstructions) -> str:
    return " | ".join(trouble.says for trouble in bind(instructions).troubles)


def _line(words: str, a: tuple[float, float], b: tuple[float, float]) -> Fold:
    return Fold(words, ((a[0] + EDGE_MM, a[1] + EDGE_MM), (b[0] + EDGE_MM, b[1] + EDGE_MM)))


def test_octavo_as_told_has_no_fault() -> None:
    assert says(octavo()) == ""


def test_known_answer_of_the_house_scheme() -> None:
    # the design of the fold model: right under, top over, left over give front 5 12 9 8 (heads down) over 4 13 16 1,
    # back 7 10 11 6 (heads down) over 2 15 14 3; the same table as imp-16-octavo of the handbook
    w, h = PANEL_MM
    folds = (
        _line("right under", (2 * w, 0), (2 * w, 2 * h)),
        _line("top over", (0, h), (2 * w, h)),
        _line("left over", (w, 0), (w, h)),
    )
    book = bind(told(4, 2, folds))
    assert book.troubles == ()
    grids: dict[str, list[list[int]]] = {"front": [[0] * 4, [0] * 4], "back": [[0] * 4, [0] * 4]}
    for place in book.places:
        assert place is not None
        x, y = at(place.to_side, *place.centre)
        row = 1 if y < EDGE_MM + h else 0
        grids[place.side][row][int((x - EDGE_MM) // w)] = place.position + 1
        assert place.to_side[0] == pytest.approx(-1 if row == 0 else 1)
    assert grids["front"] == [[5, 12, 9, 8], [4, 13, 16, 1]]
    assert grids["back"] == [[7, 10, 11, 6], [2, 15, 14, 3]]


def test_push_out_counts_the_leaves_outside_at_the_spine() -> None:
    # creep-monotone of the handbook: 0 outermost, rising to the middle, by one caliper a leaf (creep-arc, sharp folds)
    book = bind(octavo(caliper_mm=0.1))
    push = [round(place.push_mm, 6) for place in book.places if place]
    assert push == [0, 0, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3, 0.3, 0.3, 0.2, 0.2, 0.1, 0.1, 0, 0]


def test_push_out_runs_through_sections_set_one_in_another() -> None:
    once = folds_of(FOLIO, 2, 1)
    book = bind(told(2, 1, once, sheets=3, gathering=(("1A", "2A", "3A"),), caliper_mm=0.1, binding="stitched"))
    assert book.troubles == ()
    assert [round(p.push_mm, 6) for p in book.places if p] == [0, 0, 0.1, 0.1, 0.2, 0.2, 0.2, 0.2, 0.1, 0.1, 0, 0]
    assert [p.section for p in book.places if p] == ["1A"] * 2 + ["2A"] * 2 + ["3A"] * 4 + ["2A"] * 2 + ["1A"] * 2


def test_read_right_to_left_the_spine_is_at_the_right_of_page_one() -> None:
    there = [p for p in bind(octavo()).places if p]
    here = [p for p in bind(evolve(octavo(), reading="right to left")).places if p]
    assert [p.outward for p in here] == [-p.outward for p in there]
    # the same pile turned over: what was read last is read first
    assert [(p.sheet, p.side, p.on_side) for p in here] == [(p.sheet, p.side, p.on_side) for p in reversed(there)]


def test_other_head_turns_the_pile_and_reverses_the_reading() -> None:
    # the design of the fold model
    there = [p for p in bind(octavo()).places if p]
    other = section(octavo(), head="bottom", head_trim_mm=6.0, foot_trim_mm=5.0)
    here = [p for p in bind(other).places if p]
    assert [p.side for p in here] == [p.side for p in reversed(there)]
    assert here[0].to_side[0] == pytest.approx(-there[-1].to_side[0])


def test_roll_cannot_be_sewn_but_can_be_glued() -> None:
    # the design of the fold model: a 6 folded in a roll leaves a leaf hanging by a bolt, and it falls out when trimmed
    w, h = PANEL_MM
    roll = (
        _line("right 1 over", (2 * w, 0), (2 * w, h)),
        _line("left 1 over", (w, 0), (w, h)),
    )
    assert "thread and wire do not hold it" in says(told(3, 1, roll))
    assert says(told(3, 1, roll, binding="glued")) == ""
    book = bind(told(3, 1, roll, binding="glued"))
    assert len(book.places) == 6


def test_concertina_glued_leaves_no_leaf_off_the_spine() -> None:
    w, h = PANEL_MM
    zigzag = (_line("right 1 over", (2 * w, 0), (2 * w, h)), _line("left 1 under", (w, 0), (w, h)))
    assert says(told(3, 1, zigzag, binding="glued")) == ""
    assert "does not hold" in says(told(3, 1, zigzag)) or "do not hold" in says(told(3, 1, zigzag))


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("left under and over", "is not understood"),
        ("left 4 under", "would move 4 of 4 panels"),
        ("left 1 under", "mm from where its words"),
        ("top 1 under", "from where its words"),
    ],
)
def test_altered_words_of_the_first_fold(words: str, expected: str) -> None:
    changed = octavo()
    folds = changed.sheets[0].sections[0].folds
    assert expected in says(section(changed, folds=(evolve(folds[0], words=words), *folds[1:])))


def test_line_beside_its_place_is_told() -> None:
    folds = octavo().sheets[0].sections[0].folds
    (ax, ay), (bx, by) = folds[1].line_mm
    moved = evolve(folds[1], line_mm=((ax, ay + 0.5), (bx, by + 0.5)))
    assert 'fold 2 ("top 1 under") is drawn 0.50 mm from where' in says(
        section(octavo(), folds=(folds[0], moved, folds[2]))
    )


def test_line_that_does_not_cross_the_pile_is_told() -> None:
    folds = octavo().sheets[0].sections[0].folds
    (ax, ay), (bx, by) = folds[0].line_mm
    short = evolve(folds[0], line_mm=((ax, ay), (bx, (ay + by) / 2)))
    assert "does not cross the whole pile" in says(section(octavo(), folds=(short, *folds[1:])))


def test_fold_left_out_leaves_more_than_leaves() -> None:
    assert "not folded down to single leaves" in says(section(octavo(), folds=octavo().sheets[0].sections[0].folds[:2]))


def test_widths_must_add_up_to_the_rectangle() -> None:
    assert "its panels add up to" in says(section(octavo(), column_mm=(PANEL_MM[0] + 1,) + (PANEL_MM[0],) * 3))


def test_fold_through_the_middle_of_a_leaf_is_refused() -> None:
    # columns 104, 104, 90, 118: after halving, the lower panels lie 104 and 104, the upper ones 118 and 90
    w, _ = PANEL_MM
    folds = octavo().sheets[0].sections[0].folds
    uneven = section(octavo(), column_mm=(w, w, w - 14, w + 14), folds=folds)
    assert "creases a leaf between its edges" in says(uneven)


def test_head_trim_must_leave_the_height_of_the_book() -> None:
    assert "head and foot trim leave" in says(section(octavo(), head_trim_mm=7.0))


def test_bolt_that_no_knife_reaches() -> None:
    assert "the bolt at the head" in says(section(octavo(), head_trim_mm=0.0, foot_trim_mm=11.0))
    wide = evolve(octavo(), trim_mm=(PANEL_MM[0], 150.0))
    assert "the bolt at the fore-edge" in says(wide)
    # a folio has no bolt at the head (imp-8-quarto-def: "a four-page section has no bolt at the head")
    folio = told(2, 1, folds_of(FOLIO, 2, 1))
    assert says(section(folio, head_trim_mm=0.0, foot_trim_mm=11.0)) == ""


def test_gathering_names_every_section_once() -> None:
    two = octavo(sheets=2)
    assert "Section 2A is folded but not gathered" in says(evolve(two, gathering=(("1A",),)))
    assert "gathered twice" in says(evolve(two, gathering=(("1A",), ("1A",), ("2A",))))
    assert "no sheet carries it" in says(evolve(two, gathering=(("1A",), ("2A",), ("3A",))))


def test_stitched_book_is_one_pile() -> None:
    assert "one pile of sheets set one in another" in says(octavo(sheets=2, binding="stitched"))


def test_sections_of_a_sheet_are_slit_apart() -> None:
    w, h = PANEL_MM
    once = (_line("left 1 under", (w, 0), (w, h)),)
    base = told(2, 1, once)
    below = base.sheets[0].sections[0]
    above: Section = evolve(
        below, id="1B", rect_mm=(EDGE_MM, EDGE_MM + h, EDGE_MM + 2 * w, EDGE_MM + 2 * h),
        folds=(Fold("left 1 under", ((EDGE_MM + w, EDGE_MM + h), (EDGE_MM + w, EDGE_MM + 2 * h))),),
    )  # fmt: skip
    sheet = evolve(base.sheets[0], height_mm=2 * h + 2 * EDGE_MM, sections=(below, above))
    pair = evolve(base, sheets=(sheet,), gathering=(("1A",), ("1B",)))
    assert "No slit parts sections 1A and 1B" in says(pair)
    across = ((0.0, EDGE_MM + h), (sheet.width_mm, EDGE_MM + h))
    assert says(evolve(pair, sheets=(evolve(sheet, slits_mm=(across,)),))) == ""
    partly = ((0.0, EDGE_MM + h), (sheet.width_mm / 2, EDGE_MM + h))
    assert "No slit parts" in says(evolve(pair, sheets=(evolve(sheet, slits_mm=(partly,)),)))
    through = ((0.0, EDGE_MM + h / 2), (sheet.width_mm, EDGE_MM + h / 2))
    assert "cuts through piece 1A" in says(evolve(pair, sheets=(evolve(sheet, slits_mm=(across, through)),)))
    lower = evolve(above, rect_mm=(EDGE_MM, EDGE_MM + h - 20, EDGE_MM + 2 * w, EDGE_MM + 2 * h - 20))
    assert "overlap" in says(evolve(pair, sheets=(evolve(sheet, sections=(below, lower), slits_mm=(across,)),)))
    narrow = evolve(sheet, width_mm=150.0, slits_mm=(across,))
    assert "does not lie inside sheet 1" in says(evolve(pair, sheets=(narrow,)))


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_section_turned_on_the_sheet_reads_the_same(turned: int) -> None:
    # a folio turned counter-clockwise: its scheme's right lies up at 90, left at 180, down at 270
    w, h = PANEL_MM
    wide, high = (2 * w, h) if turned in (0, 180) else (h, 2 * w)
    middle = ((w, 0.0), (w, h)) if turned in (0, 180) else ((0.0, w), (h, w))
    folio = told(2, 1, (_line("left under", *middle),))
    laid = section(folio, turned=turned, rect_mm=(EDGE_MM, EDGE_MM, EDGE_MM + wide, EDGE_MM + high))
    laid = evolve(laid, sheets=(evolve(laid.sheets[0], width_mm=wide + 2 * EDGE_MM, height_mm=high + 2 * EDGE_MM),))
    book = bind(laid)
    assert book.troubles == ()
    first = book.places[0]
    assert first is not None
    assert first.side == "front"
    # page 1 stands at the scheme's right (imp-4-folio: outer 4 1), its head at the scheme's top
    cos, sin = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[turned]
    assert first.to_side[:2] == pytest.approx((cos, sin))
    x, y = at(first.to_side, *first.centre)
    middle_x, middle_y = EDGE_MM + wide / 2, EDGE_MM + high / 2
    assert (x - middle_x) * cos + (y - middle_y) * sin > 0


def test_sheet_turned_head_to_tail_has_its_back_the_other_way_up() -> None:
    side = bind(octavo())
    tail = bind(evolve(octavo(), sheets=(evolve(octavo().sheets[0], turn="head to tail"),)))
    for one, other in zip(side.places, tail.places, strict=True):
        assert one is not None
        assert other is not None
        sign = -1 if one.side == "back" else 1
        assert other.to_side[0] == pytest.approx(sign * one.to_side[0])


def test_collation_steps_down_the_spine_and_begins_again() -> None:
    mark = Collation(first_mm=20.0, step_mm=4.0, steps=2, length_mm=3.0, width_mm=2.0)
    bars = bind(octavo(sheets=3, collation=mark)).bars
    head = 6.0 + 150.0  # foot trim and height of the book
    assert [bar.box for bar in bars] == [(-1, head - 23 - d, 1, head - 20 - d) for d in (0, 4, 0)]
    assert [bar.position for bar in bars] == [0, 16, 32]
