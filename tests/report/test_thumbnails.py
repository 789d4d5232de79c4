# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures of pages stand in the frame that was asked for, whatever the page's boxes and turns."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from foldproof.geometry import Rect
from foldproof.manuscript.model import Boxes, PageFact, TrimSource
from foldproof.pdf.thumbnails import View, ViewJob, views


def page_with(rotate: int, unit: float) -> PageFact:
    media, trim = Rect(-10, -20, 190, 280), Rect(10, 30, 110, 180)
    boxes = Boxes(media, Rect(5, 5, 150, 200), trim, trim, trim, frozenset(), TrimSource.TRIM_BOX)
    return PageFact(
        index=0, boxes=boxes, rotate=rotate, user_unit=unit, label=None, fonts=(), annotations=(), has_content=True,
        group_space=None,
    )  # fmt: skip


@pytest.mark.parametrize("unit", [1.0, 2.0])
@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_the_trim_fills_the_picture(tmp_path: Path, rotate: int, unit: float) -> None:
    path = tmp_path / "page.pdf"
    with pikepdf.new() as made:
        made.add_blank_page(page_size=(200, 300))
        page = made.pages[-1]
        page.MediaBox = [-10, -20, 190, 280]
        page.CropBox = [5, 5, 150, 200]
        page.TrimBox = [10, 30, 110, 180]
        page.Rotate = rotate
        page.obj.UserUnit = unit
        # the trim grey, its corner at the lower left as written red
        page.Contents = made.make_stream(b".5 g 10 30 100 150 re f 1 0 0 rg 10 30 20 20 re f")
        made.save(path, min_version="1.6")
    fact = page_with(rotate, unit)
    width, height = fact.trim_size_pt
    [made_bytes] = views(ViewJob(path, (View(0, fact.to_trim.as_tuple(), (0, 0, width, height), 120),)))
    assert made_bytes is not None
    picture = Image.open(io.BytesIO(made_bytes)).convert("RGB")
    assert picture.width == 120 and picture.height == round(120 * height / width)
    inset = 6
    corners = {
        "lower left": (inset, picture.height - inset),
        "upper left": (inset, inset),
        "upper right": (picture.width - inset, inset),
        "lower right": (picture.width - inset, picture.height - inset),
    }
    red = {name for name, at in corners.items() if picture.getpixel(at)[0] > 200 and picture.getpixel(at)[1] < 80}
    # /Rotate turns the page clockwise (ISO 32000-1, table 30): the lower left goes to the upper left first
    assert red == {["lower left", "upper left", "upper right", "lower right"][rotate // 90]}
    for name in set(corners) - red:
        assert max(abs(v - 128) for v in picture.getpixel(corners[name])) < 12, name


def test_what_cannot_be_drawn_gives_nothing_and_the_rest_comes(tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    with pikepdf.new() as made:
        made.add_blank_page(page_size=(200, 300))
        made.save(path)
    upright = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    good, past, flat = (View(0, upright, (0, 0, 200, 300), 40), View(9, upright, (0, 0, 200, 300), 40),
                        View(0, upright, (0, 0, 0, 0), 40))  # fmt: skip
    made_views = views(ViewJob(path, (past, good, flat)))
    assert [v is None for v in made_views] == [True, False, True]
    (tmp_path / "no.pdf").write_bytes(b"no PDF")
    assert views(ViewJob(tmp_path / "no.pdf", (good,))) == (None,)
    assert views(ViewJob(tmp_path / "gone.pdf", (good,))) == (None,)


def test_a_huge_page_gives_a_picture_of_bounded_size(tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    with pikepdf.new() as made:
        made.add_blank_page(page_size=(3, 14400))
        made.save(path)
    [made_bytes] = views(ViewJob(path, (View(0, (1, 0, 0, 1, 0, 0), (0, 0, 3, 14400), 1000),)))
    assert made_bytes is not None
    picture = Image.open(io.BytesIO(made_bytes))
    assert picture.size == (1, 2400)


@pytest.mark.parametrize("rotate", [0, 90])
def test_bleed_is_shown_though_the_page_is_cropped_to_its_trim(tmp_path: Path, rotate: int) -> None:
    """A CropBox is for screens (ISO 32000-1, 14.11.2): what lies outside it is in the file and is printed."""
    path = tmp_path / "page.pdf"
    with pikepdf.new() as made:
        made.add_blank_page(page_size=(200, 300))
        page = made.pages[-1]
        page.MediaBox, page.CropBox, page.TrimBox = [-10, -20, 190, 280], [10, 30, 110, 180], [10, 30, 110, 180]
        page.Rotate = rotate
        page.Contents = made.make_stream(b"1 0 0 rg 0 20 120 170 re f")
        made.save(path)
    fact = page_with(rotate, 1.0)
    width, height = fact.trim_size_pt
    [made_bytes] = views(ViewJob(path, (View(0, fact.to_trim.as_tuple(), (-8, -8, width + 8, height + 8), 120),)))
    assert made_bytes is not None
    picture = Image.open(io.BytesIO(made_bytes)).convert("RGB")
    for at in ((1, 1), (picture.width - 2, 1), (1, picture.height - 2), (picture.width - 2, picture.height - 2)):
        red, green, _ = picture.getpixel(at)
        assert red > 200 and green < 80


def test_a_file_that_is_none_gives_no_picture_and_no_error(tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    path.write_bytes(b"%PDF-1.7 and nothing more")
    view = View(0, (1, 0, 0, 1, 0, 0), (0, 0, 10, 10), 20)
    assert views(ViewJob(path, (view,))) == (None,)
    assert views(ViewJob(tmp_path / "none.pdf", (view, view))) == (None, None)
