# SPDX-License-Identifier: AGPL-3.0-or-later
"""The scannable code, read back from a raster by a library that had no part in making it (ZXing, in C++)."""

from __future__ import annotations

import random
import string
from pathlib import Path

import attrs
import numpy as np
import pymupdf
import pytest
import zxingcpp
from PIL import Image

from foldproof.impose.marks.code import symbol, text_of
from foldproof.makeup.plan import Side
from foldproof.pdf.sheets_drawing import Cells
from tests.build import PT
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import ghostscript, impose
from tests.impose.test_marks import only, white_book
from tests.impose.test_marks_of_runs import BLACK, CMYK, KINDS, drawn, job, printed

DPI = 300


def read_back(grey: np.ndarray) -> list[str]:
    found = zxingcpp.read_barcodes(
        np.ascontiguousarray(grey.astype(np.uint8)), formats=zxingcpp.BarcodeFormat.DataMatrix
    )
    return [one.text for one in found]


def sections_of(said: str) -> list[int]:
    """``"1,3-5"`` written out: 1, 3, 4, 5."""
    out: list[int] = []
    for part in said.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


@pytest.mark.parametrize("name", [name for name in KINDS if "hardly" not in name])
def test_the_code_is_read_back_from_the_raster(name: str, tmp_path: Path) -> None:
    """Rendered by MuPDF at 300 dpi, cut out with two modules of quiet zone, as it stands (turned in side margins)."""
    made = KINDS[name]()
    sheets = impose(white_book(made.pages, made, tmp_path), made, tmp_path / "sheets.pdf", job())
    assert "code" in sheets.marks
    sides = drawn(made)
    with pymupdf.open(sheets.path) as document:
        for index in {0, 1, len(sides) - 2, len(sides) - 1}:
            sheet, side = index // 2 + 1, list(Side)[index % 2]
            codes = [stroke for mark in sides[index].marks for stroke in mark if isinstance(stroke, Cells)]
            run = made.runs[sheet - 1]
            if run.inks[index % 2] == ():
                assert not codes
                continue
            (cells,) = codes
            module = min(min(box.width, box.height) for box in cells.boxes)
            assert module >= 0.5 * PT - 1e-6
            x0, y0 = min(b.x0 for b in cells.boxes), min(b.y0 for b in cells.boxes)
            x1, y1 = max(b.x1 for b in cells.boxes), max(b.y1 for b in cells.boxes)
            page, quiet = document[index], 2 * module
            high = page.rect.height
            clip = pymupdf.Rect(x0 - quiet, high - y1 - quiet, x1 + quiet, high - y0 + quiet)
            pixmap = page.get_pixmap(dpi=DPI, clip=clip, colorspace=pymupdf.csGRAY)
            grey = np.frombuffer(pixmap.samples, np.uint8).reshape(pixmap.h, pixmap.w)
            (text,) = read_back(grey)
            form, title, number, letter, sections = text.split("|")
            assert form == "FP1"
            assert title in ("The Lamplighter's Al", "The Lamp")
            assert number == f"{sheet}/{made.sheets}"
            assert letter == ("W" if run.way.startswith("work") else "F" if side is Side.FRONT else "B")
            on_it = {int(place.signature) for place in made.places if place.sheet == sheet}
            assert sections_of(sections) == sorted(on_it)
            # ISO/IEC 16022 asks for a quiet zone of one module on all sides: nothing else is drawn there
            ring = round(module * DPI / 72)
            for edge in (grey[1:ring], grey[-ring:-1], grey[:, 1:ring], grey[:, -ring:-1]):
                assert edge.min() == 255


def test_the_code_is_found_on_the_black_plate_of_the_whole_sheet_and_on_no_other(tool, tmp_path: Path) -> None:
    """ghostscript's separations at 300 dpi, the whole side given to the reader."""
    made = printed(plan(8, table=FOLIO), inks=(CMYK, BLACK))
    sheets = impose(white_book(8, made, tmp_path), made, tmp_path / "sheets.pdf", job())
    ghostscript(tool("gs"), sheets.path, tmp_path / "plates", "tiffsep", dpi=DPI)
    plates = {path.name.split(".")[0][:3] + path.name.split("(")[1][:-5]: path for path in
              (tmp_path / "plates").glob("*(*).tif")}  # fmt: skip
    for index, side in enumerate("FBFB"):
        number = index // 2 + 1
        grey = np.asarray(Image.open(plates[f"{index + 1:03d}Black"]))
        assert read_back(grey) == [f"FP1|The Lamplighter's Al|{number}/2|{side}|{number}"]
    assert read_back(np.asarray(Image.open(plates["001Cyan"]))) == []


@pytest.mark.parametrize("oblong", [True, False])
def test_every_size_of_the_symbol_is_read_back(oblong: bool) -> None:
    """Text of 1 to 110 letters of every kind that a code can hold, so that each size and its padding is met."""
    chance = random.Random(16022)
    letters = string.ascii_letters + string.digits + "|/,-.'& "
    sizes = set()
    for length in range(1, 111):
        text = "".join(chance.choice(letters) for _ in range(length)).strip() or "1"
        rows = np.array(symbol(text, oblong))
        sizes.add(rows.shape)
        picture = np.pad(1 - rows, 2, constant_values=1).repeat(6, 0).repeat(6, 1) * 255
        assert read_back(picture) == [text]
    # ISO/IEC 16022, table 7: 8 x 18 to 16 x 48 oblong, 10 x 10 to 36 x 36 square
    small = {(8, 18), (8, 32), (12, 26), (12, 36), (16, 36), (16, 48)} if oblong else {(10, 10), (26, 26), (36, 36)}
    assert small <= sizes


@pytest.mark.parametrize(
    ("title", "letters", "sections", "said"),
    [
        ("The Lamps of Merrowby", 20, [(3, "3")], "FP1|The Lamps of Merrowb|2/9|F|3"),
        ("The Lamps of Merrowby", 8, [(3, "C"), (4, "D")], "FP1|The Lamp|2/9|F|C,D"),
        ("Čas a světlo", 20, [(22, "Y"), (23, "Z"), (24, "2A")], "FP1|Cas a svetlo|2/9|F|Y-2A"),
        ("灯台守の暦 | 2", 20, [(1, "1"), (3, "3"), (4, "4"), (5, "5")], "FP1|? 2|2/9|F|1,3-5"),
        ("", 20, [], "FP1||2/9|F|"),
    ],
)
def test_the_text_is_short_and_plain(title: str, letters: int, sections: list, said: str) -> None:
    assert text_of(title, 2, 9, "F", sections, letters) == said
    assert said.isascii()


def test_a_long_book_needs_one_size_of_room(tmp_path: Path) -> None:
    """Sheets of one kind share the room of the code: that of the longest text, and every symbol fits into it."""
    made = attrs.evolve(printed(plan(16 * 12)), title="An Almanac of Lamps and Lanterns")
    boxes = []
    for side in drawn(made):
        (cells,) = [stroke for mark in side.marks for stroke in mark if isinstance(stroke, Cells)]
        boxes.append((round(min(b.x0 for b in cells.boxes), 3), round(min(b.y0 for b in cells.boxes), 3)))
    assert len(set(boxes)) <= 2
    sheets = impose(white_book(made.pages, made, tmp_path), made, tmp_path / "sheets.pdf", only(code=True))
    assert sheets.marks == ("code",)
    assert not sheets.notes
