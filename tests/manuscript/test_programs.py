# SPDX-License-Identifier: AGPL-3.0-or-later
"""What embedded font programs say, against fontTools on every program of twelve books, and on programs made here."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import zlib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.manuscript.file_facts import FontProgram
from foldproof.manuscript.read import read
from foldproof.pdf.structure_programs import damage, fs_type
from tests.build import book

pytest.importorskip("fontTools", reason="fontTools is not installed")

from fontTools.cffLib import CFFFontSet  # type: ignore[import-untyped]
from fontTools.fontBuilder import FontBuilder  # type: ignore[import-untyped]
from fontTools.misc.eexec import decrypt  # type: ignore[import-untyped]
from fontTools.pens.ttGlyphPen import TTGlyphPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]


def truetype(flags: int = 0, *, letters: str = "AB") -> bytes:
    """A TrueType program of a few boxes with this fsType."""
    names = [".notdef", *letters]
    pen = TTGlyphPen(None)
    for step, point in enumerate(((100, 0), (100, 700), (500, 700), (500, 0))):
        (pen.lineTo if step else pen.moveTo)(point)
    pen.closePath()
    maker = FontBuilder(1000, isTTF=True)
    maker.setupGlyphOrder(names)
    maker.setupCharacterMap({ord(letter): letter for letter in letters})
    maker.setupGlyf({name: pen.glyph() for name in names})
    maker.setupHorizontalMetrics(dict.fromkeys(names, (600, 100)))
    maker.setupHorizontalHeader(ascent=800, descent=-200)
    maker.setupNameTable({"familyName": "Lantern", "styleName": "Regular", "psName": "Lantern"})
    maker.setupOS2(sTypoAscender=800, fsType=flags)
    maker.setupPost()
    # a fixed date, so that the program is the same bytes every time
    maker.font["head"].created = maker.font["head"].modified = 3_000_000_000
    maker.font.recalcTimestamp = False
    held = io.BytesIO()
    maker.font.save(held)
    return held.getvalue()


def simple(pdf: pikepdf.Pdf, program: bytes, *, key: str = "FontFile2", name: str = "ABCDEF+Lantern") -> pikepdf.Object:
    """A simple font of two letters round a program."""
    stream = Stream(pdf, zlib.compress(program))
    stream.Filter = Name.FlateDecode
    if key == "FontFile3":
        stream.Subtype = Name.Type1C
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=Name("/" + name), Flags=32, FontBBox=Array([0, -200, 600, 800]),
        ItalicAngle=0, Ascent=800, Descent=-200, CapHeight=700, StemV=80,
    )  # fmt: skip
    descriptor[Name("/" + key)] = pdf.make_indirect(stream)
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.TrueType if key == "FontFile2" else Name.Type1, BaseFont=Name("/" + name),
            Encoding=Name.WinAnsiEncoding, FirstChar=65, LastChar=66, Widths=Array([600, 600]),
            FontDescriptor=pdf.make_indirect(descriptor),
        )
    )  # fmt: skip


def type3(pdf: pikepdf.Pdf, *glyphs: str) -> pikepdf.Object:
    """A Type 3 font, its glyphs a, b, c … as written."""
    procedures = Dictionary(
        {f"/{chr(97 + n)}": pdf.make_indirect(Stream(pdf, one.encode("latin-1"))) for n, one in enumerate(glyphs)}
    )
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 8, 8]), FontMatrix=Array([0.1, 0, 0, 0.1, 0, 0]),
            CharProcs=procedures, FirstChar=97, LastChar=96 + len(glyphs), Widths=Array([9] * len(glyphs)),
            Encoding=Dictionary(Differences=Array([97, *(Name(f"/{chr(97 + n)}") for n in range(len(glyphs)))])),
            Resources=Dictionary(),
        )
    )  # fmt: skip


#: a letter as pixels (ISO 32000-1, 8.9.7 and 9.6.5), as an outline, and a space
PIXELS = "9 0 0 0 8 8 d1\n8 0 0 8 0 0 cm\nBI /W 8 /H 8 /IM true /BPC 1 /D [1 0] ID \x18\x24\x42\x42\x7e\x42\x42\x42\nEI"
OUTLINE = "9 0 0 0 8 8 d1\n0 0 m 4 8 l 8 0 l h f"
SPACE = "9 0 0 0 0 0 d1 " + " " * 20

Programs = Callable[[Callable[[pikepdf.Pdf], pikepdf.Object]], FontProgram]


@pytest.fixture
def programs(tmp_path: Path) -> Programs:
    """The facts of the one font that a maker adds to the first page of a book."""

    def run(make: Callable[[pikepdf.Pdf], pikepdf.Object]) -> FontProgram:
        def add(pdf: pikepdf.Pdf) -> None:
            pdf.pages[0].Resources.Font["/F9"] = make(pdf)

        found = read(book(1, tmp_path / "a.pdf", after=add)).facts.programs
        ours, theirs = found
        assert ours.fs_type is None and ours.damaged == "" and not ours.bitmap and ours.size_bytes > 1000
        return theirs

    return run


@pytest.mark.parametrize("flags", [0, 2, 4, 8, 0x104, 0x200])
def test_fs_type_of_a_truetype_program(programs: Programs, flags: int) -> None:
    # fontTools wrote it there
    program = truetype(flags)
    found = programs(lambda pdf: simple(pdf, program))
    assert (found.fs_type, found.damaged) == (flags, "")
    assert found.digest == hashlib.sha256(program).hexdigest()


def test_fs_type_of_an_opentype_program_and_of_a_collection() -> None:
    one = truetype(8)
    # OpenType specification, TTC header: tag, version, number of faces, offsets; offsets of tables count from the file
    start = 16
    count = struct.unpack_from(">H", one, 4)[0]
    directory = bytearray(one[: 12 + 16 * count])
    for place in range(12, len(directory), 16):
        offset = struct.unpack_from(">I", directory, place + 8)[0]
        struct.pack_into(">I", directory, place + 8, offset + start)
    collection = struct.pack(">4sHHII", b"ttcf", 1, 0, 1, start) + bytes(directory) + one[len(directory) :]
    assert TTFont(io.BytesIO(collection), fontNumber=0)["OS/2"].fsType == fs_type(collection) == 8


@pytest.mark.parametrize(
    ("program", "flags"),
    [
        # Adobe Technical Note 5147: /FSType is an entry of FontInfo
        (b"%!PS-AdobeFont-1.0: Lantern\n/FontInfo 9 dict dup begin\n/FSType 2 def\nend readonly def\neexec\n", 2),
        (b"%!PS-AdobeFont-1.0: Lantern\n/FontInfo 9 dict dup begin\n/FSType 8 def\nend", 8),
        (b"%!PS-AdobeFont-1.0: Lantern\n/FontInfo 9 dict dup begin\nend", None),
        (b"%!PS-AdobeFont-1.0: Lantern\n/FSType 99999 def ", None),
        (b"", None),
        (b"\x00\x01\x00\x00", None),
        (b"OTTO\xff\xff" + b"\0" * 20, None),
        (b"ttcf" + b"\xff" * 12, None),
    ],
)  # fmt: skip
def test_fs_type_of_other_programs(program: bytes, flags: int | None) -> None:
    assert fs_type(program) == flags


def test_programs_that_do_not_read(programs: Programs) -> None:
    whole = truetype()
    assert programs(lambda pdf: simple(pdf, whole[: len(whole) // 2])).damaged.startswith("it is cut short")
    assert programs(lambda pdf: simple(pdf, b"")).damaged == "it is empty"
    assert programs(lambda pdf: simple(pdf, b"<html>no font</html>")).damaged == "it is no font program that opens"
    without = TTFont(io.BytesIO(whole))
    del without["glyf"], without["loca"]
    held = io.BytesIO()
    without.save(held)
    assert programs(lambda pdf: simple(pdf, held.getvalue())).damaged == "its table glyf is missing"

    def spoilt(pdf: pikepdf.Pdf) -> pikepdf.Object:
        font = simple(pdf, whole)
        font.FontDescriptor.FontFile2.write(b"no deflated data", filter=Name.FlateDecode)
        return font

    assert programs(spoilt).damaged


@pytest.mark.parametrize(
    ("glyphs", "bitmap"),
    [
        ((PIXELS, PIXELS), True),
        ((SPACE, PIXELS), True),
        ((OUTLINE, OUTLINE), False),
        ((PIXELS, OUTLINE), False),
        ((SPACE, SPACE), False),
        ((), False),
    ],
    ids=["pixels", "a space and pixels", "outlines", "both", "spaces", "nothing"],
)
def test_type_3_fonts_made_of_pictures(programs: Programs, glyphs: tuple[str, ...], bitmap: bool) -> None:
    assert programs(lambda pdf: type3(pdf, *glyphs)).bitmap is bitmap


def test_pictures_that_are_objects_count_too(programs: Programs) -> None:
    def make(pdf: pikepdf.Pdf) -> pikepdf.Object:
        font = type3(pdf, "9 0 0 0 8 8 d1 8 0 0 8 0 0 cm /Im1 Do", "9 0 0 0 8 8 d1 8 0 0 8 0 0 cm /Im1 Do")
        picture = Stream(pdf, bytes(8))
        picture.Type, picture.Subtype, picture.ImageMask = Name.XObject, Name.Image, True
        picture.Width = picture.Height = 8
        picture.BitsPerComponent = 1
        font.Resources = Dictionary(XObject=Dictionary(Im1=pdf.make_indirect(picture)))
        return font

    assert programs(make).bitmap


# --- against fontTools ---------------------------------------------------------------------------------------------


def _programs(path: Path) -> Iterator[tuple[tuple[int, int], str, bytes]]:
    """Every stream that a font descriptor of a file names."""
    seen = set()
    with pikepdf.open(path) as pdf:
        for thing in pdf.objects:
            if isinstance(thing, Dictionary) and thing.get("/Type") == Name.FontDescriptor:
                for key in ("/FontFile", "/FontFile2", "/FontFile3"):
                    if key in thing and thing[key].objgen not in seen:
                        seen.add(thing[key].objgen)
                        yield thing[key].objgen, key[1:], thing[key].read_bytes()


def _theirs(key: str, program: bytes) -> tuple[int | None, int]:
    """fsType and the number of glyphs, as fontTools reads them."""
    if key == "FontFile2" or program[:4] == b"OTTO":
        font = TTFont(io.BytesIO(program), lazy=True)
        return (font["OS/2"].fsType if "OS/2" in font else None), font["maxp"].numGlyphs
    if key == "FontFile3":
        fonts = CFFFontSet()
        fonts.decompile(io.BytesIO(program), None)
        said = getattr(fonts[0], "PostScript", None)
        found = re.search(r"/FSType (\d+) def", said) if said else None
        return (int(found[1]) if found else None), len(fonts[0].CharStrings)
    clear, _, rest = program.partition(b"eexec")
    # fontTools decrypts (Type 1 Font Format, 7.1: key 55665, four bytes to leave out)
    private = decrypt(rest.lstrip(b"\r\n"), 55665)[0]
    # FontInfo stands in the clear part; the whole dictionary, by its own words
    info = clear[clear.find(b"/FontInfo") :].partition(b"end readonly def")[0] if b"/FontInfo" in clear else b""
    words = info.split()
    flags = int(words[words.index(b"/FSType") + 1]) if b"/FSType" in words else None
    glyphs = re.search(rb"/CharStrings (\d+) dict", private)
    return flags, int(glyphs[1]) if glyphs else 0


@pytest.mark.corpus
def test_every_program_of_twelve_books_agrees_with_fonttools(corpus: Path) -> None:
    kinds: Counter[Any] = Counter()
    for path in sorted((corpus / "books").glob("*.pdf")):
        for where, key, program in _programs(path):
            flags, glyphs = _theirs(key, program)
            assert fs_type(program) == flags, (path.name, where)
            # all of them open there and hold letters: none is damaged
            assert glyphs > 0 and damage(program) == "", (path.name, where)
            kinds[key, flags] += 1
    # a Type 1 program of r-fullrefman (two of its fonts share it) and the TrueType one of the Japanese book state 0
    assert kinds["FontFile2", 0] == 1 and kinds["FontFile", 0] == 1
    assert sum(kinds.values()) == 1229, kinds


@pytest.mark.corpus
def test_the_fonts_of_a_book_have_their_programs(corpus: Path) -> None:
    made = read(corpus / "books" / "r-fullrefman.pdf")
    known = {program.key: program for program in made.facts.programs}
    assert set(known) == {key for key, font in made.fonts.items() if font.embedded}
    # the pages of r-fullrefman: two fonts of TeX's pixel kind (pdffonts: Type 3)
    assert sum(program.bitmap for program in known.values()) == 2
