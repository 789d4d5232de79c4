# SPDX-License-Identifier: AGPL-3.0-or-later
"""Font dictionaries (ISO 32000-1, 9.5 to 9.9) as written."""

from __future__ import annotations

from typing import Any

import pikepdf

from foldproof.pdf.structure_model import WrittenFont
from foldproof.pdf.structure_objects import entry, keys_of, members, name


def font_of(key: str, font: Any) -> WrittenFont:
    """What a font dictionary says of itself and of the program embedded for it.

    A composite font keeps its descriptor in its one descendant (9.7.6).
    """
    subtype = name(entry(font, "/Subtype"))
    base_font = name(entry(font, "/BaseFont"))
    holder, descendant = font, ""
    if subtype == "Type0":
        holder = next(iter(members(entry(font, "/DescendantFonts"))), None)
        descendant = name(entry(holder, "/Subtype"))
        base_font = base_font or name(entry(holder, "/BaseFont"))
    descriptor = entry(holder, "/FontDescriptor")
    if subtype == "Type3":
        # it has no BaseFont; a descriptor, which tagged files demand, may still name it (table 112)
        base_font = base_font or name(entry(descriptor, "/FontName"))
    return WrittenFont(
        key=key, subtype=subtype, base_font=base_font, descendant=descendant, program=_program(descriptor)
    )


def _program(descriptor: Any) -> str | None:
    """Which font program a descriptor holds (table 126)."""
    keys = keys_of(descriptor)
    for key in ("/FontFile", "/FontFile2"):
        if key in keys and isinstance(descriptor.get(key), pikepdf.Stream):
            return key[1:]
    if "/FontFile3" in keys and isinstance(program := descriptor.get("/FontFile3"), pikepdf.Stream):
        return name(entry(program, "/Subtype")) or "FontFile3"
    return None
