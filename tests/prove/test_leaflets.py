# SPDX-License-Identifier: AGPL-3.0-or-later
"""Leaflets: cut, folded, and neither bound nor cut again.

That the panel folded in is 1 to 2 mm narrower: common practice, no source.  Where its pages stand was got by folding a
strip of paper: three panels, the right one folded over the middle one, the left one over both, give from the top 1 2
(the left), 3 4 (the right), 5 6 (the middle); so 2 5 4 on the face that lay up and 3 6 1 behind it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from attrs import evolve

from foldproof.makeup.instructions import Fold, FoldingInstructions, Section, Sheet
from foldproof.prove.gathering import bind
from foldproof.prove.model import Leg, Proof, Verdict
from tests.build import Fill, book
from tests.prove.by_hand import EDGE_MM, PT, TRIM_MM, proved
from tests.prove.plates import Cell, plates

WIDTHS = (100.0, 100.0, 98.0)
SIZE_MM = (sum(WIDTHS) + 2 * EDGE_MM, TRIM_MM[1] + 2 * EDGE_MM)


def roll(**changes: Any) -> FoldingInstructions:
    """Six pages; the right panel, 2 mm narrower, is folded in first."""
    low, high = EDGE_MM, EDGE_MM + TRIM_MM[1]
    folds = (
        Fold("right 1 over", ((EDGE_MM + 200, low), (EDGE_MM + 200, high))),
        Fold("left 1 over", ((EDGE_MM + 100, low), (EDGE_MM + 100, high))),
    )
    section = Section(
        id="1A", rect_mm=(EDGE_MM, low, EDGE_MM + 298, high), turned=0, columns=3, rows=1, column_mm=WIDTHS,
        row_mm=(TRIM_MM[1],), folds=folds, head=None, head_trim_mm=0.0, foot_trim_mm=0.0, spine_trim_mm=0.0,
    )  # fmt: skip
    wide, tall = SIZE_MM
    slits = (
        ((0.0, low), (wide, low)),
        ((0.0, high), (wide, high)),
        ((EDGE_MM, low), (EDGE_MM, high)),
        ((EDGE_MM + 298, low), (EDGE_MM + 298, high)),
    )
    sheet = Sheet(1, wide, tall, "side to side", slits, (evolve(section, **changes),))
    return FoldingInstructions(
        reading="left to right", binding="leaflet", trim_mm=TRIM_MM, bleed_mm=0.0, caliper_mm=0.3, creep_factor=1.0,
        sheets=(sheet,), gathering=(("1A",),), collation=None,
    )  # fmt: skip


def sides() -> list[list[Cell]]:
    """Panels from the left on either face; the narrow one hangs at the middle one and loses 2 mm at its free edge."""

    def cell(page: int, left: float, wide: float = 100.0, inset: float = 0.0) -> Cell:
        return Cell(page, (EDGE_MM + left, EDGE_MM), panel_mm=(wide, TRIM_MM[1]), foot_mm=0.0, inset_mm=inset)

    return [
        # page 4 hangs by its left edge, which is its fore-edge: its free edge lies at the right, 2 mm from its spine
        [cell(2, 0), cell(5, 100), cell(4, 200, 98, 2)],
        [cell(3, 0, 98, 2), cell(6, 98), cell(1, 198)],
    ]


def _proof(folder: Path, told: FoldingInstructions, laid: Sequence[Sequence[Cell]]) -> Proof:
    tinted = [Fill((0, 0, *TRIM_MM), "0.1 0 0.2 0 k")]
    manuscript = book(6, folder / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0, fills=tinted)
    sheets = plates(folder / "sheets.pdf", manuscript, SIZE_MM, laid)
    return proved(sheets, told, manuscript, pictures=False)


def says(told: FoldingInstructions) -> str:
    return " | ".join(trouble.says for trouble in bind(told).troubles)


def test_roll_of_six_pages_with_a_panel_folded_in(tmp_path: Path) -> None:
    proof = _proof(tmp_path, roll(), sides())
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    assert [p.found for p in proof.pages] == [1, 2, 3, 4, 5, 6]
    # the same piece cannot be sewn: nothing holds its leaves, and nothing is cut
    assert "thread and wire do not hold it" in says(evolve(roll(), binding="sewn"))


def test_what_is_seen_of_the_panel_folded_in() -> None:
    seen = {p.position + 1: p.seen for p in bind(roll()).places if p}
    assert [round(box[2] - box[0], 6) for _, box in sorted(seen.items())] == [100, 100, 98, 98, 100, 100]
    # its free edge lies 2 mm from the fold that the pile opens at
    assert (seen[3][0], seen[4][2]) == (2, -2)
    # cut before folding, nothing moves for the paper's thickness
    assert {p.push_mm for p in bind(roll()).places if p} == {0}


def test_page_set_at_the_free_edge_instead_of_the_fold_is_named(tmp_path: Path) -> None:
    front, back = sides()
    front[2] = replace(front[2], aside_mm=-2.0)
    faults = _proof(tmp_path, roll(), [front, back]).faults
    assert {fault.page for fault in faults} == {4}
    assert any("2.00 mm too far left" in fault.says for fault in faults)


def test_fold_turned_the_other_way_is_another_leaflet(tmp_path: Path) -> None:
    (first, second) = roll().sheets[0].sections[0].folds
    other = roll(folds=(evolve(first, words="right 1 under"), second))
    proof = _proof(tmp_path, other, sides())
    assert proof.verdict is Verdict.FAILED
    assert {fault.leg for fault in proof.faults} >= {Leg.WHICH}


def test_what_a_leaflet_cannot_be() -> None:
    assert says(roll()) == ""
    assert "trimmed after folding, but a leaflet is cut before" in says(roll(head_trim_mm=1.0))
    assert "its widest leaf is 100.00 mm wide; the leaflet is 99.00 mm" in says(evolve(roll(), trim_mm=(99.0, 150.0)))
    assert "leaf 1 is 150.00 mm high; the leaflet is 149.00 mm" in says(evolve(roll(), trim_mm=(100.0, 149.0)))
    sheet = roll().sheets[0]
    for nth, name in enumerate(("foot", "head", "left", "right")):
        slits = sheet.slits_mm[:nth] + sheet.slits_mm[nth + 1 :]
        left = evolve(roll(), sheets=(evolve(sheet, slits_mm=slits),))
        assert "cuts 15.00 mm of its edge off piece 1A" in says(left), name
    twice = evolve(roll(), gathering=(("1A",), ("1A",)))
    assert "A leaflet is bound by nothing, so 2 piles cannot be gathered into one" in says(twice)


def test_paint_on_the_panel_folded_in_is_seen(tmp_path: Path) -> None:
    manuscript = book(6, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    # on the free edge of page 4, 3 mm wide
    more = f"0 0 0 1 k {(EDGE_MM + 294) * PT} {60 * PT} {3 * PT} 20 re f"
    sheets = plates(tmp_path / "sheets.pdf", manuscript, SIZE_MM, sides(), more)
    (fault,) = proved(sheets, roll(), manuscript, pictures=False).faults
    assert (fault.leg, fault.page) == (Leg.LOOK, 4)
