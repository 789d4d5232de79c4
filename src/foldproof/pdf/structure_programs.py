# SPDX-License-Identifier: AGPL-3.0-or-later
"""Embedded font programs (ISO 32000-1, 9.9): what they permit, whether they read, and Type 3 glyphs that are pictures.

A program is opened once, however many fonts share it.  The few tables that matter here are read by hand; whether the
program as a whole opens is asked of MuPDF, which opens it as the plate-setter's interpreter would.
"""

from __future__ import annotations

import hashlib
import re
import struct
import warnings
from collections.abc import Sequence
from typing import Any

import pikepdf
from attrs import evolve, frozen
from pymupdf import mupdf

from foldproof.manuscript.file_facts import FontProgram
from foldproof.pdf.interpreter import quiet
from foldproof.pdf.structure_objects import entry, members, name, object_id
from foldproof.pdf.structure_resources import Kind, ResourceGraph

_mu: Any = mupdf

#: glyphs of a Type 3 font that are looked at: a font is made of pictures as a whole or not at all
_GLYPHS_SEEN = 6
#: ... and of each glyph no more than this: an outline of that length has been seen to be one
_GLYPH_BYTES = 65_536

#: fsType of a Type 1 or CFF program (Adobe Technical Note 5147): an entry of FontInfo, or of the PostScript string of
#: the Top DICT
_FS_TYPE = re.compile(rb"/FSType\s+(\d{1,5})\s")
#: operators of a glyph that paint something other than a picture (ISO 32000-1, tables 60, 77, 107 to 109)
_DRAWS = frozenset({"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh", "Tj", "TJ", "'", '"'})
#: tables without which a TrueType program shows no glyph (ISO 32000-1, 9.9, below table 126)
_GLYF = (b"glyf", b"head", b"loca", b"maxp")


@frozen
class _Program:
    """One stream that holds a program."""

    fs_type: int | None = None
    digest: str = ""
    damaged: str = ""
    size_bytes: int = 0


def programs(graph: ResourceGraph) -> tuple[FontProgram, ...]:
    """The programs of all fonts that pages reach, in the order in which they come to them.

    Fonts of which nothing is embedded have no entry.
    """
    quiet()
    opened: dict[tuple[int, int], _Program] = {}
    found = []
    for reached in graph.reached(Kind.FONT):
        if name(entry(reached.thing, "/Subtype")) == "Type3":
            found.append(FontProgram(reached.key, None, bitmap=_of_pictures(reached.thing)))
            continue
        stream = _stream(reached.thing)
        if stream is None:
            continue
        own = object_id(stream) or (0, 0)  # a stream is always indirect (7.3.8)
        if own not in opened:
            opened[own] = _read(stream)
        program = opened[own]
        found.append(
            FontProgram(
                reached.key,
                program.fs_type,
                bitmap=False,
                digest=program.digest,
                damaged=program.damaged,
                size_bytes=program.size_bytes,
            )
        )
    return tuple(found)


def _stream(font: Any) -> Any:
    """The stream that holds the program, ``None`` without; that of a composite font hangs on its descendant (9.7.6)."""
    holder = font
    if name(entry(font, "/Subtype")) == "Type0":
        holder = next(iter(members(entry(font, "/DescendantFonts"))), None)
    descriptor = entry(holder, "/FontDescriptor")
    for key in ("/FontFile", "/FontFile2", "/FontFile3"):
        if isinstance(stream := entry(descriptor, key), pikepdf.Stream):
            return stream
    return None


def _read(stream: Any) -> _Program:
    """Open a program; nothing is raised for what it holds."""
    try:
        stored = int(entry(stream, "/Length") or 0)
    except (TypeError, ValueError, ArithmeticError):
        stored = 0
    try:
        data = stream.read_bytes()
    except (pikepdf.PdfError, RuntimeError):
        return _Program(damaged="its compressed data do not open", size_bytes=max(stored, 0))
    found = _Program(fs_type=fs_type(data), digest=hashlib.sha256(data).hexdigest(), size_bytes=max(stored, 0))
    return evolve(found, damaged=damage(data))


def fs_type(data: bytes) -> int | None:
    """The embedding permissions that a program states; ``None`` where it states none.

    For a TrueType or OpenType program fsType of its OS/2 table (OpenType specification, OS/2: a number of 16 bits at
    offset 8), for Type 1 and CFF the entry FSType.
    """
    tables = _tables(data)
    if tables is not None:
        place = tables.get(b"OS/2")
        if place is not None and place[1] >= 10 and place[0] + 10 <= len(data):
            return int(struct.unpack_from(">H", data, place[0] + 8)[0])
        if b"CFF " not in tables:
            return None
        data = data[tables[b"CFF "][0] :]
    found = _FS_TYPE.search(data)
    value = int(found[1]) if found else None
    return value if value is not None and value < 65_536 else None


def damage(data: bytes) -> str:
    """Why a program does not read, in the middle of a sentence; ``""`` when it does."""
    if not data.strip():
        return "it is empty"
    if (tables := _tables(data)) is not None:
        wanted = (b"CFF ",) if b"CFF " in tables else _GLYF
        for tag in wanted:
            if tag not in tables:
                return f"its table {tag.decode('ascii').strip()} is missing"
            if sum(tables[tag]) > len(data):
                return f"it is cut short in its table {tag.decode('ascii').strip()}"
    elif data[:1] == b"\x01" and (odd := _cff_damage(data)):
        return odd
    return "" if _opens(data) else "it is no font program that opens"


def _tables(data: bytes) -> dict[bytes, tuple[int, int]] | None:
    """Offset and length by tag, from the directory of an sfnt (OpenType specification); ``None`` for anything else."""
    if data[:4] == b"ttcf" and len(data) >= 16:
        # a collection, which should not be here: its first face
        start = int(struct.unpack_from(">I", data, 12)[0])
    elif data[:4] in (b"\x00\x01\x00\x00", b"true", b"OTTO"):
        start = 0
    else:
        return None
    found: dict[bytes, tuple[int, int]] = {}
    if start + 12 <= len(data):
        count = struct.unpack_from(">H", data, start + 4)[0]
        for place in range(start + 12, min(start + 12 + 16 * count, len(data) - 15), 16):
            tag, _, offset, length = struct.unpack_from(">4sIII", data, place)
            found.setdefault(tag, (offset, length))
    return found


def _cff_damage(data: bytes) -> str:
    """Whether a bare CFF program (Adobe Technical Note 5176) holds its glyphs to the end."""
    cut = "it is cut short"
    try:
        place = data[2]
        _, place = _index(data, place)  # Name
        tops, place = _index(data, place)
        if not tops:
            return "it names no font"
        charstrings = _top_dict(data[tops[0][0] : tops[0][1]]).get(17)
        if charstrings is None:
            return "it holds no glyphs"
        glyphs, after = _index(data, charstrings)
    except (IndexError, struct.error):
        return cut
    if not glyphs:
        return "it holds no glyphs"
    if not glyphs[0][0] <= glyphs[0][1] <= after:
        return "the table of its glyphs is broken"
    return cut if glyphs[-1][1] > len(data) else ""


def _index(data: bytes, place: int) -> tuple[list[tuple[int, int]], int]:
    """First and last member of an INDEX (5176, 5) as start and end, and the place after it."""
    count = int(struct.unpack_from(">H", data, place)[0])
    if not count:
        return [], place + 2
    width = data[place + 2]
    base = place + 3 + (count + 1) * width - 1

    def offset(number: int) -> int:
        start = place + 3 + number * width
        if not 1 <= width <= 4 or start + width > len(data):
            raise IndexError
        return base + int.from_bytes(data[start : start + width], "big")

    return [(offset(0), offset(1)), (offset(count - 1), offset(count))], offset(count)


def _top_dict(data: bytes) -> dict[int, int]:
    """The last whole number before each one-byte operator of a DICT (5176, 4)."""
    found: dict[int, int] = {}
    place, operand = 0, 0
    while place < len(data):
        byte = data[place]
        place += 1
        if byte == 12:
            place += 1
        elif byte <= 21:
            found[byte] = operand
        elif byte == 28:
            operand = int(struct.unpack_from(">h", data, place)[0])
            place += 2
        elif byte == 29:
            operand = int(struct.unpack_from(">i", data, place)[0])
            place += 4
        elif byte == 30:
            while data[place] & 0xF != 0xF:  # a real number ends with the half byte f
                place += 1
            place += 1
        elif 32 <= byte <= 246:
            operand = byte - 139
        elif byte <= 250:
            operand, place = (byte - 247) * 256 + data[place] + 108, place + 1
        elif byte <= 254:
            operand, place = -(byte - 251) * 256 - data[place] - 108, place + 1
    return found


def _opens(data: bytes) -> bool:
    """Whether MuPDF can make a font of it."""
    try:
        _mu.fz_new_font_from_buffer(None, _mu.fz_new_buffer_from_copied_data(data), 0, 0)
    except (mupdf.FzErrorBase, RuntimeError):
        return False
    return True


def _of_pictures(font: Any) -> bool:
    """Whether the glyphs of a Type 3 font are pictures: each of the first few paints one and nothing else."""
    pictures = 0
    resources = entry(entry(font, "/Resources"), "/XObject")
    for glyph in _some_glyphs(font):
        try:
            with warnings.catch_warnings():
                # of one that ends too early; what there is of it is looked at
                warnings.simplefilter("ignore")
                operations = pikepdf.parse_content_stream(glyph)
        except (pikepdf.PdfError, RuntimeError, ValueError):
            continue
        for operation in operations:
            operator = str(operation.operator)
            if operator in _DRAWS:
                return False
            if operator == "Do":
                drawn = entry(resources, str(operation.operands[0])) if operation.operands else None
                if name(entry(drawn, "/Subtype")) != "Image":
                    return False
                pictures += 1
            elif operator == "INLINE IMAGE":
                pictures += 1
    return pictures > 0


def _some_glyphs(font: Any) -> Sequence[Any]:
    """The first glyphs that hold more than a width, in the order of their names."""
    glyphs = entry(font, "/CharProcs")
    found: list[Any] = []
    for _, glyph in sorted(glyphs.items()) if isinstance(glyphs, pikepdf.Dictionary) else ():
        if not isinstance(glyph, pikepdf.Stream):
            continue
        try:
            size = len(glyph.read_bytes())
        except (pikepdf.PdfError, RuntimeError):
            continue
        if 24 < size <= _GLYPH_BYTES:
            found.append(glyph)
            if len(found) == _GLYPHS_SEEN:
                break
    return found
