# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which fonts each page, and which spot colorants the file, can reach through resources (ISO 32000-1, 7.8.3).

Resources form a graph that may share and repeat parts, and run in circles.  Every indirect object is opened once for
the file; what a page reaches is then the union over the graph, found in one pass over strongly connected parts (Tarjan
1972), without recursion.  Sets of fonts are whole numbers used as bit masks: a union is one operation, however many
there are.
"""

from __future__ import annotations

from enum import Enum, auto
from typing import Any

import pikepdf
from attrs import define, evolve, field

from foldproof.pdf.structure_colour import colorants
from foldproof.pdf.structure_fonts import font_of
from foldproof.pdf.structure_model import WrittenFont
from foldproof.pdf.structure_objects import entry, members, name, object_id


class Role(Enum):
    """As what an object is read; the same object may be used in two ways."""

    RESOURCES = auto()
    FONTS = auto()  #: the /Font dictionary of resources, and so on
    FORMS = auto()
    PATTERNS = auto()
    SPACES = auto()
    SHADINGS = auto()
    STATES = auto()
    FONT = auto()
    FORM = auto()  #: any XObject
    PATTERN = auto()
    SPACE = auto()
    SHADING = auto()
    STATE = auto()


#: the categories of a resource dictionary that lead to fonts or colorants (table 33)
_CATEGORIES = {
    "/Font": Role.FONTS,
    "/XObject": Role.FORMS,
    "/Pattern": Role.PATTERNS,
    "/ColorSpace": Role.SPACES,
    "/Shading": Role.SHADINGS,
    "/ExtGState": Role.STATES,
}
_MEMBER = {
    Role.FONTS: Role.FONT,
    Role.FORMS: Role.FORM,
    Role.PATTERNS: Role.PATTERN,
    Role.SPACES: Role.SPACE,
    Role.SHADINGS: Role.SHADING,
    Role.STATES: Role.STATE,
}


@define(eq=False)
class _Node:
    """An indirect object in one role, or a page; direct objects count as part of what holds them."""

    fonts: int = 0  #: mask over ``ResourceGraph.fonts``
    leads_to: list[int] = field(factory=list)


@define(eq=False)
class ResourceGraph:
    """Add a root for every page, then ask :meth:`fonts_reached` once."""

    fonts: list[WrittenFont] = field(factory=list)
    #: in the order in which pages come to them; a dictionary for the sake of that order
    spots: dict[str, None] = field(factory=dict)
    _nodes: list[_Node] = field(factory=list)
    _ids: dict[tuple[int, int, Role], int] = field(factory=dict)
    _shared: dict[int, tuple[Any, int]] = field(factory=dict)
    _font_places: dict[str, int] = field(factory=dict)
    _direct_fonts: dict[WrittenFont, int] = field(factory=dict)
    _waiting: list[tuple[int, Role, Any]] = field(factory=list)

    def add_root(self, resources: Any, forms: list[Any]) -> int:
        """A page: its resources and the appearances painted on it.

        One direct dictionary in a node of the page tree serves all pages under it; handed in as the same Python object,
        it is opened once.  Answers the number to look up in what :meth:`fonts_reached` returns.
        """
        root = self._new_node()
        if resources is not None:
            if object_id(resources) is None:
                kept = self._shared.get(id(resources))
                if kept is None:
                    kept = self._shared[id(resources)] = (resources, self._new_node())
                    self._waiting.append((kept[1], Role.RESOURCES, resources))
                self._nodes[root].leads_to.append(kept[1])
            else:
                self._lead(root, Role.RESOURCES, resources)
        for form in forms:
            self._lead(root, Role.FORM, form)
        while self._waiting:
            self._open(*self._waiting.pop())
        return root

    def _new_node(self) -> int:
        self._nodes.append(_Node())
        return len(self._nodes) - 1

    def _lead(self, owner: int, role: Role, thing: Any) -> None:
        """Follow one reference: to a node of its own when it is indirect, else as a part of the owner."""
        if thing is None:
            return
        own = object_id(thing)
        if own is None:
            self._waiting.append((owner, role, thing))
            return
        key = (*own, role)
        known = self._ids.get(key)
        if known is None:
            known = self._ids[key] = self._new_node()
            self._waiting.append((known, role, thing))
        self._nodes[owner].leads_to.append(known)

    def _open(self, owner: int, role: Role, thing: Any) -> None:
        """Note what an object holds itself and queue what it leads to."""
        lead = self._lead
        match role:
            case Role.RESOURCES:
                for category, value in _items(thing):
                    if category in _CATEGORIES:
                        lead(owner, _CATEGORIES[category], value)
            case Role.FONT:
                self._open_font(owner, thing)
            case Role.FORM:
                if name(entry(thing, "/Subtype")) == "Image":
                    lead(owner, Role.SPACE, entry(thing, "/ColorSpace"))
                else:
                    lead(owner, Role.RESOURCES, entry(thing, "/Resources"))
                    lead(owner, Role.SPACE, entry(entry(thing, "/Group"), "/CS"))
            case Role.PATTERN:
                # tiling patterns have resources (table 75), shading patterns a shading and a state (table 76)
                lead(owner, Role.RESOURCES, entry(thing, "/Resources"))
                lead(owner, Role.SHADING, entry(thing, "/Shading"))
                lead(owner, Role.STATE, entry(thing, "/ExtGState"))
            case Role.SHADING:
                lead(owner, Role.SPACE, entry(thing, "/ColorSpace"))
            case Role.STATE:
                # table 58: /Font is [font size]; the group of a soft mask is a form (table 144)
                lead(owner, Role.FONT, next(iter(members(entry(thing, "/Font"))), None))
                lead(owner, Role.FORM, entry(entry(thing, "/SMask"), "/G"))
            case Role.SPACE:
                self.spots.update(dict.fromkeys(colorants(thing)))
            case _:
                for _, value in reversed(_items(thing)):
                    lead(owner, _MEMBER[role], value)

    def _open_font(self, owner: int, font: Any) -> None:
        if not isinstance(font, pikepdf.Dictionary):
            return
        own = object_id(font)
        written = font_of(f"{own[0]} {own[1]}" if own else "direct", font)
        if not own:
            # direct fonts have no identity: those that say the same of themselves count as one
            alike = self._direct_fonts.setdefault(written, len(self._direct_fonts) + 1)
            written = evolve(written, key=f"direct {alike}")
        place = self._font_places.setdefault(written.key, len(self.fonts))
        if place == len(self.fonts):
            self.fonts.append(written)
        self._nodes[owner].fonts |= 1 << place
        if written.subtype == "Type3":
            self._lead(owner, Role.RESOURCES, entry(font, "/Resources"))

    def fonts_reached(self) -> list[int]:
        """Masks of fonts for every node, what lies behind it included."""
        nodes = self._nodes
        order = [0] * len(nodes)  # when first met; 0: not yet
        low = [0] * len(nodes)
        closed = [False] * len(nodes)
        open_parts: list[int] = []
        clock = 0
        for start in range(len(nodes)):
            trail = [] if order[start] else [(start, 0)]
            while trail:
                here, step = trail.pop()
                leads_to = nodes[here].leads_to
                if not order[here]:
                    clock += 1
                    order[here] = low[here] = clock
                    open_parts.append(here)
                while step < len(leads_to) and order[leads_to[step]]:
                    there = leads_to[step]
                    if not closed[there]:
                        low[here] = min(low[here], low[there])
                    step += 1
                if step < len(leads_to):
                    trail += [(here, step), (leads_to[step], 0)]
                elif low[here] == order[here]:
                    part = [open_parts.pop()]
                    while part[-1] != here:
                        part.append(open_parts.pop())
                    self._close(part, closed)
        return [node.fonts for node in nodes]

    def _close(self, part: list[int], closed: list[bool]) -> None:
        """All members of a strongly connected part reach the same things; all that lies behind is closed already."""
        fonts = 0
        for member in part:
            fonts |= self._nodes[member].fonts
            for there in self._nodes[member].leads_to:
                fonts |= self._nodes[there].fonts
        for member in part:
            self._nodes[member].fonts = fonts
            closed[member] = True


def _items(thing: Any) -> list[tuple[str, Any]]:
    """Entries of a dictionary in the order of their keys; none for anything else."""
    return list(thing.items()) if isinstance(thing, pikepdf.Dictionary) else []


def chosen(mask: int, from_list: list[str]) -> tuple[str, ...]:
    """The members of a list whose bits are set, in its order."""
    picked = []
    while mask:
        lowest = mask & -mask
        picked.append(from_list[lowest.bit_length() - 1])
        mask ^= lowest
    return tuple(picked)
