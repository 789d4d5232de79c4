# SPDX-License-Identifier: AGPL-3.0-or-later
"""Boxes, turning and unit of a page, rule by rule; the clause of ISO 32000-1 stands beside each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pymupdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageFact, TrimSource
from foldproof.manuscript.read import read
from tests.build import PT, book, page, raw_tree, save


def first(target: Path, trim_mm: tuple[float, float] | None = None, **options: Any) -> PageFact:
    return read(book(1, target, **options), trim_mm=trim_mm).pages[0]


def close(box: Rect, corners: tuple[float, float, float, float]) -> bool:
    return (box.x0, box.y0, box.x1, box.y1) == pytest.approx(corners, abs=1e-3)


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "book.pdf"


def test_stated_boxes_come_as_written(target: Path) -> None:
    boxes = first(
        target,
        boxes={
            "MediaBox": [-10, 5, 500, 700], "CropBox": [0, 10, 490, 690], "BleedBox": [10, 20, 480, 680],
            "TrimBox": [20.5, 30.25, 470, 670], "ArtBox": [30, 40, 460, 660],
        },
    ).boxes  # fmt: skip
    assert close(boxes.media, (-10, 5, 500, 700))
    assert close(boxes.crop, (0, 10, 490, 690))
    assert close(boxes.bleed, (10, 20, 480, 680))
    assert close(boxes.trim, (20.5, 30.25, 470, 670))
    assert close(boxes.art, (30, 40, 460, 660))
    assert boxes.stated == {"MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox"}
    assert boxes.trim_source is TrimSource.TRIM_BOX


# 7.9.5: any two diagonally opposite corners in either order are acceptable
@pytest.mark.parametrize("swapped", [(300, 400, 0, 0), (0, 400, 300, 0), (300, 0, 0, 400)])
def test_swapped_corners_are_put_in_order(target: Path, swapped: tuple[float, ...]) -> None:
    boxes = first(target, boxes={"MediaBox": swapped, "TrimBox": swapped, "BleedBox": None}).boxes
    assert close(boxes.media, (0, 0, 300, 400)) and close(boxes.trim, (0, 0, 300, 400))


def test_defaults_follow_table_30(target: Path) -> None:
    # table 30: CropBox defaults to the MediaBox; BleedBox, TrimBox and ArtBox to the CropBox
    none = {"TrimBox": None, "BleedBox": None}
    boxes = first(target, boxes={"MediaBox": [0, 0, 300, 400], **none}).boxes
    for box in (boxes.crop, boxes.bleed, boxes.trim, boxes.art):
        assert close(box, (0, 0, 300, 400))
    assert boxes.stated == {"MediaBox"} and boxes.trim_source is TrimSource.MEDIA_BOX
    boxes = first(target, boxes={"MediaBox": [0, 0, 300, 400], "CropBox": [10, 10, 290, 390], **none}).boxes
    for box in (boxes.crop, boxes.bleed, boxes.trim, boxes.art):
        assert close(box, (10, 10, 290, 390))
    assert boxes.trim_source is TrimSource.CROP_BOX


def test_boxes_beyond_the_media_box_are_cut_back_and_told(target: Path) -> None:
    # 14.11.2.1: boxes are effectively reduced to their intersection with the media box
    made = read(book(1, target, boxes={"MediaBox": [0, 0, 300, 400], "TrimBox": [-20, 10, 280, 500], "BleedBox": None}))
    assert close(made.pages[0].boxes.trim, (0, 10, 280, 400))
    assert any(w == "Page 1: TrimBox runs beyond the MediaBox; cut back to it." for w in made.reader_warnings)


def test_a_hair_of_rounding_is_cut_back_without_a_word(target: Path) -> None:
    made = read(
        book(1, target, boxes={"MediaBox": [0, 0, 300, 400], "TrimBox": [0, 0, 300.004, 400], "BleedBox": None})
    )
    assert close(made.pages[0].boxes.trim, (0, 0, 300, 400)) and not made.reader_warnings


@pytest.mark.parametrize(("box", "why"), [([500, 500, 600, 600], "lies outside"), ([50, 50, 50, 90], "has no area")])
def test_a_box_that_cannot_be_meant_counts_as_not_stated(target: Path, box: list[float], why: str) -> None:
    made = read(book(1, target, boxes={"MediaBox": [0, 0, 300, 400], "TrimBox": box, "BleedBox": None}))
    boxes = made.pages[0].boxes
    assert close(boxes.trim, (0, 0, 300, 400)) and boxes.trim_source is TrimSource.MEDIA_BOX
    assert "TrimBox" not in boxes.stated
    assert any(w.startswith(f"Page 1: TrimBox {why}") for w in made.reader_warnings)


SHEET = "/MediaBox [0 0 300 400]"


def test_inheritable_entries_come_down_the_tree_and_others_do_not(target: Path) -> None:
    # table 30 marks Resources, MediaBox, CropBox and Rotate as inheritable, and no other entry; 7.7.3.4
    made = read(
        raw_tree(
            target,
            f"{SHEET} /CropBox [5 5 295 395] /Rotate 270 /TrimBox [20 20 280 380] /UserUnit 3 "
            "/Resources << /Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Courier >> >> >>",
            "",
            "/MediaBox [0 0 200 200] /Rotate 0 /Resources << >>",
        )
    )
    taken, own = made.pages
    assert close(taken.boxes.media, (0, 0, 300, 400)) and close(taken.boxes.trim, (5, 5, 295, 395))
    assert taken.boxes.stated == {"MediaBox", "CropBox"} and taken.boxes.trim_source is TrimSource.CROP_BOX
    assert (taken.rotate, taken.user_unit) == (270, 1.0)
    assert [made.fonts[key].name for key in taken.fonts] == ["Courier"]
    assert close(own.boxes.media, (0, 0, 200, 200)) and close(own.boxes.crop, (5, 5, 200, 200))
    assert own.rotate == 0 and own.fonts == ()


def test_what_is_null_counts_as_missing(target: Path) -> None:
    # 7.3.9: a null value is the same as no entry
    made = read(raw_tree(target, SHEET + " /Rotate 90", "/MediaBox null /Rotate null /TrimBox null /UserUnit null"))
    assert close(made.pages[0].boxes.media, (0, 0, 300, 400)) and made.pages[0].rotate == 90
    assert not [w for w in made.reader_warnings if "Page" in w]


def test_a_page_without_a_media_box_is_told(target: Path) -> None:
    # table 30: required.  Letter is what general readers put in its place; opening with pikepdf does so without a word
    made = read(raw_tree(target, "", "", SHEET, ""))
    assert close(made.pages[0].boxes.media, (0, 0, 612, 792))
    assert made.pages[0].boxes.stated == frozenset()
    assert made.pages[1].boxes.stated == {"MediaBox"}
    told = [w for w in made.reader_warnings if "MediaBox" in w]
    assert told == ["Pages 1 and 3: MediaBox is not stated; taken as 612 x 792 points (Letter), as readers do."]


@pytest.mark.parametrize("odd", ["[0 0 300]", "/None", "12", "[0 0 /X 400]", "[5 5 5 5]", "[0 0 true 9]", "99 0 R"])
def test_a_media_box_that_makes_no_sense_is_told(target: Path, odd: str) -> None:
    made = read(raw_tree(target, "", f"/MediaBox {odd}"))
    assert close(made.pages[0].boxes.media, (0, 0, 612, 792))
    assert any(w.startswith("Page 1: MediaBox") for w in made.reader_warnings)


# table 30: a multiple of 90, clockwise; others are taken modulo 360, as poppler does (test_independent.py)
@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("0", 0),
        ("90", 90),
        ("180", 180),
        ("270", 270),
        ("-90", 270),
        ("-270", 90),
        ("450", 90),
        ("720", 0),
        ("90.0", 90),
    ],
)
def test_turning_is_brought_to_a_quarter(target: Path, written: str, meant: int) -> None:
    made = read(raw_tree(target, SHEET, f"/Rotate {written}"))
    assert made.pages[0].rotate == meant and not [w for w in made.reader_warnings if "Rotate" in w]
    assert made.pages[0].trim_size_pt == ((400, 300) if meant in (90, 270) else (300, 400))


@pytest.mark.parametrize("written", ["45", "-1", "89.5", "/Ninety", "[90]"])
def test_another_turning_counts_as_none_and_is_told(target: Path, written: str) -> None:
    made = read(raw_tree(target, SHEET, f"/Rotate {written}"))
    assert made.pages[0].rotate == 0
    assert any(w.startswith("Page 1: /Rotate") for w in made.reader_warnings)


def test_user_unit_scales_the_paper(target: Path) -> None:
    # table 30: UserUnit, the size of a unit in 1/72 in
    fact = first(target, user_unit=2.5)
    assert fact.user_unit == 2.5
    assert fact.trim_size_pt == pytest.approx((140 * PT, 216 * PT), abs=1e-3)


@pytest.mark.parametrize("written", ["0", "-2", "/Two"])
def test_a_user_unit_that_makes_no_sense_counts_as_one(target: Path, written: str) -> None:
    made = read(raw_tree(target, SHEET, f"/UserUnit {written}"))
    assert made.pages[0].user_unit == 1.0
    assert any("UserUnit" in w for w in made.reader_warnings)


# --- the trim where the file states none -----------------------------------------------------------------------------

NO_TRIM = {"TrimBox": None, "BleedBox": None}


def test_the_job_gives_a_missing_trim_centred_in_the_crop_box(target: Path) -> None:
    crop = [10, 20, 10 + 150 * PT, 20 + 226 * PT]
    fact = first(target, (140, 216), boxes={**NO_TRIM, "MediaBox": [0, 0, 600, 800], "CropBox": crop})
    assert fact.boxes.trim_source is TrimSource.JOB
    assert close(fact.boxes.trim, (10 + 5 * PT, 20 + 5 * PT, 10 + 145 * PT, 20 + 221 * PT))


def test_the_job_does_not_overrule_a_stated_trim(target: Path) -> None:
    fact = first(target, (100, 100))
    assert fact.boxes.trim_source is TrimSource.TRIM_BOX
    assert fact.trim_size_pt == pytest.approx((140 * PT, 216 * PT), abs=1e-3)


@pytest.mark.parametrize("rotate", [None, 90, 180, 270])
@pytest.mark.parametrize("user_unit", [None, 2.0])
def test_the_trim_of_the_job_is_that_of_the_upright_page(target: Path, rotate: int | None, user_unit: float) -> None:
    fact = first(target, (120, 200), boxes=NO_TRIM, rotate=rotate, user_unit=user_unit)
    assert fact.trim_size_pt == pytest.approx((120 * PT, 200 * PT), abs=1e-3)
    assert fact.boxes.trim.centre == pytest.approx(fact.boxes.media.centre, abs=1e-3)


def test_a_job_larger_than_the_page_keeps_its_size(target: Path) -> None:
    fact = first(target, (200, 300), boxes=NO_TRIM)
    assert fact.trim_size_pt == pytest.approx((200 * PT, 300 * PT), abs=1e-3)


# --- the trim frame --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rotate", [None, 90, 180, 270])
@pytest.mark.parametrize("user_unit", [None, 1.5])
def test_the_trim_frame_is_where_mupdf_shows_things(target: Path, rotate: int | None, user_unit: float | None) -> None:
    # MuPDF's own reckoning of /Rotate, UserUnit and a MediaBox off the origin.  Its picture of the page begins at the
    # upper left of the CropBox: 8 mm outside the trim
    placed = (40.0, 70.0, 140.0, 95.0)  # media frame, PDF units: anywhere, and not square
    pdf = pikepdf.new()
    look = pdf.make_indirect(Stream(pdf, b"0 g 0 0 10 10 re f"))
    look.Subtype, look.BBox = Name.Form, Array([0, 0, 10, 10])
    page(
        pdf, rotate=rotate, user_unit=user_unit, origin_pt=(-31, 17), bleed_mm=3, slug_mm=5,
        annotations=[
            Dictionary(Type=Name.Annot, Subtype=Name.Stamp, F=4, Rect=Array(list(placed)), AP=Dictionary(N=look))
        ],
    )  # fmt: skip
    place = read(save(pdf, target)).pages[0].annotations[0].place_mm
    with pymupdf.open(target) as seen:
        shot = seen[0].get_pixmap(dpi=254, colorspace="gray")  # 10 pixels a millimetre
    dark = np.argwhere(np.frombuffer(shot.samples, np.uint8).reshape(shot.height, shot.stride) < 128)
    (top, left), (bottom, right) = dark.min(axis=0), dark.max(axis=0) + 1
    shown = (left / 10 - 8, 216 + 8 - bottom / 10, right / 10 - 8, 216 + 8 - top / 10)
    assert (place.x0, place.y0, place.x1, place.y1) == pytest.approx(shown, abs=0.15)
