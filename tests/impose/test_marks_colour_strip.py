# SPDX-License-Identifier: AGPL-3.0-or-later
"""The colour strip: its patches by hand, on their plates by ghostscript, its spots in the manuscript's own space."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
import pypdf
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from foldproof.impose.marks.colour_strip import pairs, solids
from foldproof.makeup.plan import Press
from foldproof.pdf.sheets_drawing import Process, Spot
from tests.build import PT, book
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import ghostscript, impose
from tests.impose.test_marks import lines_of, only, white_book
from tests.impose.test_marks_of_runs import BLACK, CMYK, printed

C, M, Y, K = (Process(**{ink: 1.0}) for ink in ("cyan", "magenta", "yellow", "black"))


def test_the_patches_are_those_of_the_inks_in_use() -> None:
    """Control patches of 40 and 80 %, grey balance 25/19/19, 50/40/40, 75/64/64: ISO 12647-2:2004, from memory."""
    assert solids(CMYK) == (C, M, Y, K)
    assert pairs(CMYK) == (
        (Process(0.4), Process(0.8)),
        (Process(0, 0.4), Process(0, 0.8)),
        (Process(0, 0, 0.4), Process(0, 0, 0.8)),
        (Process(0, 0, 0, 0.4), Process(0, 0, 0, 0.8)),
        (Process(0.25, 0.19, 0.19), Process(0, 0, 0, 0.25)),
        (Process(0.5, 0.4, 0.4), Process(0, 0, 0, 0.5)),
        (Process(0.75, 0.64, 0.64), Process(0, 0, 0, 0.75)),
        (Process(1, 1, 0), Process(1, 0, 1)),
        (Process(0, 1, 1), Process(1, 1, 1)),
    )
    assert solids(BLACK) == (K,)
    assert pairs(BLACK) == ((Process(0, 0, 0, 0.4), Process(0, 0, 0, 0.8)),)
    gold = ("Black", "Lamp Gold")
    assert solids(gold) == (K, Spot("Lamp Gold", 1.0))
    assert pairs(gold)[1:] == ((Spot("Lamp Gold", 0.4), Spot("Lamp Gold", 0.8)),)
    # no grey balance without one of the three, no overprint of an ink that is not there
    assert pairs(("Cyan", "Yellow"))[2:] == ((Process(1, 0, 1),),)
    assert pairs(("Cyan", "Magenta", "Yellow"))[3] == (Process(0.25, 0.19, 0.19),)


def spot_book(target: Path, pages: int, name: str = "LampGold") -> Path:
    """Pages that each show the spot, its tint transform towards CMYK 0 0.2 0.8 0.1."""

    def each(index: int) -> dict:
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0.2, 0.8, 0.1], N=1)
        spot = Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint])
        return {"resources": {"ColorSpace": Dictionary(S=spot)}, "content": "/S cs 1 scn 200 200 40 40 re f\n"}

    return book(pages, target, each=each, say=lambda index: "", folio="")


def test_every_patch_falls_on_its_own_plates(tool, tmp_path: Path) -> None:
    """ghostscript's separations in the middle of each patch of the first zones, against the list above by hand."""
    made = printed(plan(4, table=FOLIO, around_mm=(14.0, 20.0)), inks=((*CMYK, "LampGold"), BLACK))
    source = spot_book(tmp_path / "book.pdf", 4)
    sheets = impose(source, made, tmp_path / "sheets.pdf", only(colour_strip=True))
    assert sheets.marks == ("colour_strip",)
    with pymupdf.open(sheets.path) as document:
        zones: list[list[pymupdf.Rect]] = [[], []]
        for index, page in enumerate(document):
            boxes = [d["rect"] for d in page.get_drawings() if d["type"] == "f" and d["rect"].height < 10 * PT]
            zones[index] = sorted(boxes, key=lambda box: (box.y0, box.x0))
    assert {round(box.height / PT, 2) for box in zones[0]} == {6.0}
    assert {round(box.width / PT, 2) for box in zones[0]} == {5.0}
    ghostscript(tool("gs"), sheets.path, tmp_path / "plates", "tiffsep")
    plates = {
        side: {
            path.name.split("(")[1][:-5]: np.asarray(Image.open(path)).astype(int)
            for path in (tmp_path / "plates").glob(f"00{side}(*).tif")
        }
        for side in (1, 2)
    }

    def amounts(side: int, box: pymupdf.Rect) -> dict[str, int]:
        x, y = int((box.x0 + box.x1) / 2), int((box.y0 + box.y1) / 2)
        ink = {name: round((255 - plate[y, x]) / 2.55) for name, plate in plates[side].items()}
        return {name: value for name, value in ink.items() if value > 1}

    inks = (*CMYK, "LampGold")
    each = [{ink: 100} for ink in inks]
    second = [[{ink: 40}, {ink: 80}] for ink in inks]
    second += [
        [{"Cyan": 25, "Magenta": 19, "Yellow": 19}, {"Black": 25}],
        [{"Cyan": 50, "Magenta": 40, "Yellow": 40}, {"Black": 50}],
        [{"Cyan": 75, "Magenta": 64, "Yellow": 64}, {"Black": 75}],
    ]
    wanted = [patch for pair in second for patch in (*each, *pair)]
    found = [amounts(1, box) for box in zones[0]]
    assert len(found) >= 5 * 7
    for patch, expected in zip(found, wanted, strict=False):
        assert set(patch) == set(expected)
        assert all(abs(patch[ink] - expected[ink]) <= 1 for ink in expected)
    back = [amounts(2, box) for box in zones[1]]
    assert len(back) >= 3 * 3
    assert back == [{"Black": 100}, {"Black": 40}, {"Black": 80}] * (len(back) // 3)


def test_a_spot_is_drawn_in_the_space_that_the_pages_use(tmp_path: Path) -> None:
    """Pure colorant and recipe of the manuscript; the name as bytes, whatever letters it has."""
    for number, name in enumerate(("LampGold", "Größe #7/2 (50%)", "ランプ 金")):
        made = printed(plan(4, table=FOLIO, around_mm=(14.0, 20.0)), inks=(("Black", name), BLACK))
        source = spot_book(tmp_path / f"{number}.pdf", 4, name)
        sheets = impose(source, made, tmp_path / f"{number}-sheets.pdf", only(colour_strip=True))
        with pikepdf.open(sheets.path) as pdf:
            space = pdf.pages[0].Resources.XObject["/Marks"].Resources.ColorSpace["/S1"]
            assert space[0] == Name.Separation
            assert str(space[1]) == "/" + name
            assert space[2] == Name.DeviceCMYK
            assert [float(v) for v in space[3].C1] == [0, 0.2, 0.8, 0.1]
        reader = pypdf.PdfReader(sheets.path)
        marks = reader.pages[0]["/Resources"]["/XObject"]["/Marks"]
        assert marks["/Resources"]["/ColorSpace"]["/S1"][1] == "/" + name


def test_a_spot_that_only_mixed_colours_name_is_found_among_their_colorants(tmp_path: Path) -> None:
    """ISO 32000-1, 8.6.6.5: a DeviceN space may say in /Colorants what each of its spots is alone."""

    def tint(*solid: float) -> Dictionary:
        return Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(solid), N=1)

    def each(index: int) -> dict:
        alone = Array([Name.Separation, Name.LampGold, Name.DeviceCMYK, tint(0, 0.3, 0.9, 0.05)])
        attributes = Dictionary(Colorants=Dictionary(LampGold=alone))
        mixed = Array([Name.DeviceN, Array([Name.LampGold]), Name.DeviceCMYK, tint(0, 0.3, 0.9, 0.05), attributes])
        form = Dictionary(S=Array([Name.Indexed, mixed, 0, pikepdf.String(b"\xff")]))
        return {"resources": {"ColorSpace": form}, "content": "/S cs 0 sc 200 200 40 40 re f\n"}

    source = book(4, tmp_path / "mixed.pdf", each=each, say=lambda index: "", folio="")
    made = printed(plan(4, table=FOLIO, around_mm=(14.0, 20.0)), inks=(("Black", "LampGold"), BLACK))
    sheets = impose(source, made, tmp_path / "sheets.pdf", only(colour_strip=True))
    with pikepdf.open(sheets.path) as pdf:
        space = pdf.pages[0].Resources.XObject["/Marks"].Resources.ColorSpace["/S1"]
        assert space[1] == Name.LampGold
        assert [float(v) for v in space[3].C1] == [0, 0.3, 0.9, 0.05]


def test_a_spot_unknown_to_the_pages_keeps_its_plate(tool, tmp_path: Path) -> None:
    made = printed(plan(4, table=FOLIO, around_mm=(14.0, 20.0)), inks=(("LampGold",), BLACK))
    sheets = impose(
        white_book(4, made, tmp_path), made, tmp_path / "sheets.pdf", only(colour_strip=True, job_line=True)
    )
    ghostscript(tool("gs"), sheets.path, tmp_path / "plates", "tiffsep")
    front = {path.name.split("(")[1][:-5]: path for path in (tmp_path / "plates").glob("001(*).tif")}
    assert "LampGold" in front
    plate = np.asarray(Image.open(front["LampGold"])).astype(int)
    with pymupdf.open(sheets.path) as document:
        words = document[0].get_text("words")
    assert (plate == 0).sum() > 500
    # a side without black: its words stand on the plate that there is
    x0, y0, x1, y1 = (int(v) for v in words[0][:4])
    assert plate[y0 : y1 + 1, x0 : x1 + 1].min() < 120
    with pikepdf.open(sheets.path) as pdf:
        own = pdf.pages[0].Resources.XObject["/Marks2"].read_bytes()
        assert b" k" not in own
        assert b"0 0 0 1 k" in pdf.pages[1].Resources.XObject["/Marks2"].read_bytes()


def test_the_strip_is_repeated_from_ink_zone_to_ink_zone(tmp_path: Path) -> None:
    """A zone begins every 32.5 mm in each stretch (common practice, no source), over two thirds of the sheet."""
    made = printed(plan(16), inks=(BLACK, BLACK))
    sheets = impose(white_book(16, made, tmp_path), made, tmp_path / "sheets.pdf", only(colour_strip=True))
    with pymupdf.open(sheets.path) as document:
        for page in document:
            patches = sorted(d["rect"].x0 for d in page.get_drawings() if d["type"] == "f")
            starts = patches[::3]
            assert len(starts) > made.sheet_mm[0] / 32.5 * 2 / 3
            assert {round((b - a) / PT, 1) for a, b in itertools.pairwise(starts)} == {32.5}
    assert not lines_of(sheets.path, 0.25)[0]


@pytest.mark.parametrize("inks", [(CMYK, BLACK), (("Lamp Gold", "Lamp Red"), BLACK)])
def test_no_strip_without_room_is_said(inks, tmp_path: Path) -> None:
    made = plan(4, table=FOLIO, around_mm=(0.0, 0.0), bleed_mm=4.0, head_mm=4.0, foot_mm=4.0)
    made = printed(made, inks=inks, press=Press("Taper 740", 16.0, 4.0, 4.0))  # the grippers reach up to the section
    sheets = impose(white_book(4, made, tmp_path), made, tmp_path / "sheets.pdf", only(colour_strip=True))
    assert "There is no room for a colour strip on sheet 1; a larger sheet would give it." in sheets.notes
