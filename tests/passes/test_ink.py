# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ink pass on pages built for the purpose: every place here is laid down by the page, not by the program."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.geometry import Rect
from foldproof.manuscript import observe as observe_room
from foldproof.manuscript.model import PageInk
from foldproof.pdf import ink as ink_room
from tests import build
from tests.build import Fill, Picture
from tests.passes.looking import edge, look, looks

W, H = 140.0, 216.0
#: a pixel of the raster at 72 dpi, mm
PX = 25.4 / 72
#: the geometries of a page that must not change what is seen of it
FRAMES: dict[str, dict[str, Any]] = {
    "plain": {},
    "quarter": {"rotate": 90},
    "half": {"rotate": 180},
    "three quarters": {"rotate": 270},
    "negative turn": {"rotate": -90},
    "user unit 2": {"user_unit": 2.0},
    "user unit and turn": {"user_unit": 2.0, "rotate": 90},
    "origin elsewhere": {"origin_pt": (-37.3, 112.7)},
    "all of it": {"origin_pt": (300, -20), "user_unit": 0.5, "rotate": 270},
}


def near(box: Rect | None, wanted: tuple[float, float, float, float], slack: float = PX + 0.01) -> bool:
    return box is not None and all(
        abs(a - b) <= slack for a, b in zip((box.x0, box.y0, box.x1, box.y1), wanted, strict=True)
    )


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("crop", [False, True], ids=["", "cropped"])
def test_ink_is_seen_where_it_lies_in_every_frame(tmp_path: Path, frame: str, crop: bool) -> None:
    def cropped(pdf: pikepdf.Pdf) -> None:
        if crop:  # a CropBox off the middle, smaller than the trim: no business of the frame
            x0, y0, x1, y1 = (float(v) for v in pdf.pages[0].MediaBox)  # type: ignore[union-attr]
            pdf.pages[0].CropBox = Array([x0 + 0.2 * (x1 - x0), y0 + 0.1 * (y1 - y0), x1, y1 - 0.3 * (y1 - y0)])

    _, ink = look(tmp_path / "a.pdf", fills=[Fill((20, 30, 60, 45))], after=cropped, **FRAMES[frame])
    assert near(ink.ink_mm, (20, 30, 60, 45))
    for name, distance in {"left": 20, "right": W - 60, "foot": 30, "head": H - 45}.items():
        found = edge(ink, name)
        assert not found.reaches
        assert found.nearest_mm == pytest.approx(distance, abs=PX + 0.01)
        assert found.nearest_place_mm is not None
        assert Rect(20, 30, 60, 45).grown(PX + 0.01).meets(found.nearest_place_mm)
    assert ink.coverage == {"Black": pytest.approx(40 * 15 / (W * H), rel=0.01)}


#: matter at one edge that runs on by so much, as a rectangle in the trim frame
def slab(name: str, beyond: float) -> tuple[float, float, float, float]:
    return {
        "left": (-beyond, 50, 30, 80),
        "right": (W - 30, 50, W + beyond, 80),
        "foot": (40, -beyond, 90, 30),
        "head": (40, H - 30, 90, H + beyond),
    }[name]


@pytest.mark.parametrize("frame", ["plain", "quarter", "half", "three quarters", "all of it"])
@pytest.mark.parametrize("name", ["left", "right", "foot", "head"])
@pytest.mark.parametrize("beyond", [3.0, 1.5, 0.0])
def test_bleed_is_measured_at_its_own_edge(tmp_path: Path, frame: str, name: str, beyond: float) -> None:
    _, ink = look(tmp_path / "a.pdf", fills=[Fill(slab(name, beyond))], **FRAMES[frame])
    for other in ink.edges:
        if other.edge != name:
            assert not other.reaches
    found = edge(ink, name)
    assert found.reaches
    assert found.bleed_mm == pytest.approx(beyond, abs=0.1)
    assert found.nearest_mm is None  # all the ink there is bleeds
    assert found.bleed_place_mm is not None
    if name in ("left", "right"):
        assert (found.bleed_place_mm.y0, found.bleed_place_mm.y1) == pytest.approx((50, 80), abs=2 * PX)
    else:
        assert (found.bleed_place_mm.x0, found.bleed_place_mm.x1) == pytest.approx((40, 90), abs=2 * PX)


@pytest.mark.parametrize("kind", ["fill", "picture"])
@pytest.mark.parametrize("trim", [(140.0, 216.0), (139.87, 215.91), (148.3, 210.2), (127.05, 203.17)])
@pytest.mark.parametrize(("short", "reaches"), [(0.0, True), (0.25, False), (0.5, False)])
def test_the_line_is_exact_on_any_fraction_of_a_pixel(
    tmp_path: Path, kind: str, trim: tuple[float, float], short: float, reaches: bool
) -> None:
    """MuPDF lets a picture grow to whole pixels; 0.5 mm short of the line is short all the same."""
    w, h = trim
    box = (short, short, w - short, h - short)
    matter: dict[str, Any] = {"fills": [Fill(box)]} if kind == "fill" else {"pictures": [Picture(box, (40, 60))]}
    _, ink = look(tmp_path / "a.pdf", trim_mm=trim, **matter)
    for found in ink.edges:
        assert found.reaches is reaches, found
        if not reaches:
            # where the pixel begins in which the ink does; finer next to the line
            assert found.nearest_mm is not None
            assert short - PX < found.nearest_mm <= short + 0.02
        else:
            assert found.bleed_mm <= 0.1


@pytest.mark.parametrize("beyond", [1.0, 2.7, 2.9, 3.0])
def test_the_bleed_of_a_picture_is_measured_to_a_tenth(tmp_path: Path, beyond: float) -> None:
    box = (-beyond, -beyond, W + beyond, H + beyond)
    _, ink = look(tmp_path / "a.pdf", pictures=[Picture(box, (40, 60), "DeviceCMYK")])
    assert all(found.reaches for found in ink.edges)
    for found in ink.edges:
        assert beyond - 0.01 <= found.bleed_mm <= beyond + 0.1


def test_the_least_bleed_counts_and_its_place_is_given(tmp_path: Path) -> None:
    fills = [Fill((-3, 100, 20, 200)), Fill((-1, 20, 20, 60))]
    _, ink = look(tmp_path / "a.pdf", fills=fills)
    found = edge(ink, "left")
    assert found.bleed_mm == pytest.approx(1, abs=0.1)
    assert near(found.bleed_place_mm, (-1, 20, 1, 60), slack=0.8)


def test_matter_beyond_the_media_box_is_not_there(tmp_path: Path) -> None:
    """A page that ends at the trim (bleed 0 in its boxes) with content that runs on: nothing of that is printed."""
    _, ink = look(tmp_path / "a.pdf", bleed_mm=0, fills=[Fill((-10, -10, W + 10, H + 10))])
    assert [found.bleed_mm for found in ink.edges] == [0, 0, 0, 0]
    assert all(found.reaches for found in ink.edges)
    assert near(ink.ink_mm, (0, 0, W, H))


def test_a_media_box_that_leaves_two_millimetres(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", bleed_mm=2, fills=[Fill((-10, -10, W + 10, H + 10))])
    assert [found.bleed_mm for found in ink.edges] == pytest.approx([2] * 4, abs=0.1)


def test_white_paint_is_no_ink(tmp_path: Path) -> None:
    fills = [
        Fill((-3, -3, W + 3, H + 3), paint) for paint in ("0 0 0 0 k", "1 1 1 rg", "1 g", "/DeviceCMYK cs 0 0 0 0 sc")
    ]
    _, ink = look(tmp_path / "a.pdf", fills=fills)
    assert ink.blank
    assert ink.ink_mm is None
    assert ink.coverage == {}
    assert all(not e.reaches and e.nearest_mm is None for e in ink.edges)


def test_white_over_ink_takes_it_away(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", fills=[Fill((-3, -3, W + 3, H + 3)), Fill((-9, -9, W + 9, H + 9), "1 g")])
    assert ink.blank


def test_ink_in_the_bleed_alone_leaves_the_page_blank(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", slug_mm=10, fills=[Fill((-2.5, 50, -1, 80))])
    assert ink.blank
    assert not edge(ink, "left").reaches


def test_a_faint_tint_is_ink(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", fills=[Fill((20, 20, 60, 60), "0 0 0.03 0 k")])
    assert not ink.blank
    assert list(ink.coverage) == ["Yellow"]


def test_the_round_side_of_a_bleeding_disc_is_neither_live_nor_short(tmp_path: Path) -> None:
    """A disc of 40 mm whose middle stands on the left trim line."""
    r, k = 20 * build.PT, 20 * build.PT * 4 / 3 * math.tan(math.pi / 8)
    y = 100 * build.PT
    disc = (
        f"0 0 0 1 k {r:.3f} {y:.3f} m {r:.3f} {y + k:.3f} {k:.3f} {y + r:.3f} 0 {y + r:.3f} c "
        f"{-k:.3f} {y + r:.3f} {-r:.3f} {y + k:.3f} {-r:.3f} {y:.3f} c "
        f"{-r:.3f} {y - k:.3f} {-k:.3f} {y - r:.3f} 0 {y - r:.3f} c "
        f"{k:.3f} {y - r:.3f} {r:.3f} {y - k:.3f} {r:.3f} {y:.3f} c f\n"
    )
    _, ink = look(tmp_path / "a.pdf", slug_mm=30, content=disc)
    found = edge(ink, "left")
    assert found.reaches
    assert found.bleed_mm > 2.9
    assert found.nearest_mm is None


def test_live_matter_beside_matter_that_bleeds(tmp_path: Path) -> None:
    fills = [Fill((-3, 100, 30, H + 3)), Fill((2.5, 20, 40, 24))]
    _, ink = look(tmp_path / "a.pdf", fills=fills)
    left = edge(ink, "left")
    assert left.reaches
    assert left.nearest_mm == pytest.approx(2.5, abs=PX + 0.01)
    assert left.nearest_place_mm is not None
    assert 19 < left.nearest_place_mm.y0 < left.nearest_place_mm.y1 < 25


def test_specks_of_white_at_the_line_are_no_lack_of_bleed(tmp_path: Path) -> None:
    """A picture that bleeds, with light spots in the part beyond the trim."""
    spots = [Fill((-2.5, 10 + 12 * n, -0.5, 12 + 12 * n), "0 0 0 0 k") for n in range(16)]
    _, ink = look(tmp_path / "a.pdf", fills=[Fill((-3, -3, W + 3, H + 3)), *spots])
    assert edge(ink, "left").bleed_mm == pytest.approx(3, abs=0.1)


def test_trim_marks_outside_do_not_count_as_bleed(tmp_path: Path) -> None:
    marks = [Fill((-15, 0, -4.2, 0.1)), Fill((-15, H - 0.1, -4.2, H)), Fill((0, -15, 0.1, -4.2))]
    _, ink = look(tmp_path / "a.pdf", slug_mm=12, fills=[Fill((0, 0, 50, 50)), *marks])
    assert edge(ink, "left").bleed_mm <= 0.1
    assert edge(ink, "foot").bleed_mm <= 0.1


def test_spots_have_plates_of_their_own(tmp_path: Path) -> None:
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array([0, 0.3, 0.9, 0.2]), N=1)
    gold = Array([Name.Separation, Name("/Lantern Gold"), Name.DeviceCMYK, tint])
    objects, ink = look(
        tmp_path / "a.pdf",
        fills=[Fill((20, 20, 90, 55), "/Gold cs 0.5 scn"), Fill((-3, 100, 20, 120), "/Gold cs 1 scn")],
        resources={"ColorSpace": Dictionary(Gold=gold)},
    )
    assert ink.coverage == {"Lantern Gold": pytest.approx((70 * 35 * 0.5 + 20 * 20) / (W * H), rel=0.02)}
    assert edge(ink, "left").reaches
    assert edge(ink, "left").bleed_mm == pytest.approx(3, abs=0.1)
    assert [(c.space, c.what, c.count) for c in objects.colours] == [("Separation(Lantern Gold)", "fill", 2)]


def test_annotations_that_print_are_ink_and_others_are_not(tmp_path: Path) -> None:
    def stamp(flags: int, y: float) -> Any:
        def made(pdf: pikepdf.Pdf) -> Any:
            form = Stream(pdf, b"0 0 0 1 k 0 0 100 50 re f")
            form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 100, 50])
            return Dictionary(
                Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([100, y, 200, y + 50]), F=flags,
                AP=Dictionary(N=pdf.make_indirect(form)),
            )  # fmt: skip

        return made

    for flags, shows in ((4, True), (0, False), (6, False)):  # Print; nothing; Print and Hidden (ISO 32000-1, 12.5.3)
        pdf = pikepdf.new()
        build.page(pdf, annotations=[stamp(flags, 300)(pdf)])
        ((objects, ink),) = looks(build.save(pdf, tmp_path / f"{flags}.pdf"))
        assert ink.blank is not shows
        assert (objects.path_count == 1) is shows


def test_layers_that_do_not_print_are_no_ink(tmp_path: Path) -> None:
    pdf = pikepdf.new()
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="off"))
    pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(OFF=Array([layer])))
    build.page(
        pdf, content="/OC /L BDC 0 0 0 1 k 50 50 100 100 re f EMC", resources={"Properties": Dictionary(L=layer)}
    )
    ((_, ink),) = looks(build.save(pdf, tmp_path / "a.pdf"))
    assert ink.blank


def test_a_trim_larger_than_the_paper(tmp_path: Path) -> None:
    """The job's trim may be larger than the page: what lies outside the MediaBox is bare."""
    pdf = pikepdf.new()
    build.page(pdf, trim_mm=(100, 150), bleed_mm=0, boxes={"TrimBox": None}, fills=[Fill((0, 0, 100, 150))])
    ((_, ink),) = looks(build.save(pdf, tmp_path / "a.pdf"), trim_mm=(120, 170))
    assert isinstance(ink, PageInk)
    assert near(ink.ink_mm, (10, 10, 110, 160))
    assert not any(e.reaches for e in ink.edges)
    assert ink.coverage["Black"] == pytest.approx(100 * 150 / (120 * 170), rel=0.02)


def test_huge_pages_are_drawn_coarsely(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", trim_mm=(3000, 3000), fills=[Fill((300, 300, 900, 900))])
    assert near(ink.ink_mm, (300, 300, 900, 900), slack=1.5)


def test_decoding_large_pictures_ahead_changes_no_fact(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture over the whole page and one that stops short, turned too: the hint saves time alone."""
    pictures = [
        Picture((-3, -3, W + 3, H + 1.5), (1100, 1000), "DeviceCMYK"),
        Picture((-2, 20, 60, 90), (300, 400), "DeviceRGB", turned=20),
    ]
    decoded: list[int] = []
    ahead = ink_room._decode_once
    monkeypatch.setattr(ink_room, "_decode_once", lambda *given: (decoded.append(1), ahead(*given)))
    _, with_it = look(tmp_path / "a.pdf", pictures=pictures)
    assert decoded == [1]
    monkeypatch.setattr(observe_room, "_LARGE_PX", 10**9)
    _, without = look(tmp_path / "a.pdf", pictures=pictures)
    assert decoded == [1]
    assert with_it == without
    assert edge(with_it, "head").bleed_mm == pytest.approx(1.5, abs=0.1)
