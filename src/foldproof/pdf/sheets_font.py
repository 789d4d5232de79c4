# SPDX-License-Identifier: AGPL-3.0-or-later
"""The face in which marks are lettered, embedded whole.

Nimbus Sans (URW++) comes with MuPDF as a bare CFF font of some 33 kB with Latin, Greek and Cyrillic letters; its
licence (AGPL-3.0) allows by an explicit exception that it is embedded in a PDF that shows text in it.  It is embedded
as a composite font whose character codes are the glyph numbers (ISO 32000-1, 9.7.4.2: for a CFF font without CIDs the
CID is the glyph index), with a ToUnicode map, so that every reader can find the words.
"""

from __future__ import annotations

import functools
import struct
import unicodedata
from collections.abc import Iterable

import pikepdf
import pymupdf

#: height of capitals and figures over the size of the face, of Nimbus Sans
CAP_HEIGHT = 0.729
#: how far letters such as g go below the line
DESCENT = 0.218


class MarkFont:
    """Widths, codes and the font object; holds no document."""

    def __init__(self) -> None:
        self._font = pymupdf.Font("helv")  # type: ignore[no-untyped-call]
        self._glyphs: dict[str, int] = {}
        self._advances: dict[str, int] = {}

    def _glyph(self, letter: str) -> int:
        found = self._glyphs.get(letter)
        if found is None:
            found = self._glyphs[letter] = int(self._font.has_glyph(ord(letter)))  # type: ignore[no-untyped-call]
        return found

    def spelled(self, text: str) -> str:
        """``text`` in letters that the face has: accents it lacks are dropped, other letters become one ``?`` a run."""
        out: list[str] = []
        for letter in unicodedata.normalize("NFC", text):
            if letter.isspace() or unicodedata.category(letter).startswith("C"):
                given = " "
            elif self._glyph(letter):
                given = letter
            else:
                plain = unicodedata.normalize("NFKD", letter)
                given = "".join(part for part in plain if not unicodedata.combining(part) and self._glyph(part)) or "?"
            if given in (" ", "?") and out and out[-1] == given:
                continue
            out.append(given)
        return "".join(out).strip()

    def width_pt(self, text: str, size_pt: float) -> float:
        """Length of a line of text that went through :meth:`spelled`."""
        return float(sum(self._advance(letter) for letter in text)) * size_pt / 1000

    def _advance(self, letter: str) -> int:
        found = self._advances.get(letter)
        if found is None:
            advance = self._font.glyph_advance(ord(letter))  # type: ignore[no-untyped-call]
            found = self._advances[letter] = round(float(advance) * 1000)
        return found

    def codes(self, text: str) -> str:
        """The string operand, in hexadecimal: two bytes a letter."""
        return "".join(f"{self._glyph(letter):04X}" for letter in text)

    def shortened(self, text: str, size_pt: float, room_pt: float) -> str:
        """``text``, cut with an ellipsis where it is longer than ``room_pt``; ``""`` when nothing fits."""
        if self.width_pt(text, size_pt) <= room_pt:
            return text
        # added up letter by letter: the title of a damaged file may have a million
        so_far, kept = self._advance("…"), 0
        for letter in text:
            so_far += self._advance(letter)
            if so_far * size_pt / 1000 > room_pt:
                break
            kept += 1
        return text[:kept].rstrip() + "…" if kept else ""

    def embed(self, pdf: pikepdf.Pdf, letters: Iterable[str]) -> pikepdf.Object:
        """The font as an indirect object of ``pdf``, with widths and a ToUnicode map for ``letters`` and plain ones.

        Plain letters always stand in it: a sheet whose marks stay the same is then the same to the byte, whatever
        another says.
        """
        program = bytes(self._font.buffer)
        name = pikepdf.Name("/" + _cff_name(program))
        there = {*letters, *(letter for letter in _PLAIN if self._glyph(letter))}
        used = sorted({(self._glyph(letter), letter) for letter in there})
        box = self._font.bbox
        descriptor = pikepdf.Dictionary(
            Type=pikepdf.Name.FontDescriptor, FontName=name, Flags=32, ItalicAngle=0, StemV=85, CapHeight=729,
            FontBBox=[round(float(v) * 1000) for v in (box.x0, box.y0, box.x1, box.y1)],
            Ascent=round(float(self._font.ascender) * 1000), Descent=round(float(self._font.descender) * 1000),
            FontFile3=pdf.make_stream(program, Subtype=pikepdf.Name.CIDFontType0C),
        )  # fmt: skip
        widths: list[int | list[int]] = []
        for glyph, letter in used:
            widths += [glyph, [self._advance(letter)]]
        descendant = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.CIDFontType0, BaseFont=name,
            CIDSystemInfo=pikepdf.Dictionary(Registry="Adobe", Ordering="Identity", Supplement=0),
            FontDescriptor=pdf.make_indirect(descriptor), DW=1000, W=widths,
        )  # fmt: skip
        composite = pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type0, BaseFont=name,
            Encoding=pikepdf.Name("/Identity-H"), DescendantFonts=[pdf.make_indirect(descendant)],
            ToUnicode=pdf.make_stream(_to_unicode(used)),
        )  # fmt: skip
        return pdf.make_indirect(composite)


#: ASCII and Latin-1 without their controls, and the signs that marks use
_PLAIN = (*map(chr, range(0x20, 0x7F)), *map(chr, range(0xA1, 0x100)), "–", "…", "·", "×")


@functools.cache
def mark_font() -> MarkFont:
    """The one face of the marks."""
    return MarkFont()


def _cff_name(program: bytes) -> str:
    """The name inside a CFF font: first entry of its Name INDEX (Adobe Technical Note 5176, sections 5 and 7)."""
    start = program[2]
    offset_size = program[start + 2]
    first, after = (
        int.from_bytes(program[start + 3 + i * offset_size : start + 3 + (i + 1) * offset_size], "big") for i in (0, 1)
    )
    (count,) = struct.unpack_from(">H", program, start)
    data = start + 3 + (count + 1) * offset_size - 1
    return program[data + first : data + after].decode("ascii")


def _to_unicode(used: list[tuple[int, str]]) -> bytes:
    """A ToUnicode CMap (ISO 32000-1, 9.10.3)."""
    lines = [
        "/CIDInit /ProcSet findresource begin", "12 dict begin", "begincmap",
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
        "/CMapName /Adobe-Identity-UCS def", "/CMapType 2 def",
        "1 begincodespacerange", "<0000> <FFFF>", "endcodespacerange",
    ]  # fmt: skip
    for start in range(0, len(used), 100):
        part = used[start : start + 100]
        lines.append(f"{len(part)} beginbfchar")
        lines += [f"<{glyph:04X}> <{letter.encode('utf-16-be').hex().upper()}>" for glyph, letter in part]
        lines.append("endbfchar")
    lines += ["endcmap", "CMapName currentdict /CMap defineresource pop", "end", "end"]
    return "\n".join(lines).encode("ascii")
