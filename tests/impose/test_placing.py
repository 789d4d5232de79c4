# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where pages come to stand, read back by MuPDF from the words that they print."""

from __future__ import annotations

import re
from pathlib import Path

import pymupdf
import pypdf
import pytest
from attrs import evolve

from foldproof.errors import AskedWrong, Unreadable
from foldproof.impose.write import write_sheets
from foldproof.makeup.plan import Side
from foldproof.manuscript.read import read
from tests.build import PT, book, width_pt
from tests.impose.plans import FOLIO, OCTAVO, plan
from tests.impose.sheets import NO_MARKS, impose, side_index

ODD = {
    "plain": {},
    "turned 90": {"rotate": 90},
    "turned 180": {"rotate": 180},
    "turned 270": {"rotate": 270},
    "turned -90": {"rotate": -90},
    "user unit": {"user_unit": 2.5},
    "user unit, turned": {"user_unit": 0.5, "rotate": 90},
    "far origin": {"origin_pt": (-300, 1000)},
    "far origin, turned": {"origin_pt": (77.7, -512.25), "rotate": 270},
    "slug": {"slug_mm": 17},
    "smaller page": {"trim_mm": (120, 200)},
    "larger page, turned": {"trim_mm": (150, 230), "rotate": 90},
}


def words_of(path: Path) -> list[dict[str, tuple[tuple[float, float], tuple[float, float]]]]:
    """For every side: text of a line → origin and direction of its baseline, side frame (y up), as MuPDF reads them."""
    sides = []
    with pymupdf.open(path) as document:
        for page in document:
            found = {}
            for block in page.get_text("dict")["blocks"]:
                for line in block.get("lines", ()):
                    span = line["spans"][0]
                    x, y = span["origin"]
                    found[span["text"]] = ((x, page.rect.height - y), (line["dir"][0], -line["dir"][1]))
            sides.append(found)
    return sides


def check(path: Path, made, pages: int) -> None:
    """Every page's own words stand where the plan wants them: centre to centre, turned as the panel is."""
    sides = words_of(path)
    seen = 0
    for place in made.places:
        if place.page is None:
            continue
        text = f"Page {place.page + 1}"
        (x, y), (dx, dy) = sides[side_index(place)][text]
        a, b = round(place.matrix.a), round(place.matrix.b)
        half = width_pt(text, 18) / 2  # tests/build.py sets the line in 18 pt with its middle on the centre of the trim
        cx, cy = place.trim_pt.centre
        assert (dx, dy) == pytest.approx((a, b), abs=1e-3), text
        assert (x, y) == pytest.approx((cx - a * half, cy - b * half), abs=0.02), text  # 0.02 pt = 0.007 mm
        seen += 1
    assert seen == pages


@pytest.mark.parametrize("kind", ODD)
def test_a_page_with_odd_boxes_stands_as_its_plain_neighbour(kind: str, tmp_path: Path) -> None:
    source = book(4, tmp_path / "book.pdf", each=lambda index: ODD[kind] if index in (1, 2) else {})
    made = plan(4, table=FOLIO)
    impose(source, made, tmp_path / "sheets.pdf")
    check(tmp_path / "sheets.pdf", made, 4)


def test_swapped_corners(tmp_path: Path) -> None:
    """ISO 32000-1, 7.9.5: any two opposite corners, in any order."""
    upright = [8.50394, 8.50394, 405.35433, 620.7874]
    each = {"boxes": {"TrimBox": upright[2:] + upright[:2], "MediaBox": [413.85827, 629.29134, 0, 0]}}
    source = book(4, tmp_path / "book.pdf", each=lambda index: each)
    made = plan(4, table=FOLIO)
    impose(source, made, tmp_path / "sheets.pdf")
    check(tmp_path / "sheets.pdf", made, 4)


@pytest.mark.parametrize(
    "how",
    [
        {"table": OCTAVO},
        {"table": OCTAVO, "grind_mm": 3.0},
        {"table": FOLIO},
        {"table": OCTAVO, "turn": "head to tail"},
    ],
    ids=["octavo sewn", "octavo glued", "folio", "octavo head to tail"],
)
def test_schemes(how: dict, tmp_path: Path) -> None:
    source = book(30, tmp_path / "book.pdf", each=lambda index: {"rotate": 90 * (index % 4)})
    made = plan(30, **how)
    sheets = impose(source, made, tmp_path / "sheets.pdf")
    check(tmp_path / "sheets.pdf", made, 30)
    assert sheets.pages == 30
    assert sheets.blanks == 2
    assert sheets.sides == 2 * sheets.sheets == len(pypdf.PdfReader(sheets.path).pages)


def test_the_octavo_reads_as_the_handbook_has_it(tmp_path: Path) -> None:
    """Front 5 12 9 8 over 4 13 16 1, back 7 10 11 6 over 2 15 14 3, by the words alone (the design's known answer)."""
    source = book(16, tmp_path / "book.pdf")
    impose(source, plan(16), tmp_path / "sheets.pdf")
    for found, (above, below) in zip(
        words_of(tmp_path / "sheets.pdf"),
        (((5, 12, 9, 8), (4, 13, 16, 1)), ((7, 10, 11, 6), (2, 15, 14, 3))),
        strict=True,
    ):
        pages = [(place, int(text[5:]), way) for text, (place, way) in found.items() if text.startswith("Page ")]
        for row, way in ((above, (-1, 0)), (below, (1, 0))):
            line = sorted((x, number) for (x, _), number, given in pages if given == pytest.approx(way, abs=1e-3))
            assert tuple(number for _, number in line) == row


def test_the_content_of_a_side_is_fixed_and_pypdf_finds_clip_and_box(tmp_path: Path) -> None:
    source = book(16, tmp_path / "book.pdf", each=lambda index: {"rotate": 90 * (index % 4), "user_unit": 2})
    made = plan(16)
    impose(source, made, tmp_path / "sheets.pdf")
    reader = pypdf.PdfReader(tmp_path / "sheets.pdf")
    number = r"(-?\d+(?:\.\d+)?)"
    shape = re.compile(
        rf"q {number} {number} {number} {number} re W n {' '.join([number] * 6)} cm /P(\d+) Do\s+Q", re.ASCII
    )
    for index, page in enumerate(reader.pages):
        places = [place for place in made.places if side_index(place) == index]
        text = page.get_contents().get_data().decode("ascii")
        found = shape.findall(text)
        assert len(found) == len(places) == 8
        assert shape.sub("", text).strip() == ""
        by_page = {int(values[10]): [float(value) for value in values[:10]] for values in found}
        for place in places:
            x, y, wide, high, *matrix = by_page[place.page + 1]
            clip = place.clip_pt
            assert (x, y, x + wide, y + high) == pytest.approx((clip.x0, clip.y0, clip.x1, clip.y1), abs=1e-3)
            a, b, c, d, e, f = matrix
            assert (a * a + b * b, a * c + b * d) == pytest.approx((4, 0), abs=1e-6)  # UserUnit 2, no other scale
            form = page["/Resources"]["/XObject"][f"/P{place.page + 1}"]
            bx0, by0, bx1, by1 = (float(value) for value in form["/BBox"])
            corners = [(a * px + c * py + e, b * px + d * py + f) for px in (bx0, bx1) for py in (by0, by1)]
            assert min(px for px, _ in corners) <= clip.x0 + 1e-3
            assert max(px for px, _ in corners) >= clip.x1 - 1e-3
            assert min(py for _, py in corners) <= clip.y0 + 1e-3
            assert max(py for _, py in corners) >= clip.y1 - 1e-3


def test_boxes_of_a_sheet_are_the_paper(tmp_path: Path) -> None:
    source = book(4, tmp_path / "book.pdf")
    made = plan(4, table=FOLIO)
    impose(source, made, tmp_path / "sheets.pdf")
    for page in pypdf.PdfReader(tmp_path / "sheets.pdf").pages:
        for box in (page.mediabox, page.trimbox, page.bleedbox):
            size = float(box.width) / PT, float(box.height) / PT
            assert size == pytest.approx(made.sheet_mm, abs=1e-3)


def test_pages_do_not_print_on_their_neighbour(tmp_path: Path) -> None:
    """A page painted far beyond its bleed stays inside its clip: at the sewn crease the neighbour is untouched."""

    def each(index: int) -> dict:
        return {"content": "1 0 0 rg -900 -900 3000 3000 re f\n", "slug_mm": 20} if index == 0 else {}

    source = book(4, tmp_path / "book.pdf", each=each, say=lambda index: "", folio="")
    made = plan(4, table=FOLIO)
    impose(source, made, tmp_path / "sheets.pdf")
    (first,) = [place for place in made.places if place.page == 0]
    with pymupdf.open(tmp_path / "sheets.pdf") as document:
        page = document[side_index(first)]
        pixmap = page.get_pixmap(dpi=72)
    inked = [
        (x, pixmap.h - 1 - y)
        for y in range(0, pixmap.h, 3)
        for x in range(0, pixmap.w, 3)
        if pixmap.pixel(x, y) != (255, 255, 255)
    ]
    clip = first.clip_pt
    assert inked
    assert min(x for x, _ in inked) >= clip.x0 - 1
    assert max(x for x, _ in inked) <= clip.x1 + 1
    assert min(y for _, y in inked) >= clip.y0 - 1
    assert max(y for _, y in inked) <= clip.y1 + 1
    assert max(x for x, _ in inked) - min(x for x, _ in inked) > clip.width - 8


def test_a_changed_manuscript_is_refused_and_nothing_is_left_behind(tmp_path: Path) -> None:
    source = book(4, tmp_path / "book.pdf")
    manuscript = read(source)
    book(4, source, title="Another")
    with pytest.raises(Unreadable, match="changed"):
        write_sheets(manuscript, plan(4, table=FOLIO), NO_MARKS, tmp_path / "out" / "sheets.pdf", date="")
    assert not list(tmp_path.glob("out/*"))


def test_the_manuscript_is_never_overwritten(tmp_path: Path) -> None:
    source = book(4, tmp_path / "book.pdf")
    before = source.read_bytes()
    with pytest.raises(AskedWrong):
        write_sheets(read(source), plan(4, table=FOLIO), NO_MARKS, source, date="")
    assert source.read_bytes() == before


def test_a_page_may_stand_on_a_sheet_twice(tmp_path: Path) -> None:
    """Two up: the same page at two places, once with a narrower clip; the content is there for both."""
    source = book(4, tmp_path / "book.pdf")
    made = plan(4, table=FOLIO)
    first, second = (place for place in made.places if place.side is Side.FRONT)
    clip = second.clip_pt
    twice = evolve(second, page=first.page, clip_pt=evolve(clip, x0=clip.x0 + 5))
    doubled = evolve(made, places=(first, twice))
    impose(source, doubled, tmp_path / "sheets.pdf")
    with pymupdf.open(tmp_path / "sheets.pdf") as document:
        found = document[0].search_for(f"Page {first.page + 1}")
    assert len(found) == 2
    assert abs(found[0].x0 - found[1].x0) == pytest.approx(abs(first.trim_pt.x0 - second.trim_pt.x0), abs=0.1)


def test_a_page_tree_that_reads_otherwise_the_second_time_is_refused(tmp_path: Path) -> None:
    manuscript = read(book(4, tmp_path / "book.pdf"))
    fewer = evolve(manuscript, pages=manuscript.pages[:3])
    with pytest.raises(Unreadable, match="3 pages and now as 4"):
        write_sheets(fewer, plan(3, table=FOLIO), NO_MARKS, tmp_path / "sheets.pdf", date="")


def test_progress_is_told_side_by_side(tmp_path: Path) -> None:
    told: list[int] = []
    source = book(16, tmp_path / "book.pdf")
    impose(source, plan(16), tmp_path / "sheets.pdf", advance=told.append)
    assert sum(told) == 2


def test_blank_pages_leave_white_panels(tmp_path: Path) -> None:
    source = book(3, tmp_path / "book.pdf")
    made = plan(3, table=FOLIO)
    sheets = impose(source, made, tmp_path / "sheets.pdf")
    assert (sheets.pages, sheets.blanks) == (3, 1)
    assert [len([t for t in side if t.startswith("Page")]) for side in words_of(sheets.path)] == [1, 2]
    assert Side.BACK in {place.side for place in made.places if place.page == 2}
