# SPDX-License-Identifier: AGPL-3.0-or-later
"""Colour spaces of the spot inks that marks are drawn in: the manuscript's own where it has one.

An ink falls on one plate by its colorant's name.  Where a sheet is shown or printed in other inks, the tint transform
says how it looks, and two transforms of one name would make two colours of it (ISO 19005-2, 6.2.4.4 asks that they
agree; clause from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name

from foldproof.pdf.structure_objects import members, name, object_id, plain

#: what of a page's resources can hold a colour space, pictures' and drawings' own resources included
_KINDS = ("/ColorSpace", "/XObject", "/Pattern", "/Shading")
#: how dark a patch looks where the ink's own recipe is not known: a middling grey
_UNKNOWN_GREY = 0.5


class SpotSpaces:
    """Finds and keeps the colour spaces of one open document."""

    def __init__(self, pdf: pikepdf.Pdf, pages: Sequence[pikepdf.Object]) -> None:
        self._pdf = pdf
        self._known: dict[str, pikepdf.Object] = {}
        self._found: Iterator[pikepdf.Object] = _separations(pages)

    def space(self, ink: str) -> pikepdf.Object:
        """The Separation of an ink, indirect: the first that the pages use, else one that looks grey."""
        ink = _spelt(ink)
        while ink not in self._known:
            try:
                space = next(self._found)
            except StopIteration:
                tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, _UNKNOWN_GREY], N=1)
                made = Array([Name.Separation, Name("/" + (ink or "Spot")), Name.DeviceCMYK, tint])
                self._known[ink] = self._pdf.make_indirect(made)
                break
            parts = members(space)
            if name(parts[1]) not in self._known:
                own = space if object_id(space) else self._pdf.make_indirect(Array(parts))
                self._known[name(parts[1])] = own
        return self._known[ink]


def _spelt(ink: str) -> str:
    """The name of an ink as :func:`name` spells it; MuPDF keeps bytes that are no UTF-8 as lone surrogates."""
    try:
        ink.encode("utf-8")
    except UnicodeEncodeError:
        ink = ink.encode("utf-8", "surrogateescape").decode("latin-1")
    return plain(ink)


def _separations(pages: Sequence[pikepdf.Object]) -> Iterator[pikepdf.Object]:
    """Every sound Separation array that the resources of the pages lead to, page after page."""
    seen: set[tuple[int, int]] = set()
    for page in pages:
        todo: list[list[Any]] = [_held(page.get("/Resources"))]
        while todo:
            things = todo.pop()
            for thing in things:
                key = object_id(thing)
                if key is not None:
                    if key in seen:
                        continue
                    seen.add(key)
                if isinstance(thing, Array):
                    parts = members(thing)
                    sound = len(parts) >= 4 and isinstance(parts[3], Dictionary | pikepdf.Stream)
                    if sound and name(parts[0]) == "Separation" and name(parts[1]):
                        yield thing
                    elif parts and isinstance(parts[0], Name):
                        todo.append(parts[1:])
                elif isinstance(thing, pikepdf.Stream):
                    todo.append([thing.get("/ColorSpace"), *_held(thing.get("/Resources")), thing.get("/Shading")])
                elif isinstance(thing, Dictionary):
                    # a shading, a pattern of one, or the colorants that a DeviceN space names
                    todo.append([thing.get("/ColorSpace"), thing.get("/Shading"), *_entries(thing.get("/Colorants"))])


def _held(resources: Any) -> list[Any]:
    if not isinstance(resources, Dictionary):
        return []
    return [entry for kind in _KINDS for entry in _entries(resources.get(kind))]


def _entries(held: Any) -> list[Any]:
    return [entry for _, entry in held.items()] if isinstance(held, Dictionary) else []
