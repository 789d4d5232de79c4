# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paints, lines, clips and transparency that the object pass tells of built pages.

What is expected is what the page description says by ISO 32000-1: the colour operators (8.6.8), overprint (8.6.7), line
width through the matrix (8.4.3.2), clipping (8.5.4), patterns (8.7.3), transparency groups and soft masks (11.6).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import ImageCms

from foldproof.manuscript.model import PageObjects, PictureKind
from foldproof.manuscript.seen import PaintUse
from tests.build import PT, Fill, Picture
from tests.passes.looking import look
from tests.passes.test_ink import FRAMES, near


def seen(path: Path, content: str | bytes = b"", **page: Any) -> PageObjects:
    objects, _ = look(path / "a.pdf", content=content, **page)
    assert isinstance(objects, PageObjects)
    return objects


def only(objects: PageObjects) -> PaintUse:
    (use,) = objects.paints
    return use


def states(**named: dict[str, Any]) -> dict[str, Any]:
    return {"ExtGState": Dictionary({f"/{name}": Dictionary(**entries) for name, entries in named.items()})}


def form(pdf: pikepdf.Pdf, data: bytes, **entries: Any) -> pikepdf.Object:
    stream = Stream(pdf, data)
    stream.Type, stream.Subtype, stream.BBox = Name.XObject, Name.Form, Array([-999, -999, 999, 999])
    for key, value in entries.items():
        stream[f"/{key}"] = value
    return pdf.make_indirect(stream)


# --- colour ---------------------------------------------------------------------------------------------------------


def spaces(pdf: pikepdf.Pdf) -> None:
    """Colour spaces of every kind in the resources of the first page."""
    function = Stream(pdf, b"{ 0 0 }")  # two spots on yellow and black, at nothing: only their names matter
    function.FunctionType, function.Domain = 4, Array([0, 1, 0, 1])
    function.Range = Array([0, 1, 0, 1, 0, 1, 0, 1])
    profile = Stream(pdf, ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile.N = 3
    ramp = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array([0, 1, 0, 0]), N=1)
    white = Dictionary(WhitePoint=Array([0.9642, 1, 0.8249]), Range=Array([-100, 100, -100, 100]))
    pdf.pages[0].Resources.ColorSpace = Dictionary(
        Lab=Array([Name.Lab, white]),
        Icc=Array([Name.ICCBased, pdf.make_indirect(profile)]),
        Sep=Array([Name.Separation, Name("/Dawn Red"), Name.DeviceCMYK, ramp]),
        All=Array([Name.Separation, Name.All, Name.DeviceCMYK, ramp]),
        Dev=Array([Name.DeviceN, Array([Name("/Dawn Red"), Name.Black]), Name.DeviceCMYK, pdf.make_indirect(function)]),
    )


@pytest.mark.parametrize(
    ("paint", "space", "values"),
    [
        ("0.2 g", "DeviceGray", (0.2,)),
        ("0.1 0.25 1 rg", "DeviceRGB", (0.1, 0.25, 1)),
        ("0 0.3 0.6 1 k", "DeviceCMYK", (0, 0.3, 0.6, 1)),
        ("/Lab cs 50 20 -30 sc", "Lab", (50, 20, -30)),
        ("/Icc cs 0.5 0 0.75 sc", "ICCBased(3)", (0.5, 0, 0.75)),
        ("/Sep cs 0.15 scn", "Separation(Dawn Red)", (0.15,)),
        ("/All cs 1 scn", "Separation(All)", (1,)),
        ("/Dev cs 0.4 0.02 scn", "DeviceN(Dawn Red, Black)", (0.4, 0.02)),
        ("0.33333 g", "DeviceGray", (0.333,)),
    ],
)
def test_values_are_native(tmp_path: Path, paint: str, space: str, values: tuple[float, ...]) -> None:
    stroke = paint.replace("rg", "RG").replace(" g", " G").replace(" k", " K").replace("cs", "CS")
    stroke = stroke.replace("scn", "SCN").replace(" sc", " SC")
    drawn = f"{paint} 40 50 30 20 re f\nq {stroke} 3 w 40 150 m 90 150 l S Q"

    def after(pdf: pikepdf.Pdf) -> None:
        spaces(pdf)

    objects, _ = look(tmp_path / "a.pdf", content=drawn, after=after)
    fill, line = objects.paints
    assert (fill.what, fill.space, fill.values, fill.count) == ("fill", space, values, 1)
    assert (line.what, line.space, line.values, line.thinnest_pt) == ("stroke", space, values, 3)
    assert (fill.alpha, fill.blend, fill.overprint) == (1, "Normal", False)
    assert near(fill.first_mm, tuple(v / PT for v in (40, 50, 70, 70)), slack=0.01)  # type: ignore[arg-type]


def test_what_is_alike_is_counted_as_one(tmp_path: Path) -> None:
    objects = seen(tmp_path, "0 0 0 1 k " + "9 9 5 5 re f 30 30 5 5 re f " * 50 + "0 0 0 0.9 k 60 60 5 5 re f")
    assert [(use.values, use.count) for use in objects.paints] == [((0, 0, 0, 1), 100), ((0, 0, 0, 0.9), 1)]
    assert objects.objects == 101


@pytest.mark.parametrize(
    ("state", "fill", "line"),
    [
        ({"OP": True, "op": False}, (False, 0), (True, 0)),
        ({"OP": False, "op": True, "OPM": 1}, (True, 1), (False, 1)),
        ({"OP": True}, (True, 0), (True, 0)),  # table 58: OP alone sets both
        ({}, (False, 0), (False, 0)),
    ],
)
def test_overprint(tmp_path: Path, state: dict[str, Any], fill: Any, line: Any) -> None:
    content = "/A gs 0 0 0 1 k 0 0 0 1 K 9 9 9 9 re f 50 50 m 90 90 l S BT /F1 9 Tf 99 99 Td (overprint) Tj ET"
    objects = seen(tmp_path, content, resources=states(A=state))
    told = {use.what: (use.overprint, use.overprint_mode) for use in objects.paints}
    assert told == {"fill": fill, "stroke": line}
    assert {(use.overprint, use.overprint_mode) for use in objects.texts} == {fill}


def test_stencils_and_pictures_tell_overprint_and_colour(tmp_path: Path) -> None:
    pictures = [Picture((10, 10, 40, 40), (80, 80), stencil=True), Picture((50, 10, 80, 40), (80, 80))]
    content = "/A gs 0 0.5 1 0 k q 40 0 0 40 200 200 cm /Im1 Do Q q 40 0 0 40 300 200 cm /Im2 Do Q"
    objects = seen(tmp_path, content, pictures=pictures, resources=states(A={"op": True}))
    plain, coloured = (use for use in objects.pictures if use.kind is PictureKind.STENCIL)
    assert (plain.values, plain.overprint, coloured.values, coloured.overprint) == ((0,), False, (0, 0.5, 1, 0), True)
    assert [use.overprint for use in objects.pictures if use.kind is PictureKind.CONTONE] == [False, True]
    assert [(use.what, use.values, use.overprint) for use in objects.paints] == [
        ("stencil", (0,), False),
        ("stencil", (0, 0.5, 1, 0), True),
    ]


def test_shadings_have_a_space_and_no_values(tmp_path: Path) -> None:
    function = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array([1] * 4), N=1)
    shading = Dictionary(ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=Array([0, 0, 99, 0]), Function=function)
    resources = {"Shading": Dictionary(Sh=shading), **states(A={"ca": 0.5, "op": True, "OPM": 1})}
    use = only(seen(tmp_path, "/A gs /Sh sh", resources=resources))
    assert (use.what, use.space, use.values) == ("shading", "DeviceCMYK", ())
    assert (use.alpha, use.overprint, use.overprint_mode) == (0.5, True, 1)


# --- lines ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("frame", FRAMES)
def test_a_lines_thickness_is_on_paper(tmp_path: Path, frame: str) -> None:
    objects = seen(tmp_path, "0.25 w 50 50 m 250 50 l S", **FRAMES[frame])
    assert only(objects).thinnest_pt == pytest.approx(0.25, abs=0.001)
    assert near(only(objects).thinnest_mm, tuple(v / PT for v in (49.9, 49.9, 250.1, 50.1)), slack=0.1)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("drawn", "thinnest"),
    [
        ("0 w 50 50 m 90 90 l S", 0.0),  # 8.4.3.2: the thinnest line the device has
        ("q 2 0 0 0.5 0 0 cm 1 w 50 50 m 90 90 l S Q", 0.5),
        ("q 0 2 -0.5 0 200 0 cm 1 w 50 50 m 90 90 l S Q", 0.5),
        ("q 0.6 0.8 -0.8 0.6 0 0 cm 1 w 90 50 m 250 90 l S Q", 1.0),
        ("q 1 0 1 1 0 0 cm 1 w 50 50 m 90 90 l S Q", 0.618),  # a shear: the golden ratio's inverse
        ("50 50 200 0.3 re f", 0.3),
        ("50 50 0.2 200 re f", 0.2),
        ("50 50 200 0 re f", 0.0),
        ("50 50 10 2.1 re f", None),  # not five times as long
        ("50 50 1 0.1 re f", None),  # a speck, no rule
        ("1 w 50 50 m 90 90 l S 0.1 w 150 50 m 190 90 l S 0.7 w 150 150 m 190 90 l S", 0.1),
        ("20 w 50 50 m 90 90 l S", 20.0),
    ],
)
def test_thinnest_line(tmp_path: Path, drawn: str, thinnest: float | None) -> None:
    found = only(seen(tmp_path, drawn)).thinnest_pt
    assert found == (None if thinnest is None else pytest.approx(thinnest, abs=0.001))


def test_where_the_thinnest_is(tmp_path: Path) -> None:
    use = only(seen(tmp_path, "1 w 50 50 m 90 90 l S 0.1 w 150 50 m 190 50 l S"))
    assert use.thinnest_mm is not None
    assert use.thinnest_mm.x0 * PT == pytest.approx(150, abs=0.2)


# --- clips and places -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "count"),
    [
        ("q 9 9 30 30 re W n 50 50 9 9 re f Q", 0),
        ("q 9 9 30 30 re W n 20 20 90 90 re f Q", 1),
        ("q 9 9 30 30 re W n Q 50 50 9 9 re f", 1),
        ("q 9 9 30 30 re W n q 20 20 90 90 re W n 10 10 5 5 re f Q 10 10 5 5 re f Q", 1),  # inside the outer one only
        ("q 9 9 5 5 re W n 50 50 5 5 re W n 9 9 5 5 re f Q", 0),  # two that have nothing in common
        ("q BT 7 Tr /F1 12 Tf 50 50 Td (clip) Tj ET 200 200 9 9 re f Q", 0),
        ("q BT 7 Tr /F1 12 Tf 50 50 Td (clip) Tj ET 52 52 9 9 re f Q", 1),
        ("2000 2000 9 9 re f", 0),  # outside the MediaBox
        ("-30 100 9 9 re f", 0),
    ],
)
def test_what_the_clip_hides_is_no_paint(tmp_path: Path, content: str, count: int) -> None:
    objects = seen(tmp_path, content)
    assert sum(use.count for use in objects.paints) == count
    assert len(objects.colours) == count


def test_text_behind_a_clip_is_none(tmp_path: Path) -> None:
    line = "BT /F1 12 Tf 100 100 Td (hidden) Tj ET"
    objects = seen(tmp_path, f"q 9 9 30 30 re W n {line} Q")
    assert objects.texts == objects.colours == ()
    (use,) = seen(tmp_path, f"q 110 9 30 130 re W n {line} Q").texts  # it begins outside and runs in
    assert use.glyphs == 6


@pytest.mark.parametrize("frame", FRAMES)
def test_matter_beside_the_trim_is_told_apart(tmp_path: Path, frame: str) -> None:
    # 3 mm of bleed are 8.5 points, 10 mm of slug lie round it
    content = "0 1 0 0 k -20 100 9 9 re f 50 50 9 9 re f BT /F1 6 Tf 100 -20 Td (slug) Tj ET"
    content += " BT /F1 6 Tf 100 100 Td (page) Tj ET"
    objects = seen(tmp_path, content, slug_mm=10, **FRAMES[frame])
    assert [(use.in_trim, use.count) for use in objects.paints] == [(False, 1), (True, 1)]
    assert sorted(use.in_trim for use in objects.texts) == [False, True]


def test_a_picture_and_its_clip(tmp_path: Path) -> None:
    drawn = "q {clip} re W n 100 0 0 100 100 100 cm /Im1 Do Q "
    clips = ("90 90 200 200", "100 100 100 100", "150 150 200 200", "120 130 10 20", "10 10 20 20")
    content = "".join(drawn.format(clip=clip) for clip in clips) + "q 100 0 0 100 -58.504 100 cm /Im1 Do Q"
    objects = seen(tmp_path, content, pictures=[Picture((10, 10, 40, 40), (80, 80))])
    whole, open_, exact, cut, inside, _, bleeding = objects.pictures
    assert whole.shown_mm is open_.shown_mm is exact.shown_mm is None
    assert near(cut.shown_mm, tuple(v / PT for v in (150, 150, 200, 200)), slack=0.01)
    assert near(inside.shown_mm, tuple(v / PT for v in (120, 130, 130, 150)), slack=0.01)
    assert [use.hidden for use in objects.pictures] == [False] * 5 + [True, False]
    # the MediaBox ends with the bleed
    assert near(bleeding.shown_mm, (-3, 100 / PT, (100 - 58.504) / PT, 200 / PT), slack=0.01)
    assert near(cut.place_mm, tuple(v / PT for v in (100, 100, 200, 200)), slack=0.01)


@pytest.mark.parametrize(
    ("matrix", "mirrored", "turned", "skewed"),
    [
        ("100 0 0 50 9 9", False, 0, False),
        ("0 100 -50 0 99 9", False, 90, False),
        ("-100 0 0 -50 199 99", False, 180, False),
        ("0 -100 50 0 9 199", False, 270, False),
        ("-100 0 0 50 199 9", True, 0, False),
        ("100 0 0 -50 9 99", True, 180, False),
        ("86.603 50 -25 43.301 99 99", False, 30, False),
        ("100 0 10 50 9 9", False, 348.7, True),  # atan(10/50) = 11.3 degrees to the right
    ],
)
@pytest.mark.parametrize("frame", ["plain", "quarter", "all of it"])
def test_how_a_picture_lies(
    tmp_path: Path, matrix: str, mirrored: bool, turned: float, skewed: bool, frame: str
) -> None:
    content = f"q {matrix} cm /Im1 Do Q"
    objects = seen(tmp_path, content, pictures=[Picture((10, 10, 40, 40), (80, 80))], **FRAMES[frame])
    use = objects.pictures[1]
    assert (use.mirrored, use.turned, use.skewed) == (mirrored, turned, skewed)


def test_the_cells_of_a_pattern_count_where_it_fills(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        cell = Stream(pdf, b"0 1 1 0 k 0 0 5 5 re f 0.1 w 0 0 m 10 10 l S BT /F1 4 Tf (x) Tj ET")
        cell.Type, cell.PatternType, cell.PaintType, cell.TilingType = Name.Pattern, 1, 1, 1
        cell.BBox, cell.XStep, cell.YStep = Array([0, 0, 10, 10]), 10, 10
        cell.Resources = Dictionary(Font=pdf.pages[0].Resources.Font)
        pdf.pages[0].Resources.Pattern = Dictionary(P=pdf.make_indirect(cell))

    content = "/Pattern cs /P scn 50 60 200 100 re f"
    objects, _ = look(tmp_path / "a.pdf", content=content, after=after)
    fill, line = objects.paints
    assert (fill.space, fill.values, fill.in_trim) == ("DeviceCMYK", (0, 1, 1, 0), True)
    assert line.thinnest_pt == pytest.approx(0.1, abs=0.001)
    for place in (fill.first_mm, line.first_mm, line.thinnest_mm, objects.texts[0].first_mm):
        assert near(place, tuple(v / PT for v in (50, 60, 250, 160)), slack=1.0)  # type: ignore[arg-type]


# --- transparency ---------------------------------------------------------------------------------------------------


def test_an_opaque_page_is_not_transparent(tmp_path: Path) -> None:
    group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)
    objects = seen(tmp_path, text="Plain", fills=[Fill((9, 9, 20, 20))], Group=group)
    assert not objects.transparency.any
    assert objects.transparency.first_mm is None


@pytest.mark.parametrize("drawn", ["50 50 20 20 re f", "BT /F1 9 Tf 50 50 Td (x) Tj ET", "3 w 50 50 m 90 50 l S"])
def test_alpha_and_the_space_of_the_page(tmp_path: Path, drawn: str) -> None:
    group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)
    objects = seen(tmp_path, f"/A gs {drawn}", resources=states(A={"ca": 0.5, "CA": 0.5}), Group=group)
    told = objects.transparency
    assert (told.alpha, told.soft_masks, told.blends, told.group_spaces) == (True, False, (), ("DeviceRGB",))
    assert told.any
    assert told.first_mm is not None
    assert told.first_mm.x0 == pytest.approx(50 / PT, abs=1)
    assert {use.alpha for use in (*objects.paints, *objects.texts)} == {0.5}


def test_blend_modes(tmp_path: Path) -> None:
    content = "/A gs 9 9 20 20 re f /B gs 40 40 20 20 re f /A gs 60 9 5 5 re f /N gs 90 90 9 9 re f"
    resources = states(A={"BM": Name.Multiply}, B={"BM": Name.Darken}, N={"BM": Name.Normal})
    objects = seen(tmp_path, content, resources=resources)
    assert objects.transparency.blends == ("Multiply", "Darken")
    assert [(use.blend, use.count) for use in objects.paints] == [("Multiply", 2), ("Darken", 1), ("Normal", 1)]


def test_groups_lend_alpha_and_blend_mode(tmp_path: Path) -> None:
    """Matter at 50 % in a group at 50 % under Screen, a form in a form; afterwards all is as before."""

    def after(pdf: pikepdf.Pdf) -> None:
        inner = form(pdf, b"0.4 w 9 9 m 90 9 l S", Matrix=Array([0.5, 0, 0, 0.5, 50, 50]))
        outer = form(
            pdf,
            b"/I Do /H gs 1 0 0 0 k 100 100 20 20 re f",
            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=True),
            Resources=Dictionary(XObject=Dictionary(I=inner), ExtGState=Dictionary(H=Dictionary(ca=0.5))),
        )
        # not isolated: its space does not count (11.6.6)
        plain = form(pdf, b"0 0 1 0 k 200 200 20 20 re f", Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))
        pdf.pages[0].Resources.XObject = Dictionary(O=outer, P=plain)

    content = "q /M gs /O Do Q /P Do 300 300 9 9 re f"
    resources = states(M={"BM": Name.Screen, "ca": 0.5})
    objects, _ = look(tmp_path / "a.pdf", content=content, resources=resources, after=after)
    told = {(use.what, use.values): (use.alpha, use.blend) for use in objects.paints}
    assert told == {
        ("stroke", (0,)): (0.5, "Screen"),
        ("fill", (1, 0, 0, 0)): (0.25, "Screen"),
        ("fill", (0, 0, 1, 0)): (1, "Normal"),
        ("fill", (0,)): (1, "Normal"),
    }
    assert next(use for use in objects.paints if use.what == "stroke").thinnest_pt == pytest.approx(0.2, abs=0.001)
    assert (objects.transparency.blends, objects.transparency.group_spaces) == (("Screen",), ("DeviceRGB",))


def test_soft_masks(tmp_path: Path) -> None:
    """What makes the mask, RGB and half transparent, is neither paint nor transparency of the page."""

    def masked(pdf: pikepdf.Pdf) -> None:
        group = form(
            pdf,
            b"/H gs 1 0 0 rg 0 0 500 700 re f BT /F1 9 Tf (mask) Tj ET",
            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB, I=True),
            Resources=Dictionary(
                ExtGState=Dictionary(H=Dictionary(ca=0.5, BM=Name.Multiply)), Font=pdf.pages[0].Resources.Font
            ),
        )
        mask = Dictionary(Type=Name.Mask, S=Name.Luminosity, G=group)
        pdf.pages[0].Resources.ExtGState = Dictionary(M=Dictionary(SMask=mask))

    content = "q /M gs 0 0 0 1 k 50 50 100 100 re f Q 1 0 0 0 k 200 200 9 9 re f"
    objects, _ = look(tmp_path / "a.pdf", content=content, after=masked)
    told = objects.transparency
    assert (told.alpha, told.soft_masks, told.blends, told.group_spaces) == (False, True, (), ())
    assert [use.values for use in objects.paints] == [(0, 0, 0, 1), (1, 0, 0, 0)]
    assert objects.texts == ()


def test_a_picture_with_a_soft_mask_is_transparent_and_one_with_a_stencil_is_not(tmp_path: Path) -> None:
    soft = Picture((10, 10, 40, 40), (80, 80), soft_mask=(9, 9))
    assert seen(tmp_path, pictures=[soft]).transparency.soft_masks

    def cut_out(pdf: pikepdf.Pdf) -> None:
        picture = pdf.pages[0].Resources.XObject.Im1
        picture.Mask = pdf.pages[0].Resources.XObject.Im2

    pictures = [Picture((10, 10, 40, 40), (80, 80)), Picture((50, 10, 80, 40), (80, 80), stencil=True)]
    objects, _ = look(tmp_path / "a.pdf", pictures=pictures, after=cut_out)
    assert not objects.transparency.any


# --- very many kinds ------------------------------------------------------------------------------------------------


def test_a_page_of_many_colours_is_told_by_the_nearest(tmp_path: Path) -> None:
    """3,000 tints in two inks: 400 kinds at most, none that the page does not have, extremes among them."""
    tints = [(n % 1000 / 1000, 0.01 + (n // 1000) / 4) for n in range(3000)]
    drawn = [f"{c:.3f} 0 {y:.3f} 0 k {9 + n % 300} {9 + n // 10} 1 1 re f" for n, (c, y) in enumerate(tints)]
    drawn.insert(1500, "0.5005 0 0.26 0 k 50 50 99 0.07 re f")
    objects = seen(tmp_path, "\n".join(drawn))
    assert len(objects.paints) == 400
    assert sum(use.count for use in objects.paints) == 3001
    there = {(round(c, 3), 0, round(y, 3), 0) for c, y in tints} | {(0.5, 0, 0.26, 0), (0.501, 0, 0.26, 0)}
    assert {use.values for use in objects.paints} <= there
    assert min(use.thinnest_pt for use in objects.paints if use.thinnest_pt is not None) == pytest.approx(
        0.07, abs=0.001
    )
    assert max(use.values[0] for use in objects.paints) == 0.999
    assert min(use.values[0] for use in objects.paints if use.values[0]) == 0.001
    assert max(use.values[2] for use in objects.paints) == 0.51
