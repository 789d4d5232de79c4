# SPDX-License-Identifier: AGPL-3.0-or-later
"""Annotations (ISO 32000-1, 12.5) as written, and the appearances that go on paper."""

from __future__ import annotations

from typing import Any

import pikepdf

from foldproof.pdf.structure_doings import MEDIA, Doings
from foldproof.pdf.structure_model import WrittenAnnotation
from foldproof.pdf.structure_objects import corners, entry, keys_of, members, name, number, object_id, text, whole

HIDDEN, PRINT = 1 << 1, 1 << 2  # table 165: bit positions 2 and 3


_PUSH_BUTTON, _COMBO = 1 << 16, 1 << 17  # tables 226 and 230: bit positions 17 and 18
_DEEPEST_FIELD = 32
#: entries of an annotation that do something, beside the kinds that play something
_DOES = frozenset({"/A", "/AA", "/FS"})


def annotations_of(page: Any, index: int, doings: Doings) -> tuple[list[WrittenAnnotation], list[Any], list[Any]]:
    """The annotations of a page, the appearance streams of those that print, and the layers that they belong to.

    What an annotation does, beside being seen, is noted in ``doings`` for page ``index``.
    """
    found: list[WrittenAnnotation] = []
    appearances: list[Any] = []
    layers: list[Any] = []
    links: list[Any] = []
    listed: set[tuple[int, int]] = set()
    for annotation in members(entry(page, "/Annots")):
        if not isinstance(annotation, pikepdf.Dictionary):
            continue
        # one that is listed again, which it must not be (12.5.2), is still one
        if own := object_id(annotation):
            if own in listed:
                continue
            listed.add(own)
        keys = keys_of(annotation)
        flags = whole(annotation.get("/F"), 0) if "/F" in keys else 0
        appearance = _normal_appearance(annotation, keys) if "/AP" in keys else None
        subtype = name(annotation.get("/Subtype")) if "/Subtype" in keys else ""
        if subtype == "Link" and "/A" in keys and "/AA" not in keys:
            links.append(annotation.get("/A"))
        elif subtype in MEDIA or not keys.isdisjoint(_DOES):
            doings.of_annotation(annotation, keys, subtype, index)
        if "/OC" in keys:
            layers.append(annotation.get("/OC"))
        found.append(
            WrittenAnnotation(
                subtype=subtype,
                flags=flags,
                corners=corners(annotation.get("/Rect")) if "/Rect" in keys else None,
                draws=appearance is not None,
                bordered=appearance is None and subtype == "Link" and _bordered(annotation, keys),
                filled=appearance is None and subtype == "Widget" and not flags & HIDDEN and _filled(annotation),
            )
        )
        if appearance is not None and flags & PRINT and not flags & HIDDEN:
            appearances.append(appearance)
    if links:
        doings.of_links(links, index)
    return found, appearances, layers


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


def _filled(widget: Any) -> bool:
    """Whether a form field without an appearance has anything for a viewer to draw, where the form asks it to.

    That is a ground, a border with a colour, a caption or an icon (table 189), or a value (12.7.4).  Buttons that only
    wait to be pressed have none of it.
    """
    look = entry(widget, "/MK")
    kind = name(_inherited(widget, "/FT"))
    for key in keys_of(look):
        if key in ("/BG", "/BC") and members(look.get(key)):
            return True
        # the caption of other fields than push-buttons is the sign that shows when they are on
        if kind == "Btn" and _is_set(widget, _PUSH_BUTTON) and (key == "/I" or (key == "/CA" and text(look.get(key)))):
            return True
    if kind == "Btn":
        return not _is_set(widget, _PUSH_BUTTON) and name(_inherited(widget, "/V")) not in ("", "Off")
    value = _inherited(widget, "/V")
    if isinstance(value, pikepdf.String):
        return bool(text(value))
    if kind == "Ch" and not _is_set(widget, _COMBO):
        return bool(members(_inherited(widget, "/Opt")))
    return kind == "Tx" and value is not None


def _is_set(field: Any, flag: int) -> bool:
    return bool(whole(_inherited(field, "/Ff"), 0) & flag)


def _inherited(field: Any, key: str) -> Any:
    """An entry of a field or of those above it (12.7.3.1)."""
    for _ in range(_DEEPEST_FIELD):
        if (found := entry(field, key)) is not None:
            return found
        field = entry(field, "/Parent")
    return None
