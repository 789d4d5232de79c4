# SPDX-License-Identifier: AGPL-3.0-or-later
"""Layers (optional content, ISO 32000-1, 8.11): which are on as the file opens, which print, which pages name them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import pikepdf

from foldproof.manuscript.file_facts import LayerFact
from foldproof.pdf.structure_objects import entry, keys_of, members, name, object_id, text
from foldproof.pdf.structure_resources import Kind, ResourceGraph
from foldproof.pdf.structure_tree import Leaf

_Id = tuple[int, int]
_DEEPEST = 99
_MARKED = re.compile(rb"/OC\s*/([^\s/<>\[\]()%{}]+)\s+BDC")
_UNESCAPED = re.compile(rb"#([0-9A-Fa-f]{2})")


def layer_facts(pdf: pikepdf.Pdf, leaves: list[Leaf], graph: ResourceGraph) -> tuple[LayerFact, ...]:
    """The groups in the order of the catalog, by the default configuration /D (8.11.4.3)."""
    properties = entry(pdf.Root, "/OCProperties")
    groups = [group for group in members(entry(properties, "/OCGs")) if keys_of(group)]
    if not groups:
        return ()
    default = entry(properties, "/D")
    on, off, locked = (_ids(entry(default, key)) for key in ("/ON", "/OFF", "/Locked"))
    others_on = name(entry(default, "/BaseState")) != "OFF"
    printing = _applied_on_printing(default)
    states = {
        own: own not in off if others_on else own in on and own not in off
        for group in groups
        if (own := object_id(group))
    }
    pages, hidden = _pages(leaves, graph, states)
    found = []
    for group in groups:
        own = object_id(group) or (0, 0)
        state = name(entry(entry(entry(group, "/Usage"), "/Print"), "/PrintState")) if own in printing else ""
        found.append(
            LayerFact(
                name=text(entry(group, "/Name")),
                on=states.get(own, others_on),
                prints={"ON": True, "OFF": False}.get(state),
                locked=own in locked,
                pages=tuple(sorted(pages.get(own, ()))),
                hidden=tuple(sorted(hidden.get(own, ()))),
            )
        )
    return tuple(found)


def configurations(pdf: pikepdf.Pdf) -> int:
    """Configurations beside the default one (table 100, /Configs)."""
    return sum(bool(keys_of(one)) for one in members(entry(entry(pdf.Root, "/OCProperties"), "/Configs")))


def _ids(groups: Any) -> set[_Id]:
    return {own for group in members(groups) if (own := object_id(group))}


def _applied_on_printing(default: Any) -> set[_Id]:
    """Groups whose usage a program sets by itself when it prints (8.11.4.5, /AS with event Print)."""
    found: set[_Id] = set()
    for usage in members(entry(default, "/AS")):
        categories = [name(one) for one in members(entry(usage, "/Category"))]
        if name(entry(usage, "/Event")) == "Print" and "Print" in categories:
            found |= _ids(entry(usage, "/OCGs"))
    return found


def _pages(
    leaves: list[Leaf], graph: ResourceGraph, states: dict[_Id, bool]
) -> tuple[dict[_Id, set[int]], dict[_Id, set[int]]]:
    """Pages whose content, XObjects or annotations name a group; and of these, where such matter is hidden.

    Resources are no witness: writers hand the same names to every page of a book.  So the content is searched.
    """
    found: dict[_Id, set[int]] = {}
    hidden: dict[_Id, set[int]] = {}

    def note(membership: Any, pages: Iterable[int]) -> None:
        shown = _shown(membership, states)
        for group in _groups(membership):
            found.setdefault(group, set()).update(pages)
            if not shown:
                hidden.setdefault(group, set()).update(pages)

    for one in graph.reached(Kind.LAYER):
        note(one.thing, one.pages)
    for index, leaf in enumerate(leaves):
        contents = leaf.page.get("/Contents") if "/Contents" in leaf.keys else None
        streams = [contents] if isinstance(contents, pikepdf.Stream) else members(contents)
        for membership in _named(streams, leaf.held.resources):
            note(membership, (index,))
    for one in graph.reached(Kind.FORM, Kind.PATTERN):
        for membership in _named([one.thing], entry(one.thing, "/Resources")):
            note(membership, one.pages)
    return found, hidden


def _named(streams: list[Any], resources: Any) -> list[Any]:
    """The groups and memberships that marked content of these streams belongs to (8.11.3.2)."""
    known = entry(resources, "/Properties")
    by_name = {key: value for key in keys_of(known) if _groups(value := known.get(key))}
    if not by_name:
        return []
    found: dict[str, Any] = {}
    for stream in streams:
        if not isinstance(stream, pikepdf.Stream):
            continue
        try:
            content = stream.read_bytes()
        except (pikepdf.PdfError, RuntimeError):  # a page that cannot be read is told of by those who interpret it
            continue
        if b"/OC" in content:
            for called in _MARKED.findall(content):
                key = "/" + _UNESCAPED.sub(_sign, called).decode("latin-1")
                if key in by_name:
                    found[key] = by_name[key]
    return list(found.values())


def _sign(escaped: re.Match[bytes]) -> bytes:
    return bytes([int(escaped[1], 16)])


def _groups(thing: Any) -> set[_Id]:
    kind, own = name(entry(thing, "/Type")), object_id(thing)
    if kind == "OCG":
        return {own} if own else set()
    if kind != "OCMD":
        return set()
    listed = entry(thing, "/OCGs")
    found = _ids(listed) if isinstance(listed, pikepdf.Array) else {one for one in [object_id(listed)] if one}
    waiting = [(entry(thing, "/VE"), 0)]  # a visibility expression: an operator and its terms
    seen: set[_Id] = set()
    while waiting:
        term, depth = waiting.pop()
        if isinstance(term, pikepdf.Array):
            if (own := object_id(term)) and own in seen:
                continue
            seen.add(own or (0, 0))
            waiting += [(one, depth + 1) for one in members(term)] if depth < _DEEPEST else []
        elif one_id := object_id(term):
            found.add(one_id)
    return found


def _shown(thing: Any, states: dict[_Id, bool]) -> bool:
    """Whether matter of a group or membership is seen, by table 99: a visibility expression goes before a policy."""
    if name(entry(thing, "/Type")) != "OCMD":
        return states.get(object_id(thing) or (0, 0), True)
    if isinstance(expression := entry(thing, "/VE"), pikepdf.Array):
        return _holds(expression, states, 0, {})
    listed = entry(thing, "/OCGs")
    ids = _ids(listed) if isinstance(listed, pikepdf.Array) else {object_id(listed) or (0, 0)}
    known = [states[own] for own in ids if own in states]
    if not known:  # "has no effect"
        return True
    match name(entry(thing, "/P")):
        case "AllOn":
            return all(known)
        case "AnyOff":
            return not all(known)
        case "AllOff":
            return not any(known)
    return any(known)


def _holds(term: Any, states: dict[_Id, bool], depth: int, known: dict[_Id, bool]) -> bool:
    """A visibility expression: ``[/And a b]``, ``[/Or a b]``, ``[/Not a]``, nested; or a group.

    One that several others name is worked out once; one that comes back to itself has no effect there.
    """
    own, parts = object_id(term), members(term)
    if not parts or depth > _DEEPEST:
        return states.get(own or (0, 0), True)
    if own and own in known:
        return known[own]
    if own:
        known[own] = True
    terms = [_holds(part, states, depth + 1, known) for part in parts[1:]]
    match name(parts[0]):
        case "Or":
            holds = any(terms)
        case "Not":
            holds = not any(terms)
        case _:
            holds = all(terms)
    if own:
        known[own] = holds
    return holds
