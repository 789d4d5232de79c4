# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof as a whole, on a folio and an octavo laid down by hand."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import evolve
from PIL import Image

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.makeup.instructions import Collation, FoldingInstructions
from foldproof.prove.model import Leg, Verdict
from foldproof.prove.prove import MOST_PICTURES, prove
from foldproof.workers import Workers
from tests.build import Fill, book
from tests.prove.by_hand import EDGE_MM, PANEL_MM, PT, TRIM_MM, folds_of, lay, proved, told
from tests.prove.test_handbook_tables import TABLES

OCTAVO = TABLES["imp-16-octavo"]
FORMES = [(OCTAVO["outer"], OCTAVO["outer_heads"]), (OCTAVO["inner"], OCTAVO["inner_heads"])]


def instructions(**more: Any) -> FoldingInstructions:
    return told(4, 2, folds_of(OCTAVO["folds"], 4, 2), **more)


def laid(folder: Path, pages: int = 16, **more: Any) -> tuple[Path, Path]:
    """Manuscript and sheets of one octavo."""
    manuscript = book(pages, folder / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0, **more)
    return manuscript, lay(folder / "sheets.pdf", manuscript, FORMES)


def spoil(sheets: Path, side: int, more: str) -> Path:
    """Operators after all others of a side."""
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        page = pdf.pages[side]
        page.contents_add(f"\nq {more} Q".encode())
        pdf.save(sheets, static_id=True)
    return sheets


def test_one_and_two_workers_say_the_same(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    spoil(sheets, 0, "0 0 0 1 k 100 100 40 40 re f")
    results = []
    for count in (1, 2):
        with Workers(count) as workers:
            results.append(prove(sheets, instructions(), manuscript, workers=workers, advance=lambda done: None))
    assert results[0] == results[1] == proved(sheets, instructions(), manuscript)
    assert results[0].verdict is Verdict.FAILED


def test_progress_counts_every_place(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    seen: list[int] = []
    with Workers(1) as workers:
        prove(sheets, instructions(), manuscript, workers=workers, advance=seen.append)
    assert sum(seen) == 16


def test_page_that_differs_is_shown(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    # on the cell of page 4, lower left of the outer forme
    spoil(sheets, 0, f"0 0 0 1 k {(EDGE_MM + 30) * PT} {(EDGE_MM + 30) * PT} 9 9 re f")
    (fault,) = proved(sheets, instructions(), manuscript).faults
    assert (fault.leg, fault.page, fault.sheet, fault.side) == (Leg.LOOK, 4, 1, "front")
    # 30 mm into the panel; the fore-edge of a verso is at the left: 4 mm go; at the foot 6 mm go; 9 pt are 3.2 mm
    found = re.search(
        r"within ([\d.]+) x ([\d.]+) mm, ([\d.]+) mm from the left and ([\d.]+) mm from the foot", fault.says
    )
    assert found
    assert [float(v) for v in found.groups()] == pytest.approx([3.2, 3.2, 26, 24], abs=0.36)  # a pixel at 72 dpi
    assert fault.picture is not None
    head, data = fault.picture.split(",")
    assert head == "data:image/png;base64"
    picture = Image.open(io.BytesIO(base64.b64decode(data))).convert("RGB")
    assert picture.width < 900
    tinted = [count for count, colour in picture.getcolors(1 << 20) or [] if colour[0] > 150 > 2 * colour[1]]
    assert sum(tinted) > 20


def test_pictures_are_capped_and_can_be_left_out(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    for side in (0, 1):
        spoil(sheets, side, "0.9 g 0 0 5000 5000 re f")
    all_wrong = proved(sheets, instructions(), manuscript)
    assert len(all_wrong.faults) == 16
    assert sum(fault.picture is not None for fault in all_wrong.faults) == MOST_PICTURES
    bare = proved(sheets, instructions(), manuscript, pictures=False)
    assert all(fault.picture is None for fault in bare.faults)


@pytest.mark.parametrize("paint", ["0 0 0 0.1 k", "1 0 0 rg", "1 1 1 rg"])
def test_pale_tint_and_white_are_seen(tmp_path: Path, paint: str) -> None:
    manuscript, sheets = laid(tmp_path, fills=[Fill((20, 20, 40, 40), "0.2 0.2 0 0 k")])
    spoil(sheets, 0, f"{paint} {(EDGE_MM + 30) * PT} {(EDGE_MM + 30) * PT} 12 12 re f")
    assert [fault.page for fault in proved(sheets, instructions(), manuscript).faults] == [4]


def test_twins_that_differ_in_one_digit_are_told_apart(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path, say=lambda index: f"Table {1000 + index}")
    assert proved(sheets, instructions(), manuscript).verdict is Verdict.PROVED
    outer = [list(row) for row in OCTAVO["outer"]]
    outer[0][1], outer[0][2] = outer[0][2], outer[0][1]  # 12 and 9 exchanged
    lay(sheets, manuscript, [(outer, OCTAVO["outer_heads"]), FORMES[1]])
    assert {fault.page for fault in proved(sheets, instructions(), manuscript).faults} == {9, 12}


def test_pages_alike_in_every_byte_are_listed_and_not_claimed(tmp_path: Path) -> None:
    alike = {2: "The same", 6: "The same", 11: "The same"}
    manuscript, sheets = laid(
        tmp_path, say=lambda index: alike.get(index + 1, f"Page {index + 1}"), each=lambda index: {"folio": ""}
    )
    proof = proved(sheets, instructions(), manuscript)
    assert proof.verdict is Verdict.PROVED
    assert proof.alike == ((2, 6, 11),)
    assert [p.expected for p in proof.pages if not p.claimed] == [2, 6, 11]


def test_blanks_are_listed_not_claimed_and_must_be_empty(tmp_path: Path) -> None:
    # pages 15 and 16 are left out: the last leaf is blank
    manuscript = book(14, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    whole = book(16, tmp_path / "whole.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    sheets = lay(tmp_path / "sheets.pdf", whole, FORMES)
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        for page, name in ((pdf.pages[0], "/P16"), (pdf.pages[1], "/P15")):
            del page.obj.Resources.XObject[name]
        pdf.save(sheets, static_id=True)
    proof = proved(sheets, instructions(), manuscript)
    assert proof.verdict is Verdict.PROVED
    assert proof.blanks == (14, 15)
    assert [p.look for p in proof.pages[14:]] == ["blank", "blank"]
    x = EDGE_MM + 2 * PANEL_MM[0] + 20  # the cell of page 16 in the outer forme, lower row, third column
    spoil(sheets, 0, f"0 0 0 0.2 k {x * PT} {(EDGE_MM + 40) * PT} 9 9 re f")
    (fault,) = proved(sheets, instructions(), manuscript).faults
    assert fault.position == 15
    assert "should be empty" in fault.says


def test_empty_leaf_before_page_one_is_taken_and_a_single_page_is_not(tmp_path: Path) -> None:
    manuscript = book(14, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    moved = book(16, tmp_path / "moved.pdf", trim_mm=TRIM_MM, bleed_mm=0, say=lambda i: f"Page {i - 1}",
                 each=lambda i: {"folio": str(i - 1)})  # fmt: skip
    sheets = lay(tmp_path / "sheets.pdf", moved, FORMES)
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        for page, name in ((pdf.pages[0], "/P1"), (pdf.pages[1], "/P2")):
            del page.obj.Resources.XObject[name]
        pdf.save(sheets, static_id=True)
    proof = proved(sheets, instructions(), manuscript)
    assert [fault.says for fault in proof.faults] == []
    assert proof.blanks == (0, 1)
    assert [p.found for p in proof.pages[2:]] == list(range(1, 15))


def test_every_recto_turned_verso_is_told(tmp_path: Path) -> None:
    manuscript = book(15, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    moved = book(16, tmp_path / "moved.pdf", trim_mm=TRIM_MM, bleed_mm=0, say=lambda i: f"Page {i}",
                 each=lambda i: {"folio": str(i)})  # fmt: skip
    sheets = lay(tmp_path / "sheets.pdf", moved, FORMES)
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        del pdf.pages[0].obj.Resources.XObject["/P1"]
        pdf.save(sheets, static_id=True)
    says = [fault.says for fault in proved(sheets, instructions(), manuscript).faults]
    assert any("every right-hand page has become a left-hand one" in line for line in says)


def test_book_longer_than_its_sheets_names_what_is_missing(tmp_path: Path) -> None:
    manuscript = book(18, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    sheets = lay(tmp_path / "sheets.pdf", manuscript, FORMES)
    says = " ".join(fault.says for fault in proved(sheets, instructions(), manuscript).faults)
    assert "pages 17 and 18" in says


def test_sheet_of_another_size_and_side_too_few(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        box = pdf.pages[1].obj.MediaBox
        pdf.pages[1].obj.MediaBox = pikepdf.Array([box[0], box[1], float(box[2]) + 3, box[3]])
        pdf.save(sheets, static_id=True)
    assert "Sheet 1, back, measures" in proved(sheets, instructions(), manuscript).faults[0].says
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        del pdf.pages[1]
        pdf.save(sheets, static_id=True)
    faults = proved(sheets, instructions(), manuscript).faults
    assert "The file has 1 sides" in faults[0].says
    assert {fault.page for fault in faults} >= {2, 3, 6, 7, 10, 11, 14, 15}


def test_without_the_manuscript_nothing_is_claimed(tmp_path: Path) -> None:
    _, sheets = laid(tmp_path)
    proof = proved(sheets, instructions(), None)
    assert proof.verdict is Verdict.NOT_COMPARED
    assert proof.verdict.value == "folds into a book; not proved against content"
    assert proof.manuscript_sha256 is None
    assert not any(p.claimed or p.found or p.expected for p in proof.pages)
    turned = [OCTAVO["outer_heads"][0], "^v^^"]
    lay(sheets, tmp_path / "book.pdf", [(OCTAVO["outer"], turned), FORMES[1]])
    failed = proved(sheets, instructions(), None)
    assert failed.verdict is Verdict.FAILED
    assert "stands on its head" in failed.faults[0].says
    assert (failed.faults[0].sheet, failed.faults[0].side) == (1, "front")


def test_broken_instructions_fail_without_the_manuscript_too(tmp_path: Path) -> None:
    _, sheets = laid(tmp_path)
    lost = evolve(instructions(), gathering=())
    proof = proved(sheets, lost, None)
    assert proof.verdict is Verdict.FAILED
    assert proof.faults[0].leg is Leg.FOLD


def test_section_that_cannot_be_folded_names_its_pages(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    sheet = instructions().sheets[0]
    stuck = evolve(sheet, sections=(evolve(sheet.sections[0], folds=sheet.sections[0].folds[:2]),))
    proof = proved(sheets, evolve(instructions(), sheets=(stuck,)), manuscript)
    assert "It carries pages 1–16." in proof.faults[0].says


def test_clip_that_takes_part_of_the_page_is_told(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    with pikepdf.open(sheets, allow_overwriting_input=True) as pdf:
        content = pdf.pages[0].Contents.read_bytes().decode()
        wide = f"{TRIM_MM[0] * PT:.5f}"
        assert wide in content
        pdf.pages[0].Contents = pdf.make_stream(content.replace(wide, f"{(TRIM_MM[0] - 1) * PT:.5f}", 1).encode())
        pdf.save(sheets, static_id=True)
    (fault,) = proved(sheets, instructions(), manuscript).faults
    assert fault.leg is Leg.WHERE
    assert "cut by its clip: 1.00 mm" in fault.says


MARK = Collation(first_mm=20.0, step_mm=10.0, steps=4, length_mm=6.0, width_mm=2.0)


def _bar(step: int, mm: float = 0.0) -> str:
    # between pages 16 and 1 of the outer forme: lower row, crease between third and fourth column
    x = (EDGE_MM + 3 * PANEL_MM[0] - 1) * PT
    top = EDGE_MM + 6 + TRIM_MM[1] - 20 - 10 * step + mm
    return f"0 0 0 1 k {x} {(top - 6) * PT} {2 * PT} {6 * PT} re f"


def test_collation_mark_where_it_belongs(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    with_mark = instructions(collation=MARK)
    missing = proved(sheets, with_mark, manuscript)
    assert [fault.leg for fault in missing.faults] == [Leg.COLLATION]
    assert "page 1" in missing.faults[0].says
    spoil(sheets, 0, _bar(0))
    assert proved(sheets, with_mark, manuscript).verdict is Verdict.PROVED
    # undeclared, it is foreign matter on both pages
    assert {fault.page for fault in proved(sheets, instructions(), manuscript).faults} == {1, 16}


def test_collation_mark_at_another_step(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    spoil(sheets, 0, _bar(2))
    faults = proved(sheets, instructions(collation=MARK), manuscript).faults
    assert [fault.leg for fault in faults] == [Leg.COLLATION]
    assert "stands at step 3 of 4 instead of step 1" in faults[0].says


def test_second_mark_in_the_strip_is_told(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    spoil(spoil(sheets, 0, _bar(0)), 0, _bar(3))
    faults = proved(sheets, instructions(collation=MARK), manuscript).faults
    assert [fault.leg for fault in faults] == [Leg.COLLATION]
    assert "something else is printed on the spine fold" in faults[0].says


def test_mark_on_page_matter_as_dark_as_itself_cannot_be_told(tmp_path: Path) -> None:
    black = [Fill((0, 0, *TRIM_MM), "0 0 0 1 k")]
    manuscript, sheets = laid(tmp_path, each=lambda index: {"fills": black} if index in (0, 15) else {})
    proof = proved(spoil(sheets, 0, _bar(0)), instructions(collation=MARK), manuscript)
    assert proof.verdict is Verdict.PROVED
    assert "cannot be told" in proof.notes[0]


def test_locked_manuscript_is_read_with_its_password(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    locked = tmp_path / "locked.pdf"
    with pikepdf.open(manuscript) as pdf:
        pdf.save(locked, encryption=pikepdf.Encryption(user="lantern", owner="row", R=6))
    proof = proved(sheets, instructions(), locked, password="lantern")
    assert proof.verdict is Verdict.PROVED
    assert "unlocked copy" in proof.notes[0]
    with pytest.raises(NeedsPassword):
        proved(sheets, instructions(), locked)


def test_what_is_no_pdf_cannot_be_read(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    wrong = tmp_path / "wrong.pdf"
    wrong.write_bytes(b"not a PDF at all")
    with pytest.raises(Unreadable):
        proved(sheets, instructions(), wrong)
    with pytest.raises(Unreadable):
        proved(wrong, instructions(), manuscript)
