# SPDX-License-Identifier: AGPL-3.0-or-later
"""Text that the object pass tells of built pages: fonts, sizes on paper, how it is painted, and missing glyphs.

What is expected is what the page description says by ISO 32000-1: text state (9.3), text rendering modes (9.3.6, table
106), Type 3 fonts (9.6.5), .notdef (9.6.6 and 9.7.6.3).
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.manuscript.model import PageObjects
from foldproof.manuscript.seen import TextUse
from foldproof.pdf import native
from tests import build
from tests.build import PT
from tests.passes.looking import look, looks
from tests.passes.test_ink import FRAMES


def texts(path: Path, content: str | bytes, **page: Any) -> tuple[TextUse, ...]:
    objects, _ = look(path / "a.pdf", content=content, **page)
    assert isinstance(objects, PageObjects)
    return objects.texts


def line(operators: str, shown: str = "(Lantern) Tj") -> str:
    return f"BT /F1 12 Tf 100 300 Td {operators} {shown} ET"


@pytest.fixture(params=["seen", "asked"])
def reader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways of reading MuPDF's structures tell the same."""
    chosen = {"seen": native.Seen, "asked": native.Asked}[request.param]()
    for module in ("objects", "objects_frame", "objects_paint", "objects_text", "bands", "type_area"):
        monkeypatch.setattr(f"foldproof.pdf.{module}.READ", chosen)


def test_structures_lie_as_thought() -> None:
    """On every machine that runs these tests the quick way is taken."""
    assert isinstance(native.READ, native.Seen)


# --- size -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("frame", FRAMES)
def test_size_is_on_paper(tmp_path: Path, frame: str) -> None:
    (use,) = texts(tmp_path, line(""), **FRAMES[frame])
    assert (use.font, use.size_pt, use.how, use.glyphs, use.count) == ("ABCDEF+Helvetica", 12.0, "fill", 7, 1)
    assert use.first_mm is not None
    assert use.first_mm.x0 == pytest.approx(100 / PT, abs=1)


@pytest.mark.parametrize(
    ("operators", "size"),
    [
        ("/F1 1 Tf 9 0 0 9 100 300 Tm", 9.0),
        ("/F1 10 Tf 0.5 0 0 2 100 300 Tm", 20.0),  # narrow and high: the em is what it is high
        ("/F1 10 Tf 50 Tz", 10.0),
        ("/F1 10 Tf 1 0 0.3 1 100 300 Tm", 10.0),  # slanted
        ("/F1 10 Tf 0 1 -1 0 100 300 Tm", 10.0),
        ("/F1 -10 Tf", 10.0),
        ("/F1 10 Tf 0.7 0.7 -0.7 0.7 100 300 Tm", 9.9),
        ("/F1 6.04 Tf", 6.0),
        ("/F1 10 Tf 5 Ts", 10.0),
    ],
)
def test_size_through_the_text_matrix(tmp_path: Path, operators: str, size: float, reader: None) -> None:
    (use,) = texts(tmp_path, line(operators))
    assert use.size_pt == size


def test_sizes_and_fonts_are_told_apart_and_counted(tmp_path: Path, reader: None) -> None:
    pdf = pikepdf.new()
    other = build.font(pdf, "tiro", embedded=False)
    build.page(
        pdf,
        content=line("")
        + " 9 9 5 5 re f "  # text without anything between is one text object to MuPDF
        + line("1 0 0 1 50 100 Tm")
        + line("/F1 6 Tf", "(small) Tj")
        + line("/F2 6 Tf", "[(th) -200 (ere)] TJ"),
        resources={"Font": Dictionary(F2=other)},
    )
    path = build.save(pdf, tmp_path / "a.pdf")
    ((objects, _),) = looks(path)
    told = [(use.font, use.size_pt, use.glyphs, use.count) for use in objects.texts]
    assert told[:2] == [("ABCDEF+Helvetica", 12.0, 14, 2), ("ABCDEF+Helvetica", 6.0, 5, 1)]
    assert told[2][1:] == (6.0, 5, 1)


# --- how it is painted ----------------------------------------------------------------------------------------------


def test_text_rendering_modes(tmp_path: Path, reader: None) -> None:
    """Table 106: 0 fill, 1 stroke, 2 both, 3 neither, 4 to 7 the same and clip."""
    counts = {}
    for mode in range(8):
        content = f"q 1 0 0 rg 0 0 1 RG {line(f'{mode} Tr')} Q"
        counts[mode] = [(use.how, use.space, use.values, use.glyphs) for use in texts(tmp_path, content)]
    fill, stroke = ("fill", "DeviceRGB", (1, 0, 0), 7), ("stroke", "DeviceRGB", (0, 0, 1), 7)
    clip, invisible = ("clip", "none", (), 7), ("invisible", "none", (), 7)
    assert counts[0] == [fill]
    assert counts[1] == [stroke]
    assert counts[2] == [fill, stroke]
    assert counts[3] == [invisible]
    assert counts[4] == [fill, clip]
    assert counts[7] == [clip]
    for mode in (5, 6):
        assert stroke in counts[mode], mode
        assert counts[mode][-1][0] == "clip", mode


def test_invisible_text_is_no_colour(tmp_path: Path) -> None:
    objects, _ = look(tmp_path / "a.pdf", content=line("3 Tr"))
    assert objects.colours == ()
    assert objects.text_count == 0


# --- Type 3 ---------------------------------------------------------------------------------------------------------


def type3(glyph: bytes, matrix: tuple[float, ...], box: tuple[float, ...], size: float) -> Any:
    """Puts a Type 3 font of one glyph on the page and sets ``aab`` in it (there is no b) in red."""

    def after(pdf: pikepdf.Pdf) -> None:
        font = Dictionary(
            Type=Name.Font, Subtype=Name.Type3, Name=Name.Lamp, FontBBox=Array(list(box)),
            FontMatrix=Array(list(matrix)), FirstChar=97, LastChar=98,
            CharProcs=Dictionary(a=pdf.make_indirect(Stream(pdf, glyph))),
            Encoding=Dictionary(Type=Name.Encoding, Differences=Array([97, Name.a])), Resources=Dictionary(),
            Widths=Array([1 / matrix[0]] * 2),
        )  # fmt: skip
        page = pdf.pages[0]
        page.Resources.Font.T3 = pdf.make_indirect(font)
        page.Contents = pdf.make_indirect(
            Stream(pdf, b"1 0 0 rg BT /T3 %g Tf 50 50 Td (aab) Tj 0 30 Td (a) Tj ET" % size)
        )

    return after


PERMILLE, BOX = (0.001, 0, 0, 0.001, 0, 0), (0, -200, 900, 800)


def test_type3_in_the_current_colour(tmp_path: Path, reader: None) -> None:
    shape = b"1000 0 0 0 750 750 d1 0 0 750 750 re f"
    (use,) = texts(tmp_path, "", after=type3(shape, PERMILLE, BOX, 11))
    assert (use.type3, use.size_pt, use.space, use.values, use.glyphs) == (True, 11.0, "DeviceRGB", (1, 0, 0), 4)
    assert use.undefined == 0  # there is no .notdef in such a font


def test_type3_that_brings_its_own_colour(tmp_path: Path, reader: None) -> None:
    """Operator d0: the glyph's paints are told once, and the text has no colour of its own."""
    shape = b"1000 0 d0 0 1 0 0 k 0 0 750 750 re f 0 0 0 1 k 0 0 20 750 re f"
    objects, _ = look(tmp_path / "a.pdf", after=type3(shape, PERMILLE, BOX, 10))
    (use,) = objects.texts
    assert (use.type3, use.space, use.values, use.glyphs) == (True, "none", (), 4)
    told = [(paint.what, paint.values, paint.count, paint.thinnest_pt) for paint in objects.paints]
    assert told == [("fill", (0, 1, 0, 0), 1, None), ("fill", (0, 0, 0, 1), 1, 0.2)]
    assert [(colour.space, colour.what) for colour in objects.colours] == [("DeviceCMYK", "fill")]


def test_type3_of_its_own_colour_leaves_the_text_beside_it_alone(tmp_path: Path, reader: None) -> None:
    shape = b"1000 0 d0 0 1 0 0 k 0 0 750 750 re f"

    def after(pdf: pikepdf.Pdf) -> None:
        type3(shape, PERMILLE, BOX, 10)(pdf)
        page = pdf.pages[0]
        page.Contents = pdf.make_indirect(
            Stream(pdf, b"1 0 0 rg BT /T3 10 Tf 50 50 Td (aa) Tj /F1 10 Tf (beside) Tj ET")
        )

    objects, _ = look(tmp_path / "a.pdf", after=after)
    told = {use.type3: (use.how, use.space, use.values, use.glyphs) for use in objects.texts}
    assert told == {True: ("fill", "none", (), 2), False: ("fill", "DeviceRGB", (1, 0, 0), 6)}
    assert {(use.space, use.what) for use in objects.colours} == {("DeviceRGB", "text"), ("DeviceCMYK", "fill")}


def test_type3_with_strokes_is_not_invisible(tmp_path: Path, reader: None) -> None:
    """MuPDF draws such glyphs one by one and gives the text as not painted; with mode 3 it draws nothing."""
    shape = b"1000 0 d0 0 1 0 0 k 0 0 750 750 re f 0 0 0 1 K 20 w 0 0 m 750 0 l S"
    objects, _ = look(tmp_path / "a.pdf", after=type3(shape, PERMILLE, BOX, 10))
    assert {use.how for use in objects.texts} == {"fill"}
    assert sum(use.glyphs for use in objects.texts) == 4
    told = [(paint.what, paint.values, paint.thinnest_pt) for paint in objects.paints]
    assert told == [("fill", (0, 1, 0, 0), None), ("stroke", (0, 0, 0, 1), 0.2)]


@pytest.mark.parametrize(
    ("matrix", "box", "nominal", "size"),
    [
        ((1, 0, 0, 1, 0, 0), (0, -2, 9, 8), 1, 8.0),  # drawn in points: size 1 says nothing
        ((0.01, 0, 0, 0.01, 0, 0), (0, -20, 90, 80), 10, 10.0),
        ((0.01, 0, 0, 0.01, 0, 0), (8, 36, 25, 46), 9, 9.0),  # a subset of one tick
        ((0.01, 0, 0, 0.01, 0, 0), (0, 0, 0, 0), 9, 9.0),  # all zero: says nothing (9.6.5)
    ],
)
def test_size_of_type3(
    tmp_path: Path, matrix: tuple[float, ...], box: tuple[float, ...], nominal: float, size: float
) -> None:
    shape = b"9 0 0 0 9 9 d1 0 0 7 7 re f"
    (use,) = texts(tmp_path, "", after=type3(shape, matrix, box, nominal))
    assert use.size_pt == size


# --- glyphs that the font does not have -----------------------------------------------------------------------------


def truetype(*, blank: bool) -> bytes:
    """A TrueType program that has ``A`` and .notdef, this one drawn or empty."""
    builder = pytest.importorskip("fontTools.fontBuilder").FontBuilder(1000, isTTF=True)
    pen_of = pytest.importorskip("fontTools.pens.ttGlyphPen").TTGlyphPen

    def box(side: int) -> Any:
        pen = pen_of(None)
        if side:
            pen.moveTo((0, 0))
            for corner in ((side, 0), (side, side), (0, side)):
                pen.lineTo(corner)
            pen.closePath()
        return pen.glyph()

    builder.setupGlyphOrder([".notdef", "A"])
    builder.setupCharacterMap({65: "A"})
    builder.setupGlyf({".notdef": box(0 if blank else 500), "A": box(700)})
    builder.setupHorizontalMetrics({".notdef": (600, 0), "A": (700, 0)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Lamp", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()


def embedded(pdf: pikepdf.Pdf, program: bytes, *, cid: bool) -> pikepdf.Object:
    """A simple or a composite TrueType font; the codes of the composite one are glyph numbers."""
    flags = 32 if not cid else 4
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name("/ABCDEF+Lamp"), Flags=flags, FontBBox=Array([0, -200, 900, 800]),
        ItalicAngle=0, Ascent=800, Descent=-200, CapHeight=700, StemV=80,
        FontFile2=pdf.make_indirect(Stream(pdf, program, Length1=len(program))),
    )  # fmt: skip
    if not cid:
        return pdf.make_indirect(
            Dictionary(
                Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name("/ABCDEF+Lamp"), Encoding=Name.WinAnsiEncoding,
                FirstChar=32, LastChar=90, Widths=Array([600] * 59), FontDescriptor=pdf.make_indirect(descriptor),
            )
        )  # fmt: skip
    descendant = Dictionary(
        Type=Name.Font, Subtype=Name.CIDFontType2, BaseFont=Name("/ABCDEF+Lamp"), CIDToGIDMap=Name.Identity,
        CIDSystemInfo=Dictionary(Registry=b"Adobe", Ordering=b"Identity", Supplement=0), DW=600,
        FontDescriptor=pdf.make_indirect(descriptor),
    )  # fmt: skip
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type0, BaseFont=Name("/ABCDEF+Lamp"), Encoding=Name("/Identity-H"),
            DescendantFonts=Array([pdf.make_indirect(descendant)]),
        )
    )  # fmt: skip


@pytest.mark.parametrize("blank", [False, True])
@pytest.mark.parametrize(
    ("cid", "shown", "glyphs", "undefined"),
    [
        (False, "(AAAA) Tj", 4, 0),
        (False, "(ABAB) Tj", 4, 2),
        (False, "(A A) Tj", 3, 1),  # no space either
        (True, "<00010001> Tj", 2, 0),
        (True, "<000100000001> Tj", 3, 1),
    ],
)
def test_missing_glyphs_of_truetype(
    tmp_path: Path, cid: bool, shown: str, glyphs: int, undefined: int, blank: bool, reader: None
) -> None:
    """A space that is missing does no harm where the font's .notdef shows nothing."""
    pdf = pikepdf.new()
    lamp = embedded(pdf, truetype(blank=blank), cid=cid)
    build.page(pdf, content=line("/F2 12 Tf", shown), resources={"Font": Dictionary(F2=lamp)})
    ((objects, _),) = looks(build.save(pdf, tmp_path / "a.pdf"))
    (use,) = objects.texts
    harmless = blank and shown == "(A A) Tj"
    assert (use.glyphs, use.undefined) == (glyphs, 0 if harmless else undefined)
    assert (use.undefined_mm is None) is (use.undefined == 0)


def test_missing_glyphs_of_type1(tmp_path: Path, reader: None) -> None:
    """A name that the program has not, and .notdef itself, by /Differences; a code that the encoding leaves out."""

    def after(pdf: pikepdf.Pdf) -> None:
        font = pdf.pages[0].Resources.Font.F1
        font.Encoding = Dictionary(
            Type=Name.Encoding, BaseEncoding=Name.WinAnsiEncoding,
            Differences=Array([128, Name("/nosuchglyph"), Name("/.notdef")]),
        )  # fmt: skip

    (use,) = texts(tmp_path, line("", r"(AB\200D A\201CD B\001) Tj"), after=after)
    assert (use.glyphs, use.undefined) == (12, 3)


def test_a_font_that_is_not_embedded_is_not_judged(tmp_path: Path) -> None:
    """What MuPDF puts in its place tells nothing of what the printer's machine will put there."""

    def after(pdf: pikepdf.Pdf) -> None:
        font = Dictionary(Type=Name.Font, Subtype=Name.TrueType, BaseFont=Name.Wick, Encoding=Name.WinAnsiEncoding)
        descriptor = Dictionary(
            Type=Name.FontDescriptor, FontName=Name.Wick, Flags=32, FontBBox=Array([0, 0, 900, 900])
        )
        font.FontDescriptor = pdf.make_indirect(descriptor)
        pdf.pages[0].Resources.Font.F1 = pdf.make_indirect(font)

    (use,) = texts(tmp_path, line("", r"(A\001\002) Tj"), after=after)
    assert (use.glyphs, use.undefined) == (3, 0)


def test_many_sizes_on_a_page_are_told_by_the_nearest(tmp_path: Path) -> None:
    """700 sizes: at most 400 are told, the smallest and the greatest among them."""
    content = "".join(f"BT /F1 {3 + n / 10:.1f} Tf {10 + n % 300} {20 + n // 2} Td (a) Tj ET\n" for n in range(700))
    found = texts(tmp_path, content)
    assert len(found) == 400
    assert sum(use.glyphs for use in found) == 700
    sizes = [use.size_pt for use in found]
    assert (min(sizes), max(sizes)) == (3.0, 72.9)
