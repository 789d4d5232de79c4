# SPDX-License-Identifier: AGPL-3.0-or-later
"""What no drawing of a leaf shows well enough, and instructions that are none.

Rules of print: overprint and transfer functions are set in the graphics state and last into forms (ISO 32000-1, 8.4.5);
annotations with the Print flag are printed (12.5.3).  That a sewn book loses nothing at the spine: common practice, no
source.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import evolve
from pikepdf import Array, Dictionary, Name, Operator

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.prove.model import Verdict
from tests.damage import damage
from tests.damage.cases import Sheeted
from tests.prove.by_hand import proved
from tests.prove.test_proof import instructions, laid


@pytest.fixture(scope="module")
def sheeted(tmp_path_factory: pytest.TempPathFactory) -> Sheeted:
    return Sheeted.make("sewn 8, right to left", tmp_path_factory.mktemp("unseen"))


def _block(sheets: damage.Sheets, page: int) -> damage.Block:
    return next(block for block in sheets.blocks if block.page == page)


def _faults(sheeted: Sheeted, sheets: damage.Sheets, target: Path) -> list[tuple[int | None, str]]:
    sheets.save(target)
    proof = sheeted.proof(target)
    assert (proof.verdict is Verdict.FAILED) == bool(proof.faults)
    return [(fault.page, fault.says) for fault in proof.faults]


@pytest.mark.parametrize(
    "paint",
    [
        "0 0 0 1 K 0.1 w {x} {y} m {X} {y} l S",  # a hairline
        "0 0 0.05 0 k {x} {y} 40 40 re f",  # yellow, pale to the eye
        "0 0 0 0 k {x} {y} 1 1 re f",  # paper colour on paper: a full stop may lie under it
        "0 0 0 0.02 k {x} {y} 40 40 re f",
        "BT 3 Tr /F 6 Tf 1 0 0 1 {x} {y} Tm (x) Tj ET",
        "q 1 0 0 1 {x} {y} cm BI /W 1 /H 1 /CS /G /BPC 8 ID \xff EI Q",
        "{x} {y} 9 9 re W n /S sh",
    ],
)
def test_anything_painted_on_a_leaf_is_told(paint: str, sheeted: Sheeted, tmp_path: Path) -> None:
    sheets = damage.Sheets.open(sheeted.sheets)
    block = _block(sheets, 4)
    x, y, _, _ = block.clip
    sheets.suffix[block.side] = "q " + paint.format(x=x + 50, y=y + 50, X=x + 90) + " Q"
    ((page, says),) = _faults(sheeted, sheets, tmp_path / "spoilt.pdf")
    assert page == 4
    assert "has something painted on it that is no page" in says


def test_a_mark_that_strays_onto_a_leaf_is_told(sheeted: Sheeted, tmp_path: Path) -> None:
    sheets = damage.Sheets.open(sheeted.sheets)
    block = _block(sheets, 4)
    form = sheets.pdf.make_stream(b"0 0 0 1 K 0.1 w 0 5 m 30 5 l S")
    form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 30, 10])
    sheets.pdf.pages[block.side].obj.Resources.XObject["/Stray"] = form
    x, y, _, _ = block.clip
    sheets.suffix[block.side] = f"q 1 0 0 1 {x + 50} {y + 50} cm /Stray Do Q"
    ((page, says),) = _faults(sheeted, sheets, tmp_path / "spoilt.pdf")
    assert page == 4
    assert "has something painted on it that is no page" in says


@pytest.mark.parametrize("state", [{"op": True, "OP": True, "OPM": 1}, {"ca": 0.97}, {"TR": Name.Identity}])
def test_a_page_drawn_under_settings_of_the_sheet_is_told(
    state: dict[str, Any], sheeted: Sheeted, tmp_path: Path
) -> None:
    sheets = damage.Sheets.open(sheeted.sheets)
    block = _block(sheets, 9)
    sheets.pdf.pages[block.side].obj.Resources.ExtGState = Dictionary(Own=Dictionary(**state))
    block.ops.insert(1, ([Name.Own], Operator("gs")))
    ((page, says),) = _faults(sheeted, sheets, tmp_path / "spoilt.pdf")
    assert page == 9
    assert "is drawn under settings that the sheet makes (gs)" in says


def test_a_clip_of_another_shape_is_told(sheeted: Sheeted, tmp_path: Path) -> None:
    sheets = damage.Sheets.open(sheeted.sheets)
    block = _block(sheets, 9)
    x, y, w, h = block.clip
    at = block.at("re")
    # the box round both is the clip that belongs there; a slip of paper between them stays bare
    parts = [(x, y, w, 100.0), (x, y + 100.2, w, h - 100.2)]
    block.ops[at : at + 1] = [([damage._number(v) for v in part], Operator("re")) for part in parts]
    ((page, says),) = _faults(sheeted, sheets, tmp_path / "spoilt.pdf")
    assert page == 9
    assert "is drawn under settings that the sheet makes (W)" in says


def test_a_trim_that_is_not_the_pages_is_noted(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    assert proved(sheets, instructions(), manuscript).notes == ()
    told = instructions()
    wide, high = told.trim_mm
    section = told.sheets[0].sections[0]
    section = evolve(section, head_trim_mm=section.head_trim_mm - 1, foot_trim_mm=section.foot_trim_mm - 1)
    told = evolve(told, trim_mm=(wide, high + 2), sheets=(evolve(told.sheets[0], sections=(section,)),))
    (note,) = proved(sheets, told, manuscript).notes
    assert note == ("The book is trimmed to 100.0 x 152.0 mm, but most pages of the manuscript to 100.0 x 150.0 mm.")


def test_annotations_and_a_crop_of_a_sheet_are_told(sheeted: Sheeted, tmp_path: Path) -> None:
    with pikepdf.open(sheeted.sheets) as pdf:
        look = pdf.make_stream(b"0 0 9 9 re f")
        look.Type, look.Subtype, look.BBox = Name.XObject, Name.Form, Array([0, 0, 9, 9])
        stamp = Dictionary(
            Type=Name.Annot, Subtype=Name.Stamp, F=4, Rect=Array([400, 400, 409, 409]), AP=Dictionary(N=look)
        )
        pdf.pages[0].obj.Annots = Array([pdf.make_indirect(stamp)])
        pdf.pages[1].obj.CropBox = Array([50, 50, 900, 900])
        pdf.save(tmp_path / "spoilt.pdf", static_id=True)
    proof = sheeted.proof(tmp_path / "spoilt.pdf")
    says = [fault.says for fault in proof.faults]
    assert "Sheet 1, front, carries annotations, which may be printed over its pages." in says
    assert "Sheet 1, back, has a CropBox smaller than the sheet: a plate may be cut to it." in says


def test_a_slit_beside_its_place_is_told_whichever_way_it_went(sheeted: Sheeted) -> None:
    for off in (-2.0, 2.0):
        told = sheeted.plan.instructions.as_json()
        line = told["sheets"][0]["slits_mm"][0]
        assert line[0][0] == line[1][0]  # upright, at the left of the first pieces
        told["sheets"][0]["slits_mm"][0] = [[line[0][0] + off, line[0][1]], [line[1][0] + off, line[1][1]]]
        proof = sheeted.proof(told=told)
        assert proof.verdict is Verdict.FAILED
        wanted = "leaves 2.00 mm more on piece 1A" if off < 0 else "cuts through piece 1A"
        assert any(wanted in fault.says for fault in proof.faults)


def test_a_sewn_book_keeps_its_folds(tmp_path: Path) -> None:
    manuscript, sheets = laid(tmp_path)
    told = instructions()
    section = evolve(told.sheets[0].sections[0], spine_trim_mm=1.0)
    wide, high = told.trim_mm
    # a leaf narrower by twice as much has its middle where it was
    told = evolve(told, trim_mm=(wide - 2, high), sheets=(evolve(told.sheets[0], sections=(section,)),))
    says = [fault.says for fault in proved(sheets, told, manuscript).faults]
    assert any("is to lose 1.00 mm at the spine: a sewn book would lose its folds" in one for one in says)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("caliper_mm",), math.nan),
        (("caliper_mm",), "0.1"),
        (("caliper_mm",), None),
        (("caliper_mm",), -0.1),
        (("bleed_mm",), math.inf),
        (("trim_mm",), [90.0]),
        (("trim_mm", 0), 1e300),
        (("sheets", 0, "width_mm"), "640"),
        (("sheets", 0, "width_mm"), 10**400),
        (("sheets", 0, "turn"), 3),
        (("sheets", 0, "sections", 0, "columns"), "4"),
        (("sheets", 0, "sections", 0, "rows"), 10**9),
        (("sheets", 0, "sections", 0, "head"), ["top"]),
        (("sheets", 0, "sections", 0, "id"), [1]),
        (("sheets", 0, "sections", 0, "spine_trim_mm"), -1.0),
        (("sheets", 0, "sections", 0, "rect_mm"), [1.0, 2.0, 3.0]),
        (("sheets", 0, "sections", 0, "folds", 0, "line_mm", 0, 0), math.nan),
        (("collation", "steps"), 10**9),
        (("collation", "steps"), 2.5),
        (("collation", "first_mm"), math.nan),
        (("collation", "gap_mm"), -0.5),
        (("collation", "gap_mm"), None),
        (("creep_by",), 5),
        (("creep_by",), None),
        (("sheets", 0, "caliper_mm"), "thin"),
        (("sheets", 0, "caliper_mm"), -0.1),
        (("sheets", 0, "caliper_mm"), math.inf),
        (("sheets", 0, "stock"), 90),
        (("sheets", 0, "sections", 0, "turned_over"), "yes"),
        (("sheets", 0, "sections", 0, "turned_over"), 1),
        (("sheets", 0, "sections", 0, "copy_of"), 3),
        (("sheets", 0, "sections", 0, "bottling_mm"), "1 mm"),
        (("sheets", 0, "sections", 0, "bottling_mm"), -1.0),
        (("sheets", 0, "sections", 0, "bottling_mm"), math.nan),
    ],
)
def test_what_is_no_instruction_is_refused_by_name(path: tuple[Any, ...], value: Any, sheeted: Sheeted) -> None:
    told: Any = sheeted.plan.instructions.as_json()
    holder = told
    for step in path[:-1]:
        holder = holder[step]
    if isinstance(holder, tuple):
        pytest.fail("plain JSON has lists")
    holder[path[-1]] = value
    name = next(step for step in reversed(path) if isinstance(step, str))
    with pytest.raises(AskedWrong, match=name):
        proved(sheeted.sheets, FoldingInstructions.from_json(told), sheeted.manuscript)


def test_a_sheet_that_is_blended_in_rgb_is_told(sheeted: Sheeted, tmp_path: Path) -> None:
    for space, wrong in ((Name.DeviceRGB, True), (Name.DeviceCMYK, False)):
        with pikepdf.open(sheeted.sheets) as pdf:
            pdf.pages[1].obj.Group = Dictionary(S=Name.Transparency, CS=space)
            pdf.save(tmp_path / "spoilt.pdf", static_id=True)
        proof = sheeted.proof(tmp_path / "spoilt.pdf")
        assert any("Sheet 1, back, is blended in grey or RGB" in fault.says for fault in proof.faults) == wrong
