# SPDX-License-Identifier: AGPL-3.0-or-later
"""Annotations (ISO 32000-1, 12.5) as written, and the appearances that go on paper."""

from __future__ import annotations

from typing import Any

import pikepdf

from foldproof.pdf.structure_model import WrittenAnnotation
from foldproof.pdf.structure_objects import corners, entry, keys_of, members, name, number, whole

HIDDEN, PRINT = 1 << 1, 1 << 2  # table 165: bit positions 2 and 3


def annotations_of(page: Any) -> tuple[list[WrittenAnnotation], list[Any]]:
    """The annotations of a page, and the appearance streams of those that print."""
    found: list[WrittenAnnotation] = []
    appearances: list[Any] = []
    for annotation in members(entry(page, "/Annots")):
        if not isinstance(annotation, pikepdf.Dictionary):
            continue
        keys = keys_of(annotation)
        flags = whole(annotation.get("/F"), 0) if "/F" in keys else 0
        appearance = _normal_appearance(annotation, keys) if "/AP" in keys else None
        found.append(
            WrittenAnnotation(
                subtype=name(annotation.get("/Subtype")) if "/Subtype" in keys else "",
                flags=flags,
                corners=corners(annotation.get("/Rect")) if "/Rect" in keys else None,
                draws=appearance is not None,
                bordered=appearance is None and _bordered(annotation, keys),
            )
        )
        if appearance is not None and flags & PRINT and not flags & HIDDEN:
            appearances.append(appearance)
    return found, appearances


def _normal_appearance(annotation: Any, keys: frozenset[str]) -> Any:
    """The stream of /AP /N, of the state that /AS names where there are several (12.5.5)."""
    normal = entry(annotation.get("/AP"), "/N")
    if isinstance(normal, pikepdf.Stream):
        return normal
    state = name(annotation.get("/AS")) if "/AS" in keys else ""
    stream = entry(normal, "/" + state) if state else None
    return stream if isinstance(stream, pikepdf.Stream) else None


def _bordered(annotation: Any, keys: frozenset[str]) -> bool:
    """/BS (table 166) goes before /Border (table 164); the width is 1 when neither says."""
    if "/BS" in keys:
        width = number(entry(annotation.get("/BS"), "/W"))
        return width is None or width > 0
    if "/Border" in keys:
        border = annotation.get("/Border")
        width = number(border[2]) if isinstance(border, pikepdf.Array) and len(border) > 2 else None
        return width is None or width > 0
    return True
