# SPDX-License-Identifier: AGPL-3.0-or-later
"""Colour spaces (ISO 32000-1, 8.6) in words, and the colorants they name."""

from __future__ import annotations

from typing import Any

import pikepdf

from foldproof.pdf.structure_objects import entry, members, name, whole

#: colorants that are no spot inks: the process colours (8.6.6.5), the whole set of plates and no plate (8.6.6.4)
NOT_SPOTS = frozenset({"Cyan", "Magenta", "Yellow", "Black", "All", "None", ""})
#: the spaces that rest on another one are not nested deeper than this in any sound file (8.6.6.3: base spaces)
_DEEPEST = 8


def colorants(space: Any) -> list[str]:
    """Names of the spot colorants of a colour space, also of one under Indexed or Pattern."""
    for _ in range(_DEEPEST):
        parts = members(space)
        match name(parts[0]) if len(parts) > 1 else "":
            case "Separation":
                return [spot for spot in [name(parts[1])] if spot not in NOT_SPOTS]
            case "DeviceN":
                return [spot for spot in map(name, members(parts[1])) if spot not in NOT_SPOTS]
            case "Indexed" | "I" | "Pattern":
                space = parts[1]
            case _:
                break
    return []


def space_in_words(space: Any, depth: int = 0) -> str | None:
    """``"DeviceRGB"``, ``"ICCBased(3)"``, ``"Indexed(DeviceRGB)"``, ``"Separation(Gold)"``; ``None``."""
    if isinstance(space, pikepdf.Name):
        return name(space) or None
    parts = members(space)
    kind = name(parts[0]) if parts else ""
    if len(parts) < 2 or depth > _DEEPEST:
        return kind or None
    match kind:
        case "ICCBased":
            return f"ICCBased({whole(entry(parts[1], '/N'), 0)})"
        case "Separation":
            return f"Separation({name(parts[1])})"
        case "DeviceN":
            return f"DeviceN({', '.join(map(name, members(parts[1])))})"
        case "Indexed" | "I":
            return f"Indexed({space_in_words(parts[1], depth + 1) or ''})"
    return kind or None
