# SPDX-License-Identifier: AGPL-3.0-or-later
"""The object pass on pages built for the purpose."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import ImageCms

from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind
from tests import build
from tests.build import PT, Fill, Picture
from tests.passes.looking import look, looks
from tests.passes.test_ink import FRAMES, near

W, H = 140.0, 216.0


def ppi(pixels: int, mm: float) -> float:
    return pixels / (mm / 25.4)


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("turned", [0.0, 90.0, 180.0, 270.0, 30.0])
def test_resolution_is_on_paper_along_the_pictures_own_sides(tmp_path: Path, frame: str, turned: float) -> None:
    """300 x 200 pixels over 50 x 40 mm (before turning), in every geometry of page."""
    picture = Picture((40, 60, 90, 100), (300, 200), turned=turned)
    objects, _ = look(tmp_path / "a.pdf", pictures=[picture], **FRAMES[frame])
    (use,) = objects.pictures
    assert (use.width_px, use.height_px, use.bits, use.space) == (300, 200, 8, "DeviceGray")
    assert use.kind is PictureKind.CONTONE
    assert use.ppi_x == pytest.approx(ppi(300, 50), rel=1e-4)
    assert use.ppi_y == pytest.approx(ppi(200, 40), rel=1e-4)
    cos, sin = abs(math.cos(math.radians(turned))), abs(math.sin(math.radians(turned)))
    w, h = 50 * cos + 40 * sin, 50 * sin + 40 * cos
    assert near(use.place_mm, (65 - w / 2, 80 - h / 2, 65 + w / 2, 80 + h / 2), slack=0.01)


def test_resolution_of_a_skewed_picture_in_nested_forms(tmp_path: Path) -> None:
    """Scale 2 x 0.5 outside, skew inside: the lengths of the two vectors of the whole matrix count."""

    def nested(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0]
        inner = Stream(pdf, b"q 100 0 40 60 10 10 cm /Im1 Do Q")
        inner.Type, inner.Subtype, inner.BBox = Name.XObject, Name.Form, Array([-999, -999, 999, 999])
        inner.Resources = Dictionary(XObject=Dictionary(Im1=build.image(pdf, Picture((0, 0, 1, 1), (90, 70)))))
        inner.Matrix = Array([2, 0, 0, 0.5, 0, 0])
        outer = Stream(pdf, b"q 0 1 -1 0 200 30 cm /In Do Q")
        outer.Type, outer.Subtype, outer.BBox = Name.XObject, Name.Form, Array([-999, -999, 999, 999])
        outer.Resources = Dictionary(XObject=Dictionary(In=pdf.make_indirect(inner)))
        page.Resources.XObject = Dictionary(Out=pdf.make_indirect(outer))
        page.Contents = pdf.make_indirect(Stream(pdf, b"/Out Do"))

    objects, _ = look(tmp_path / "a.pdf", after=nested)
    (use,) = objects.pictures
    assert use.ppi_x == pytest.approx(90 / (200 / 72), rel=1e-4)
    assert use.ppi_y == pytest.approx(70 / (math.hypot(80, 30) / 72), rel=1e-4)


@pytest.mark.parametrize("space", ["DeviceGray", "DeviceRGB", "DeviceCMYK"])
def test_spaces_and_soft_masks(tmp_path: Path, space: str) -> None:
    picture = Picture((10, 10, 35.4, 35.4), (100, 100), space, soft_mask=(50, 25))
    objects, _ = look(tmp_path / "a.pdf", pictures=[picture])
    kinds = {use.kind: use for use in objects.pictures}
    assert kinds[PictureKind.CONTONE].space == space
    assert kinds[PictureKind.CONTONE].ppi_x == pytest.approx(100, rel=1e-3)
    mask = kinds[PictureKind.SOFT_MASK]
    assert (mask.width_px, mask.height_px) == (50, 25)
    assert (mask.ppi_x, mask.ppi_y) == (pytest.approx(50, rel=1e-3), pytest.approx(25, rel=1e-3))
    assert [(c.space, c.what, c.count) for c in objects.colours] == [(space, "picture", 1)]


def test_line_work_and_stencils(tmp_path: Path) -> None:
    pictures = [
        Picture((10, 10, 35.4, 35.4), (1200, 1200), bits=1),
        Picture((50, 10, 75.4, 35.4), (600, 600), stencil=True),
    ]
    objects, _ = look(tmp_path / "a.pdf", pictures=pictures)
    line, stencil = objects.pictures
    assert (line.kind, line.bits, round(line.ppi_x)) == (PictureKind.LINE_WORK, 1, 1200)
    assert (stencil.kind, stencil.bits, stencil.space, round(stencil.ppi_x)) == (PictureKind.STENCIL, 1, "none", 600)
    assert {(c.space, c.what) for c in objects.colours} == {("DeviceGray", "picture"), ("DeviceGray", "fill")}


def test_inline_pictures(tmp_path: Path) -> None:
    inline = b"q 72 0 0 36 100 100 cm BI /W 4 /H 2 /BPC 8 /CS /G ID " + bytes(range(0, 64, 8)) + b" EI Q"
    objects, _ = look(tmp_path / "a.pdf", content=inline)
    (use,) = objects.pictures
    assert (use.width_px, use.height_px) == (4, 2)
    assert (use.ppi_x, use.ppi_y) == (pytest.approx(4, rel=1e-3), pytest.approx(4, rel=1e-3))
    assert use.inline


def test_a_picture_used_twice_counts_twice(tmp_path: Path) -> None:
    again = "q 36 0 0 36 200 200 cm /Im1 Do Q"
    objects, _ = look(tmp_path / "a.pdf", pictures=[Picture((10, 10, 35.4, 35.4), (100, 100))], content=again)
    assert sorted(round(use.ppi_x) for use in objects.pictures) == [100, 200]
    assert not any(use.inline for use in objects.pictures)


def test_native_colour_spaces_are_named(tmp_path: Path) -> None:
    ramp = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array([0, 1, 0, 0]), N=1)
    two = Dictionary(FunctionType=4, Domain=Array([0, 1, 0, 1]), Range=Array([0, 1, 0, 1, 0, 1, 0, 1]))
    pdf = pikepdf.new()
    function = Stream(pdf, b"{ 0 0 }")
    for key, value in two.items():
        function[key] = value
    profile = Stream(pdf, _srgb())
    profile.N = 3
    spaces = Dictionary(
        Lab=Array([Name.Lab, Dictionary(WhitePoint=Array([0.9642, 1, 0.8249]))]),
        Icc=Array([Name.ICCBased, pdf.make_indirect(profile)]),
        Sep=Array([Name.Separation, Name("/Dawn Red"), Name.DeviceCMYK, ramp]),
        Dev=Array([Name.DeviceN, Array([Name("/Dawn Red"), Name.Black]), Name.DeviceCMYK, pdf.make_indirect(function)]),
        Idx=Array([Name.Indexed, Name.DeviceRGB, 1, pikepdf.String(b"\0\0\0\xff\0\0")]),
    )
    content = "\n".join(
        f"{paint} {10 + 20 * n} 100 15 15 re f"
        for n, paint in enumerate(
            ["0.2 g", "1 0 0 rg", "0 0 0 1 k", "/Lab cs 50 20 20 sc", "/Icc cs 1 0 0 sc", "/Sep cs 1 scn",
             "/Dev cs 1 0 scn", "/Idx cs 1 sc"]
        )
    )  # fmt: skip
    build.page(pdf, content=content + "\n0 1 0 RG 3 w 10 300 m 60 350 l S", resources={"ColorSpace": spaces})
    ((objects, _),) = looks(build.save(pdf, tmp_path / "a.pdf"))
    assert [(c.space, c.what) for c in objects.colours] == [
        ("DeviceGray", "fill"), ("DeviceRGB", "fill"), ("DeviceCMYK", "fill"), ("Lab", "fill"), ("ICCBased(3)", "fill"),
        ("Separation(Dawn Red)", "fill"), ("DeviceN(Dawn Red, Black)", "fill"), ("Indexed(DeviceRGB)", "fill"),
        ("DeviceRGB", "stroke"),
    ]  # fmt: skip
    first = objects.colours[2].first_mm
    assert near(first, tuple(v / PT for v in (50, 100, 65, 115)), slack=0.02)  # type: ignore[arg-type]


def _srgb() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def test_paint_that_makes_a_soft_mask_is_no_colour_on_paper(tmp_path: Path) -> None:
    def masked(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0]
        group = Stream(pdf, b"1 0 0 rg 0 0 500 700 re f")
        group.Type, group.Subtype, group.BBox = Name.XObject, Name.Form, Array([0, 0, 500, 700])
        group.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)
        mask = Dictionary(Type=Name.Mask, S=Name.Luminosity, G=pdf.make_indirect(group))
        page.Resources.ExtGState = Dictionary(M=Dictionary(SMask=mask))
        page.Contents = pdf.make_indirect(Stream(pdf, b"/M gs 0 0 0 1 k 50 50 100 100 re f"))

    objects, _ = look(tmp_path / "a.pdf", after=masked)
    assert [(c.space, c.what) for c in objects.colours] == [("DeviceCMYK", "fill")]


def test_text_is_counted_and_placed(tmp_path: Path) -> None:
    objects, _ = look(tmp_path / "a.pdf", text="Lantern", folio="7")
    assert objects.text_count == 2
    (colour,) = objects.colours
    assert (colour.space, colour.what, colour.count) == ("DeviceCMYK", "text", 2)
    assert colour.first_mm is not None
    assert abs(colour.first_mm.centre[0] - W / 2) < 2


def test_shadings_are_counted(tmp_path: Path) -> None:
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0]), C1=Array([1, 0, 0]), N=1)
    shading = Dictionary(
        ShadingType=2, ColorSpace=Name.DeviceRGB, Coords=Array([0, 0, 100, 0]), Function=function,
        Extend=Array([True, True]),
    )  # fmt: skip
    objects, _ = look(tmp_path / "a.pdf", content="/Sh sh", resources={"Shading": Dictionary(Sh=shading)})
    assert [(c.space, c.what, c.count) for c in objects.colours] == [("DeviceRGB", "shading", 1)]


# --- trim marks inside the page -----------------------------------------------------------------------------------


def marks(inset: float, corners: int = 4, weight: float = 0.25, gap: float = 2.0, length: float = 8.0) -> str:
    """Stroked trim marks for a trim that stands ``inset`` mm inside the page, at the first so many corners."""
    out = [f"{weight} w 0 0 0 1 K"]
    for n, (right, top) in enumerate([(0, 0), (1, 0), (0, 1), (1, 1)]):
        if n >= corners:
            break
        x, y = (W - inset if right else inset), (H - inset if top else inset)
        dx, dy = (1 if right else -1), (1 if top else -1)
        for ax, ay, bx, by in (
            (x + dx * gap, y, x + dx * (gap + length), y),
            (x, y + dy * gap, x, y + dy * (gap + length)),
        ):
            out.append(f"{ax * PT:.3f} {ay * PT:.3f} m {bx * PT:.3f} {by * PT:.3f} l S")
    return "\n".join(out)


@pytest.mark.parametrize("frame", ["plain", "quarter", "all of it"])
@pytest.mark.parametrize("corners", [3, 4])
def test_trim_marks_inside_the_page_are_seen(tmp_path: Path, corners: int, frame: str) -> None:
    objects, _ = look(tmp_path / "a.pdf", text="Body", content=marks(15, corners), **FRAMES[frame])
    assert len(objects.mark_like) == 2 * corners
    assert all(Rect(0, 0, W, H).holds(mark) for mark in objects.mark_like)


def test_trim_marks_drawn_as_filled_bars(tmp_path: Path) -> None:
    bars = []
    for x, dx in ((12, -1), (W - 12, 1)):
        for y, dy in ((12, -1), (H - 12, 1)):
            left, right = sorted((x + 2 * dx, x + 8 * dx))
            low, high = sorted((y + 2 * dy, y + 8 * dy))
            bars += [Fill((left, y, right, y + 0.1)), Fill((x, low, x + 0.1, high))]
    objects, _ = look(tmp_path / "a.pdf", fills=bars)
    assert len(objects.mark_like) == 8


def test_marks_outside_the_trim_and_at_two_corners_are_none(tmp_path: Path) -> None:
    outside = marks(-0.001)
    objects, _ = look(tmp_path / "a.pdf", slug_mm=15, content=outside)
    assert objects.mark_like == ()
    objects, _ = look(tmp_path / "b.pdf", content=marks(15, 2))
    assert objects.mark_like == ()


def test_tables_frames_and_charts_are_no_trim_marks(tmp_path: Path) -> None:
    table = ["0.4 w 0 0 0 1 K"]
    for row in range(20):
        for column in range(6):
            x, y = 30 + 55 * column, 40 + 28 * row
            table.append(f"{x} {y} 50 24 re S {x} {y} m {x + 50} {y} l S {x} {y} m {x} {y + 24} l S")
    objects, _ = look(tmp_path / "a.pdf", content="\n".join(table))
    assert objects.mark_like == ()
    corners = [  # ornaments: two rules that meet at each corner of the page
        Fill((a, b, a + 8, b + 0.1)) for a in (10, 122) for b in (10, 206)
    ] + [Fill((a, b, a + 0.1, b + 8)) for a in (10, 130) for b in (10, 198)]
    objects, _ = look(tmp_path / "b.pdf", fills=corners)
    assert objects.mark_like == ()


# --- pages that never end -----------------------------------------------------------------------------------------


def test_a_page_of_too_many_objects_is_cut_short(tmp_path: Path) -> None:
    objects, _ = look(tmp_path / "a.pdf", content="0 0 1 1 re f\n" * 210_000)
    assert objects.cut_short
    assert objects.path_count == 200_000


def test_what_a_callback_raises_comes_out_as_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> None:
        raise KeyError("inside")

    monkeypatch.setattr("foldproof.pdf.objects_paint.Paints.offer", broken)
    with pytest.raises(KeyError, match="inside"):
        look(tmp_path / "a.pdf", fills=[Fill((1, 1, 9, 9))] * 5)
