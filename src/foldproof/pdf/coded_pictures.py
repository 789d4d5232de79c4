# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the coded data of a picture says at its head: JPEG, JPEG 2000 and JBIG2.  Nothing is decoded.

Data that does not read as what it is said to be yields ``None``: other checks tell of broken streams.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from attrs import frozen

Bytes = bytes | memoryview

# Recommendation ITU-T T.81 | ISO/IEC 10918-1, Annex K, table K.1: luminance quantisation, rows of the 8 x 8 block
_LUMINANCE = (
    (16, 11, 10, 16, 24, 40, 51, 61),
    (12, 12, 14, 19, 26, 58, 60, 55),
    (14, 13, 16, 24, 40, 57, 69, 56),
    (14, 17, 22, 29, 51, 87, 80, 62),
    (18, 22, 37, 56, 68, 109, 103, 77),
    (24, 35, 55, 64, 81, 104, 113, 92),
    (49, 64, 78, 87, 103, 121, 120, 101),
    (72, 92, 95, 98, 112, 100, 103, 99),
)


def _zigzag() -> tuple[int, ...]:
    """Table K.1 in the order in which tables are stored (T.81, figure A.6)."""
    places = [(row, column) for row in range(8) for column in range(8)]
    # diagonal after diagonal, every other one run through upwards
    places.sort(key=lambda place: (sum(place), place[0] if sum(place) % 2 else place[1]))
    return tuple(_LUMINANCE[row][column] for row, column in places)


_STANDARD = _zigzag()


@frozen
class Jpeg:
    """Frame header and first quantisation table of a JPEG (T.81, B.2.2 and B.2.4.1)."""

    width_px: int
    height_px: int
    bits: int
    components: int
    quality: int | None  #: 1 to 100 on the scale of the Independent JPEG Group; ``None`` without a table


def jpeg(data: Bytes) -> Jpeg | None:
    """The head of a JPEG.  The table that counts is that of the first component, which is luminance in most."""
    tables: dict[int, tuple[int, ...]] = {}
    frame: tuple[int, int, int, int, int] | None = None
    for marker, part in _jpeg_segments(data):
        if marker == 0xDB:
            tables.update(_tables(part))
        elif 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC) and len(part) >= 9:
            # precision, lines, samples a line, components; then of the first: identifier, sampling, table
            frame = (part[0], _whole(part, 1, 2), _whole(part, 3, 2), part[5], part[8])
    if frame is None:
        return None
    bits, height, width, components, first = frame
    table = tables.get(first)
    return Jpeg(width, height, bits, components, jpeg_quality(table) if table else None)


def _jpeg_segments(data: Bytes) -> Iterator[tuple[int, Bytes]]:
    """Marker segments up to the first scan (T.81, B.1.1)."""
    # some writers leave a line end before the first marker
    at = bytes(data[:64]).find(b"\xff\xd8") + 2
    if at < 2:
        return
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:  # these stand alone
            at += 2
            continue
        if marker in (0xD9, 0xDA):  # the end, or the first scan
            return
        length = _whole(data, at + 2, 2)
        yield marker, data[at + 4 : at + 2 + length]
        at += 2 + max(length, 2)


def _tables(part: Bytes) -> Iterator[tuple[int, tuple[int, ...]]]:
    """The quantisation tables of one DQT segment, in zigzag order (T.81, B.2.4.1)."""
    at = 0
    while at < len(part):
        wide, number = part[at] >> 4, part[at] & 15
        size = 128 if wide else 64
        raw = part[at + 1 : at + 1 + size]
        if len(raw) < size:
            return
        yield number, tuple(_whole(raw, 2 * n, 2) for n in range(64)) if wide else tuple(raw)
        at += 1 + size


@lru_cache(maxsize=256)
def jpeg_quality(table: tuple[int, ...]) -> int:
    """The quality, 1 to 100, whose table comes nearest to this one.

    The Independent JPEG Group's library multiplies table K.1 by 50/quality below 50 and by 2 - quality/50 from there
    (``jpeg_quality_scaling``), rounds and keeps within 1 to 255; its own files come out exactly.  Tables of other
    programs have another shape: for these it is the quality with the least sum of differences.
    """
    most = 255 if max(table) < 256 else 32767
    return min(range(1, 101), key=lambda quality: _distance(table, quality, most))


def _distance(table: tuple[int, ...], quality: int, most: int) -> int:
    return sum(abs(mine - theirs) for mine, theirs in zip(table, _scaled(quality, most), strict=True))


@lru_cache(maxsize=200)
def _scaled(quality: int, most: int) -> tuple[int, ...]:
    percent = 5000 // quality if quality < 50 else 200 - 2 * quality
    return tuple(min(max((value * percent + 50) // 100, 1), most) for value in _STANDARD)


@frozen
class Jpeg2000:
    """The head of a JPEG 2000 file or codestream (Recommendation ITU-T T.800 | ISO/IEC 15444-1)."""

    width_px: int
    height_px: int
    bits: int
    components: int
    #: as ``PictureUse.space``; ``None`` where the head does not say
    space: str | None


#: enumerated colour spaces of the Colour Specification box (T.800, I.5.3.3; 12 is of part 2, and of PDF)
_ENUMERATED = {12: "DeviceCMYK", 16: "DeviceRGB", 17: "DeviceGray", 18: "DeviceRGB"}


def jpeg_2000(data: Bytes) -> Jpeg2000 | None:
    """The head of a JPEG 2000 picture: its boxes (Annex I), else the size segment of a bare codestream (A.5.1)."""
    if bytes(data[:4]) == b"\xff\x4f\xff\x51":
        return _codestream(data)
    head: Bytes | None = None
    for kind, part in _boxes(data):
        if kind == b"jp2h":
            head = part
        elif kind == b"jp2c" and head is None:
            return _codestream(part)
        if head is not None:
            break
    if head is None:
        return None
    size: tuple[int, int, int, int] | None = None
    space: str | None = None
    palette = False
    for kind, part in _boxes(head):
        if kind == b"ihdr" and len(part) >= 11:
            # 255 stands for components of different depths
            bits = 0 if part[10] == 255 else (part[10] & 127) + 1
            size = (_whole(part, 4, 4), _whole(part, 0, 4), _whole(part, 8, 2), bits)
        elif kind == b"bpcc" and size is not None and len(part):
            size = (*size[:3], max((part[n] & 127) + 1 for n in range(len(part))))
        elif kind == b"pclr":
            palette = True
        elif kind == b"colr" and space is None and len(part) >= 3:
            space = _specified(part)
    if size is None:
        return None
    width, height, components, bits = size
    return Jpeg2000(width, height, bits, components, f"Indexed({space})" if palette and space else space)


def _specified(part: Bytes) -> str | None:
    """The space of a Colour Specification box (T.800, I.5.3.3)."""
    if part[0] == 1 and len(part) >= 7:
        return _ENUMERATED.get(_whole(part, 3, 4))
    if part[0] in (2, 3) and len(part) >= 3 + 20:
        # an ICC profile: the signature of its data colour space (ISO 15076-1, 7.2.6)
        channels = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4, b"Lab ": 3}.get(bytes(part[19:23]))
        return f"ICCBased({channels})" if channels else None
    return None


def _boxes(data: Bytes) -> Iterator[tuple[bytes, Bytes]]:
    """The boxes of a JP2 file or of a superbox (T.800, I.4)."""
    at = 0
    while at + 8 <= len(data):
        length, kind, head = _whole(data, at, 4), bytes(data[at + 4 : at + 8]), 8
        if length == 1:
            if at + 16 > len(data):
                return
            length, head = _whole(data, at + 8, 8), 16
        elif length == 0:  # to the end
            length = len(data) - at
        if length < head:
            return
        yield kind, data[at + head : at + length]
        at += length


def _codestream(data: Bytes) -> Jpeg2000 | None:
    """Size segment: capabilities, size and offset of the grid, size and offset of tiles, components (A.5.1)."""
    if len(data) < 43 or bytes(data[:4]) != b"\xff\x4f\xff\x51":
        return None
    width = _whole(data, 8, 4) - _whole(data, 16, 4)
    height = _whole(data, 12, 4) - _whole(data, 20, 4)
    components = _whole(data, 40, 2)
    space = {1: "DeviceGray", 3: "DeviceRGB", 4: "DeviceCMYK"}.get(components)
    return Jpeg2000(width, height, (data[42] & 127) + 1, components, space)


#: types of JBIG2 segments (Recommendation ITU-T T.88 | ISO/IEC 14492, 7.3): symbol dictionary and text regions
_SYMBOLS = frozenset({0, 4, 6, 7})
_REGIONS = frozenset({20, 22, 23, 36, 38, 39, 40, 42, 43})


def jbig2_coding(*streams: Bytes) -> str:
    """``"symbols"`` where shapes are kept once and put in many places, ``"areas"`` without, ``""`` unread.

    Args:
        streams: the globals, if any, and the stream itself, in the embedded organisation (T.88, annex D.3).
    """
    types = {kind for data in streams for kind in _segment_types(data)}
    if types & _SYMBOLS:
        return "symbols"
    return "areas" if types & _REGIONS else ""


def _segment_types(data: Bytes) -> Iterator[int]:
    """Types of the segments, from their headers (T.88, 7.2)."""
    at, end = 0, len(data)
    while at + 11 <= end:
        number, flags = _whole(data, at, 4), data[at + 4]
        yield flags & 63
        at += 5
        count = data[at] >> 5
        if count == 7:  # the long form: 29 bits, then a retention bit for each and for itself
            count = _whole(data, at, 4) & 0x1FFFFFFF
            at += 4 + (count + 8) // 8
        else:
            at += 1
        at += count * (1 if number <= 256 else 2 if number <= 65536 else 4)
        at += 4 if flags & 64 else 1
        if at + 4 > end:
            return
        length = _whole(data, at, 4)
        if length == 0xFFFFFFFF:  # unknown, to be found by decoding
            return
        at += 4 + length


def _whole(data: Bytes, at: int, size: int) -> int:
    return int.from_bytes(data[at : at + size], "big")
