# SPDX-License-Identifier: AGPL-3.0-or-later
"""Marks of sheets printed in every way: where they stand, that none lies on another, what they are printed in."""

from __future__ import annotations

import itertools
from pathlib import Path

import attrs
import numpy as np
import pikepdf
import pymupdf
import pytest

from foldproof.geometry import Matrix, Rect
from foldproof.impose.marks.sheet import MarkMaker, SideMarks
from foldproof.job.model import Job, Marks
from foldproof.makeup.instructions import Fold
from foldproof.makeup.plan import PagePlace, Plan, Press, SheetRun, Side
from foldproof.pdf.sheets_drawing import Block, Cells, Line, Ring, Stroke, Words
from tests.build import PT
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import DATE, SWITCHES, impose, side_index
from tests.impose.test_marks import DPI, inside, lines_of, made_plan, only, pictures, white_book

CMYK = ("Cyan", "Magenta", "Yellow", "Black")
BLACK = ("Black",)
Inks = tuple[tuple[str, ...], tuple[str, ...]]


def printed(made: Plan, way: str = "two formes", inks: Inks = (CMYK, CMYK), press: Press | None = None) -> Plan:
    """The plan with every sheet printed alike."""
    runs = tuple(
        SheetRun(
            sheet.number, press or made.press, way, made.stock, made.grammage, made.caliper_mm, made.grain, True,
            (sheet.width_mm, sheet.height_mm), 2 if way.startswith("work") else 1, inks, "Quarter folder", 1000, 1100,
        )
        for sheet in made.instructions.sheets
    )  # fmt: skip
    return attrs.evolve(made, runs=runs)


def as_made(name: str) -> Plan:
    """A plan of the make-up stage, printed as that says, in four colours on every side that is printed."""
    made = made_plan(name)[1]
    if not made.runs:
        return printed(made)
    runs = tuple(attrs.evolve(run, inks=tuple(CMYK if side else () for side in run.inks)) for run in made.runs)
    return attrs.evolve(made, runs=runs)


def halved(way: str, inks: tuple[str, ...] = CMYK, **how: object) -> Plan:
    """Sheets of twice the size, printed on both sides by one set of plates and cut into two alike.

    One half is the sheet that :func:`plan` makes.  On the first pass the other half of the plate prints what the back
    of this half gets on the second, when the sheet is turned about its middle; so front and back image are the same
    (handbook imp-work-tumble and common practice: the definition of the two ways).
    """
    tumble = way == "work and tumble"
    made = plan(32, turn="head to tail" if tumble else "side to side", **how)
    wide, high = made.sheet_mm
    shift = (0.0, high) if tumble else (wide, 0.0)
    move = Matrix.translation(shift[0] * PT, shift[1] * PT)

    def other(place: PagePlace) -> PagePlace:
        """The same paper of this half, seen on the back of the larger sheet; for the front it is the further copy."""
        return attrs.evolve(
            place, matrix=place.matrix.then(move), clip_pt=move.rect(place.clip_pt), trim_pt=move.rect(place.trim_pt)
        )

    def copied(place: PagePlace) -> PagePlace:
        side = Side.FRONT if place.side is Side.BACK else Side.BACK
        return attrs.evolve(place, side=side, section=place.section.replace("A", "B"))

    own = tuple(place if place.side is Side.FRONT else other(place) for place in made.places)
    size = (wide, 2 * high) if tumble else (2 * wide, high)

    def mirrored(x: float, y: float) -> tuple[float, float]:
        return (x, size[1] - y) if tumble else (size[0] - x, y)

    sheets = []
    for sheet in made.instructions.sheets:
        (section,) = sheet.sections
        x0, y0, x1, y1 = section.rect_mm
        (ax, ay), (bx, by) = mirrored(x0, y0), mirrored(x1, y1)
        folds = tuple(Fold(fold.words, tuple(mirrored(*at) for at in fold.line_mm)) for fold in section.folds)
        copy = attrs.evolve(
            section, id=section.id.replace("A", "B"), turned_over=True, copy_of=section.id, folds=folds,
            rect_mm=(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)),
        )  # fmt: skip
        middle = ((0.0, high), (wide, high)) if tumble else ((wide, 0.0), (wide, high))
        sheets.append(
            attrs.evolve(
                sheet, width_mm=size[0], height_mm=size[1], slits_mm=(middle,), sections=(section, copy)
            )
        )  # fmt: skip
    larger = attrs.evolve(
        made, sheet_mm=size, places=own, again=tuple(copied(place) for place in own), bars=(),
        instructions=attrs.evolve(made.instructions, sheets=tuple(sheets)),
    )  # fmt: skip
    return printed(larger, way, (inks, inks))


def two_on() -> Plan:
    """Sheets of twice the width with the same section on them twice, two formes: the second is for another copy."""
    made = plan(32)
    wide, high = made.sheet_mm
    right, left = Matrix.translation(wide * PT, 0), Matrix()
    own, again, sheets = [], [], []
    for place in made.places:
        # the further copy lies to the right of the first, seen on the front; on the back, the other way about
        steps = (left, right) if place.side is Side.FRONT else (right, left)
        for step, kept in zip(steps, (own, again), strict=True):
            kept.append(
                attrs.evolve(
                    place, matrix=place.matrix.then(step), clip_pt=step.rect(place.clip_pt),
                    trim_pt=step.rect(place.trim_pt),
                    section=place.section if kept is own else place.section.replace("A", "B"),
                )
            )  # fmt: skip
    for sheet in made.instructions.sheets:
        (section,) = sheet.sections
        x0, y0, x1, y1 = section.rect_mm
        folds = tuple(Fold(fold.words, tuple((x + wide, y) for x, y in fold.line_mm)) for fold in section.folds)
        copy = attrs.evolve(
            section, id=section.id.replace("A", "B"), copy_of=section.id, folds=folds,
            rect_mm=(x0 + wide, y0, x1 + wide, y1),
        )  # fmt: skip
        cut = ((wide, 0.0), (wide, high))
        sheets.append(attrs.evolve(sheet, width_mm=2 * wide, slits_mm=(cut,), sections=(section, copy)))
    return printed(
        attrs.evolve(
            made, sheet_mm=(2 * wide, high), places=tuple(own), again=tuple(again), bars=(),
            instructions=attrs.evolve(made.instructions, sheets=tuple(sheets)),
        )
    )  # fmt: skip


KINDS = {
    "octavo, two on": two_on,
    "octavo, four colours and a spot": lambda: printed(plan(32), inks=((*CMYK, "Lamp Gold"), BLACK)),
    "octavo, black alone": lambda: printed(plan(32), inks=(BLACK, BLACK)),
    "octavo, glued, a spot alone": lambda: printed(plan(32, grind_mm=3.0), inks=(("Lamp Gold",), ("Lamp Gold",))),
    "folio, one side": lambda: printed(plan(32, table=FOLIO), "one side", (CMYK, ())),
    "octavo, perfecting": lambda: printed(plan(32, turn="head to tail"), "perfecting"),
    "folio, work and turn": lambda: halved("work and turn", table=FOLIO),
    "octavo, work and turn": lambda: halved("work and turn"),
    "octavo, work and turn, hardly a margin": lambda: halved("work and turn", around_mm=(5.0, 5.0)),
    "folio, work and tumble": lambda: halved("work and tumble", table=FOLIO),
    "octavo, work and tumble, glued": lambda: halved("work and tumble", grind_mm=3.0),
    "octavo, hardly a margin": lambda: printed(plan(32, around_mm=(5.0, 5.0))),
    "octavo, no bleed": lambda: printed(plan(32, bleed_mm=0.0)),
    "sixteens": lambda: as_made("sixteens, sewn"),
    "stitched": lambda: as_made("stitched"),
    "thirty-twos": lambda: as_made("thirty-twos"),
    "twelves": lambda: as_made("twelves"),
    "sixes, glued": lambda: as_made("sixes, glued"),
    "fours": lambda: as_made("fours"),
    "right to left": lambda: as_made("right to left"),
}
LEAVES = (1, 2, 3)


def drawn(made: Plan, marks: Marks | None = None) -> list[SideMarks]:
    return list(MarkMaker(made, marks or Marks(), made.title, DATE, LEAVES).sides())


def job(**more: object) -> Job:
    return Job.model_validate({"sections": {"signed_leaves": LEAVES}, **more})


def box_of(stroke: Stroke) -> Rect:
    """Round the ink of a stroke; words by the advance widths of the library that draws them."""
    match stroke:
        case Line():
            half = stroke.width_pt / 2
            across, along = (half, 0.0) if stroke.x0 == stroke.x1 else (0.0, half)
            box = Rect.from_corners(stroke.x0, stroke.y0, stroke.x1, stroke.y1)
            return Rect(box.x0 - across, box.y0 - along, box.x1 + across, box.y1 + along)
        case Ring():
            reach = stroke.radius_pt + stroke.width_pt / 2
            return Rect(stroke.x - reach, stroke.y - reach, stroke.x + reach, stroke.y + reach)
        case Block():
            xs, ys = [p[0] for p in stroke.points], [p[1] for p in stroke.points]
            return Rect(min(xs), min(ys), max(xs), max(ys))
        case Cells():
            return around(list(stroke.boxes))
        case Words():
            long = pymupdf.Font("helv").text_length(stroke.text, stroke.size_pt)
            level = Rect(0, 0, long, 0.72 * stroke.size_pt)
            turn = Matrix.quarter_turns(stroke.turns)
            return turn.then(Matrix.translation(stroke.x, stroke.y)).rect(level)
    raise AssertionError(stroke)


def around(boxes: list[Rect]) -> Rect:
    return Rect(min(b.x0 for b in boxes), min(b.y0 for b in boxes), max(b.x1 for b in boxes), max(b.y1 for b in boxes))


@pytest.mark.parametrize("name", KINDS)
def test_no_mark_lies_on_another_on_a_page_or_under_the_grippers(name: str) -> None:
    made = KINDS[name]()
    bars = [bar.rect_mm.scaled(PT) for bar in made.bars]
    for index, side in enumerate(drawn(made)):
        sheet, which = made.instructions.sheets[index // 2], list(Side)[index % 2]
        width, height = sheet.width_mm * PT, sheet.height_mm * PT
        run = made.runs[index // 2]
        gripper = run.press.gripper_mm * PT
        tail = gripper if sheet.turn == "head to tail" else 0.0
        matter = [
            place.clip_pt for place in (*made.places, *made.again) if (place.sheet, place.side) == (sheet.number, which)
        ]
        boxes = [around([box_of(stroke) for stroke in mark]) for mark in side.marks]
        assert bool(boxes) == (run.inks[index % 2] != ())
        bar = [any(abs(box.x0 - b.x0) + abs(box.y1 - b.y1) < 0.01 for b in bars) for box in boxes]
        for number, (box, is_bar) in enumerate(zip(boxes, bar, strict=True)):
            assert box.x0 >= 0
            assert box.x1 <= width
            assert box.y0 >= gripper - 1e-6, side.marks[number]
            assert box.y1 <= height - tail + 1e-6
            if not is_bar:
                assert not [clip for clip in matter if box.meets(clip)], side.marks[number]
        for (number, box), (other, second) in itertools.combinations(enumerate(boxes), 2):
            assert not box.meets(second), (side.marks[number], side.marks[other])


@pytest.mark.parametrize(
    "name", ["octavo, two on", "octavo, work and turn", "octavo, work and tumble, glued", "fours", "folio, one side"]
)
def test_the_written_sheet_has_no_ink_on_any_page(name: str, tmp_path: Path) -> None:
    made = KINDS[name]()
    sheets = impose(white_book(made.pages, made, tmp_path), made, tmp_path / "sheets.pdf", job())
    seen = [picture.copy() for picture in pictures(sheets)]
    scale = DPI / 72
    for bar in made.bars:
        box = bar.rect_mm.scaled(PT * scale)
        seen[2 * (bar.sheet - 1) + (bar.side is Side.BACK)][
            int(box.y0) - 1 : int(box.y1) + 2, int(box.x0) - 1 : int(box.x1) + 2
        ] = 255
    for place in (*made.places, *made.again):
        found = inside(seen[side_index(place)], *attrs.astuple(place.clip_pt))
        assert found.size > 1000
        assert (found == 255).all(), f"a mark on {place}"


def test_nothing_is_marked_where_no_ink_prints_and_nothing_is_missed_there() -> None:
    maker = MarkMaker(KINDS["folio, one side"](), Marks(), "The Lamplighter's Almanac", DATE)
    sides = list(maker.sides())
    assert all(side.drawings for side in sides[::2])
    assert not any(side.drawings for side in sides[1::2])
    assert not maker.missing


@pytest.mark.parametrize("name", ["octavo, work and turn", "octavo, work and tumble, glued"])
def test_one_plate_for_both_sides_has_one_set_of_marks(name: str, tmp_path: Path) -> None:
    """The very same drawing objects; its words name both sides; every back-up cross has its mate on the other side."""
    made = KINDS[name]()
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", job())
    with pikepdf.open(sheets.path) as pdf:
        marks = [
            [page.Resources.XObject[key].objgen for key in ("/Marks", "/Marks2")] for page in pdf.pages
        ]  # fmt: skip
    for front, back in zip(marks[::2], marks[1::2], strict=True):
        assert front == back
    way = made.runs[0].way
    with pymupdf.open(sheets.path) as document:
        text = " ".join(document[0].get_text().split())
    assert f"front and back · {way} · Wharf Street 4 · Cyan, Magenta, Yellow, Black" in text
    # turned side to side the second pass is laid against the other edge; head to tail against the same (handbook
    # imp-sheetwork-lay, imp-work-tumble)
    assert ("side lay, first pass" in text) == (way == "work and turn")
    wide, high = (v * PT for v in made.sheet_mm)
    crosses = lines_of(impose(white_book(32, made, tmp_path), made, tmp_path / "b.pdf", only(backup=True)).path, 0.35)
    centres = [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in crosses[0]]
    assert len({(round(x), round(y)) for x, y in centres}) >= 4
    for x, y in centres:
        behind = (wide - x, y) if way == "work and turn" else (x, high - y)
        assert any(behind == pytest.approx(point, abs=0.01) for point in centres)


@pytest.mark.parametrize("name", ["octavo, black alone", "octavo, perfecting", "octavo, work and turn", "fours"])
def test_centre_marks_halve_the_edges_and_cover_one_another(name: str, tmp_path: Path) -> None:
    """Held against the light: each rule of the front lies on one of the back (common practice, no source)."""
    made = KINDS[name]()
    sheets = impose(white_book(made.pages, made, tmp_path), made, tmp_path / "sheets.pdf", only(centre=True))
    sides = lines_of(sheets.path, 0.25)
    for index, (front, back) in enumerate(zip(sides[::2], sides[1::2], strict=True)):
        sheet = made.instructions.sheets[index]
        wide, high = sheet.width_mm * PT, sheet.height_mm * PT
        assert len(front) == 8  # four marks of a rule and a bar
        on_middle = [
            line
            for line in front
            if line[0] == line[2] == pytest.approx(wide / 2, abs=0.01)
            or line[1] == line[3] == pytest.approx(high / 2, abs=0.01)
        ]
        assert len(on_middle) == 4
        for x0, y0, x1, y1 in front:
            behind = (x0, high - y1, x1, high - y0) if sheet.turn == "head to tail" else (wide - x1, y0, wide - x0, y1)
            assert any(behind == pytest.approx(line, abs=0.01) for line in back)


@pytest.mark.parametrize("name", ["octavo, black alone", "octavo, hardly a margin", "octavo, two on", "twelves"])
def test_no_fold_loses_its_mark_to_other_marks(name: str, tmp_path: Path) -> None:
    """Every crease end that has a mark when folds alone are drawn has one among all the others."""
    made = KINDS[name]()
    source = white_book(made.pages, made, tmp_path)
    alone = lines_of(impose(source, made, tmp_path / "alone.pdf", only(fold=True)).path, 0.3)
    among = lines_of(impose(source, made, tmp_path / "among.pdf", job()).path, 0.3)
    for bare, full in zip(alone, among, strict=True):
        assert bare
        for x0, y0, x1, y1 in bare:
            inside_it = [
                line for line in full
                if line[0] >= x0 - 0.01 and line[1] >= y0 - 0.01 and line[2] <= x1 + 0.01 and line[3] <= y1 + 0.01
            ]  # fmt: skip
            assert len(inside_it) == 1


def test_no_fold_is_marked_where_a_section_ends(tmp_path: Path) -> None:
    """Of a six in thirds the second fold lies on the end of the flap: paper ends there and is not creased."""
    made = KINDS["sixes, glued"]()
    sheets = impose(white_book(made.pages, made, tmp_path), made, tmp_path / "sheets.pdf", only(fold=True))
    for index, lines in enumerate(lines_of(sheets.path, 0.3)):
        sheet = made.instructions.sheets[index // 2]
        assert lines or made.runs[index // 2].inks[index % 2] == ()
        for axis, size_mm in ((0, sheet.width_mm), (1, sheet.height_mm)):
            edges = {section.rect_mm[end] * PT for section in sheet.sections for end in (axis, axis + 2)}
            edges |= {size_mm * PT - edge for edge in edges}
            for line in lines:
                if line[axis] == line[axis + 2]:
                    assert min(abs(line[axis] - edge) for edge in edges) > 100


def test_slit_marks_stand_on_every_cut_and_are_told_from_folds(tmp_path: Path) -> None:
    """Solid rules with ticks and the word; on both sides, at the same places of the paper."""
    for number, name in enumerate(("fours", "twelves", "octavo, work and turn", "octavo, work and tumble, glued")):
        made, folder = KINDS[name](), tmp_path / str(number)
        sheets = impose(white_book(made.pages, made, folder), made, folder / "sheets.pdf", only(slit=True))
        assert sheets.marks == ("slit",)
        sides = lines_of(sheets.path, 0.35)
        with pymupdf.open(sheets.path) as document:
            words = [page.get_text().split("\n") for page in document]
            assert {drawing["dashes"] for page in document for drawing in page.get_drawings()} <= {"[] 0", None}
        for index, lines in enumerate(sides):
            sheet = made.instructions.sheets[index // 2]
            wide, high = sheet.width_mm * PT, sheet.height_mm * PT
            for order, ((ax, ay), (bx, by)) in enumerate(sheet.slits_mm, 1):
                upright, at = ax == bx, (ax if ax == bx else ay) * PT
                if index % 2 and upright and sheet.turn == "side to side":
                    at = wide - at
                if index % 2 and not upright and sheet.turn == "head to tail":
                    at = high - at
                across, along = ((0, 2), (1, 3)) if upright else ((1, 3), (0, 2))
                rules = [
                    line
                    for line in lines
                    if all(line[v] == pytest.approx(at, abs=0.01) for v in across)
                    and line[along[1]] - line[along[0]] > 1.4 * PT
                ]
                ends = {line[along[0]] > (high if upright else wide) / 2 for line in rules}
                whole = abs(bx - ax) + abs(by - ay) > 0.99 * (sheet.height_mm if upright else sheet.width_mm)
                assert rules, (name, order)
                assert not whole or ends == {True, False}, (name, order)
                for line in rules:
                    ticks = [
                        other
                        for other in lines
                        if other[across[0]] < at - 0.5
                        and other[across[1]] > at + 0.5
                        and line[along[0]] < other[along[0]] == other[along[1]] < line[along[1]]
                    ]
                    assert len(ticks) == 2
                assert f"slit {order}" in words[index] or f"s{order}" in words[index], (name, order)


def test_a_cut_along_the_gripper_margin_is_marked_on_the_printable_side(tmp_path: Path) -> None:
    """The section begins where the grippers end: the rule lies on the cut, its ticks point away from the grippers."""
    made = printed(plan(32), press=Press("Taper 740", 16.0, 4.0, 4.0))
    cut = ((0.0, 16.0), (made.sheet_mm[0], 16.0))
    told = made.instructions
    told = attrs.evolve(told, sheets=tuple(attrs.evolve(sheet, slits_mm=(cut,)) for sheet in told.sheets))
    made = attrs.evolve(made, instructions=told)
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(slit=True))
    assert not sheets.notes
    for lines in lines_of(sheets.path, 0.35):
        assert min(line[1] for line in lines) == pytest.approx(16.0 * PT, abs=0.01)
        assert sum(line[1] == line[3] for line in lines) == 2
        assert sum(line[3] - line[1] > 0.5 for line in lines) == 4


@pytest.mark.parametrize("turn", ["side to side", "head to tail"])
@pytest.mark.parametrize("lay", ["left", "right"])
def test_the_side_lay_and_the_gripper_are_those_of_the_press_of_the_sheet(turn: str, lay: str, tmp_path: Path) -> None:
    """The press of the run, not that of the plan: its lay, and 15 mm of gripper at the foot of every side."""
    made = printed(plan(32, turn=turn, gripper_mm=15.0), press=Press("Beacon 1620", 15.0, 4.0, 4.0, lay))
    made = attrs.evolve(made, press=Press("Wharf Street 4", 12.0, 4.0, 4.0, "left"))
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(lay=True))
    for index, picture in enumerate(pictures(sheets)):
        first = lay == "left"
        on_left = first if index % 2 == 0 or turn == "head to tail" else not first
        assert ((picture[:, :3] < 128).any(), (picture[:, -3:] < 128).any()) == (on_left, not on_left)
        lowest = int(np.argmax((picture[:, 10:-10] < 128).any(axis=1))) / (DPI / 72)
        assert lowest == pytest.approx(15.0 * PT, abs=1.0)


def test_signatures_stand_on_the_leaves_asked_for_and_on_every_copy(tmp_path: Path) -> None:
    """Leaves 1 and 3 of an octavo are pages 1 and 5 (handbook sig-leaves: leaves 1, 2, 3 are pages 1, 3, 5)."""
    made = KINDS["octavo, work and turn"]()
    told = Job.model_validate(
        {"sections": {"signed_leaves": [1, 3]}, "marks": {**dict.fromkeys(SWITCHES, False), "signature": True}}
    )
    lettered = attrs.evolve(
        made, sections=tuple(attrs.evolve(one, signature="AB"[index]) for index, one in enumerate(made.sections))
    )
    for letters, plan_of, wanted in (
        (False, made, [["1", "1.3"], ["2", "2.3"]]),
        (True, lettered, [["A", "A3"], ["B", "B3"]]),
    ):
        folder = tmp_path / str(letters)
        sheets = impose(white_book(32, made, folder), plan_of, folder / "sheets.pdf", told)
        with pymupdf.open(sheets.path) as document:
            for index, page in enumerate(document):
                # pages 1 and 5 lie on one side of the half sheet, which this plate has once; both passes print it
                assert sorted(page.get_text().split()) == wanted[index // 2]
                for word in page.get_text("words"):
                    x, y = (word[0] + word[2]) / 2, page.rect.height - (word[1] + word[3]) / 2
                    leaf = 3 if word[4].endswith("3") else 1
                    signed = [
                        place
                        for place in (*made.places, *made.again)
                        if side_index(place) == index and place.position % 16 == 2 * (leaf - 1)
                    ]
                    (own,) = [place.matrix.inverse().point(x, y) for place in signed]
                    assert 2.5 * PT < -216 / 2 * PT - own[1] < 6 * PT  # trim of 140 x 216 mm, foot trim of 5 mm
                    assert 1 * PT < own[0] + 140 / 2 * PT < 12 * PT


def test_every_copy_on_a_sheet_is_signed(tmp_path: Path) -> None:
    made = KINDS["octavo, two on"]()
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(signature=True))
    with pymupdf.open(sheets.path) as document:
        assert [page.get_text().split() for page in document] == [["1", "1"], [], ["2", "2"], []]
        left, right = (word[0] for word in document[0].get_text("words"))
    assert abs(right - left) == pytest.approx(made.sheet_mm[0] / 2 * PT, abs=0.01)


def test_a_piece_set_into_another_carries_the_signature_with_a_star(tmp_path: Path) -> None:
    made = plan(32, table=FOLIO)
    one, two, *rest = made.sections
    nested = attrs.evolve(one, pieces=(*one.pieces, *two.pieces))
    made = attrs.evolve(made, sections=(nested, *rest))
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(signature=True))
    with pymupdf.open(sheets.path) as document:
        assert [page.get_text().split() for page in document][:6] == [["1"], [], ["1*"], [], ["3"], []]


def test_the_second_row_of_collation_marks_is_drawn_as_its_parts(tmp_path: Path) -> None:
    """The plan gives a rectangle for each part; all of them are drawn and the gap between them is white."""
    made = plan(16)
    (bar,) = made.bars
    whole = bar.rect_mm
    part = (whole.height - 1.0) / 2
    parts = (
        attrs.evolve(bar, rect_mm=Rect(whole.x0, whole.y0, whole.x1, whole.y0 + part)),
        attrs.evolve(bar, rect_mm=Rect(whole.x0, whole.y1 - part, whole.x1, whole.y1)),
    )
    made = attrs.evolve(made, bars=parts)
    sheets = impose(white_book(16, made, tmp_path), made, tmp_path / "sheets.pdf", only(collation=True))
    picture = pictures(sheets)[0]
    for one in parts:
        assert (inside(picture, *attrs.astuple(one.rect_mm.scaled(PT))) < 90).all()
    gap = Rect(whole.x0, whole.y0 + part, whole.x1, whole.y1 - part).scaled(PT)
    assert (inside(picture, *attrs.astuple(gap)) == 255).all()


def test_the_job_line_says_how_the_sheet_is_printed(tmp_path: Path) -> None:
    made = printed(plan(16), "perfecting", (("Cyan", "Black", "Größe 7"), BLACK), Press("Taper 740", 12.0, 4.0, 4.0))
    sheets = impose(white_book(16, made, tmp_path), made, tmp_path / "sheets.pdf", only(job_line=True))
    with pymupdf.open(sheets.path) as document:
        front, back = (" ".join(page.get_text().split()) for page in document)
    start = "The Lamplighter's Almanac · section 1 · sheet 1 of 1"
    assert front == f"{start} · front · perfecting · Taper 740 · Cyan, Black, Größe 7 · {DATE}"
    assert back == f"{start} · back · perfecting · Taper 740 · Black · {DATE}"


def test_the_same_sheets_have_the_same_bytes(tmp_path: Path) -> None:
    made = KINDS["octavo, four colours and a spot"]()
    source = white_book(32, made, tmp_path)
    first = impose(source, made, tmp_path / "first.pdf", job())
    second = impose(source, made, tmp_path / "second.pdf", job())
    assert first.sha256 == second.sha256


@pytest.mark.parametrize("switch", ["slit", "colour_strip"])
def test_slits_and_strips_have_a_switch(switch: str, tmp_path: Path) -> None:
    made = KINDS["fours"]()
    source = white_book(made.pages, made, tmp_path)
    alone = impose(source, made, tmp_path / "alone.pdf", only(**{switch: True}))
    without = impose(source, made, tmp_path / "without.pdf", Job(marks=Marks.model_validate({switch: False})))
    assert alone.marks == (switch,)
    assert set(without.marks) == set(SWITCHES) - {switch}
