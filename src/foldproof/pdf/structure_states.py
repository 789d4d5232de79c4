# SPDX-License-Identifier: AGPL-3.0-or-later
"""What resources hold that meddles with the device: graphics states, forms, colour spaces, spot colours."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pikepdf

from foldproof.manuscript.file_facts import SpotFact, Where
from foldproof.pdf.structure_alike import Alike
from foldproof.pdf.structure_colour import NOT_SPOTS, space_in_words
from foldproof.pdf.structure_objects import entry, keys_of, members, name, number, text, whole
from foldproof.pdf.structure_resources import Kind, Reached, ResourceGraph

#: graphics state parameters that set the device (ISO 32000-1, table 58), and the names that leave it alone
_DEVICE = {
    "/TR": ("Identity",),
    "/TR2": ("Identity", "Default"),
    "/HT": ("Default",),
    "/HTP": (),
    "/BG": (),
    "/BG2": ("Default",),
    "/UCR": (),
    "/UCR2": ("Default",),
}
_OPAQUE = frozenset({"Normal", "Compatible", ""})
_DEEPEST = 8


class Collected:
    """Things by kind and detail, each with all its pages."""

    def __init__(self) -> None:
        self._found: dict[tuple[str, str], set[int]] = {}

    def add(self, what: str, detail: str, pages: tuple[int, ...]) -> None:
        self._found.setdefault((what, detail), set()).update(pages)

    def listed(self) -> tuple[Where, ...]:
        return tuple(Where(what, detail, tuple(sorted(pages))) for (what, detail), pages in self._found.items())


def device_states(states: list[Reached]) -> tuple[Where, ...]:
    """Halftones, transfer curves, black generation, undercolour removal that a file brings along."""
    found = Collected()
    for one in states:
        for key in _DEVICE.keys() & keys_of(one.thing):
            value = one.thing.get(key)
            if value is None or (isinstance(value, pikepdf.Name) and name(value) in _DEVICE[key]):
                continue
            if key in ("/TR", "/TR2") and _all_named(value, _DEVICE[key]):
                continue
            found.add(key[1:], _halftone(value) if key == "/HT" else "", one.pages)
            if key == "/HT" and _has_transfer(value):
                found.add("TR", "in a halftone", one.pages)
    return tuple(sorted(found.listed(), key=lambda where: (where.what, where.detail)))


def _all_named(value: Any, harmless: tuple[str, ...]) -> bool:
    """Four transfer functions, one a colorant, of which each does nothing."""
    parts = members(value)
    return bool(parts) and all(name(part) in harmless for part in parts)


def _halftone(halftone: Any) -> str:
    """``"type 5"``, ``"type 1, named Round"`` (10.5.5)."""
    words = f"type {whole(entry(halftone, '/HalftoneType'), 0)}"
    called = entry(halftone, "/HalftoneName")
    if called is None:
        called = next((n for _, part in _parts(halftone) if (n := entry(part, "/HalftoneName")) is not None), None)
    return words if called is None else f"{words}, named {str(called)[:60]}"


def _parts(halftone: Any) -> list[tuple[str, Any]]:
    """The halftones that one of type 5 holds for its colorants."""
    if whole(entry(halftone, "/HalftoneType"), 0) != 5 or not isinstance(halftone, pikepdf.Dictionary):
        return []
    return [(key, part) for key, part in halftone.items() if isinstance(part, pikepdf.Dictionary | pikepdf.Stream)]


def _has_transfer(halftone: Any) -> bool:
    for part in (halftone, *(part for _, part in _parts(halftone))):
        curve = entry(part, "/TransferFunction")
        if curve is not None and name(curve) != "Identity":
            return True
    return False


def transparency(
    states: list[Reached], images: list[Reached], forms: list[Reached], groups: list[int]
) -> tuple[Where, ...]:
    """What could make a page transparent; whether it does is for the object pass to see.

    Args:
        groups: pages that are transparency groups themselves.
    """
    found = Collected()
    for one in states:
        keys = keys_of(one.thing)
        if "/SMask" in keys and isinstance(one.thing.get("/SMask"), pikepdf.Dictionary):
            found.add("SMask", "state", one.pages)
        for key in ("/CA", "/ca"):
            alpha = number(one.thing.get(key)) if key in keys else None
            if alpha is not None and alpha != 1:
                found.add(key[1:], f"{alpha:g}", one.pages)
        if "/BM" in keys and (modes := _modes(one.thing.get("/BM"))) and modes[0] not in _OPAQUE:
            found.add("BM", modes[0], one.pages)
    for one in images:
        if entry(one.thing, "/SMask") is not None:
            found.add("SMask", "picture", one.pages)
        elif whole(entry(one.thing, "/SMaskInData"), 0):
            found.add("SMask", "in the picture's own data", one.pages)
    for one in forms:
        if name(entry(entry(one.thing, "/Group"), "/S")) == "Transparency":
            found.add("Group", "form", one.pages)
    if groups:
        found.add("Group", "page", tuple(groups))
    return tuple(sorted(found.listed(), key=lambda where: (where.what, where.detail)))


def _modes(value: Any) -> list[str]:
    """A blend mode, or several of which the first known one counts (table 58)."""
    return [name(value)] if isinstance(value, pikepdf.Name) else [name(one) for one in members(value)]


def opi(xobjects: list[Reached]) -> tuple[Where, ...]:
    """Stand-ins for pictures that a server is to put in (14.11.7)."""
    found = Collected()
    for one in xobjects:
        for version, said in _items(entry(one.thing, "/OPI")):
            file = entry(said, "/F")
            file = file if isinstance(file, pikepdf.String) else entry(file, "/F")
            found.add(f"OPI {version[1:]}", str(file)[:200] if isinstance(file, pikepdf.String) else "", one.pages)
    return found.listed()


def postscript(programs: list[Reached], forms: list[Reached]) -> tuple[Where, ...]:
    """Fragments in another page language (8.8.2)."""
    found = Collected()
    for one in programs:
        found.add("PostScript XObject", "", one.pages)
    for one in forms:
        keys = keys_of(one.thing)
        if "/PS" in keys or ("/Subtype2" in keys and name(one.thing.get("/Subtype2")) == "PS"):
            found.add("form with PostScript", "", one.pages)
    return found.listed()


def reference_forms(xobjects: list[Reached], contents: list[Any]) -> tuple[Where, ...]:
    """Forms that stand for a page of another file (8.10.4), and streams whose data lie in one (7.3.8.2, /F).

    Args:
        contents: /Contents of every page.
    """
    found = Collected()
    for one in xobjects:
        if (reference := entry(one.thing, "/Ref")) is not None:
            found.add("Ref", _file_of(entry(reference, "/F")), one.pages)
        if _is_file(outside := entry(one.thing, "/F")):
            found.add("F", _file_of(outside), one.pages)
    for index, content in enumerate(contents):
        for stream in [content] if isinstance(content, pikepdf.Stream) else members(content):
            if _is_file(outside := entry(stream, "/F")):
                found.add("F", _file_of(outside), (index,))
    return found.listed()


def _is_file(thing: Any) -> bool:
    """Some writers shorten the filter of a stream to /F, a name."""
    return isinstance(thing, pikepdf.String | pikepdf.Dictionary)


def _file_of(file: Any) -> str:
    """The name that a file specification gives, as far as it fits a line."""
    return text(file if isinstance(file, pikepdf.String) else entry(file, "/F"))[:200]


def spaces(graph: ResourceGraph) -> tuple[Where, ...]:
    """Colour spaces in words, and those that stand in for a device space (8.6.5.6)."""
    found = Collected()
    for one in graph.reached(Kind.SPACE):
        if words := space_in_words(one.thing):
            found.add(words, "", one.pages)
    for called, one in graph.defaults():
        if words := space_in_words(one.thing):
            found.add(words, called, one.pages)
    return found.listed()


def spots(graph: ResourceGraph, alike: Alike) -> tuple[SpotFact, ...]:
    """Every separation with what stands for it on a device that lacks the ink.

    A colorant of a DeviceN space has an alternate of its own only where the space's attributes give one (8.6.6.5).
    """
    found: dict[tuple[str, str, str], set[int]] = {}
    for one in graph.reached(Kind.SPACE):
        for spot, alternate, tint in _separations(one.thing):
            digest = alike.digest([alternate, tint]) if tint is not None else ""
            words = space_in_words(alternate) or ""
            found.setdefault((spot, words, digest), set()).update(one.pages)
    return tuple(SpotFact(*what, tuple(sorted(pages))) for what, pages in found.items())


def _separations(space: Any, depth: int = 0) -> Iterator[tuple[str, Any, Any]]:
    """Name, alternate space and tint transform of the spot colorants of a space, also of one under another."""
    parts = members(space)
    if len(parts) < 2 or depth > _DEEPEST:
        return
    match name(parts[0]):
        case "Separation" if len(parts) > 3:
            if (spot := name(parts[1])) not in NOT_SPOTS:
                yield spot, parts[2], parts[3]
        case "DeviceN" if len(parts) > 3:
            own = entry(parts[4], "/Colorants") if len(parts) > 4 else None
            for spot in map(name, members(parts[1])):
                if spot in NOT_SPOTS:
                    continue
                given = list(_separations(entry(own, "/" + spot), depth + 1)) if spot.isascii() else []
                yield given[0] if given else (spot, parts[2], None)
        case "Indexed" | "I" | "Pattern":
            yield from _separations(parts[1], depth + 1)


def _items(thing: Any) -> list[tuple[str, Any]]:
    return list(thing.items()) if isinstance(thing, pikepdf.Dictionary) else []
