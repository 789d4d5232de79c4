# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small files that unpack to enormous ones, and streams that never end."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from functools import cache
from pathlib import Path

from tests.faults.raw import MEDIA, Raw, bound, plain_page, references, repeated, zeros

Maker = Callable[[Path], Path]

#: what a bomb here comes to when it is unpacked once: two gigabytes are more than any process may take
_GB = 1 << 30


@cache
def _two_gb() -> bytes:
    return zeros(2 * _GB)


@cache
def _threefold() -> bytes:
    """Twelve gigabytes in three wrappings, some tens of kilobytes in the file."""
    return zlib.compress(zlib.compress(zeros(12 * _GB), 9), 9)


@cache
def _operators() -> bytes:
    """Two gigabytes of rectangles."""
    return repeated(b"1 1 1 1 re f\n", 2 * _GB // 13)


def _content(data: Callable[[], bytes], filters: bytes) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        return bound(path, raw, content=raw.stream(data(), b"/Filter " + filters))

    return make


def _in_resources(build: Callable[[Raw, bytes], tuple[bytes, bytes]]) -> Maker:
    """A page whose resources hold the bomb; ``build`` answers resources and content."""

    def make(path: Path) -> Path:
        raw = Raw()
        resources, content = build(raw, b"/Filter /FlateDecode")
        return bound(path, raw, content=raw.stream(content), resources=resources)

    return make


def _profile(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    profile = raw.stream(_two_gb(), packed + b" /N 4")
    return b"/ColorSpace << /C [/ICCBased %d 0 R] >>" % profile, b"/C cs 0 0 0 1 sc 50 50 100 100 re f"


def _font_program(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    program = raw.stream(_two_gb(), packed + b" /Length1 2147483648")
    descriptor = raw.add(
        b"<< /Type /FontDescriptor /FontName /Weir /Flags 32 /FontBBox [0 0 1000 1000] /ItalicAngle 0 /Ascent 800 "
        b"/Descent -200 /CapHeight 700 /StemV 80 /FontFile2 %d 0 R >>" % program
    )
    font = raw.add(
        b"<< /Type /Font /Subtype /TrueType /BaseFont /Weir /FirstChar 65 /LastChar 65 /Widths [600] "
        b"/FontDescriptor %d 0 R >>" % descriptor
    )
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td (A) Tj ET"


def _to_unicode(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    cmap = raw.stream(_two_gb(), packed)
    font = raw.add(b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /ToUnicode %d 0 R >>" % cmap)
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td (A) Tj ET"


def _encoding_cmap(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    cmap = raw.stream(_two_gb(), packed + b" /Type /CMap /CMapName /Weir-H")
    kid = raw.add(
        b"<< /Type /Font /Subtype /CIDFontType2 /BaseFont /Weir /CIDSystemInfo << /Registry (Adobe) /Ordering "
        b"(Identity) /Supplement 0 >> >>"
    )
    font = raw.add(
        b"<< /Type /Font /Subtype /Type0 /BaseFont /Weir /Encoding %d 0 R /DescendantFonts [%d 0 R] >>" % (cmap, kid)
    )
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td <0041> Tj ET"


def _form(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    return b"/XObject << /X %d 0 R >>" % raw.form(_operators(), packed), b"/X Do"


def _glyph(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    glyph = raw.stream(_operators(), packed)
    font = raw.add(
        b"<< /Type /Font /Subtype /Type3 /FontBBox [0 0 10 10] /FontMatrix [.1 0 0 .1 0 0] /FirstChar 65 /LastChar 65 "
        b"/Widths [10] /Encoding << /Differences [65 /a] >> /CharProcs << /a %d 0 R >> /Resources << >> >>" % glyph
    )
    return b"/Font << /F %d 0 R >>" % font, b"BT /F 12 Tf 50 50 Td (A) Tj ET"


def _lookup(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    table = raw.stream(_two_gb(), packed)
    return b"/ColorSpace << /C [/Indexed /DeviceRGB 255 %d 0 R] >>" % table, b"/C cs 7 sc 50 50 100 100 re f"


def _tint(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    function = raw.stream(_two_gb(), packed + b" /FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1]")
    return b"/ColorSpace << /C [/Separation /Gold /DeviceCMYK %d 0 R] >>" % function, b"/C cs 1 sc 50 50 99 99 re f"


def _picture(raw: Raw, packed: bytes) -> tuple[bytes, bytes]:
    picture = raw.stream(
        _two_gb(),
        packed + b" /Type /XObject /Subtype /Image /Width 100 /Height 100 /ColorSpace /DeviceGray /BitsPerComponent 8",
    )
    return b"/XObject << /X %d 0 R >>" % picture, b"100 0 0 100 50 50 cm /X Do"


def _metadata(data: Callable[[], bytes]) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        packet = raw.stream(data(), b"/Type /Metadata /Subtype /XML /Filter /FlateDecode")
        content = raw.stream(b"0 g 50 50 100 100 re f")
        return bound(path, raw, content=content, catalog=b"/Metadata %d 0 R" % packet)

    return make


@cache
def _laughs() -> bytes:
    """Entities within entities, in a packet of XMP."""
    lines = ['<!ENTITY a0 "lantern">', *(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))]
    words = (
        f"<?xpacket begin='' id='W5M0MpCehiHzreSzNTczkc9d'?><!DOCTYPE x [{''.join(lines)}]>"
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>&a11;</dc:title></rdf:Description>'
        "</rdf:RDF></x:xmpmeta><?xpacket end='w'?>"
    )
    return zlib.compress(words.encode())


@cache
def _deep_xml() -> bytes:
    """A packet of XMP a hundred thousand elements deep."""
    return zlib.compress(b"<a>" * 100_000 + b"</a>" * 100_000, 9)


def _attached(path: Path) -> Path:
    raw = Raw()
    file = raw.stream(_two_gb(), b"/Type /EmbeddedFile /Filter /FlateDecode")
    names = b"/Names << /EmbeddedFiles << /Names [(a.bin) << /Type /Filespec /F (a.bin) /EF << /F %d 0 R >> >>] >> >>"
    return bound(path, raw, content=raw.stream(b"0 g 50 50 100 100 re f"), catalog=names % file)


def _intent(path: Path) -> Path:
    raw = Raw()
    profile = raw.stream(_two_gb(), b"/N 4 /Filter /FlateDecode")
    intents = (
        b"/OutputIntents [<< /Type /OutputIntent /S /GTS_PDFX /OutputConditionIdentifier (Weir) "
        b"/DestOutputProfile %d 0 R >>]" % profile
    )
    return bound(path, raw, content=raw.stream(b"0 g 50 50 100 100 re f"), catalog=intents)


def _xref_stream(path: Path) -> Path:
    """A cross-reference stream that unpacks to two gigabytes of free entries."""
    raw = Raw()
    bound(path, raw, content=raw.stream(b"0 g 50 50 100 100 re f"))
    data = path.read_bytes()
    body = data[: data.index(b"xref\n0 ")]
    root = max(raw.objects)
    entries = b"<< /Type /XRef /W [1 4 2] /Size 300000000 /Root %d 0 R /Filter /FlateDecode /Length %d >>"
    packed = _two_gb()
    table = (
        b"%d 0 obj\n" % (root + 1) + entries % (root, len(packed)) + b"\nstream\n" + packed + b"\nendstream\nendobj\n"
    )
    path.write_bytes(body + table + b"startxref\n%d\n%%%%EOF\n" % len(body))
    return path


def _object_stream(path: Path) -> Path:
    """A page that stands in an object stream of two gigabytes, behind a cross-reference stream that is sound."""
    raw = Raw()
    tree, packed, page, table = raw.new(), raw.new(), raw.new(), raw.new()
    kids = [plain_page(raw, tree, number) for number in range(1, 8)]
    raw.put(tree, b"<< /Type /Pages /Count 8 /Kids [%s] >>" % references([*kids, page]))
    inner = b"%d 0 " % page
    body = b"<< /Type /Page /Parent %d 0 R %s >>" % (tree, MEDIA)
    raw.stream(_after(inner + body), b"/Type /ObjStm /N 1 /First %d /Filter /FlateDecode" % len(inner), packed)
    root = raw.add(b"<< /Type /Catalog /Pages %d 0 R >>" % tree)
    head = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
    whole, places = bytearray(head), {}
    for number, text in sorted(raw.objects.items()):
        places[number] = len(whole)
        whole += b"%d 0 obj\n%s\nendobj\n" % (number, text)
    start = places[table] = len(whole)
    rows = bytearray()
    for number in range(raw.last + 1):
        if number == page:
            rows += b"\2" + packed.to_bytes(4, "big") + b"\0\0"
        elif number in places:
            rows += b"\1" + places[number].to_bytes(4, "big") + b"\0\0"
        else:
            rows += b"\0" + b"\0" * 6
    entries = b"<< /Type /XRef /W [1 4 2] /Size %d /Root %d 0 R /Length %d >>" % (raw.last + 1, root, len(rows))
    whole += b"%d 0 obj\n%s\nstream\n%s\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % (table, entries, rows, start)
    path.write_bytes(whole)
    return path


def _after(head: bytes) -> bytes:
    """Flate data of these bytes and two gigabytes of spaces; the sum at the end is wrong, and nobody gets there."""
    machine = zlib.compressobj(9, wbits=-15)
    return b"\x78\xda" + machine.compress(head) + machine.flush(zlib.Z_FULL_FLUSH) + repeated(b" ", 2 * _GB)[2:]


def _run_lengths(path: Path) -> Path:
    """Run lengths in Flate: 128 bytes from every two, which Flate itself makes from nothing."""
    raw = Raw()
    data = repeated(b"\x81 ", 8_000_000)
    return bound(path, raw, content=raw.stream(data, b"/Filter [/FlateDecode /RunLengthDecode]"))


def _lzw(path: Path) -> Path:
    raw = Raw()
    data = repeated(b"\x80\x0b\x60\x50\x22\x0c\x0c\x85\x01", 60_000_000)
    return bound(path, raw, content=raw.stream(data, b"/Filter [/FlateDecode /LZWDecode]"))


def _filters_often(path: Path) -> Path:
    """One stream that names ten thousand filters."""
    raw = Raw()
    return bound(path, raw, content=raw.stream(b"00", b"/Filter [%s]" % (b"/AHx " * 10_000)))


FLATE3 = b"[/FlateDecode /FlateDecode /FlateDecode]"
FAULTS: dict[str, Maker] = {
    "bomb: content, Flate in Flate in Flate": _content(_threefold, FLATE3),
    "bomb: content of 2 GB of operators": _content(_operators, b"/FlateDecode"),
    "bomb: content of 2 GB of nothing": _content(_two_gb, b"/FlateDecode"),
    "bomb: cross-reference stream": _xref_stream,
    "bomb: object stream": _object_stream,
    "bomb: ICC profile": _in_resources(_profile),
    "bomb: profile of the output intent": _intent,
    "bomb: font program": _in_resources(_font_program),
    "bomb: ToUnicode": _in_resources(_to_unicode),
    "bomb: encoding of a font": _in_resources(_encoding_cmap),
    "bomb: form": _in_resources(_form),
    "bomb: Type 3 glyph": _in_resources(_glyph),
    "bomb: table of an Indexed space": _in_resources(_lookup),
    "bomb: tint transform": _in_resources(_tint),
    "bomb: picture of more data than pixels": _in_resources(_picture),
    "bomb: XMP of 2 GB": _metadata(_two_gb),
    "bomb: XMP of entities": _metadata(_laughs),
    "bomb: XMP 100,000 elements deep": _metadata(_deep_xml),
    "bomb: attached file": _attached,
    "bomb: run lengths in Flate": _run_lengths,
    "bomb: LZW in Flate": _lzw,
    "bomb: 10,000 filters on one stream": _filters_often,
}
