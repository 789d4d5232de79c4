# SPDX-License-Identifier: AGPL-3.0-or-later
"""Text of a page reckoned without an interpreter: show operators from pikepdf, glyph names from the font programs.

Every font of a page: how many characters are shown in it, and how many of them its program has no glyph for.  Only what
the corpus needs: simple Type 1 fonts (Type 1 and CFF programs), composite fonts with Identity-H, Type 3.  TrueType
fonts with an encoding of their own are told with ``None`` for what is missing.
"""

from __future__ import annotations

import io
import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import pikepdf
from fontTools import agl, cffLib
from fontTools.encodings.StandardEncoding import StandardEncoding
from fontTools.misc import eexec

#: characters shown; of these without a glyph
Told = dict[str, tuple[int, int | None]]


def shown(page: pikepdf.Page) -> Told:
    """By BaseFont, of a composite font its descendant's (``""`` for Type 3)."""
    codes: dict[Any, list[int]] = defaultdict(list)
    fonts: dict[Any, pikepdf.Object] = {}
    for font, text in _strings(page, page.obj.Resources):
        wide = font.Subtype == "/Type0"
        step = 2 if wide else 1
        codes[font.objgen] += [int.from_bytes(text[n : n + step], "big") for n in range(0, len(text), step)]
        fonts[font.objgen] = font
    told: Told = {}
    for key, font in fonts.items():
        named = font.DescendantFonts[0] if font.Subtype == "/Type0" else font
        name = str(named.get("/BaseFont", "/"))[1:] if font.Subtype != "/Type3" else ""
        has = _has(font)
        lost = None if has is None else sum(code not in has for code in codes[key])
        before = told.get(name, (0, 0))
        both = None if lost is None or before[1] is None else lost + before[1]
        told[name] = (before[0] + len(codes[key]), both)
    return told


def _strings(holder: Any, resources: Any) -> Iterator[tuple[pikepdf.Object, bytes]]:
    font: Any = None
    kept: list[Any] = []
    for operands, operator in pikepdf.parse_content_stream(holder):
        match str(operator):
            case "q":
                kept.append(font)
            case "Q":
                font = kept.pop() if kept else font
            case "Tf":
                font = resources.Font[str(operands[0])]
            case "Tj" | "'":
                yield font, bytes(operands[0])
            case '"':
                yield font, bytes(operands[2])
            case "TJ":
                for part in operands[0]:
                    if isinstance(part, pikepdf.String):
                        yield font, bytes(part)
            case "Do":
                form = resources.XObject[str(operands[0])]
                if form.Subtype == "/Form":
                    yield from _strings(form, form.get("/Resources", resources))


def _has(font: pikepdf.Object) -> set[int] | None:
    """Codes that have a glyph."""
    if font.Subtype == "/Type3":
        return set(range(256))  # no .notdef there
    if font.Subtype == "/Type0":
        below = font.DescendantFonts[0]
        assert str(font.Encoding) == "/Identity-H", font.Encoding
        if below.Subtype == "/CIDFontType0":
            fonts = cffLib.CFFFontSet()
            fonts.decompile(io.BytesIO(below.FontDescriptor.FontFile3.read_bytes()), None)
            return {int(name[3:]) for name in fonts[0].charset[1:]}
        table = below.get("/CIDToGIDMap", "/Identity")
        if not isinstance(table, pikepdf.Stream):
            return set(range(1, 65536))
        data = table.read_bytes()
        return {n // 2 for n in range(0, len(data) - 1, 2) if data[n : n + 2] != b"\0\0"}
    descriptor = font.get("/FontDescriptor")
    if descriptor is None or font.Subtype == "/TrueType":
        return None
    if "/FontFile" in descriptor:
        names, own = _type1(descriptor.FontFile.read_bytes(), int(descriptor.FontFile.Length1))
    elif "/FontFile3" in descriptor:
        names, own = _cff(descriptor.FontFile3.read_bytes())
    else:
        return None
    return {code for code, name in _encoding(font, own).items() if name in names and name != ".notdef"}


def _encoding(font: pikepdf.Object, own: dict[int, str]) -> dict[int, str]:
    """ISO 32000-1, 9.6.6.2: the base encoding, else the program's own, with /Differences laid over it."""
    said = font.get("/Encoding")
    base = str(said.get("/BaseEncoding", "")) if isinstance(said, pikepdf.Dictionary) else str(said or "")
    found = dict(own)
    if base in ("/WinAnsiEncoding", "/MacRomanEncoding"):
        codec = "cp1252" if base == "/WinAnsiEncoding" else "mac_roman"
        for code in range(32, 256):
            letter = bytes([code]).decode(codec, "replace")
            found[code] = agl.UV2AGL.get(ord(letter), found.get(code, ".notdef"))
        # annex D.2, notes 3, 5 and 6: unused codes are bullets, 0xA0 a space, 0xAD a hyphen
        if base == "/WinAnsiEncoding":
            found |= dict.fromkeys((127, 129, 141, 143, 144, 157), "bullet") | {0xA0: "space", 0xAD: "hyphen"}
    if isinstance(said, pikepdf.Dictionary):
        code = 0
        for entry in said.get("/Differences", []):
            if isinstance(entry, pikepdf.Name):
                found[code] = str(entry)[1:]
                code += 1
            else:
                code = int(entry)
    return found


def _type1(program: bytes, clear: int) -> tuple[set[str], dict[int, str]]:
    head = program[:clear].decode("latin-1")
    private = eexec.decrypt(program[clear:], 55665)[0][4:]
    names = {name.decode() for name in re.findall(rb"/(\S+) \d+ (?:RD|-\|) ", private)}
    if "StandardEncoding def" in head:
        return names, dict(enumerate(StandardEncoding))
    return names, {int(code): name for code, name in re.findall(r"dup\s+(\d+)\s*/(\S+)\s+put", head)}


def _cff(program: bytes) -> tuple[set[str], dict[int, str]]:
    fonts = cffLib.CFFFontSet()
    fonts.decompile(io.BytesIO(program), None)
    encoding = fonts[0].Encoding
    return set(fonts[0].charset), dict(enumerate(StandardEncoding if isinstance(encoding, str) else encoding))
