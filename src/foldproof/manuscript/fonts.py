# SPDX-License-Identifier: AGPL-3.0-or-later
"""Of what kind a font is, and whether it is embedded (ISO 32000-1, 9.6, 9.7 and table 126)."""

from __future__ import annotations

import re

from foldproof.manuscript.model import FontFact, FontKind
from foldproof.pdf.structure_model import WrittenFont

_SUBSET = re.compile(r"^[A-Z]{6}\+")  # 9.6.4: six upper-case letters and a plus sign


def fact_of(font: WrittenFont) -> FontFact:
    """Kind, embedding and subset of one font.  The glyphs of a Type 3 font stand in the file itself: embedded."""
    kind = _kind(font)
    return FontFact(
        key=font.key,
        name=font.base_font,
        kind=kind,
        embedded=kind is FontKind.TYPE3 or font.program is not None,
        subset=bool(_SUBSET.match(font.base_font)),
    )


def _kind(font: WrittenFont) -> FontKind:
    program = font.program
    match font.subtype:
        case "Type0":
            # the program says more than the descendant's subtype, which some writers get wrong
            if program == "FontFile2" or (program != "CIDFontType0C" and font.descendant == "CIDFontType2"):
                return FontKind.CID_TRUETYPE
            return FontKind.CID_CFF if program or font.descendant == "CIDFontType0" else FontKind.UNKNOWN
        case "Type3":
            return FontKind.TYPE3
        case "MMType1":
            return FontKind.MULTIPLE_MASTER
        case "Type1" | "TrueType":
            if program == "FontFile2":
                return FontKind.TRUETYPE
            if program == "FontFile":
                return FontKind.TYPE1
            if program == "Type1C":
                return FontKind.TYPE1_CFF
            if font.subtype == "Type1":
                return FontKind.TYPE1_CFF if program == "OpenType" else FontKind.TYPE1
            return FontKind.TRUETYPE_CFF if program == "OpenType" else FontKind.TRUETYPE
    return FontKind.UNKNOWN
