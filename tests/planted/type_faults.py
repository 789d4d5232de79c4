# SPDX-License-Identifier: AGPL-3.0-or-later
"""Faults of fonts, type, lines, tints and inks."""

from __future__ import annotations

import io
from typing import Any

import pikepdf
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from pikepdf import Array, Dictionary, Name

from tests.build import font
from tests.planted.planting import Fault, Page, name

ONE_COLOUR = "one-colour-text-on-uncoated"


def truetype(page: Page, *, fs_type: int = 0) -> pikepdf.Object:
    """A TrueType font with the letters A to C, each a square; other codes have no glyph."""
    square = TTGlyphPen(None)
    square.moveTo((100, 0))
    for corner in ((100, 700), (800, 700), (800, 0)):
        square.lineTo(corner)
    square.closePath()
    glyphs = {".notdef": square.glyph(), "A": square.glyph(), "B": square.glyph(), "C": square.glyph()}
    made = FontBuilder(1000, isTTF=True)
    made.setupGlyphOrder(list(glyphs))
    made.setupCharacterMap({65: "A", 66: "B", 67: "C"})
    made.setupGlyf(glyphs)
    made.setupHorizontalMetrics(dict.fromkeys(glyphs, (900, 100)))
    made.setupHorizontalHeader(ascent=800, descent=-200)
    made.setupNameTable({"familyName": "Lantern Square", "styleName": "Regular"})
    made.setupOS2(fsType=fs_type)
    made.setupPost()
    held = io.BytesIO()
    made.save(held)
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=name("ABCDEF+LanternSquare"), Flags=32, FontBBox=Array([0, -200, 900, 800]),
        ItalicAngle=0, Ascent=800, Descent=-200, CapHeight=700, StemV=80, FontFile2=page.stream(held.getvalue()),
    )  # fmt: skip
    return page.pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.TrueType, BaseFont=name("ABCDEF+LanternSquare"), FirstChar=65, LastChar=90,
            Widths=Array([900] * 26), Encoding=Name.WinAnsiEncoding, FontDescriptor=page.pdf.make_indirect(descriptor),
        )
    )  # fmt: skip


def _line(page: Page, face: pikepdf.Object, words: str = "ABC") -> None:
    page.paint(f"0 0 0 1 k BT /PlX 20 Tf 150 200 Td ({words}) Tj ET", Font={"PlX": face})


def _type3(page: Page, *, bitmap: bool) -> pikepdf.Object:
    drawn = (
        b"1000 0 0 0 1000 1000 d1 1000 0 0 1000 0 0 cm BI /W 8 /H 8 /IM true /BPC 1 ID "
        b"\x81\x42\x24\x18\x18\x24\x42\x81 EI"
        if bitmap
        else b"1000 0 0 0 1000 1000 d1 0 0 700 700 re f"
    )
    return page.pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1000, 1000]),
            FontMatrix=Array([0.001, 0, 0, 0.001, 0, 0]), CharProcs=Dictionary(a=page.stream(drawn)),
            Encoding=Dictionary(Type=Name.Encoding, Differences=Array([65, name("a")])), FirstChar=65, LastChar=65,
            Widths=Array([1000]), Resources=Dictionary(),
        )
    )  # fmt: skip


def _spoilt(page: Page) -> None:
    face = font(page.pdf)
    program = face.FontDescriptor.FontFile3
    program.write(b"\x01\x00\x04\x02" + b"\xee" * 400)
    _line(page, face)


def _many_copies(page: Page) -> None:
    for number in range(12):
        face = font(page.pdf)
        tagged = "ABCDE" + chr(65 + number) + "+Helvetica"
        program = face.FontDescriptor.FontFile3  # what follows the last table of a CFF program is read by nobody
        program.write(program.read_bytes() + bytes(number + 1))
        face.BaseFont = face.FontDescriptor.FontName = name(tagged)
        page.paint(
            f"0 0 0 1 k BT /PlC{number} 9 Tf 150 {300 + 12 * number} Td (copy) Tj ET", Font={f"PlC{number}": face}
        )


def _type(words: str, size: float, colour: str, *, ground: str = "", more: str = "", **state: Any) -> Any:
    def plant(page: Page) -> None:
        if ground:
            page.paint(f"{ground} 120 270 200 80 re f")
        if state:
            page.paint(
                f"/PlG gs {colour} BT /PlF {size} Tf 150 300 Td ({words}) Tj ET",
                Font={"PlF": font(page.pdf)},
                ExtGState={"PlG": Dictionary(**state)},
            )
        else:
            page.text(words, size, colour, more=more)

    return plant


def _ops(operators: str) -> Any:
    return lambda page: page.paint(operators)


def separation(page: Page, spot: str, alternate: tuple[float, ...] = (0, 0.2, 1, 0.1)) -> Array:
    made = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array(list(alternate)), N=1)
    return Array([Name.Separation, name(spot), Name.DeviceCMYK, page.pdf.make_indirect(made)])


def _spots(*spots: tuple[str, tuple[float, ...]]) -> Any:
    def plant(page: Page) -> None:
        for number, (spot, alternate) in enumerate(spots):
            page.paint(
                f"/PlS{number} cs 1 scn 150 {100 + 60 * number} 50 50 re f",
                ColorSpace={f"PlS{number}": separation(page, spot, alternate)},
            )

    return plant


def _speck(page: Page) -> None:
    page.paint(
        "/PlS cs 0.4 scn 100 200 1.2 1.2 re f", ColorSpace={"PlS": separation(page, "Lantern Green", (0.9, 0, 0.9, 0))}
    )


def _blended(page: Page) -> None:
    page.leaf.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)
    page.paint("/PlG gs 0.5 0 0 0 k 150 200 80 80 re f", ExtGState={"PlG": Dictionary(ca=0.5, BM=Name.Multiply)})


GOLD, OTHER = (0.0, 0.2, 1.0, 0.1), (0.3, 0.0, 0.2, 0.4)
FAULTS = (
    Fault(
        "a font that is not embedded", "fonts-embedded", lambda p: _line(p, font(p.pdf, embedded=False)), anywhere=True
    ),
    Fault("a Type 3 font", "type3-fonts", lambda p: _line(p, _type3(p, bitmap=False), "AA"), anywhere=True),
    Fault("type made of pictures", "bitmap-type", lambda p: _line(p, _type3(p, bitmap=True), "AA"), anywhere=True),
    Fault("letters without a glyph", "missing-glyphs", lambda p: _line(p, truetype(p), "AXYZ")),
    Fault("a font that may not be embedded", "font-licence", lambda p: _line(p, truetype(p, fs_type=2)), anywhere=True),
    Fault("many copies of a face", "font-copies", _many_copies, anywhere=True),
    Fault("a font program that does not read", "damaged-fonts", _spoilt, anywhere=True),
    Fault("type of 3 pt", "small-type", _type("too small to read", 3, "0 0 0 1 k")),
    Fault("small type in four inks", "small-type", _type("four plates in register", 6, "0.6 0.5 0.4 0.3 k")),
    Fault(
        "small type reversed out of three inks",
        "small-type",
        _type("reversed out", 5.5, "0 0 0 0 k", ground="0.8 0.7 0.6 0 k"),
    ),
    Fault("grey type of 6 pt", "grey-type", _type("a screen for a word", 6, "0 0 0 0.5 k")),
    Fault("invisible type", "invisible-text", _type("you do not see me", 12, "0 0 0 1 k", more="3 Tr")),
    Fault("rich black type", "rich-black-type", _type("four plates for a word", 10, "0.6 0.5 0.5 1 k")),
    Fault("grey type of four inks", "four-colour-grey", _type("grey in four", 10, "0.4 0.3 0.3 0.2 k")),
    Fault(
        "black type cut out of a coloured ground",
        "black-knocks-out",
        _type("cut out", 9, "0 0 0 1 k", ground="0.8 0.3 0 0 k"),
    ),
    Fault(
        "white that overprints",
        "white-overprints",
        _type("gone", 14, "0 0 0 0 k", ground="0.8 0.3 0 0 k", OP=True, op=True, OPM=1),
    ),
    Fault(
        "type in registration colour",
        "all-plates",
        lambda p: p.paint(
            "/PlA cs 1 scn BT /PlF 10 Tf 150 300 Td (in every plate) Tj ET",
            Font={"PlF": font(p.pdf)},
            ColorSpace={"PlA": separation(p, "All", (1, 1, 1, 1))},
        ),
    ),
    Fault(
        "one spot in two spellings",
        "spot-names",
        _spots(("Lantern Gold", GOLD), ("lantern-gold", GOLD)),
        anywhere=True,
        alone=True,
    ),
    Fault(
        "one spot with two alternates",
        "spot-names",
        _spots(("Lantern Blue", GOLD), ("Lantern Blue", OTHER)),
        anywhere=True,
        alone=True,
    ),
    Fault("a spot in a book of four inks", "spot-colours", _spots(("Lantern Red", OTHER)), anywhere=True),
    Fault("a line of 0.05 pt", "thin-lines", _ops("0 0 0 1 K 0.05 w 100 200 m 300 200 l S")),
    Fault("a line of width nought", "thin-lines", _ops("0 0 0 1 K 0 w 100 200 m 300 200 l S")),
    Fault("a thin line in a tint", "thin-lines", _ops("0 0 0 0.3 K 0.2 w 100 200 m 300 200 l S")),
    Fault("a tint of 2 %", "light-tints", _ops("0.02 0 0 0 k 100 200 120 120 re f")),
    Fault("a tint of 98 %", "heavy-tints", _ops("0 0 0 0.98 k 100 200 120 120 re f")),
    Fault("ink of 390 %", "total-ink", _ops("1 1 1 0.9 k 100 200 120 120 re f")),
    Fault("RGB matter", "rgb-matter", _ops("0.2 0.5 0.1 rg 100 200 120 120 re f")),
    Fault("transparency blended in RGB", "transparency", _blended),
    Fault("colour in a black book", "extra-inks", _ops("0.6 0 0 0 k 100 200 120 120 re f"), spec=ONE_COLOUR),
    Fault("a plate for one speck", "light-plate", _speck),
)
