# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fonts, pictures, functions, shadings and annotations that are endless, enormous, or lie about themselves."""

from __future__ import annotations

import io
import re
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from tests.faults.raw import Raw, bound, references, repeated, zeros

Maker = Callable[[Path], Path]
#: resources, content, further entries of the page
Parts = tuple[bytes, bytes, bytes]

BLOCK = b"0 g 50 50 100 100 re f"
LETTER = b"BT /F 12 Tf 50 50 Td (A) Tj ET"


def _of(build: Callable[[Raw], Parts]) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        resources, content, page = build(raw)
        return bound(path, raw, content=raw.stream(content), resources=resources, page=page)

    return make


# --- fonts ---


def _font(raw: Raw, program: int, key: bytes, subtype: bytes) -> bytes:
    descriptor = raw.add(
        b"<< /Type /FontDescriptor /FontName /Weir /Flags 4 /FontBBox [0 0 1000 1000] /ItalicAngle 0 /Ascent 800 "
        b"/Descent -200 /CapHeight 700 /StemV 80 /%s %d 0 R >>" % (key, program)
    )
    font = raw.add(
        b"<< /Type /Font /Subtype /%s /BaseFont /Weir /FirstChar 65 /LastChar 65 /Widths [600] "
        b"/FontDescriptor %d 0 R >>" % (subtype, descriptor)
    )
    return b"/Font << /F %d 0 R >>" % font


def _font_of_4gb(raw: Raw) -> Parts:
    """Tables of four gigabytes each, in a program of a hundred bytes."""
    tables = [b"glyf", b"loca", b"head", b"maxp", b"cmap", b"hmtx", b"hhea"]
    rows = b"".join(struct.pack(">4sIII", tag, 0, 0xFFFFFF00, 0xFFFFFFFF) for tag in tables)
    data = b"\0\1\0\0" + struct.pack(">HHHH", len(tables), 64, 2, 48) + rows
    program = raw.stream(data, b"/Length1 4294967295")
    return _font(raw, program, b"FontFile2", b"TrueType"), LETTER, b""


def _cff(subroutines: list[bytes], glyphs: list[bytes]) -> bytes:
    """A bare CFF program (Adobe Technical Note 5176): global subroutines and glyphs as given."""

    def index(members: list[bytes]) -> bytes:
        if not members:
            return b"\0\0"
        offsets, place = [1], 1
        for member in members:
            place += len(member)
            offsets.append(place)
        head = struct.pack(">HB", len(members), 4) + b"".join(struct.pack(">I", one) for one in offsets)
        return head + b"".join(members)

    def top(charstrings: int, private: int) -> bytes:
        return (
            b"\x1d" + struct.pack(">i", charstrings) + b"\x11"
            + b"\x1d" + struct.pack(">i", 0) + b"\x1d" + struct.pack(">i", private) + b"\x12"
        )  # fmt: skip

    head = b"\1\0\4\4" + index([b"Weir"])
    size = len(index([top(0, 0)]))
    after = head + b"\0" * size + index([]) + index(subroutines)
    table = index(glyphs)
    return head + index([top(len(after), len(after) + len(table))]) + index([]) + index(subroutines) + table


#: where the glyph of A stands by the charset and the encoding that hold when a program states none (5176, appendix C)
_A = 34


def _subroutines(raw: Raw) -> Parts:
    """A glyph that calls a subroutine that calls itself (number 0, by the bias of 107: -107)."""
    call = b"\x20\x1d"  # -107 callgsubr
    data = _cff([call + b"\x0b"], [b"\x0e"] * _A + [call + b"\x0e"])
    program = raw.flate(data, b"/Subtype /Type1C")
    return _font(raw, program, b"FontFile3", b"Type1"), LETTER, b""


def _subroutines_twice(raw: Raw) -> Parts:
    """Ten levels of subroutines, each calling the next two hundred times: 10^23 calls."""
    levels = [(bytes([32 + level + 1]) + b"\x1d") * 200 + b"\x0b" for level in range(9)]
    levels.append(b"\x8b\x8b\x05" * 5 + b"\x0b")
    program = raw.flate(_cff(levels, [b"\x0e"] * _A + [b"\x20\x1d\x0e"]), b"/Subtype /Type1C")
    return _font(raw, program, b"FontFile3", b"Type1"), LETTER, b""


def _type1_loop(raw: Raw) -> Parts:
    data = b"%!PS-AdobeFont-1.0: Weir\n/loop { loop } def loop\n" + b"dup 5 { exch } repeat " * 4000 + b"eexec\n"
    program = raw.stream(data, b"/Length1 %d /Length2 0 /Length3 0" % len(data))
    return _font(raw, program, b"FontFile", b"Type1"), LETTER, b""


def _many_fonts(raw: Raw) -> Parts:
    fonts = [raw.add(b"<< /Type /Font /Subtype /Type1 /BaseFont /Weir%d >>" % number) for number in range(65_535)]
    named = b" ".join(b"/F%d %d 0 R" % pair for pair in enumerate(fonts))
    return b"/Font << %s >>" % named, b"BT /F7 12 Tf 50 50 Td (A) Tj ET", b""


def _wide_font(raw: Raw) -> Parts:
    """Widths of a million letters, and codes that go on for ever."""
    kid = raw.add(
        b"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /Weir /CIDSystemInfo << /Registry (Adobe) /Ordering "
        b"(Identity) /Supplement 0 >> /W [0 2147483647 500 1 [%s]] >>" % (b"7 " * 1_000_000)
    )
    font = raw.add(
        b"<< /Type /Font /Subtype /Type0 /BaseFont /Weir /Encoding /Identity-H /DescendantFonts [%d 0 R] >>" % kid
    )
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td <0041> Tj ET", b""


def _descendant_of_itself(raw: Raw) -> Parts:
    own = raw.new()
    raw.put(
        own,
        b"<< /Type /Font /Subtype /Type0 /BaseFont /Weir /Encoding /Identity-H /DescendantFonts [%d 0 R] "
        b"/ToUnicode %d 0 R >>" % (own, own),
    )
    return b"/Font << /F %d 0 R >>" % own, b"BT /F 12 Tf 50 50 Td <0041> Tj ET", b""


def _cmap_of_itself(raw: Raw) -> Parts:
    cmap = raw.new()
    raw.stream(
        b"begincmap 1 begincodespacerange <0000> <ffffffff> endcodespacerange 1 beginbfrange <00000000> <ffffffff> "
        b"<0041> endbfrange 1 begincidrange <00000000> <ffffffff> 0 endcidrange endcmap",
        b"/Type /CMap /CMapName /Weir-H /UseCMap %d 0 R" % cmap, cmap,
    )  # fmt: skip
    kid = raw.add(
        b"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /Weir /CIDSystemInfo << /Registry (Adobe) /Ordering "
        b"(Identity) /Supplement 0 >> >>"
    )
    font = raw.add(
        b"<< /Type /Font /Subtype /Type0 /BaseFont /Weir /Encoding %d 0 R /DescendantFonts [%d 0 R] "
        b"/ToUnicode %d 0 R >>" % (cmap, kid, cmap)
    )
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td <0041> Tj ET", b""


# --- pictures ---


def _image(raw: Raw, data: bytes, entries: bytes) -> Parts:
    picture = raw.stream(data, b"/Type /XObject /Subtype /Image " + entries)
    return b"/XObject << /X %d 0 R >>" % picture, b"q 100 0 0 100 50 50 cm /X Do Q", b""


def _declared(raw: Raw) -> Parts:
    return _image(
        raw, bytes(10), b"/Width 1000000000 /Height 1000000000 /BitsPerComponent 8 /ColorSpace /DeviceCMYK"
    )  # fmt: skip


def _negative(raw: Raw) -> Parts:
    return _image(raw, bytes(10), b"/Width -5 /Height 4294967297 /BitsPerComponent 99 /ColorSpace /DeviceRGB")


def _large_bits(raw: Raw) -> Parts:
    """60,000 x 60,000 pixels of one bit, all there: 450 MB in 450 kB."""
    data = zeros(60_000 // 8 * 60_000 + (1 << 20))
    return _image(
        raw, data, b"/Width 60000 /Height 60000 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /FlateDecode"
    )  # fmt: skip


def _large_colour(raw: Raw) -> Parts:
    """30,000 x 30,000 pixels in four inks, all there: 3.6 GB."""
    data = zeros(30_000 * 30_000 * 4 + (1 << 20))
    return _image(
        raw, data, b"/Width 30000 /Height 30000 /BitsPerComponent 8 /ColorSpace /DeviceCMYK /Filter /FlateDecode"
    )  # fmt: skip


def _jpeg() -> bytearray:
    out = io.BytesIO()
    Image.new("L", (16, 16), 90).save(out, "JPEG")
    return bytearray(out.getvalue())


def _lying_jpeg(raw: Raw) -> Parts:
    data = _jpeg()
    frame = data.index(b"\xff\xc0")
    data[frame + 5 : frame + 9] = struct.pack(">HH", 65_500, 65_500)
    return _image(
        raw, bytes(data), b"/Width 16 /Height 16 /BitsPerComponent 8 /ColorSpace /DeviceGray /Filter /DCTDecode"
    )  # fmt: skip


def _jpeg_for_more(raw: Raw) -> Parts:
    entries = b"/Width 60000 /Height 60000 /BitsPerComponent 8 /ColorSpace /DeviceCMYK /Filter /DCTDecode"
    return _image(raw, bytes(_jpeg()), entries)


def _garbage(filters: bytes, head: bytes = b"") -> Callable[[Raw], Parts]:
    def build(raw: Raw) -> Parts:
        data = head + bytes((7 * number * number + 13) % 256 for number in range(5000))
        entries = b"/Width 500 /Height 500 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /" + filters
        return _image(raw, data, entries)

    return build


def _jpx_huge(raw: Raw) -> Parts:
    size = struct.pack(">HHIIIIIIIIH", 41, 0, 2**31 - 1, 2**31 - 1, 0, 0, 2**31 - 1, 2**31 - 1, 0, 0, 1) + b"\7\1\1"
    data = (
        b"\xff\x4f\xff\x51" + size + b"\xff\x52\0\x0c\0\0\0\1\0\0\4\4\0\0\xff\x90\0\x0a\0\0\0\0\0\0\0\1\xff\x93\xff\xd9"
    )
    return _image(raw, data, b"/Width 2147483647 /Height 2147483647 /Filter /JPXDecode")


def _fax_huge(raw: Raw) -> Parts:
    entries = (
        b"/Width 60000 /Height 60000 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /CCITTFaxDecode "
        b"/DecodeParms << /K -1 /Columns 60000 /Rows 60000 >>"
    )
    return _image(raw, b"\xff" * 60_000, entries)


def _jbig2_huge(raw: Raw) -> Parts:
    page = struct.pack(">IBBI", 0, 0x30, 1, 19) + struct.pack(">IIIIBH", 2**31, 2**31, 0, 0, 0, 0)
    return _image(
        raw, page, b"/Width 60000 /Height 60000 /BitsPerComponent 1 /ColorSpace /DeviceGray /Filter /JBIG2Decode"
    )  # fmt: skip


def _inline(raw: Raw) -> Parts:
    return b"", BLOCK + b" BI /W 100 /H 100 /BPC 8 /CS /G ID " + b"\x55" * 300, b""


def _inline_huge(raw: Raw) -> Parts:
    return b"", BLOCK + b" BI /W 100000 /H 100000 /BPC 8 /CS /CMYK ID " + b"\x55" * 300 + b" EI Q", b""


def _predictor(raw: Raw) -> Parts:
    entries = (
        b"/Width 100 /Height 100 /BitsPerComponent 8 /ColorSpace /DeviceGray /Filter /FlateDecode "
        b"/DecodeParms << /Predictor 15 /Columns 2147483647 /Colors 32 /BitsPerComponent 32 >>"
    )
    return _image(raw, zlib.compress(bytes(20_000)), entries)


# --- functions and shadings ---


def _calculator(raw: Raw, code: bytes) -> Parts:
    function = raw.stream(code, b"/FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1]")
    return (
        b"/ColorSpace << /C [/Separation /Gold /DeviceCMYK %d 0 R] >>" % function,
        b"/C cs 1 sc 50 50 99 99 re f",
        b"",
    )


def _calculator_stack(raw: Raw) -> Parts:
    return _calculator(raw, b"{ " + b"dup " * 200_000 + b"}")


def _calculator_deep(raw: Raw) -> Parts:
    return _calculator(raw, b"{ " + b"dup 0 gt { " * 50_000 + b"}" * 50_000 + b" if }")


def _calculator_copies(raw: Raw) -> Parts:
    return _calculator(raw, b"{ " + b"90 copy 100 index 2147483647 7 roll " * 30_000 + b"}")


def _samples(raw: Raw) -> Parts:
    function = raw.stream(
        bytes(100),
        b"/FunctionType 0 /Domain [0 1 0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1] /BitsPerSample 32 "
        b"/Size [100000 100000 100000 100000]",
    )
    names = b"[/Cyan /Magenta /Yellow /Gold]"
    space = b"/ColorSpace << /C [/DeviceN %s /DeviceCMYK %d 0 R] >>" % (names, function)
    return space, b"/C cs 1 1 1 1 sc 50 50 100 100 re f", b""


def _patches(raw: Raw) -> Parts:
    """A shading of a million Coons patches, each over the whole page."""
    one = b"\0" + bytes(range(0, 240, 10)) * 2 + b"\0\x55\xaa\xff" * 4
    shading = raw.stream(
        repeated(one[: 1 + 24 * 1 + 16], 1_000_000),
        b"/ShadingType 6 /ColorSpace /DeviceCMYK /BitsPerCoordinate 8 /BitsPerComponent 8 /BitsPerFlag 8 "
        b"/Decode [0 400 0 600 0 1 0 1 0 1 0 1] /Filter /FlateDecode",
    )
    return b"/Shading << /S %d 0 R >>" % shading, b"/S sh", b""


def _triangles(raw: Raw) -> Parts:
    shading = raw.stream(
        repeated(bytes(range(7)), 5_000_000),
        b"/ShadingType 4 /ColorSpace /DeviceCMYK /BitsPerCoordinate 8 /BitsPerComponent 8 /BitsPerFlag 8 "
        b"/Decode [0 400 0 600 0 1 0 1 0 1 0 1] /Filter /FlateDecode",
    )
    return b"/Shading << /S %d 0 R >>" % shading, b"/S sh", b""


# --- content ---


def _dashes(raw: Raw) -> Parts:
    """Dashes so fine that a line of a page is a thousand million of them."""
    return b"", b"[0.0000001] 0 d 1 w 10 10 m 380 600 l S " * 20 + BLOCK, b""


def _numbers(raw: Raw) -> Parts:
    huge = b"9" * 400
    return b"", b"1e38 -%s %s 1e-38 re f %s w 0 0 m %s %s l S %s 0 0 %s 0 0 cm " % ((huge,) * 7) + BLOCK, b""


def _path(path: Path) -> Path:
    """One path of six million lines, kept for its end."""
    raw = Raw()
    content = raw.stream(repeated(b"9 9 m 390 600 l 7 600 l 390 9 l\n", 1_500_000), b"/Filter /FlateDecode")
    return bound(path, raw, content=content)


def _long_string(path: Path) -> Path:
    raw = Raw()
    font = raw.add(b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>")
    content = raw.stream(_string_of_100mb(), b"/Filter /FlateDecode")
    return bound(path, raw, content=content, resources=b"/Font << /F %d 0 R >>" % font)


def _string_of_100mb() -> bytes:
    machine = zlib.compressobj(9)
    out = [machine.compress(b"BT /F 12 Tf 50 50 Td (")]
    out += [machine.compress(b"lantern " * 131_072) for _ in range(100)]
    out.append(machine.compress(b") Tj ET"))
    return b"".join([*out, machine.flush()])


def _title_of_100mb(path: Path) -> Path:
    raw = Raw()
    info = raw.add(b"<< /Title (%s) /Author (%s) >>" % (b"weir " * 20_000_000, b"row " * 1000))
    return bound(path, raw, content=raw.stream(BLOCK), trailer=b"/Info %d 0 R" % info)


def _odd_names(raw: Raw) -> Parts:
    """Names that hold NUL, a line end, a script, bytes that are no UTF-8; what PDF itself uses is escaped."""
    script = re.sub(rb"[<>()/]", lambda sign: b"#%02x" % sign[0][0], b"#0a<script>alert(1)</script>&amp;#ff#fe")
    tint = raw.add(b"<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0 0 0 1] /N 1 >>")
    spaces, fonts, content = b"", b"", b""
    for number, odd in enumerate((b"#00" + script, script)):
        font = raw.add(b"<< /Type /Font /Subtype /Type1 /BaseFont /%s >>" % odd)
        spaces += b"/%s [/Separation /%s /DeviceCMYK %d 0 R] " % (odd, odd, tint)
        fonts += b"/%s %d 0 R " % (odd, font)
        content += b"/%s cs 1 sc 60 %d 100 100 re f " % (odd, 50 + 150 * number)
        content += b"BT /%s 12 Tf 60 %d Td (A) Tj ET " % (odd, 500 + 30 * number)
    return b"/ColorSpace << %s >> /Font << %s >>" % (spaces, fonts), content, b""


def _many_spots(raw: Raw) -> Parts:
    tint = raw.add(b"<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0 0 0 1] /N 1 >>")
    spaces = b" ".join(b"/C%d [/Separation /Gold%d /DeviceCMYK %d 0 R]" % (n, n, tint) for n in range(2000))
    content = b" ".join(b"/C%d cs 1 sc %d 50 1 1 re f" % (n, 50 + n % 200) for n in range(2000))
    return b"/ColorSpace << %s >>" % spaces, content, b""


# --- annotations ---


def _annotations(path: Path) -> Path:
    """Thirty thousand annotations on one page, each an object of its own."""
    raw = Raw()
    look = raw.form(b"0 0 1 rg 0 0 9 9 re f")
    first = raw.last + 1
    body = b"<< /Type /Annot /Subtype /Square /F 4 /Rect [%d %d %d %d] /AP << /N %d 0 R >> >>"
    for number in range(30_000):
        x, y = 10 + number % 300, 10 + number // 300 % 500
        raw.add(body % (x, y, x + 9, y + 9, look))
    listed = references(range(first, raw.last + 1))
    return bound(path, raw, content=raw.stream(BLOCK), page=b"/Annots [%s]" % listed)


def _one_annotation_often(raw: Raw) -> Parts:
    """One annotation a million times, in seven megabytes."""
    look = raw.form(b"0 0 1 rg 0 0 9 9 re f")
    own = raw.add(b"<< /Type /Annot /Subtype /Square /F 4 /Rect [10 10 50 50] /AP << /N %d 0 R >> >>" % look)
    return b"", BLOCK, b"/Annots [%s]" % (b"%d 0 R " % own * 1_000_000)


def _links(raw: Raw) -> Parts:
    """Thirty thousand links without an appearance."""
    links = [
        raw.add(b"<< /Subtype /Link /Rect [%d 9 %d 20] /A << /S /GoTo /D [%d /Fit] >> >>" % (n % 99, n % 99 + 5, n % 8))
        for n in range(30_000)
    ]
    return b"", BLOCK, b"/Annots [%s]" % references(links)


FAULTS: dict[str, Maker] = {
    **{
        name: _of(build)
        for name, build in {
            "font: tables of 4 GB in 100 bytes": _font_of_4gb,
            "font: a subroutine that calls itself": _subroutines,
            "font: subroutines, 10^23 calls": _subroutines_twice,
            "font: Type 1 program that loops": _type1_loop,
            "font: 65,535 of them": _many_fonts,
            "font: widths of 2,147,483,647 letters": _wide_font,
            "font: its own descendant": _descendant_of_itself,
            "font: character map that uses itself": _cmap_of_itself,
            "picture: 10^9 x 10^9 declared over ten bytes": _declared,
            "picture: negative and overflowing size": _negative,
            "picture: 60,000 x 60,000 of one bit": _large_bits,
            "picture: 30,000 x 30,000 in four inks": _large_colour,
            "picture: JPEG that says 65,500 x 65,500": _lying_jpeg,
            "picture: JPEG for a far larger one": _jpeg_for_more,
            "picture: JBIG2 garbage": _garbage(b"JBIG2Decode"),
            "picture: JBIG2 page of 2^31": _jbig2_huge,
            "picture: JPX garbage": _garbage(b"JPXDecode", b"\0\0\0\x0cjP  \r\n\x87\n"),
            "picture: JPX of 2^31": _jpx_huge,
            "picture: fax of 60,000 x 60,000": _fax_huge,
            "picture: inline without end": _inline,
            "picture: inline of 100,000 x 100,000": _inline_huge,
            "picture: predictor of 2^31 columns": _predictor,
            "function: stack overflow": _calculator_stack,
            "function: 50,000 conditions deep": _calculator_deep,
            "function: copies and rolls": _calculator_copies,
            "function: table of 10^20 samples": _samples,
            "shading: a million patches": _patches,
            "shading: five million triangles": _triangles,
            "content: a thousand million dashes": _dashes,
            "content: numbers of 400 figures": _numbers,
            "names: NUL, line end, script": _odd_names,
            "inks: 2,000 spot colours": _many_spots,
            "annotations: one, a million times": _one_annotation_often,
            "annotations: 30,000 links": _links,
        }.items()
    },
    "content: one path of six million lines": _path,
    "content: a string of 100 MB": _long_string,
    "words: a title of 100 MB": _title_of_100mb,
    "annotations: 30,000 with a look": _annotations,
}
