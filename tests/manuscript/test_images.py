# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is read of image XObjects, against Pillow, which wrote the coded data, and against hand-made headers."""

from __future__ import annotations

import base64
import io
import zlib
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image, ImageCms

from foldproof.manuscript.file_facts import ImageFact
from foldproof.manuscript.read import read
from foldproof.pdf.coded_pictures import jbig2_coding, jpeg, jpeg_2000, jpeg_quality
from tests import build

SIZE = (64, 48)


def picture(mode: str = "L", size: tuple[int, int] = SIZE) -> Image.Image:
    grey = Image.effect_mandelbrot(size, (-2.2, -1.4, 0.9, 1.4), 60)
    return grey if mode == "L" else Image.merge(mode, [grey] * len(mode))


def coded(form: str, mode: str = "L", **options: Any) -> bytes:
    held = io.BytesIO()
    picture(mode).save(held, form, **options)
    return held.getvalue()


def xobject(pdf: pikepdf.Pdf, data: bytes, **entries: Any) -> pikepdf.Object:
    made = Stream(pdf, data)
    defaults = {"Type": Name.XObject, "Subtype": Name.Image, "Width": SIZE[0], "Height": SIZE[1]}
    for key, value in {**defaults, **entries}.items():
        made["/" + key] = value
    return pdf.make_indirect(made)


def facts(target: Path, *made: tuple[bytes, dict[str, Any]]) -> tuple[ImageFact, ...]:
    """A page that names these image XObjects, as it is read."""

    def add(pdf: pikepdf.Pdf) -> None:
        named = {f"/Im{n}": xobject(pdf, data, **entries) for n, (data, entries) in enumerate(made)}
        pdf.pages[0].Resources.XObject = Dictionary(named)

    return read(build.book(1, target, after=add)).facts.images


# --- JPEG ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("quality", [1, 2, 5, 12, 24, 25, 30, 49, 50, 51, 75, 85, 90, 95, 99, 100])
@pytest.mark.parametrize("mode", ["L", "RGB", "CMYK"])
def test_the_quality_is_that_at_which_pillow_saved(quality: int, mode: str) -> None:
    head = jpeg(coded("JPEG", mode, quality=quality))
    assert head is not None and head.quality is not None
    # at 1 all steps of the table are cut off at 255; 1 cannot be told from 2 by much
    assert abs(head.quality - quality) <= (1 if quality < 3 else 0)
    assert (head.width_px, head.height_px, head.bits, head.components) == (*SIZE, 8, len(mode))


@pytest.mark.parametrize(
    "options",
    [
        {"progressive": True},
        {"optimize": True},
        {"subsampling": "4:4:4"},
        {"exif": b"Exif\0\0" + b"\xff\xdb" * 20_000},  # markers within a segment are none
        {"icc_profile": bytes(200_000)},
        {"comment": b"\xff\xdb\xff\xda"},
    ],
    ids=str,
)
def test_the_quality_is_found_behind_other_segments(options: dict[str, Any]) -> None:
    head = jpeg(coded("JPEG", "RGB", quality=67, **options))
    assert head is not None and head.quality == 67


def test_tables_of_another_shape_come_to_the_nearest_quality() -> None:
    """A flat table of 16: the mean of table K.1 is 57.6, which quality 86 turns to 16 (28 %: 200 - 2 x 86)."""
    held = io.BytesIO()
    picture().save(held, "JPEG", qtables=[[16] * 64])
    head = jpeg(held.getvalue())
    assert head is not None and head.quality is not None and abs(head.quality - 86) <= 5


def test_tables_of_16_bits() -> None:
    """Below quality 25 steps may pass 255; such tables have two bytes a step (T.81, B.2.4.1)."""
    standard = [16, 11, 12, 14, 12, 10, 16, 14]  # the first of table K.1 in zigzag order
    table = [value * 500 // 100 for value in standard] + [500] * 56
    assert jpeg_quality(tuple(table)) <= 11
    steps = b"".join(value.to_bytes(2, "big") for value in table)
    segment = b"\xff\xd8\xff\xdb" + (2 + 129).to_bytes(2, "big") + b"\x10" + steps
    frame = b"\xff\xc1\x00\x0b\x08\x00\x30\x00\x40\x01\x01\x11\x00\xff\xda"
    head = jpeg(segment + frame)
    assert head is not None and head.quality == jpeg_quality(tuple(table))


@pytest.mark.parametrize("data", [b"", b"\xff\xd8", b"\xff\xd8\xff\xdb\x00\x43\x00", b"GIF89a" * 9, bytes(99)])
def test_what_is_no_jpeg_says_nothing(data: bytes) -> None:
    assert jpeg(data) is None
    assert jpeg_2000(data) is None


def test_jpeg_as_it_stands_in_a_file(tmp_path: Path) -> None:
    data = coded("JPEG", "RGB", quality=40)
    common = {"BitsPerComponent": 8, "ColorSpace": Name.DeviceRGB}
    packed = [Name.FlateDecode, Name.DCTDecode]
    found = facts(
        tmp_path / "a.pdf",
        (data, {**common, "Filter": Name.DCTDecode}),
        (zlib.compress(data), {**common, "Filter": Array(packed)}),
        (base64.a85encode(data) + b"~>", {**common, "Filter": Array([Name.ASCII85Decode, Name.DCTDecode])}),
        (data.hex().encode() + b">", {**common, "Filter": Array([Name.ASCIIHexDecode, Name.DCTDecode])}),
        (b"not packed", {**common, "Filter": Array(packed)}),
    )
    assert [one.jpeg_quality for one in found] == [40, 40, 40, 40, None]
    assert [one.filters[-1] for one in found] == ["DCTDecode"] * 5
    assert found[0].stored_bytes == len(data)
    assert {(one.space, one.bits, one.role, one.pages) for one in found} == {("DeviceRGB", 8, "picture", (0,))}


def test_jpeg_in_a_locked_file(tmp_path: Path) -> None:
    """The library unlocks what it hands out."""
    data = coded("JPEG", quality=33)

    def add(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].Resources.XObject = Dictionary(
            Im=xobject(pdf, data, Filter=Name.DCTDecode, ColorSpace=Name.DeviceGray, BitsPerComponent=8)
        )

    locked = {"encryption": pikepdf.Encryption(owner="lantern", user=""), "static_id": False}
    (found,) = read(build.book(1, tmp_path / "a.pdf", after=add, save_options=locked)).facts.images
    assert found.jpeg_quality == 33


# --- JPEG 2000 ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("mode", ["L", "RGB"])
@pytest.mark.parametrize("bare", [False, True], ids=["jp2", "codestream"])
def test_jpeg_2000_without_a_colour_space(tmp_path: Path, mode: str, bare: bool) -> None:
    data = coded("JPEG2000", mode, no_jp2=bare)
    (found,) = facts(tmp_path / "a.pdf", (data, {"Filter": Name.JPXDecode}))
    assert (found.space, found.bits) == ({"L": "DeviceGray", "RGB": "DeviceRGB"}[mode], 8)
    assert (found.width_px, found.height_px, found.jpeg_quality) == (*SIZE, None)


def test_the_depth_of_jpeg_2000_is_its_own(tmp_path: Path) -> None:
    """ISO 32000-1, 7.4.9: BitsPerComponent is ignored."""
    held = io.BytesIO()
    Image.new("I;16", SIZE).save(held, "JPEG2000")
    stated = {"Filter": Name.JPXDecode, "BitsPerComponent": 8, "ColorSpace": Name.DeviceGray}
    (found,) = facts(tmp_path / "a.pdf", (held.getvalue(), stated))
    assert found.bits == 16


# --- JBIG2 --------------------------------------------------------------------------------------------------------


def segment(number: int, kind: int, data: bytes, refers: tuple[int, ...] = ()) -> bytes:
    """A segment with a short header (T.88, 7.2)."""
    head = number.to_bytes(4, "big") + bytes([kind, len(refers) << 5, *refers, 1])
    return head + len(data).to_bytes(4, "big") + data


def test_jbig2_tells_shapes_from_areas() -> None:
    page, area = segment(0, 48, bytes(19)), segment(1, 38, bytes(30))
    dictionary, text = segment(0, 0, bytes(40)), segment(2, 6, bytes(25), refers=(0, 1))
    assert jbig2_coding(page + area) == "areas"
    assert jbig2_coding(page + text) == "symbols"
    assert jbig2_coding(dictionary, page + area) == "symbols"
    assert jbig2_coding(page) == ""
    assert jbig2_coding(b"\0" * 5) == ""
    many = (9).to_bytes(4, "big") + b"\x06" + b"\xe0\x00\x00\x05" + b"\0" + bytes(5) + b"\x01" + (0).to_bytes(4, "big")
    assert jbig2_coding(many + area) == "symbols"  # the long form of the count
    # past a number of 256 segments are named with two bytes
    far = (300).to_bytes(4, "big") + b"\x10\x40" + bytes(4) + b"\x01" + (2).to_bytes(4, "big") + b"ab"
    assert jbig2_coding(far + area) == "areas"


def test_jbig2_in_a_file(tmp_path: Path) -> None:
    page, area = segment(0, 48, bytes(19)), segment(1, 38, bytes(30))
    stated = {"Filter": Name.JBIG2Decode, "ColorSpace": Name.DeviceGray}

    def add(pdf: pikepdf.Pdf) -> None:
        shared = pdf.make_indirect(Stream(pdf, segment(0, 0, bytes(40))))
        pdf.pages[0].Resources.XObject = Dictionary(
            A=xobject(pdf, page + area, BitsPerComponent=1, **stated),
            B=xobject(pdf, page + area, **stated, DecodeParms=Dictionary(JBIG2Globals=shared)),
        )

    found = read(build.book(1, tmp_path / "a.pdf", after=add)).facts.images
    assert [(one.coding, one.bits) for one in found] == [("areas", 1), ("symbols", 1)]


@pytest.mark.corpus
@pytest.mark.parametrize("name", ["pikepdf__jbig2", "ocr__jbig2_baddevicen"])
def test_jbig2_of_others(corpus: Path, name: str) -> None:
    path = corpus / "hard" / f"{name}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    (found,) = read(path).facts.images
    assert found.filters == ("JBIG2Decode",) and found.coding in ("symbols", "areas") and found.bits == 1


# --- the rest -----------------------------------------------------------------------------------------------------


def test_entries_are_told_as_written(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    def add(pdf: pikepdf.Pdf) -> None:
        icc = Stream(pdf, profile)
        icc.N = 3
        space = Array([Name.ICCBased, pdf.make_indirect(icc)])
        grey = {"ColorSpace": Name.DeviceGray, "BitsPerComponent": 8}
        mask = xobject(pdf, bytes(SIZE[0] * SIZE[1]), **grey)
        stencil = xobject(pdf, bytes(SIZE[0] // 8 * SIZE[1]), ImageMask=True, BitsPerComponent=1)
        other = xobject(pdf, bytes(SIZE[0] * SIZE[1]), **grey)
        one = xobject(
            pdf, bytes(SIZE[0] * SIZE[1] * 3), ColorSpace=space, BitsPerComponent=8, Interpolate=True, SMask=mask,
            Intent=Name.Perceptual, OPI=Dictionary(), Mask=stencil,
            Alternates=Array([Dictionary(Image=other, DefaultForPrinting=True)]),
        )  # fmt: skip
        indexed = Array([Name.Indexed, space, 1, pikepdf.String("abcdef")])
        two = xobject(pdf, bytes(SIZE[0] * SIZE[1]), ColorSpace=indexed, BitsPerComponent=4)
        form = Stream(pdf, b"/Two Do")
        form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 9, 9])
        form.Resources = Dictionary(XObject=Dictionary(Two=two, Mask=mask))
        pdf.pages[0].Resources.XObject = Dictionary(One=one)
        pdf.pages[1].Resources.XObject = Dictionary(One=one, Form=pdf.make_indirect(form))

    found = read(build.book(3, tmp_path / "a.pdf", after=add)).facts.images
    told = {(one.role, one.space, one.bits, one.mask): one for one in found}
    one = told["picture", "ICCBased(3)", 8, False]
    assert (one.interpolate, one.intent, one.opi, one.soft_mask) == (True, "Perceptual", True, True)
    assert (one.alternates, one.alternate_prints, one.pages, one.filters) == (1, True, (0, 1), ("FlateDecode",))
    assert one.profile is not None and one.profile.valid and one.profile.space == "RGB"
    two = told["picture", "Indexed(ICCBased(3))", 4, False]
    assert (two.pages, two.profile, two.soft_mask) == ((1,), one.profile, False)
    # the soft mask is a picture of its own on page 2, and the mask of another on both
    assert {(m.role, m.pages) for m in found if m.key == told["mask", "DeviceGray", 8, False].key} == {
        ("mask", (0, 1)), ("picture", (1,)),
    }  # fmt: skip
    assert told["mask", "none", 1, True].pages == (0, 1)
    assert told["alternate", "DeviceGray", 8, False].role == "alternate"


def test_entries_that_make_no_sense_are_borne(tmp_path: Path) -> None:
    (found,) = facts(
        tmp_path / "a.pdf",
        (b"x", {"Width": Name.Wide, "Height": -1, "BitsPerComponent": Array([]), "ColorSpace": 7, "Filter": 3,
                "Alternates": Name.No, "SMask": 5, "DecodeParms": Array([1]), "Interpolate": 1}),
    )  # fmt: skip
    assert (found.width_px, found.bits, found.space, found.filters) == (0, 0, "none", ())
    assert (found.alternates, found.soft_mask, found.interpolate) == (0, False, False)


def test_pictures_are_found_wherever_pages_reach_them(tmp_path: Path) -> None:
    """In a tiling pattern, a Type 3 glyph, the group of a soft mask, the appearance of a stamp that prints."""

    def add(pdf: pikepdf.Pdf) -> None:
        def grey(width: int) -> pikepdf.Object:
            return xobject(pdf, bytes(width), Width=width, Height=1, ColorSpace=Name.DeviceGray, BitsPerComponent=8)

        def holding(width: int, content: bytes = b"/Im Do", **entries: Any) -> pikepdf.Object:
            made = Stream(pdf, content)
            made.Resources = Dictionary(XObject=Dictionary(Im=grey(width)))
            made.BBox = Array([0, 0, 9, 9])
            for key, value in entries.items():
                made["/" + key] = value
            return pdf.make_indirect(made)

        form = {"Type": Name.XObject, "Subtype": Name.Form}
        pattern = holding(11, PatternType=1, PaintType=1, TilingType=1, XStep=9, YStep=9)
        glyph = pdf.make_indirect(Stream(pdf, b"9 0 d0 /Im Do"))
        type3 = Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 9, 9]), FontMatrix=Array([1, 0, 0, 1, 0, 0]),
            CharProcs=Dictionary(a=glyph), Encoding=Dictionary(Differences=Array([97, Name.a])), FirstChar=97,
            LastChar=97, Widths=Array([9]), Resources=Dictionary(XObject=Dictionary(Im=grey(12))),
        )  # fmt: skip
        group = holding(13, **form, Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))
        state = Dictionary(SMask=Dictionary(S=Name.Luminosity, G=group))
        stamp = Dictionary(
            Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([9, 9, 99, 99]), F=4, AP=Dictionary(N=holding(14, **form))
        )
        for index, (kind, thing) in enumerate(
            [("Pattern", pattern), ("Font", pdf.make_indirect(type3)), ("ExtGState", state)]
        ):
            pdf.pages[index].Resources["/" + kind] = Dictionary(X=thing)
        pdf.pages[3].obj.Annots = Array([pdf.make_indirect(stamp)])

    found = read(build.book(5, tmp_path / "a.pdf", after=add)).facts.images
    assert [(one.width_px, one.pages, one.role) for one in found] == [
        (11, (0,), "picture"), (12, (1,), "picture"), (13, (2,), "picture"), (14, (3,), "picture"),
    ]  # fmt: skip
