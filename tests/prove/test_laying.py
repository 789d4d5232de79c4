# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages moved or narrowed for push-out, leaned against bottling, on stocks of several thicknesses, with a lip, in rows.

Sources: creep-arc of the handbook (sharp folds: one thickness for every leaf outside; that creep starts again in each
section: creep-monotone), creep-direction (the fore-edge margin is to stay as it is after trimming).  That a leaf is cut
nearer to its own crease by its push-out: geometry of nested folds, worked where it is used.  lip-def and lip-size (8
to 10 mm at one side of a section).  Bottling and parted collation marks: from memory; how far, and in what parts, is
said by the folding instructions.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import evolve

from foldproof.makeup.instructions import Collation, Fold, FoldingInstructions
from foldproof.pdf.proof_affine import at
from foldproof.prove.gathering import bind
from foldproof.prove.model import Leg, Proof, Verdict
from tests.build import Fill, book
from tests.prove.by_hand import EDGE_MM, FOOT_MM, PANEL_MM, PT, TRIM_MM, folds_of, proved, told
from tests.prove.plates import Cell, cells, half_round, plates
from tests.prove.test_handbook_tables import TABLES

OCTAVO = TABLES["imp-16-octavo"]
FORMES = ((OCTAVO["outer"], OCTAVO["outer_heads"]), (OCTAVO["inner"], OCTAVO["inner_heads"]))
SIZE_MM = (4 * PANEL_MM[0] + 2 * EDGE_MM, 2 * PANEL_MM[1] + 2 * EDGE_MM)
#: leaves outside the leaf of each page of an octavo: 1 and 2 and their other half 15 and 16 none (creep-monotone)
OUTSIDE = {page: min((page - 1) // 2, (16 - page) // 2) for page in range(1, 17)}

Change = Callable[[Cell], Cell]


def octavo(**more: Any) -> FoldingInstructions:
    return told(4, 2, folds_of(OCTAVO["folds"], 4, 2), **more)


def section(told: FoldingInstructions, **changes: Any) -> FoldingInstructions:
    sheet = told.sheets[0]
    return evolve(told, sheets=(evolve(sheet, sections=(evolve(sheet.sections[0], **changes),)), *told.sheets[1:]))


def faults(folder: Path, told: FoldingInstructions, change: Change, **more: Any) -> Proof:
    """An octavo of which every cell is changed, folded."""
    manuscript = book(16, folder / "book.pdf", trim_mm=TRIM_MM, bleed_mm=told.bleed_mm, **more)
    sides = [[change(cell) for cell in cells(*forme)] for forme in FORMES]
    return proved(plates(folder / "sheets.pdf", manuscript, SIZE_MM, sides), told, manuscript, pictures=False)


def named(proof: Proof, leg: Leg = Leg.WHERE) -> set[int | None]:
    return {fault.page for fault in proof.faults if fault.leg is leg}


# --- push-out by scale ---

CALIPER_MM = 0.2


def _pushed(cell: Cell, **more: Any) -> Cell:
    return replace(cell, push_mm=OUTSIDE[cell.page] * CALIPER_MM, **more)


def test_pages_narrowed_by_their_push_out(tmp_path: Path) -> None:
    scaled = octavo(caliper_mm=CALIPER_MM)
    scaled = evolve(scaled, creep_by="scale")
    tinted = [Fill((0, 0, *TRIM_MM), "0.1 0 0.2 0 k")]
    proof = faults(tmp_path, scaled, lambda cell: _pushed(cell, narrowed=True), fills=tinted)
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    # pushed out by 0.2 and 0.6 mm, 100 mm become 99.8 and 99.4; left at 100 they are 100.20 and 100.60 % of that
    other = faults(tmp_path, scaled, _pushed)
    assert named(other) == set(range(3, 15))
    for page, part in ((3, "100.20"), (7, "100.60")):
        said = " ".join(fault.says for fault in other.faults if fault.page == page)
        assert f"is drawn at {part} % of its width and 100.00 % of its height" in said
    shifted = evolve(scaled, creep_by="shift")
    assert named(faults(tmp_path, shifted, lambda cell: _pushed(cell, narrowed=True))) == set(range(3, 15))


def test_scale_of_another_push_out_and_about_the_fore_edge(tmp_path: Path) -> None:
    scaled = evolve(octavo(caliper_mm=CALIPER_MM), creep_by="scale")
    # one leaf narrowed as if it lay one further in
    other = faults(tmp_path, scaled, lambda c: _pushed(c, narrowed=True) if c.page != 5 else replace(
        c, push_mm=0.6, narrowed=True))  # fmt: skip
    assert named(other) == {5}
    # narrowed rightly, but with its fore-edge kept: the whole page 0.2 mm beside
    kept = faults(tmp_path, scaled, lambda c: _pushed(c, narrowed=True, aside_mm=0.2 if c.page == 3 else 0.0))
    assert named(kept) == {3}


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_what_the_knives_leave_is_the_same_by_shift_and_by_scale(reading: str) -> None:
    # In the block a leaf pushed out by p is cut where the outermost is, spine_trim + width; on its own paper that is p
    # nearer to its crease.
    for ground in (0.0, 3.0):
        base = section(octavo(caliper_mm=CALIPER_MM, binding="glued"), spine_trim_mm=ground)
        for way in ("shift", "scale"):
            for place in bind(evolve(base, creep_by=way, reading=reading)).places:
                assert place is not None
                # a recto lies at the right of its spine, or at the left of it when read from right to left
                assert place.outward == (1 if (place.position % 2 == 0) == (reading == "left to right") else -1)
                push = OUTSIDE[place.position + 1] * CALIPER_MM
                near, far = sorted(abs(x) for x in (place.trim[0], place.trim[2]))
                assert (far, near) == pytest.approx((ground + 100.0 - push, abs(ground - push)))
                # the page: its spine edge and its fore-edge, by the rule of each way
                u = [place.outward * at(place.lays, place.outward * x, 0.0)[0] for x in (-50.0, 50.0)]
                wanted = (ground - push, far) if way == "shift" else (ground, far)
                assert u == pytest.approx(wanted)


def test_ground_spine_and_scale(tmp_path: Path) -> None:
    # 3 mm ground off, panels wide enough for it
    ground = section(octavo(caliper_mm=CALIPER_MM, binding="glued"), spine_trim_mm=3.0)
    proof = faults(tmp_path, evolve(ground, creep_by="scale"), lambda c: _pushed(c, narrowed=True, spine_mm=3.0))
    assert [fault.says for fault in proof.faults] == []
    other = faults(tmp_path, evolve(ground, creep_by="scale"), lambda c: _pushed(c, spine_mm=3.0))
    assert named(other) == set(range(3, 15))


# --- bottling ---

LEAN_MM = 1.0


def _leaned(cell: Cell, by: float = LEAN_MM, **more: Any) -> Cell:
    # four leaves on either side: 1, 3/4, 1/2 and 1/4 of it, from the outermost inwards
    return replace(cell, lean_mm=by * {0: 1.0, 1: 0.75, 2: 0.5, 3: 0.25}[OUTSIDE[cell.page]], **more)


def test_pages_lean_against_bottling(tmp_path: Path) -> None:
    bottled = section(octavo(), bottling_mm=LEAN_MM)
    tinted = [Fill((20, 20, 80, 130), "0.1 0 0.2 0 k")]
    proof = faults(tmp_path, bottled, _leaned, fills=tinted)
    assert [fault.says for fault in proof.faults] == []
    assert all(page.look.startswith("same") for page in proof.pages)
    everyone = set(range(1, 17))
    for change in (lambda c: c, lambda c: _leaned(c, -LEAN_MM), lambda c: _leaned(c, LEAN_MM / 2)):
        wrong = faults(tmp_path, bottled, change, fills=tinted)
        assert named(wrong) == everyone
        assert "is askew" in wrong.faults[0].says
    assert named(faults(tmp_path, octavo(), _leaned, fills=tinted)) == everyone
    # as much on every leaf: right on the outermost alone
    alike = faults(tmp_path, bottled, lambda c: replace(c, lean_mm=LEAN_MM), fills=tinted)
    assert named(alike) == everyone - {1, 2, 15, 16}


def test_bottling_with_push_out_by_shift_and_by_scale(tmp_path: Path) -> None:
    bottled = section(octavo(caliper_mm=CALIPER_MM), bottling_mm=LEAN_MM)
    assert faults(tmp_path, bottled, lambda c: _pushed(_leaned(c))).faults == ()
    scaled = evolve(bottled, creep_by="scale")
    assert faults(tmp_path, scaled, lambda c: _pushed(_leaned(c), narrowed=True)).faults == ()
    assert named(faults(tmp_path, scaled, lambda c: _pushed(_leaned(c)))) == set(range(3, 15))


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_head_leans_and_foot_stays(reading: str) -> None:
    for place in bind(evolve(section(octavo(), bottling_mm=LEAN_MM), reading=reading)).places:
        assert place is not None
        lean = LEAN_MM * (4 - OUTSIDE[place.position + 1]) / 4
        inner = -50.0 * place.outward
        assert at(place.lays, inner, -75.0) == pytest.approx((0.0, FOOT_MM))
        x, y = at(place.lays, inner, 75.0)
        # 1 mm over 150: the head sinks by 150 (1 - cos) = 0.003 mm
        assert place.outward * x == pytest.approx(lean, abs=1e-3)
        assert y == pytest.approx(FOOT_MM + 150.0, abs=0.005)


def test_without_the_manuscript_pages_lie_alike_once_narrowed_and_leaned(tmp_path: Path) -> None:
    told = evolve(section(octavo(caliper_mm=CALIPER_MM), bottling_mm=LEAN_MM), creep_by="scale")
    manuscript = book(16, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    sides = [[_pushed(_leaned(cell), narrowed=True) for cell in cells(*forme)] for forme in FORMES]
    sheets = plates(tmp_path / "sheets.pdf", manuscript, SIZE_MM, sides)
    proof = proved(sheets, told, None)
    assert (proof.verdict, proof.faults, proof.notes) == (Verdict.NOT_COMPARED, (), ())
    sides[0] = [replace(cell, push_mm=2.0) if cell.page == 9 else cell for cell in sides[0]]
    sheets = plates(tmp_path / "sheets.pdf", manuscript, SIZE_MM, sides)
    assert [fault.position for fault in proved(sheets, told, None).faults] == [8]


@pytest.mark.parametrize("ground", [0.0, 3.0])
def test_bleeding_pages_narrowed_and_leaned_under_upright_clips(ground: float, tmp_path: Path) -> None:
    base = section(octavo(caliper_mm=CALIPER_MM, binding="glued"), bottling_mm=LEAN_MM, spine_trim_mm=ground)
    told = evolve(base, creep_by="scale", bleed_mm=3.0)
    full = [Fill((-3, -3, TRIM_MM[0] + 3, TRIM_MM[1] + 3), "0.1 0.5 0.3 0 k")]

    def whole(cell: Cell) -> Cell:
        return _pushed(_leaned(cell), narrowed=True, bleed_mm=3.0, spine_mm=ground)

    proof = faults(tmp_path, told, whole, fills=full)
    assert [fault.says for fault in proof.faults] == []
    cut = faults(tmp_path, told, lambda c: replace(whole(c), cut_mm=1.0 if c.page == 9 else 0.0), fills=full)
    assert named(cut) == {9}
    assert "bleed cut by its clip" in cut.faults[0].says
    moved = faults(tmp_path, told, lambda c: replace(whole(c), narrowed=c.page != 8), fills=full)
    assert named(moved) == {8}


# --- stocks of several thicknesses ---


def _ternion(**more: Any) -> tuple[FoldingInstructions, list[list[Cell]]]:
    """imp-ternion (Jacobi 1897): three folios one in another; sheet 1 holds 1, 2, 11, 12, sheet 2 3, 4, 9, 10 ..."""
    once = folds_of(["V1 right part over left"], 2, 1)
    nested = told(2, 1, once, sheets=3, gathering=(("1A", "2A", "3A"),), binding="stitched", **more)
    sides = []
    for low, high in ((1, 12), (3, 10), (5, 8)):
        sides += [cells([[high, low]], ["^^"]), cells([[low + 1, high - 1]], ["^^"])]
    return nested, sides


def test_push_out_is_the_thickness_of_each_leaf_outside_by_its_own_stock(tmp_path: Path) -> None:
    nested, sides = _ternion(caliper_mm=0.1)
    # a wrap 0.3 mm thick round two folios of the text's 0.1 mm: 0, 0.3, 0.3 + 0.1
    wrapped = evolve(nested, sheets=(evolve(nested.sheets[0], caliper_mm=0.3), *nested.sheets[1:]))
    push = {0: 0.0, 1: 0.3, 2: 0.4}
    laid = [[replace(c, push_mm=push[min((c.page - 1) // 2, (12 - c.page) // 2)]) for c in side] for side in sides]
    manuscript = book(12, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    size = (2 * PANEL_MM[0] + 2 * EDGE_MM, PANEL_MM[1] + 2 * EDGE_MM)
    sheets = plates(tmp_path / "sheets.pdf", manuscript, size, laid)
    assert [fault.says for fault in proved(sheets, wrapped, manuscript).faults] == []
    assert named(proved(sheets, nested, manuscript)) == set(range(3, 11))
    # the middle one thick instead: what lies in it alone would be pushed out by more
    middle = evolve(nested, sheets=(nested.sheets[0], evolve(nested.sheets[1], caliper_mm=0.3), nested.sheets[2]))
    assert [p.push_mm for p in bind(middle).places if p] == pytest.approx(
        [0, 0, 0.1, 0.1, 0.4, 0.4, 0.4, 0.4, 0.1, 0.1, 0, 0]
    )
    assert [p.push_mm for p in bind(evolve(wrapped, creep_factor=math.pi / 2)).places if p][4] == pytest.approx(
        0.4 * math.pi / 2
    )


def test_thickness_of_its_own_sheet_counts_inside_a_section() -> None:
    thick = octavo(caliper_mm=0.1)
    thick = evolve(thick, sheets=(evolve(thick.sheets[0], caliper_mm=0.25),))
    assert [p.push_mm for p in bind(thick).places if p][:8] == pytest.approx([0, 0, 0.25, 0.25, 0.5, 0.5, 0.75, 0.75])


def test_push_out_of_more_than_half_a_leaf_is_told() -> None:
    said = [t.says for t in bind(evolve(octavo(caliper_mm=20.0), creep_by="scale")).troubles]
    assert any("A leaf of section 1A on sheet 1 would be pushed out by 60.00 mm" in each for each in said)
    said = [t.says for t in bind(evolve(octavo(), creep_by="stretch")).troubles]
    assert said == ['Push-out is said to be answered by "stretch", which is neither shift nor scale.']


# --- lip ---


def lipped(columns: Sequence[float]) -> tuple[FoldingInstructions, list[list[Cell]]]:
    """The octavo with columns of these widths on the front, from the left; folds on the creases between them."""
    edges = [EDGE_MM + sum(columns[:i]) for i in range(5)]
    low, middle, high = EDGE_MM, EDGE_MM + PANEL_MM[1], EDGE_MM + 2 * PANEL_MM[1]
    folds = (  # imp-16-octavo with the outer face up: as told in by_hand
        Fold("left 2 under", ((edges[2], low), (edges[2], high))),
        Fold("top 1 under", ((edges[2], middle), (edges[4], middle))),
        Fold("left 1 under", ((edges[3], low), (edges[3], middle))),
    )
    made = section(octavo(), column_mm=tuple(columns), rect_mm=(EDGE_MM, low, edges[4], high), folds=folds)
    made = evolve(made, sheets=(evolve(made.sheets[0], width_mm=edges[4] + EDGE_MM),))
    sides = []
    for (grid, heads), wide in zip(FORMES, (columns, tuple(reversed(columns))), strict=True):
        sides.append([
            Cell(page, (EDGE_MM + sum(wide[:c]), EDGE_MM + (1 - r) * PANEL_MM[1]), heads[r][c] == "^",
                 panel_mm=(wide[c], PANEL_MM[1]))
            for r, line in enumerate(grid) for c, page in enumerate(line)
        ])  # fmt: skip
    return made, sides


W = PANEL_MM[0]


@pytest.mark.parametrize(
    ("columns", "wider"),
    [
        ((W + 9, W, W, W + 9), {1, 2, 3, 4, 5, 6, 7, 8}),  # pages 5 and 8, 4 and 1 stand in the outer columns
        ((W, W + 9, W + 9, W), {9, 10, 11, 12, 13, 14, 15, 16}),
    ],
)
def test_lip_on_either_half(columns: tuple[float, ...], wider: set[int], tmp_path: Path) -> None:
    laid, sides = lipped(columns)
    places = bind(laid).places
    out = {p.position + 1 for p in places if p and p.panel[2] - p.panel[0] > W + 8.9}
    assert out == wider
    # every leaf reaches the spine fold
    assert all(p and min(abs(p.panel[0]), abs(p.panel[2])) < 1e-9 for p in places)
    manuscript = book(16, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    size = (sum(columns) + 2 * EDGE_MM, SIZE_MM[1])
    sheets = plates(tmp_path / "sheets.pdf", manuscript, size, sides)
    assert [fault.says for fault in proved(sheets, laid, manuscript).faults] == []
    # as if there were no lip on the plates: those whose spine edge lies elsewhere then
    plain = [[replace(c, panel_mm=PANEL_MM) for c in side] for side in sides]
    sheets = plates(tmp_path / "sheets.pdf", manuscript, size, plain)
    assert named(proved(sheets, laid, manuscript)) <= wider
    assert named(proved(sheets, laid, manuscript))


def test_lip_across_the_fold_is_refused() -> None:
    laid, _ = lipped((W, W + 9, W, W + 9))
    said = " ".join(trouble.says for trouble in bind(laid).troubles)
    assert "creases a leaf between its edges" in said


def test_bolt_of_the_short_half_must_still_be_cut_open() -> None:
    # Without the 4 mm of fore-edge trim the bolts between the two shorter columns stay shut: in the table 12 | 9 and
    # 13 | 16, which are leaves 6 | 5 and 7 | 8.  The lip's own edges are the sheet's, and open.
    laid, _ = lipped((W + 9, W, W, W + 9))
    shut = [t.says for t in bind(evolve(laid, trim_mm=(W, 150.0))).troubles]
    assert [re.findall(r"at the fore-edge between leaves (\d) and (\d)", each) for each in shut] == [
        [("5", "6")],
        [("7", "8")],
    ]


# --- perfecting ---


def test_two_formes_with_the_sheet_turned_head_to_tail(tmp_path: Path) -> None:
    # imp-wat-edge on tumbling: the tail becomes the gripper; so behind a leaf at height y is printed at (height - y)
    perfected = evolve(octavo(), sheets=(evolve(octavo().sheets[0], turn="head to tail"),))
    manuscript = book(16, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    sides = [cells(*FORMES[0]), cells(*half_round(*FORMES[1]))]
    sheets = plates(tmp_path / "sheets.pdf", manuscript, SIZE_MM, sides)
    proof = proved(sheets, perfected, manuscript)
    assert [fault.says for fault in proof.faults] == []
    assert proved(sheets, octavo(), manuscript).verdict is Verdict.FAILED
    sheets = plates(tmp_path / "sheets.pdf", manuscript, SIZE_MM, [cells(*forme) for forme in FORMES])
    assert {f.page for f in proved(sheets, perfected, manuscript).faults} == {p for row in FORMES[1][0] for p in row}


# --- collation in rows ---

ROWS = Collation(first_mm=20.0, step_mm=12.0, steps=2, length_mm=7.0, width_mm=2.0, gap_mm=1.0)


def _mark(step: int, parts: int) -> str:
    """Between pages 4 and 1 of a folio (imp-4-folio): a bar in so many parts, 1 mm between them."""
    x, top = EDGE_MM + PANEL_MM[0] - 1, EDGE_MM + FOOT_MM + TRIM_MM[1] - 20 - 12 * step
    long = (7.0 - (parts - 1)) / parts
    return "".join(
        f"q 0 0 0 1 k {x * PT} {(top - long - n * (long + 1)) * PT} {2 * PT} {long * PT} re f Q\n" for n in range(parts)
    )


def _third(folder: Path, marks: Sequence[str], told: FoldingInstructions) -> Proof:
    """Three folios; a mark on the outer side of each."""
    manuscript = book(12, folder / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    size = (2 * PANEL_MM[0] + 2 * EDGE_MM, PANEL_MM[1] + 2 * EDGE_MM)
    with pikepdf.new() as out:
        for number, mark in enumerate(marks):
            first = 4 * number + 1
            sides = [cells([[first + 3, first]], ["^^"]), cells([[first + 1, first + 2]], ["^^"])]
            one = plates(folder / f"{number}.pdf", manuscript, size, sides, mark)
            with pikepdf.open(one) as part:
                out.pages.extend(part.pages)
        out.save(folder / "sheets.pdf", static_id=True)
    return proved(folder / "sheets.pdf", told, manuscript, pictures=False)


def test_third_section_of_two_steps_has_its_mark_in_two_parts(tmp_path: Path) -> None:
    folios = told(2, 1, folds_of(["V1 right part over left"], 2, 1), sheets=3, collation=ROWS)
    good = [_mark(0, 1), _mark(1, 1), _mark(0, 2)]
    assert [f.says for f in _third(tmp_path, good, folios).faults] == []
    (whole,) = _third(tmp_path, [*good[:2], _mark(0, 1)], folios).faults
    assert (whole.leg, whole.page) == (Leg.COLLATION, 9)
    assert "stands where it belongs, but is in one piece instead of 2 parts" in whole.says
    (parted,) = _third(tmp_path, [_mark(0, 2), *good[1:]], folios).faults
    assert (parted.leg, parted.page) == (Leg.COLLATION, 1)
    assert "is in 2 parts instead of one piece" in parted.says
    (step,) = _third(tmp_path, [*good[:2], _mark(1, 2)], folios).faults
    assert "stands at step 2 of 2 instead of step 1." in step.says
    (both,) = _third(tmp_path, [*good[:2], _mark(1, 1)], folios).faults
    assert "stands at step 2 of 2 instead of step 1 and is in one piece instead of 2 parts." in both.says
    (gone,) = _third(tmp_path, [*good[:2], ""], folios).faults
    assert "is not where step 1 of 2 belongs, in 2 parts" in gone.says
    (three,) = _third(tmp_path, [*good[:2], _mark(0, 3)], folios).faults
    assert three.page == 9


def test_thin_gap_in_a_long_bar_is_seen(tmp_path: Path) -> None:
    # nine tenths of a bar are black, and still it is in two parts
    mark = evolve(ROWS, length_mm=11.0, step_mm=14.0)
    folios = told(2, 1, folds_of(["V1 right part over left"], 2, 1), sheets=3, collation=mark)
    x, top = EDGE_MM + PANEL_MM[0] - 1, EDGE_MM + FOOT_MM + TRIM_MM[1] - 20

    def bar(step: int, *parts: tuple[float, float]) -> str:
        return "".join(
            f"q 0 0 0 1 k {x * PT} {(top - 14 * step - b) * PT} {2 * PT} {(b - a) * PT} re f Q\n" for a, b in parts
        )

    good = [bar(0, (0, 11)), bar(1, (0, 11)), bar(0, (0, 5), (6, 11))]
    assert _third(tmp_path, good, folios).faults == ()
    (fault,) = _third(tmp_path, [bar(0, (0, 5), (6, 11)), *good[1:]], folios).faults
    assert (fault.leg, fault.page) == (Leg.COLLATION, 1)


def test_parts_that_nobody_can_tell_are_told() -> None:
    folios = told(2, 1, folds_of(["V1 right part over left"], 2, 1), sheets=3, collation=evolve(ROWS, gap_mm=0.2))
    (trouble,) = bind(folios).troubles
    assert trouble.says == (
        "In row 2 the collation mark would be 2 parts of 3.40 mm with gaps of 0.20 mm, which nobody can tell apart."
    )
    assert bind(evolve(folios, collation=evolve(ROWS, gap_mm=0.2, steps=3))).troubles == ()
    (trouble,) = bind(evolve(folios, collation=evolve(ROWS, gap_mm=6.5))).troubles
    assert "2 parts of 0.25 mm" in trouble.says
