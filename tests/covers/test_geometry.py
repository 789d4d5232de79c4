# SPDX-License-Identifier: AGPL-3.0-or-later
"""The same cover in every way that a PDF may state it; jackets; covers that read from the right."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from foldproof.preflight.model import Severity
from foldproof.workers import Workers
from tests.build import PT, text_at
from tests.covers.building import BARS_X, EAN, PANEL, SPINE, Cover, sizes, write
from tests.covers.looking import held, looked, told

STOP, QUERY = Severity.STOP, Severity.QUERY
WIDE, HIGH = 2 * PANEL[0] + SPINE, PANEL[1]


@pytest.mark.parametrize(
    "how",
    [
        {"rotate": 90},
        {"rotate": 180},
        {"rotate": 270},
        {"rotate": -90},
        {"origin_pt": (-500.0, 33.5)},
        {"rotate": 90, "origin_pt": (12000.0, -7.25)},
    ],
    ids=str,
)  # fmt: skip
def test_turned_pages_and_odd_origins_are_the_same_cover(how: dict[str, Any], tmp_path: Path, hands: Workers) -> None:
    got = looked(Cover(kwargs=how), tmp_path, hands)
    assert told(got) == []
    bars = got.seen.bars if got.seen else None
    assert bars is not None and bars.digits == EAN
    assert bars.box_mm.x0 == pytest.approx(BARS_X, abs=0.05)


def test_a_page_in_larger_units_is_the_same_cover(tmp_path: Path, hands: Workers) -> None:
    assert told(looked(Cover(kwargs={"user_unit": 2.0}), tmp_path, hands)) == []


def test_swapped_corners_are_put_right(tmp_path: Path, hands: Workers) -> None:
    # ISO 32000-1, 7.9.5: any two opposite corners
    x, y, w, h = 3 * PT, 3 * PT, WIDE * PT, HIGH * PT
    assert told(looked(Cover(boxes={"TrimBox": [x + w, y, x, y + h]}), tmp_path, hands)) == []


def test_a_cover_on_its_side_is_told_as_such(tmp_path: Path, hands: Workers) -> None:
    # written upright, then said to be shown turned
    path = write(Cover(), tmp_path / "sound.pdf")
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        pdf.pages[0].Rotate = 90
        pdf.save(path)
    got = held(path, sizes(), hands)
    assert told(got) == [("cover-size/turned", STOP)]
    assert "lies on its side" in got.findings.items[0].problem
    # nothing is said of folds that nobody knows
    assert {"spine-width", "spine-title", "cover-live-matter"} <= {check for check, _ in got.findings.not_judged}


def test_without_boxes_the_page_less_its_bleed_is_the_cover(tmp_path: Path, hands: Workers) -> None:
    bare = {"TrimBox": None, "BleedBox": None}
    got = looked(Cover(boxes=bare), tmp_path, hands)
    assert told(got) == [("cover-trim-box", QUERY)]
    assert "3 mm of bleed" in got.findings.items[0].problem
    # and a spine that is too wide is seen all the same
    assert told(looked(Cover(boxes=bare, spine=SPINE + 2), tmp_path, hands)) == [
        ("cover-trim-box", QUERY), ("spine-width/size", STOP),
    ]  # fmt: skip


def test_a_page_without_bleed_round_it_is_told(tmp_path: Path, hands: Workers) -> None:
    trimmed = [3 * PT, 3 * PT, (3 + WIDE) * PT, (3 + HIGH) * PT]
    got = looked(Cover(boxes={"MediaBox": trimmed, "TrimBox": trimmed, "BleedBox": None}), tmp_path, hands)
    assert told(got) == [("cover-bleed/no-room", STOP)]


def test_a_bleed_box_at_the_trim_is_told(tmp_path: Path, hands: Workers) -> None:
    trimmed = [3 * PT, 3 * PT, (3 + WIDE) * PT, (3 + HIGH) * PT]
    assert told(looked(Cover(boxes={"BleedBox": trimmed}), tmp_path, hands)) == [("cover-bleed/box", QUERY)]


def test_a_book_that_reads_from_the_right_has_its_bars_at_the_right(tmp_path: Path, hands: Workers) -> None:
    cover = Cover(asked=sizes(reading="right to left"))
    got = looked(cover, tmp_path, hands)
    assert told(got) == []
    assert got.seen is not None and got.seen.bars is not None
    assert got.seen.bars.box_mm.x0 == pytest.approx(PANEL[0] + SPINE + BARS_X, abs=0.05)
    # the same file for a book that reads from the left has no bars on its back
    other = Cover(asked=sizes(reading="right to left"))
    path = write(other, tmp_path / "other.pdf")
    found = held(path, sizes(), hands)
    assert told(found) == [("barcode/none", STOP)]


JACKET = sizes(kind="jacket", flap_mm=40.0, wrap_mm=2.5, hinge_mm=0.0, spine_mm=24.0)


def test_a_jacket_with_its_flaps_is_clean(tmp_path: Path, hands: Workers) -> None:
    assert told(looked(Cover(asked=JACKET, spine=24.0), tmp_path, hands)) == []


@pytest.mark.parametrize(
    ("change", "cause"),
    [
        # the fold of the front flap lies at 40 + 2.5 + 100 + 24 + 100 + 2.5 mm
        ({"more": f"0 0 0 0 k {text_at('Of the author', 265.0, 100.0, 10)}"}, ("cover-live-matter/flap", QUERY)),
        ({"spine": 22.0}, ("spine-width/size", STOP)),
    ],
)
def test_a_fault_of_a_jacket_is_found_alone(
    change: dict[str, Any], cause: tuple[str, Severity], tmp_path: Path, hands: Workers
) -> None:
    assert told(looked(Cover(**{"asked": JACKET, "spine": 24.0, **change}), tmp_path, hands)) == [cause]


def test_a_jacket_without_its_flaps_and_one_panel_alone(tmp_path: Path, hands: Workers) -> None:
    for asked, cause in ((JACKET, "cover-size/no-flaps"), (sizes(), "cover-size/one-panel")):
        flat = sizes(flap_mm=0.0, wrap_mm=asked.wrap_mm, spine_mm=asked.spine_mm)
        cover = Cover(asked=flat, spine=asked.spine_mm)
        if cause.endswith("panel"):
            cover = Cover(asked=sizes(panel_mm=(PANEL[0] / 2, PANEL[1])), spine=0.0, spine_text="", ean=None)
        path = write(cover, tmp_path / "cover.pdf")
        got = held(path, asked, hands)
        assert (cause, STOP) in told(got)


def test_a_cover_that_is_folded_once_has_no_spine_to_speak_of(tmp_path: Path, hands: Workers) -> None:
    once = sizes(spine_mm=0.0, hinge_mm=0.0)
    assert told(looked(Cover(asked=once, spine=0.0, spine_text=""), tmp_path, hands)) == []


def test_a_page_as_large_as_a_wall_is_answered_in_bounded_memory(tmp_path: Path, hands: Workers) -> None:
    # 14,400 units is the most that ISO 32000-1, annex C, has for a page
    got = looked(Cover(boxes={"TrimBox": [0, 0, 14400, 14400], "MediaBox": [0, 0, 14400, 14400]}), tmp_path, hands)
    assert ("cover-size/other", STOP) in told(got)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler is not installed")
def test_the_ink_of_the_spine_is_where_poppler_paints_it(tmp_path: Path, hands: Workers) -> None:
    """The box of the title's glyphs against another renderer's raster."""
    import io

    import numpy as np
    from PIL import Image

    got = looked(Cover(), tmp_path, hands)
    assert got.seen is not None
    line = next(one for one in got.seen.lines if one.angle == 270)
    drawn = subprocess.run(
        ["pdftoppm", "-r", "254", "-gray", "-singlefile", str(tmp_path / "cover.pdf")], capture_output=True, check=True
    )
    # ten pixels a mm; the page begins 3 mm before the trim
    grey = np.array(Image.open(io.BytesIO(drawn.stdout)))
    spine = grey[:, ((100 + 3) * 10) + 3 : round((100 + SPINE + 3) * 10) - 3]
    light = np.argwhere(spine > 200)
    down, across = light.min(axis=0), light.max(axis=0) + 1
    assert line.box_mm.x0 == pytest.approx(100.3 + down[1] / 10, abs=0.15)
    assert line.box_mm.x1 == pytest.approx(100.3 + across[1] / 10, abs=0.15)
    assert line.box_mm.y1 == pytest.approx(HIGH + 3 - down[0] / 10, abs=0.15)
    assert line.box_mm.y0 == pytest.approx(HIGH + 3 - across[0] / 10, abs=0.15)


TYPST = """
#set page(width: {w}mm, height: {h}mm, margin: 0mm, fill: cmyk(60%, 35%, 10%, 0%))
#set text(fill: white, font: "Libertinus Serif")
#place(top + left, dx: 103mm, rect(width: {spine}mm, height: {h}mm, fill: cmyk(90%, 60%, 20%, 10%)))
#place(top + left, dx: 103mm, box(width: {spine}mm, height: {h}mm,
  align(center + horizon, rotate(90deg, reflow: true, text(size: 20pt)[The Lamps of Merrowby]))))
#place(top + left, dx: 140mm, dy: 30mm, text(size: 22pt)[The Lamps \\ of Merrowby])
#place(top + left, dx: 12mm, dy: 20mm, box(width: 80mm, text(size: 10pt)[#lorem(60)]))
#place(top + left, dx: 50mm, dy: 110mm, box(fill: white, inset: 2mm, image("bars.svg", width: 40mm)))
"""


def test_a_cover_of_another_maker_is_read_as_well(tmp_path: Path, hands: Workers) -> None:
    """Set by Typst, its bars drawn by zxing-cpp; Typst states no TrimBox, and that alone is asked about."""
    import typst
    import zxingcpp

    code = zxingcpp.create_barcode(EAN, zxingcpp.BarcodeFormat.EAN13)
    (tmp_path / "bars.svg").write_text(code.to_svg(scale=1, add_hrt=True, add_quiet_zones=True), encoding="utf-8")
    source, target = tmp_path / "cover.typ", tmp_path / "cover.pdf"
    source.write_text(TYPST.format(w=WIDE + 6, h=HIGH + 6, spine=SPINE), encoding="utf-8")
    typst.compile(source, output=target, ignore_system_fonts=True)
    got = held(target, sizes(), hands)
    bars = got.seen.bars if got.seen else None
    # the drawing is 113 modules wide: 11 + 95 + 7
    assert bars is not None and bars.digits == EAN
    assert bars.module_mm == pytest.approx(40 / 113, abs=0.002)
    # bars in the black of a screen are grey to Typst
    assert told(got) == [("cover-trim-box", QUERY)]
