# SPDX-License-Identifier: AGPL-3.0-or-later
"""The full-size drawing, measured in the written file: MuPDF reads its lines and words, pypdf its layers."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import combinations
from math import hypot
from pathlib import Path
from typing import Any

import pymupdf
import pypdf
import pytest
from attrs import evolve

from foldproof.case.drawing import case_drawing, write_case_drawing
from foldproof.case.drawing_section import Arc, half_angle
from foldproof.case.model import CaseSizes
from foldproof.errors import NotWritten, OurFault
from foldproof.pdf.case_drawing import Drawing, drawing_bytes
from tests.case.made import BACKED, DINGWORD, ROUNDED, tiny

#: an inch is 25.4 mm and 72 points (ISO 32000-1, 8.3.2.3)
MM = 25.4 / 72
LONG = "A Complete Account of the Lamps, Lanterns, Wicks and Lamplighters of Merrowby and the Wharf " * 6
HUGE = evolve(
    BACKED, block_mm=(330.0, 440.0, 150.0), board_mm=(326.5, 446.0), strip_mm=(187.4, 446.0), cloth_mm=(894.4, 480.0),
    arc_mm=187.43, chord_mm=155.0,
)  # fmt: skip
CASES = {
    "flat": DINGWORD, "rounded": ROUNDED, "backed": BACKED, "huge": HUGE,
    "tiny": tiny(),
    "thin": tiny(board_thickness_mm=1.0, strip_mm=(2.2, 46.0), joint_mm=1.5, cloth_mm=(80.2, 62.0), corner_mm=1.5),
}  # fmt: skip

Paths = list[dict[str, Any]]


@pytest.fixture(scope="module")
def read() -> Callable[[str], tuple[pymupdf.Page, Paths]]:
    kept: dict[str, tuple[pymupdf.Document, Paths]] = {}

    def reading(name: str) -> tuple[pymupdf.Page, Paths]:
        if name not in kept:
            title = LONG if name in ("tiny", "huge") else "The Lamplighter’s Almanac"
            document = pymupdf.open("pdf", drawing_bytes(case_drawing(CASES[name], title)))
            kept[name] = document, document[0].get_drawings()
        document, paths = kept[name]
        return document[0], paths

    return reading


def of_layer(paths: Paths, layer: str) -> Paths:
    return [path for path in paths if path["layer"] == layer]


def lines(paths: Paths, layer: str, width_mm: float | None = None) -> list[tuple[Any, Any]]:
    found = []
    for path in of_layer(paths, layer):
        if width_mm is None or (path["width"] or 0) * MM == pytest.approx(width_mm, abs=1e-3):
            found += [item[1:3] for item in path["items"] if item[0] == "l"]
    return found


def length_mm(line: tuple[Any, Any]) -> float:
    (a, b) = line
    return hypot(b.x - a.x, b.y - a.y) * MM


def boxes(paths: Paths, layer: str) -> list[tuple[float, float, float, float]]:
    """Left, upper, right, lower in mm of the upright rectangles of a layer, left to right."""
    found = [tuple(v * MM for v in path["rect"]) for path in of_layer(paths, layer) if path["rect"].width > 0]
    return sorted(found)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", CASES)
def test_lines_are_as_long_as_the_sizes(name: str, read: Any) -> None:
    """Everything within 0.01 mm, from the drawing's own vectors alone."""
    case, (_, paths) = CASES[name], read(name)
    near = {"abs": 0.01, "rel": 0}
    first, strip, second = boxes(paths, "Board")
    for board in (first, second):
        assert (board[2] - board[0], board[3] - board[1]) == pytest.approx(case.board_mm, **near)
    assert (strip[2] - strip[0], strip[3] - strip[1]) == pytest.approx(case.strip_mm, **near)
    assert (strip[0] - first[2], second[0] - strip[2]) == pytest.approx((case.joint_mm,) * 2, **near)
    # the cloth is the one closed outline of its layer without curves
    (cloth,) = [
        [v * MM for v in path["rect"]]
        for path in of_layer(paths, "Cloth")
        if all(item[0] != "c" for item in path["items"])
    ]
    assert (cloth[2] - cloth[0], cloth[3] - cloth[1]) == pytest.approx(case.cloth_mm, **near)
    assert (first[0] - cloth[0], cloth[2] - second[2]) == pytest.approx((case.turn_in_mm,) * 2, **near)
    assert (first[1] - cloth[1], cloth[3] - first[3]) == pytest.approx((case.turn_in_mm,) * 2, **near)
    # each slanting cut passes the nearest corner of a board at the distance asked for
    cuts = lines(paths, "Cut")
    assert len(cuts) == 4
    for a, b in cuts:
        (ax, ay), (bx, by) = ((p.x * MM, p.y * MM) for p in (a, b))
        assert abs(ax - bx) == pytest.approx(abs(ay - by), abs=1e-4), "45 degrees"
        away = [
            abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / hypot(bx - ax, by - ay)
            for x in (first[0], second[2])
            for y in (first[1], first[3])
        ]
        assert min(away) == pytest.approx(case.corner_mm, **near)


@pytest.mark.parametrize("name", CASES)
def test_figures_stand_at_lines_of_their_length(name: str, read: Any) -> None:
    """Every dimension line has a figure over its middle, and that figure is its length in mm."""
    page, paths = read(name)
    measured = lines(paths, "Dimensions", 0.15)
    figures = [
        (float(word[4]), (word[0] + word[2]) / 2 * MM, (word[1] + word[3]) / 2 * MM)
        for word in page.get_text("words")
        if re.fullmatch(r"\d+(\.\d+)?", word[4])
    ]
    straight = [line for line in measured if line[0].x == line[1].x or line[0].y == line[1].y]
    assert len(straight) >= 10 and len(measured) == len(straight) + 1
    for line in straight:
        x, y = (line[0].x + line[1].x) / 2 * MM, (line[0].y + line[1].y) / 2 * MM
        level = line[0].y == line[1].y
        there = [found for found in figures if abs(found[1] - x if level else found[2] - y) < 0.9]
        beside = min(there, key=lambda found: hypot(found[1] - x, found[2] - y))
        assert hypot(beside[1] - x, beside[2] - y) < 9
        assert beside[0] == pytest.approx(length_mm(line), abs=0.011)


def test_the_figures_are_those_of_the_case(read: Any) -> None:
    """case-dingword: every size of it can be read off the drawing."""
    lengths = sorted(round(length_mm(line), 2) for line in lines(read("flat")[1], "Dimensions", 0.15))
    assert lengths == sorted(
        [
            17, 146.5, 10, 24.5, 10, 146.5, 17, 337.5, 371.5, 17, 236, 17, 270,
            3.75,  # 1.5 boards, common practice, no source
            20, 6.5, 3,  # section: thickness of the block, forward of the back, square
        ]
    )  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_words_keep_to_the_page_and_apart(name: str, read: Any) -> None:
    page, _ = read(name)
    found = []
    for block in page.get_text("dict")["blocks"]:
        for span in (span for line in block["lines"] for span in line["spans"]):
            box = pymupdf.Rect(span["bbox"])
            assert page.rect.contains(box), span["text"]
            # MuPDF's boxes reach from ascender to descender: the letters themselves keep within four fifths of them
            found.append((box, (box.x1 - box.x0) / 10, (box.y1 - box.y0) / 10, span["text"]))
    assert len(found) > 15
    inner = [(pymupdf.Rect(box.x0 + x, box.y0 + y, box.x1 - x, box.y1 - y), text) for box, x, y, text in found]
    for (a, one), (b, other) in combinations(inner, 2):
        assert not a.intersects(b), (one, other)


@pytest.mark.parametrize("name", CASES)
def test_lines_keep_to_the_page(name: str, read: Any) -> None:
    page, paths = read(name)
    assert paths and all(page.rect.contains(path["rect"]) for path in paths)
    assert page.get_images() == [], "vectors alone"


def test_the_bar_is_100_mm(read: Any) -> None:
    bar = lines(read("flat")[1], "Text", 0.35)
    assert [length_mm(line) for line in bar] == pytest.approx([100.0], abs=0.001)


def test_layers(tmp_path: Path) -> None:
    """Optional content groups by name, each marking what it holds; the viewer is asked not to scale."""
    target = tmp_path / "case.pdf"
    write_case_drawing(DINGWORD, "The Lamplighter’s Almanac", target)
    reader = pypdf.PdfReader(target)
    root: Any = reader.trailer["/Root"]
    names = [str(group.get_object()["/Name"]) for group in root["/OCProperties"]["/OCGs"]]
    assert names == ["Cloth", "Board", "Fold and joint", "Cut", "Section", "Dimensions", "Text"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    page = reader.pages[0]
    groups: Any = page["/Resources"]
    for name in names:
        (key,) = [k for k, g in groups["/Properties"].items() if g.get_object()["/Name"] == name]
        content = page.get_contents()
        assert content is not None
        assert content.get_data().count(f"/OC {key} BDC".encode()) == 1
    assert str(reader.metadata and reader.metadata.title) == "The Lamplighter’s Almanac: case"


def test_same_sizes_same_bytes() -> None:
    assert drawing_bytes(case_drawing(BACKED, "A")) == drawing_bytes(case_drawing(BACKED, "A"))


def test_the_front_board_changes_sides_with_the_reading() -> None:
    """Seen from inside, the front board of a book read from left to right lies at the left."""
    for reading, left in (("left to right", "front board"), ("right to left", "back board")):
        page = pymupdf.open("pdf", drawing_bytes(case_drawing(DINGWORD, "A", reading)))[0]
        at = {words: page.search_for(words)[0].x0 for words in ("front board", "back board")}
        assert min(at, key=lambda words: at[words]) == left


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "here").write_text("")
    with pytest.raises(NotWritten):
        write_case_drawing(DINGWORD, "A", tmp_path / "here" / "case.pdf")


def test_a_page_that_no_pdf_states() -> None:
    """ISO 32000-1, annex C.2: 14,400 units, 5,080 mm."""
    with pytest.raises(OurFault, match="larger than a page"):
        drawing_bytes(Drawing("A", (6000.0, 100.0), ()))


# --- the arc of a rounded spine -------------------------------------------------------------------------------------


def test_an_arc_of_a_third_of_a_circle() -> None:
    """case-arc: 1.2092 chords at 120 degrees."""
    assert half_angle(1.2092) == pytest.approx(1.0472, abs=1e-4)
    assert half_angle(1.0) < 0.01


@pytest.mark.parametrize("case", [ROUNDED, BACKED], ids=["rounded", "backed"])
def test_the_arc_is_as_long_as_reckoned(case: CaseSizes) -> None:
    """Walked along in small steps of its curves, from end to end of the chord."""
    arc = Arc(case.chord_mm, case.arc_mm, 10.0)
    (x, y), walked = arc.end(0.0, -1), 0.0
    assert (x, y) == pytest.approx((0.0, 10 - case.chord_mm / 2))
    for way in arc.ways(0.0):
        (ax, ay), (bx, by), (cx, cy) = way  # type: ignore[misc]
        start = x, y
        for step in range(1, 201):
            t, s = step / 200, 1 - step / 200
            new = (
                s**3 * start[0] + 3 * s * s * t * ax + 3 * s * t * t * bx + t**3 * cx,
                s**3 * start[1] + 3 * s * s * t * ay + 3 * s * t * t * by + t**3 * cy,
            )
            walked += hypot(new[0] - x, new[1] - y)
            x, y = new
    assert (x, y) == pytest.approx((0.0, 10 + case.chord_mm / 2))
    assert walked == pytest.approx(case.arc_mm, abs=0.005)
    assert arc.rise > 0
