# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own readers: what a digest stands for, how boxes are read, where forms are found."""

from __future__ import annotations

import re
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image, ImageFilter

from foldproof.pdf.proof_affine import box_round
from foldproof.pdf.proof_objects import open_file
from foldproof.pdf.proof_pages import count_pages, read_pages
from foldproof.pdf.proof_read import PageRead, PagesJob, SidesJob
from foldproof.pdf.proof_render import CountJob, count_drawn
from foldproof.pdf.proof_sheets import read_sides
from foldproof.prove.pixels import TINT, beyond, filled, outside, unlike
from tests.build import Picture, book, raw_pdf


def pages_of(path: Path) -> tuple[PageRead, ...]:
    return read_pages(PagesJob(path, 0, 1 << 20))


def digests(path: Path) -> list[bytes]:
    return [page.digest for page in pages_of(path)]


def changed(source: Path, target: Path, change: Callable[[pikepdf.Pdf], None], **options: Any) -> Path:
    with pikepdf.open(source) as pdf:
        change(pdf)
        pdf.save(target, static_id=True, **options)
    return target


@pytest.fixture
def four(tmp_path: Path) -> Path:
    return book(4, tmp_path / "four.pdf", pictures=[Picture((20, 20, 60, 60))])


def test_writing_anew_does_not_change_a_digest(four: Path, tmp_path: Path) -> None:
    streams = pikepdf.ObjectStreamMode.generate
    again = changed(four, tmp_path / "b.pdf", lambda pdf: None, object_stream_mode=streams, recompress_flate=True)
    assert digests(again) == digests(four)
    assert len(set(digests(four))) == 4


def test_filters_do_not_change_a_digest(four: Path, tmp_path: Path) -> None:
    def spell(pdf: pikepdf.Pdf) -> None:
        for page in pdf.pages:
            data = page.Contents.read_bytes()
            page.Contents.write(
                zlib.compress(data).hex().encode() + b">", filter=Array([Name.ASCIIHexDecode, Name.FlateDecode])
            )

    level = pikepdf.StreamDecodeLevel.none
    spelt = changed(four, tmp_path / "b.pdf", spell, stream_decode_level=level, compress_streams=False)
    assert b"ASCIIHexDecode" in spelt.read_bytes()
    assert digests(spelt) == digests(four)


def test_content_in_parts_is_joined_by_newlines(four: Path, tmp_path: Path) -> None:
    # ISO 32000-1, 7.8.2: the parts are one stream; a part may end in the middle of anything but a token
    def part(pdf: pikepdf.Pdf) -> None:
        for page in pdf.pages:
            first, rest = page.Contents.read_bytes().split(b"\n", 1)
            page.Contents = Array([pdf.make_stream(first), pdf.make_stream(rest)])

    assert digests(changed(four, tmp_path / "b.pdf", part)) == digests(four)


def test_inherited_and_unused_resources_do_not_change_a_digest(four: Path, tmp_path: Path) -> None:
    def move_up(pdf: pikepdf.Pdf) -> None:
        shared = pdf.pages[0].obj.Resources
        shared.Font.NobodyUsesThis = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Courier)
        pdf.Root.Pages.Resources = shared
        for page in pdf.pages:
            page.obj.Resources.Font.F1 = shared.Font.F1
            del page.obj["/Resources"]

    # the pictures of all four pages are the same here, so one dictionary serves them
    assert digests(changed(four, tmp_path / "b.pdf", move_up)) == digests(four)


@pytest.mark.parametrize("what", ["content", "picture", "font program", "name of the font"])
def test_every_byte_that_is_painted_counts(what: str, four: Path, tmp_path: Path) -> None:
    def change(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[1]
        if what == "content":
            page.Contents.write(page.Contents.read_bytes().replace(b"Page 2", b"Page 7"))
        elif what == "picture":
            picture = page.Resources.XObject.Im1
            data = bytearray(picture.read_bytes())
            data[100] ^= 1
            picture.write(bytes(data))
        elif what == "font program":
            program = page.Resources.Font.F1.FontDescriptor.FontFile3
            data = bytearray(program.read_bytes())
            data[-1] ^= 1
            program.write(bytes(data))
        else:
            page.Resources.Font.F1.BaseFont = Name("/ABCDEF+Another")

    before, after = digests(four), digests(changed(four, tmp_path / "b.pdf", change))
    assert after[1] != before[1]
    if what in ("content", "picture"):
        assert [after[0], *after[2:]] == [before[0], *before[2:]]


def test_loops_of_resources_end_and_do_not_depend_on_where_reading_began(tmp_path: Path) -> None:
    form = (
        "<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] /Resources << /XObject << /{other} {number} 0 R >> >> "
        "/Length {n} >>"
    )
    first, second = "/B Do 1 0 0 rg 0 0 5 5 re f", "/A Do"
    objects: dict[int, str | bytes] = {
        1: "<< /Type /Catalog /Pages 2 0 R >>",
        2: "<< /Type /Pages /Kids [3 0 R 4 0 R] /Count 2 /MediaBox [0 0 99 99] >>",
        3: "<< /Type /Page /Parent 2 0 R /Contents 5 0 R /Resources << /XObject << /A 7 0 R >> >> >>",
        4: "<< /Type /Page /Parent 2 0 R /Contents 6 0 R /Resources << /XObject << /B 8 0 R >> >> >>",
        5: "<< /Length 5 >> stream\n/A Do\nendstream",
        6: "<< /Length 5 >> stream\n/B Do\nendstream",
        7: form.format(other="B", number=8, n=len(first)) + f" stream\n{first}\nendstream",
        8: form.format(other="A", number=7, n=len(second)) + f" stream\n{second}\nendstream",
    }
    path = raw_pdf(tmp_path / "loop.pdf", objects)
    both = digests(path)
    (alone,) = read_pages(PagesJob(path, 1, 2))
    assert alone.digest == both[1] != both[0]


def test_objects_in_streams_are_read_one_by_one(four: Path, tmp_path: Path) -> None:
    packed = changed(four, tmp_path / "b.pdf", lambda pdf: None, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    held = open_file(packed, None)
    assert len(held.pages) == 4
    assert held.reader._unpacked  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["qpdf__boxes.pdf", "pdfium__cropped_text.pdf", "qpdf__page-inherit-mediabox.pdf"])
def test_trims_agree_with_poppler(name: str, corpus: Path, tool: Callable[[str], str]) -> None:
    path = corpus / "hard" / name
    pages = pages_of(path)
    told = subprocess.run(
        [tool("pdfinfo"), "-box", "-f", "1", "-l", str(len(pages)), str(path)],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    boxes = re.findall(r"^Page +(\d+) TrimBox: +([-\d.]+) +([-\d.]+) +([-\d.]+) +([-\d.]+)", told, re.MULTILINE)
    turns = dict(re.findall(r"^Page +(\d+) rot: +(\d+)", told, re.MULTILINE))
    assert len(boxes) == len(pages)
    for page, (number, *corners) in zip(pages, boxes, strict=True):
        x0, y0, x1, y1 = map(float, corners)
        size = sorted((abs(x1 - x0), abs(y1 - y0)))
        assert sorted((page.trim[2] - page.trim[0], page.trim[3] - page.trim[1])) == pytest.approx(size, abs=0.02)
        if turns.get(number) in ("90", "270"):
            assert page.trim[2] - page.trim[0] == pytest.approx(abs(y1 - y0), abs=0.02)


def test_turned_and_enlarged_page_is_upright_about_its_centre(tmp_path: Path) -> None:
    path = book(1, tmp_path / "a.pdf", trim_mm=(100, 150), bleed_mm=5, rotate=90, user_unit=2, origin_pt=(50, -20))
    (page,) = pages_of(path)
    wide, high = 100 * 72 / 25.4, 150 * 72 / 25.4
    assert page.trim == pytest.approx((-wide / 2, -high / 2, wide / 2, high / 2), abs=0.01)
    grown = 5 * 72 / 25.4
    outer = (page.trim[0] - grown, page.trim[1] - grown, page.trim[2] + grown, page.trim[3] + grown)
    assert box_round(page.upright, page.medium) == pytest.approx(outer, abs=0.01)


def test_pages_in_a_loop_are_counted_once(corpus: Path) -> None:
    assert count_pages(PagesJob(corpus / "hard" / "qpdf__pages-loop.pdf", 0, 0)) < 10


def test_both_readers_count_alike(four: Path) -> None:
    assert count_pages(PagesJob(four, 0, 0)) == count_drawn(CountJob(four)) == 4


def _sheet(target: Path, content: bytes, source: Path) -> Path:
    with pikepdf.open(source) as old, pikepdf.new() as pdf:
        form = old.pages[0].as_form_xobject()
        form.BBox = Array([0, 0, 600, 700])
        inner = pdf.copy_foreign(form)
        outer = Stream(pdf, b"q 1 0 0 1 10 0 cm /Page Do Q")
        outer.Type, outer.Subtype, outer.BBox = Name.XObject, Name.Form, Array([0, 0, 600, 700])
        outer.Resources = Dictionary(XObject=Dictionary(Page=inner))
        pdf.pages.append(
            pikepdf.Page(
                Dictionary(
                    Type=Name.Page, MediaBox=Array([100, 200, 900, 1000]), Contents=pdf.make_stream(content),
                    Resources=Dictionary(XObject=Dictionary(Page=inner, Holder=pdf.make_indirect(outer))),
                )
            )
        )  # fmt: skip
        pdf.save(target, static_id=True)
    return target


def test_forms_are_found_under_clips_and_inside_forms(four: Path, tmp_path: Path) -> None:
    known = frozenset(digests(four))
    content = (
        b"BT (not \\) a /Page Do) Tj ET BI /W 1 /H 1 /BPC 8 /CS /G ID Q EI\n"
        b"q 100 200 50 60 re W n q 120 210 500 500 re W n 1 0 0 1 110 220 cm /Page Do Q Q\n"
        b"/Holder Do q 5 0 0 5 0 0 cm Q"
    )
    (side,) = read_sides(SidesJob(_sheet(tmp_path / "s.pdf", content, four), 0, 1, known))
    first, holder = side.placed
    # the side frame begins at the corner of the MediaBox (100, 200)
    assert first.digest in known
    assert first.form[4:] == pytest.approx((10, 20), abs=1e-6)
    assert first.clip == pytest.approx((20, 20, 50, 60), abs=1e-6)
    assert holder.digest not in known
    (inner,) = holder.inside
    assert inner.digest in known
    assert inner.form[4:] == pytest.approx((10 - 100, -200), abs=1e-6)


def beside(one: Any, other: Any) -> list[int]:
    """Pixels beside what is around the other, and the same by minimum and maximum of Pillow over whole drawings."""
    found = [int(pixel) for some in outside(one, other) for pixel in some]
    assert found == np.flatnonzero(beyond_by_pillow(one, other) | beyond_by_pillow(other, one)).tolist()
    one_way = [int(pixel) for some in beyond(one, other) for pixel in some]
    assert one_way == np.flatnonzero(beyond_by_pillow(one, other)).tolist()
    return found


def beyond_by_pillow(one: Any, other: Any) -> Any:
    # Pillow leaves the outermost pixels as they are: one row more, of what is at the edge
    wider = Image.fromarray(np.pad(other, ((1, 1), (1, 1), (0, 0)), mode="edge"))
    kinds = (ImageFilter.MinFilter, ImageFilter.MaxFilter)
    low, most = (np.asarray(wider.filter(kind(3)))[1:-1, 1:-1].astype(int) for kind in kinds)
    return ((one > most + 90) | (one < low - 90)).any(axis=2)


@pytest.mark.parametrize("seed", range(6))
def test_pixel_rule_against_pillow(seed: int) -> None:
    """On letters, on specks, and on a page that is another altogether, in several lots."""
    chance = np.random.default_rng(seed)
    shape = (260, 300, 3) if seed < 2 else (30, 41, 3)
    one = np.where(chance.random(shape) < 0.3, chance.integers(0, 256, shape), 255).astype(np.uint8)
    other = one.copy() if seed % 3 else np.roll(one, 2, axis=1)
    specks = chance.random(shape[:2]) < 0.02
    other[specks] = chance.integers(0, 256, (int(specks.sum()), 3))
    assert beside(one, other)


@pytest.mark.parametrize("seed", range(6))
def test_filled_squares_against_every_square(seed: int) -> None:
    """By the reckoning of every square of 4 x 4 pixels for itself."""
    chance = np.random.default_rng(seed)
    one = np.full((23, 31, 3), 200, dtype=np.uint8)
    other = one.copy()
    for _ in range(6):
        row, column, tall, wide = (int(n) for n in chance.integers((0, 0, 3, 3), (20, 28, 8, 8)))
        other[row : row + tall, column : column + wide, int(chance.integers(3))] = chance.choice([180, 220, 190])
    pixels = differing(one, other)
    expected = np.zeros(one.shape[:2], dtype=bool)
    for row in range(one.shape[0] - 3):
        for column in range(one.shape[1] - 3):
            off = (one.astype(int) - other)[row : row + 4, column : column + 4]
            if any((off[:, :, n] > TINT).all() or (off[:, :, n] < -TINT).all() for n in range(3)):
                expected[row : row + 4, column : column + 4] = True
    found = filled(one, other, pixels)
    assert np.array_equal(expected, found if found is not None else np.zeros_like(expected))


def test_pixel_rule() -> None:
    # the rule of the look (measured on 5,852 pages): within the other's 3 x 3 minimum and maximum, give or take 90
    white = np.full((40, 40, 3), 255, dtype=np.uint8)
    line = white.copy()
    line[20] = 0
    moved = white.copy()
    moved[21] = 0
    assert not beside(line, moved)
    farther = white.copy()
    farther[22] = 0
    assert beside(line, farther)
    pale = white.copy()
    pale[10, 10] = 255 - 90
    assert not beside(white, pale)
    pale[10, 10] = 255 - 91
    assert beside(white, pale)


def differing(one: Any, other: Any) -> Any:
    """Where two drawings differ by more than a tint may, by the whole-page reckoning."""
    pixels, off = unlike(one, other, np.ones(one.shape[:2], dtype=bool))
    whole = (np.maximum(one, other) - np.minimum(one, other)).max(axis=2)
    assert np.array_equal(np.flatnonzero(whole), pixels) and np.array_equal(whole.ravel()[pixels], off)
    return pixels[off > TINT]


def test_tint_fills_a_square_and_moved_edges_do_not() -> None:
    white = np.full((40, 40, 3), 255, dtype=np.uint8)
    tint = white.copy()
    tint[10:14, 20:24] = (255, 238, 255)
    square = filled(white, tint, differing(white, tint))
    assert square is not None and square.sum() == 16
    thin = white.copy()
    thin[10:13, 5:35] = 200
    assert filled(white, thin, differing(white, thin)) is None
    # a moved edge: lighter on one side, darker on the other, in one square
    left, right = white.copy(), white.copy()
    left[10:14, 20:22], right[10:14, 22:24] = 100, 100
    assert filled(left, right, differing(left, right)) is None
    # a run that goes on in the next row is no square
    wrapped = white.copy()
    wrapped[10:16, 38:], wrapped[11:17, :2] = 0, 0
    assert filled(white, wrapped, differing(white, wrapped)) is None
    small = np.full((3, 3, 3), 255, dtype=np.uint8)
    assert filled(small, small - 200, differing(small, small - 200)) is None
