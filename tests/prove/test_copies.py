# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sections printed again on their sheet: work and turn, work and tumble, two up.

The printed tables are those of the handbook (sources in test_handbook_tables).  No printed table of half sheets is at
hand: theirs are got by turning the sheet.  imp-wat-halves (Roberts & Etherington, 'imposition'): work and turn carries
two complete units, one on each half of the sheet, cut apart after backing.  imp-styles-4: one set of plates.
imp-wat-edge: turned, the gripper edge stays and the side lay changes; tumbled, the gripper edge becomes the tail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from attrs import evolve

from foldproof.makeup.instructions import Collation, FoldingInstructions, Section
from foldproof.prove.gathering import bind
from foldproof.prove.model import Leg, Proof, Verdict
from foldproof.report.as_json import proof_json, schema
from tests.build import book
from tests.prove.by_hand import EDGE_MM, PANEL_MM, PT, TRIM_MM, folds_of, proved, told
from tests.prove.plates import Cell, cells, exchanged, half_round, mirrored, moved, plates
from tests.prove.test_handbook_tables import TABLES

OCTAVO = "imp-16-octavo"


def _one(name: str) -> tuple[FoldingInstructions, float, float]:
    """The instructions of a table alone on its sheet; width and height of its section."""
    table = TABLES[name]
    rows, columns = len(table["outer"]), len(table["outer"][0])
    alone = told(columns, rows, folds_of(table["folds"], columns, rows), head=table.get("head"))
    return alone, columns * PANEL_MM[0], rows * PANEL_MM[1]


def work_and_turn(name: str) -> tuple[FoldingInstructions, tuple[float, float], list[Cell]]:
    """Left half the outer forme, right half the inner; turned side to side under the same gripper edge, same plate."""
    table = TABLES[name]
    alone, wide, high = _one(name)
    size = (2 * wide + 2 * EDGE_MM, high + 2 * EDGE_MM)
    first = alone.sheets[0].sections[0]
    # the left half, seen through the paper, is the right one turned over: x of one is width minus x of the other
    again = evolve(
        moved(first, wide, 0.0), id="1B", copy_of="1A", turned_over=True, folds=mirrored(first.folds, x_sum=size[0])
    )
    slit = ((size[0] / 2, 0.0), (size[0] / 2, size[1]))
    sheet = evolve(alone.sheets[0], width_mm=size[0], sections=(first, again), slits_mm=(slit,))
    plate = cells(table["outer"], table["outer_heads"])
    plate += cells(table["inner"], table["inner_heads"], EDGE_MM + wide)
    return evolve(alone, sheets=(sheet,)), size, plate


def work_and_tumble(name: str) -> tuple[FoldingInstructions, tuple[float, float], list[Cell]]:
    """Lower half the outer forme, upper half the inner, head to head; tumbled, the tail edge becomes the gripper."""
    table = TABLES[name]
    alone, wide, high = _one(name)
    size = (wide + 2 * EDGE_MM, 2 * high + 2 * EDGE_MM)
    first = alone.sheets[0].sections[0]
    # What is y above the edge on one side is y below the other edge behind it, x is kept.  So the inner forme, which
    # the table gives as seen when turned side to side, stands half round; and so does the outer, seen from behind
    # after a turn side to side.
    again = evolve(
        moved(first, 0.0, high), id="1B", copy_of="1A", turned_over=True, turned=180,
        folds=mirrored(first.folds, y_sum=size[1]),
    )  # fmt: skip
    slit = ((0.0, size[1] / 2), (size[0], size[1] / 2))
    sheet = evolve(alone.sheets[0], height_mm=size[1], turn="head to tail", sections=(first, again), slits_mm=(slit,))
    plate = cells(table["outer"], table["outer_heads"])
    plate += cells(*half_round(table["inner"], table["inner_heads"]), EDGE_MM, EDGE_MM + high)
    return evolve(alone, sheets=(sheet,)), size, plate


WAYS = {"turn": work_and_turn, "tumble": work_and_tumble}


class Laid:
    """A manuscript of as many pages as the plate has, and the sheet printed from it twice."""

    def __init__(self, folder: Path, way: str, name: str = OCTAVO) -> None:
        self.told, self.size, self.plate = WAYS[way](name)
        self.folder = folder
        self.manuscript = book(len(self.plate), folder / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)

    def proof(
        self,
        front: Sequence[Cell] | None = None,
        back: Sequence[Cell] | None = None,
        told: FoldingInstructions | None = None,
        more: str = "",
        with_manuscript: bool = True,
    ) -> Proof:
        sides = [front or self.plate, back or self.plate]
        sheets = plates(self.folder / "sheets.pdf", self.manuscript, self.size, sides, more)
        return proved(sheets, told or self.told, self.manuscript if with_manuscript else None, pictures=False)

    @property
    def half(self) -> int:
        return len(self.plate) // 2

    def changed(self, **changes: Any) -> FoldingInstructions:
        """The second section told otherwise."""
        return second(self.told, **changes)


def second(told: FoldingInstructions, **changes: Any) -> FoldingInstructions:
    sheet, *rest = told.sheets
    changed = evolve(sheet, sections=(sheet.sections[0], evolve(sheet.sections[1], **changes)))
    return evolve(told, sheets=(changed, *rest))


def says(told: FoldingInstructions) -> str:
    return " | ".join(trouble.says for trouble in bind(told).troubles)


@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("way", WAYS)
def test_one_plate_on_both_sides_makes_two_copies(way: str, name: str, tmp_path: Path) -> None:
    laid = Laid(tmp_path, way, name)
    proof = laid.proof()
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    pages = list(range(1, len(laid.plate) + 1))
    for each, section in ((proof.pages, "1A"), (proof.copies, "1B")):
        assert [p.found for p in each] == [p.expected for p in each] == pages
        assert [p.position for p in each] == [page - 1 for page in pages]
        assert {p.section for p in each} == {section}
        assert all(p.claimed and p.look.startswith("same") and p.shift_mm is not None for p in each)
    # each page stands once on either side of the sheet
    sides = {(p.found, p.side) for p in (*proof.pages, *proof.copies)}
    assert sides == {(page, side) for page in pages for side in ("front", "back")}


@pytest.mark.parametrize("way", WAYS)
def test_two_pages_exchanged_in_a_copy_are_named_with_their_piece(way: str, tmp_path: Path) -> None:
    laid = Laid(tmp_path, way)
    # the second half of the front plate is the copy's inner forme: pages 2 and 15 stand side by side in it
    proof = laid.proof(front=[*laid.plate[: laid.half], *exchanged(laid.plate[laid.half :], 2, 15)])
    assert proof.verdict is Verdict.FAILED
    assert {(fault.page, fault.sheet, fault.side, fault.position) for fault in proof.faults} == {
        (2, 1, "front", 1), (15, 1, "front", 14),
    }  # fmt: skip
    assert all("piece 1B" in fault.says and "1A" not in fault.says for fault in proof.faults)
    assert [p.found for p in proof.pages] == list(range(1, 17))
    assert [p.position for p in proof.copies if p.found != p.expected] == [1, 14]


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"aside_mm": 0.2}, "stands 0.20 mm too far"),
        ({"aside_mm": 0.04}, None),  # the limit is 0.05 mm
        ({"up": None}, "stands on its head"),
    ],
)
def test_a_page_of_a_copy_that_stands_wrong_is_named(
    change: dict[str, Any], expected: str | None, tmp_path: Path
) -> None:
    laid = Laid(tmp_path, "turn")
    spoilt = list(laid.plate)
    at = next(i for i in range(laid.half, 2 * laid.half) if spoilt[i].page == 7)
    if "up" in change:
        change = {"up": not spoilt[at].up, "spine_at_right": True}
    spoilt[at] = replace(spoilt[at], **change)
    proof = laid.proof(front=spoilt)
    if expected is None:
        assert proof.verdict is Verdict.PROVED
        return
    assert {(fault.page, fault.side) for fault in proof.faults} == {(7, "front")}
    assert any(expected in fault.says for fault in proof.faults)
    assert all("piece 1B" in fault.says for fault in proof.faults)


def test_a_page_missing_from_a_copy_and_paint_on_it(tmp_path: Path) -> None:
    laid = Laid(tmp_path, "turn")
    back = [cell for cell in laid.plate[: laid.half] if cell.page != 16] + laid.plate[laid.half :]
    (lost,) = laid.proof(back=back).faults  # on the back the left half of the plate prints the copy
    assert (lost.page, lost.side, lost.leg) == (16, "back", Leg.WHICH)
    assert "piece 1B" in lost.says and "nothing stands there" in lost.says
    # 40 mm into the copy's lower left panel, page 2
    x = (EDGE_MM + 4 * PANEL_MM[0] + 40) * PT
    (painted,) = laid.proof(more=f"0 0 0 0.3 k {x} {60 * PT} 12 12 re f").faults
    assert (painted.page, painted.leg) == (2, Leg.LOOK)
    assert "piece 1B" in painted.says


@pytest.mark.parametrize("way", WAYS)
def test_a_copy_that_is_not_turned_over_fails(way: str, tmp_path: Path) -> None:
    laid = Laid(tmp_path, way)
    proof = laid.proof(told=laid.changed(turned_over=False))
    assert proof.verdict is Verdict.FAILED
    assert all("1B" in fault.says for fault in proof.faults)
    assert not any(p.found != p.expected for p in proof.pages)
    assert {p.position for p in proof.copies if p.found != p.expected}


def test_a_tumbled_copy_turned_the_other_way_stands_on_its_head(tmp_path: Path) -> None:
    laid = Laid(tmp_path, "tumble")
    assert laid.proof(told=laid.changed(turned=0)).verdict is Verdict.FAILED
    sheet = evolve(laid.told.sheets[0], turn="side to side")
    assert laid.proof(told=evolve(laid.told, sheets=(sheet,))).verdict is Verdict.FAILED


def test_a_copy_that_is_folded_otherwise_fails(tmp_path: Path) -> None:
    laid = Laid(tmp_path, "turn")
    folds = laid.told.sheets[0].sections[1].folds
    other = evolve(folds[-1], words=folds[-1].words.replace("under", "over"))
    proof = laid.proof(told=laid.changed(folds=(*folds[:-1], other)))
    assert proof.verdict is Verdict.FAILED
    assert all("1B" in fault.says for fault in proof.faults)


def test_two_exchanged_sections_of_a_copy_are_seen_against_the_book(tmp_path: Path) -> None:
    """Two folios two up: the second copy of one is printed where that of the other belongs."""
    laid = _two_up()
    manuscript = book(8, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    sides = _two_up_sides()
    sheets = plates(tmp_path / "sheets.pdf", manuscript, _TWO_UP_MM, sides)
    assert proved(sheets, laid, manuscript).verdict is Verdict.PROVED
    turned = evolve(
        laid,
        sheets=tuple(
            evolve(s, sections=(s.sections[0], evolve(s.sections[1], copy_of=other)))
            for s, other in zip(laid.sheets, ("2A", "1A"), strict=True)
        ),
    )
    proof = proved(sheets, turned, manuscript)
    assert {(f.page, f.sheet) for f in proof.faults} == {(n, 1) for n in (5, 6, 7, 8)} | {(n, 2) for n in (1, 2, 3, 4)}


_TWO_UP_MM = (4 * PANEL_MM[0] + 2 * EDGE_MM, PANEL_MM[1] + 2 * EDGE_MM)


def _two_up(**more: Any) -> FoldingInstructions:
    """imp-4-folio, twice side by side on each of two sheets, both sides with their own formes."""
    base = told(2, 1, folds_of(["V1 right part over left"], 2, 1), sheets=2, **more)
    made = []
    for sheet in base.sheets:
        first = sheet.sections[0]
        again: Section = moved(first, 2 * PANEL_MM[0], 0.0, id=f"{sheet.number}B", copy_of=first.id)
        slit = ((_TWO_UP_MM[0] / 2, 0.0), (_TWO_UP_MM[0] / 2, _TWO_UP_MM[1]))
        made.append(evolve(sheet, width_mm=_TWO_UP_MM[0], sections=(first, again), slits_mm=(slit,)))
    return evolve(base, sheets=tuple(made))


def _two_up_sides() -> list[list[Cell]]:
    sides = []
    for first in (1, 5):
        for pair in ((first + 3, first), (first + 1, first + 2)):
            sides.append([c for n in (0, 2) for c in cells([pair], ["^^"], EDGE_MM + n * PANEL_MM[0])])
    return sides


MARK = Collation(first_mm=20.0, step_mm=10.0, steps=4, length_mm=6.0, width_mm=2.0)


def _bar(copy: int, step: int = 0) -> str:
    x = (EDGE_MM + (1 + 2 * copy) * PANEL_MM[0] - 1) * PT
    top = EDGE_MM + 6 + TRIM_MM[1] - 20 - 10 * step
    return f"q 0 0 0 1 k {x} {(top - 6) * PT} {2 * PT} {6 * PT} re f Q\n"


def test_copies_carry_the_collation_mark_too(tmp_path: Path) -> None:
    manuscript = book(8, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    laid = _two_up(collation=MARK)
    sheet = evolve(laid, sheets=laid.sheets[:1], gathering=(("1A",),))

    def faults(more: str) -> list[tuple[Leg, int | None, bool]]:
        short = book(4, tmp_path / "short.pdf", trim_mm=TRIM_MM, bleed_mm=0)
        sheets = plates(tmp_path / "sheets.pdf", manuscript, _TWO_UP_MM, _two_up_sides()[:2], more)
        proof = proved(sheets, sheet, short)
        return [(fault.leg, fault.page, "piece 1B" in fault.says) for fault in proof.faults]

    assert faults(_bar(0) + _bar(1)) == []
    assert faults(_bar(0)) == [(Leg.COLLATION, 1, True)]
    assert faults(_bar(0) + _bar(1, 2)) == [(Leg.COLLATION, 1, True)]
    assert faults(_bar(1)) == [(Leg.COLLATION, 1, False)]


def test_what_cannot_be_a_copy_is_told() -> None:
    both = _two_up()
    assert says(both) == ""
    assert "Section 1B is said to be a copy of 9Z, which no sheet carries" in says(second(both, copy_of="9Z"))
    assert "a copy of 2B, which is no first copy itself" in says(second(both, copy_of="2B"))
    assert "a copy of 1B, which is no first copy itself" in says(second(both, copy_of="1B"))
    assert "Section 1B is folded but not gathered" in says(second(both, copy_of=None))
    gathered = evolve(both, gathering=(("1A",), ("1B",), ("2A",)))
    assert "Section 1B is to be gathered, but is said to be a copy of 1A" in says(gathered)
    # a quarto is no copy of a folio
    quarto, *_ = work_and_turn("imp-8-grid")
    other = evolve(quarto.sheets[0].sections[1], id="1B", copy_of="2A")
    mixed = evolve(both, sheets=(evolve(both.sheets[0], sections=(both.sheets[0].sections[0], other)), both.sheets[1]))
    assert "but has 4 leaves, and that has 2" in says(mixed)


def test_copies_nest_with_the_copies_of_what_lies_round_them() -> None:
    # push-out of the inner folio of each copy is the thickness of the outer one: 0.3 mm (creep-arc, sharp folds)
    both = _two_up(gathering=(("1A", "2A"),), binding="stitched")
    thick = (evolve(both.sheets[0], caliper_mm=0.3), both.sheets[1])
    places = bind(evolve(both, sheets=thick)).places
    assert [round(p.push_mm, 6) for p in places if p and p.section == "2A"] == [0.3] * 4
    assert [round(p.push_mm, 6) for p in places if p and p.section == "2B"] == [0.3] * 4
    assert [p.of_book for p in places if p and p.section[1] == "B"] == [0, 1, 2, 3, 4, 5, 6, 7]
    assert [p.section for p in places if p and p.section[1] == "B"] == ["1B"] * 2 + ["2B"] * 4 + ["1B"] * 2


def test_without_the_manuscript_a_copy_is_held_against_the_first(tmp_path: Path) -> None:
    laid = Laid(tmp_path, "turn", "imp-8-grid")
    whole = laid.proof(with_manuscript=False)
    assert whole.verdict is Verdict.NOT_COMPARED
    assert [p.section for p in whole.copies] == ["1B"] * 8
    assert not any("same matter" in note for note in whole.notes)
    front = [*laid.plate[: laid.half], *exchanged(laid.plate[laid.half :], 2, 7)]
    faults = laid.proof(front=front, with_manuscript=False).faults
    assert [fault.position for fault in faults] == [1, 6]
    assert all("(piece 1B), is not what stands there" in fault.says for fault in faults)
    aside = [*laid.plate[: laid.half], *(replace(cell, aside_mm=0.2) for cell in laid.plate[laid.half :])]
    faults = laid.proof(front=aside, with_manuscript=False).faults
    assert len(faults) == 4
    assert all("stands 0.20 mm beside" in fault.says for fault in faults)


def test_copies_are_in_the_published_proof(tmp_path: Path) -> None:
    data = proof_json(Laid(tmp_path, "turn", "imp-4-folio").proof())
    jsonschema.validate(data, schema("proof"))
    assert [(row["position"], row["found"], row["section"]) for row in data["copies"]] == [
        (n, n + 1, "1B") for n in range(4)
    ]
    data["copies"][0]["section"] = None
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema("proof"))
