# SPDX-License-Identifier: AGPL-3.0-or-later
"""What every page can reach through resources (ISO 32000-1, 7.8.3): fonts, pictures, forms, spaces, patterns, states.

Resources form a graph that may share and repeat parts, and run in circles.  Every indirect object is opened once for
the file; by which pages a thing is reached then follows in one pass over strongly connected parts (Tarjan 1972),
without recursion.  Sets of pages are whole numbers used as bit masks: a union is one operation, however many there are.
"""

from __future__ import annotations

import re
from enum import Enum, StrEnum, auto
from typing import Any

import pikepdf
from attrs import define, evolve, field, frozen

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
    LAYER = auto()  #: the /OC of an XObject or an annotation
    MASK = auto()  #: the /SMask or /Mask of a picture
    ALTERNATE = auto()  #: the picture of an entry of /Alternates


class Kind(StrEnum):
    """What can be reached, as :meth:`ResourceGraph.reached` is asked for it."""

    FONT = "font"
    IMAGE = "image"  #: an image XObject that resources name
    MASK = "mask"  #: an image that is the /SMask or the /Mask of another
    ALTERNATE = "alternate"  #: an image that stands for another one
    FORM = "form"  #: a form XObject, soft mask groups and appearances that print included
    POSTSCRIPT = "PostScript"  #: an XObject of subtype PS
    PATTERN = "pattern"
    SPACE = "space"
    SHADING = "shading"
    STATE = "state"
    LAYER = "layer"  #: optional content that an XObject or an annotation belongs to; marked content is not looked at


#: the categories of a resource dictionary that lead to things (table 33)
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
#: spaces that stand in for the device's own (8.6.5.6)
_DEFAULTS = ("/DefaultGray", "/DefaultRGB", "/DefaultCMYK")
_KINDS = {
    Role.FONT: Kind.FONT,
    Role.PATTERN: Kind.PATTERN,
    Role.SPACE: Kind.SPACE,
    Role.SHADING: Kind.SHADING,
    Role.STATE: Kind.STATE,
    Role.LAYER: Kind.LAYER,
    Role.MASK: Kind.MASK,
    Role.ALTERNATE: Kind.ALTERNATE,
}


@frozen(eq=False)
class Reached:
    """A thing that pages use.  ``thing`` is a handle: good only while the file is open."""

    kind: Kind
    key: str  #: object id ``"12 0"``; things that stand directly in others and read alike are one, ``"direct 3"``
    thing: Any
    pages: tuple[int, ...]  #: 0-based, in order


@define(eq=False)
class _Kept:
    """A thing, and the nodes that hold it."""

    kind: Kind
    key: str
    thing: Any
    nodes: list[int]


@define(eq=False)
class ResourceGraph:
    """Add a root for every page, in order; then ask."""

    fonts: list[WrittenFont] = field(factory=list)
    #: in the order in which pages come to them; a dictionary for the sake of that order
    spots: dict[str, None] = field(factory=dict)
    _leads_to: list[list[int]] = field(factory=list)  #: by node: an indirect object in one role, or a page
    _roots: list[int] = field(factory=list)  #: by page
    _ids: dict[tuple[int, int, Role], int] = field(factory=dict)
    _shared: dict[int, tuple[Any, int]] = field(factory=dict)
    _kept: dict[tuple[Kind, str | bytes], _Kept] = field(factory=dict)
    _direct_fonts: dict[WrittenFont, int] = field(factory=dict)
    _waiting: list[tuple[int, Role, Any]] = field(factory=list)
    _appearances: dict[int, list[Any]] = field(factory=dict)
    _defaults: list[tuple[str, Any, int]] = field(factory=list)
    _masks: list[int] | None = None
    _page_sets: dict[int, tuple[int, ...]] = field(factory=dict)

    def add_root(self, resources: Any, forms: list[Any], layers: list[Any], group_space: Any = None) -> None:
        """The next page: its resources, the appearances painted on it, their layers, the space of its group.

        One direct dictionary in a node of the page tree serves all pages under it; handed in as the same Python object,
        it is opened once.
        """
        root = self._new_node()
        self._roots.append(root)
        if resources is not None:
            if object_id(resources) is None:
                kept = self._shared.get(id(resources))
                if kept is None:
                    kept = self._shared[id(resources)] = (resources, self._new_node())
                    self._waiting.append((kept[1], Role.RESOURCES, resources))
                self._leads_to[root].append(kept[1])
            else:
                self._lead(root, Role.RESOURCES, resources)
        if forms:
            self._appearances[len(self._roots) - 1] = forms
        for form in forms:
            self._lead(root, Role.FORM, form)
        for layer in layers:
            self._lead(root, Role.LAYER, layer)
        self._lead(root, Role.SPACE, group_space)
        while self._waiting:
            self._open(*self._waiting.pop())

    def reached(self, *kinds: Kind) -> list[Reached]:
        """All things of these kinds, in the order in which pages come to them."""
        masks = self._page_masks()
        found = []
        for kept in self._kept.values():
            if kept.kind in kinds:
                mask = 0
                for node in kept.nodes:
                    mask |= masks[node]
                found.append(Reached(kept.kind, kept.key, kept.thing, self._page_set(mask)))
        return found

    def appearances(self, page: int) -> list[Any]:
        """The appearances that were handed in for a page."""
        return self._appearances.get(page, [])

    def defaults(self) -> list[tuple[str, Reached]]:
        """Spaces that stand in for a device space: ``"DefaultRGB"`` and the like, by dictionary."""
        masks = self._page_masks()
        return [
            (called, Reached(Kind.SPACE, "", thing, self._page_set(masks[owner])))
            for called, thing, owner in self._defaults
        ]

    def fonts_by_page(self) -> list[tuple[str, ...]]:
        """Keys of the fonts of every page, in the order of :attr:`fonts`."""
        named: list[list[str]] = [[] for _ in self._roots]
        for font in self.reached(Kind.FONT):
            for page in font.pages:
                named[page].append(font.key)
        same: dict[tuple[str, ...], tuple[str, ...]] = {}
        return [same.setdefault(keys, keys) for keys in map(tuple, named)]

    def _new_node(self) -> int:
        self._leads_to.append([])
        return len(self._leads_to) - 1

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
        self._leads_to[owner].append(known)

    def _keep(self, owner: int, kind: Kind, thing: Any, key: str = "") -> None:
        """Note a thing; those without an object id that read alike count as one."""
        own = object_id(thing)
        alike: str | bytes = key
        if not key:
            alike = f"{own[0]} {own[1]}" if own else _unparsed(thing)
        kept = self._kept.get((kind, alike))
        if kept is None:
            known = alike if isinstance(alike, str) else f"direct {len(self._kept) + 1}"
            self._kept[kind, alike] = _Kept(kind, known, thing, [owner])
        elif kept.nodes[-1] != owner:
            kept.nodes.append(owner)

    def _open(self, owner: int, role: Role, thing: Any) -> None:
        """Note what an object holds itself and queue what it leads to."""
        lead = self._lead
        match role:
            case Role.RESOURCES:
                for category, value in _items(thing):
                    if category in _CATEGORIES:
                        lead(owner, _CATEGORIES[category], value)
                return
            case Role.FONT:
                self._open_font(owner, thing)
                return
            case Role.FORM:
                self._open_xobject(owner, thing)
                return
            case Role.MASK | Role.ALTERNATE:
                lead(owner, Role.SPACE, entry(thing, "/ColorSpace"))
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
            case Role.LAYER:
                pass
            case _:
                for called, value in reversed(_items(thing)):
                    lead(owner, _MEMBER[role], value)
                    if role is Role.SPACES and called in _DEFAULTS:
                        self._defaults.append((called[1:], value, owner))
                return
        self._keep(owner, _KINDS[role], thing)

    def _open_xobject(self, owner: int, thing: Any) -> None:
        lead = self._lead
        lead(owner, Role.LAYER, entry(thing, "/OC"))
        match name(entry(thing, "/Subtype")):
            case "Image":
                self._keep(owner, Kind.IMAGE, thing)
                lead(owner, Role.SPACE, entry(thing, "/ColorSpace"))
                lead(owner, Role.MASK, entry(thing, "/SMask"))
                if isinstance(mask := entry(thing, "/Mask"), pikepdf.Stream):
                    lead(owner, Role.MASK, mask)
                for other in members(entry(thing, "/Alternates")):
                    lead(owner, Role.ALTERNATE, entry(other, "/Image"))
            case "PS":
                self._keep(owner, Kind.POSTSCRIPT, thing)
            case _:
                self._keep(owner, Kind.FORM, thing)
                lead(owner, Role.RESOURCES, entry(thing, "/Resources"))
                lead(owner, Role.SPACE, entry(entry(thing, "/Group"), "/CS"))

    def _open_font(self, owner: int, font: Any) -> None:
        if not isinstance(font, pikepdf.Dictionary):
            return
        own = object_id(font)
        written = font_of(f"{own[0]} {own[1]}" if own else "direct", font)
        if not own:
            # direct fonts have no identity: those that say the same of themselves count as one
            alike = self._direct_fonts.setdefault(written, len(self._direct_fonts) + 1)
            written = evolve(written, key=f"direct {alike}")
        if (Kind.FONT, written.key) not in self._kept:
            self.fonts.append(written)
        self._keep(owner, Kind.FONT, font, written.key)
        if written.subtype == "Type3":
            self._lead(owner, Role.RESOURCES, entry(font, "/Resources"))

    def _page_set(self, mask: int) -> tuple[int, ...]:
        found = self._page_sets.get(mask)
        if found is None:
            found = self._page_sets[mask] = bits(mask)
        return found

    def _page_masks(self) -> list[int]:
        """For every node the pages that reach it."""
        if self._masks is not None and len(self._masks) == len(self._leads_to):
            return self._masks
        masks = [0] * len(self._leads_to)
        for page, root in enumerate(self._roots):
            masks[root] |= 1 << page
        # parts come out with all that lies behind them before them: the other way round, pages flow from root to leaf
        for part in reversed(_parts(self._leads_to)):
            pages = masks[part[0]]
            for member in part[1:]:
                pages |= masks[member]
            for member in part:
                masks[member] = pages
                for there in self._leads_to[member]:
                    if masks[there] is not pages:  # the same number, not a copy, where one page alone leads there
                        masks[there] = masks[there] | pages if masks[there] else pages
        self._masks = masks
        return masks


def _parts(leads_to: list[list[int]]) -> list[list[int]]:
    """Strongly connected parts, each after all those that it leads to."""
    order = [0] * len(leads_to)  # when first met; 0: not yet
    low = [0] * len(leads_to)
    closed = [False] * len(leads_to)
    found: list[list[int]] = []
    open_parts: list[int] = []
    clock = 0
    for start in range(len(leads_to)):
        trail = [] if order[start] else [(start, 0)]
        while trail:
            here, step = trail.pop()
            after = leads_to[here]
            if not order[here]:
                clock += 1
                order[here] = low[here] = clock
                open_parts.append(here)
            while step < len(after) and order[after[step]]:
                there = after[step]
                if not closed[there]:
                    low[here] = min(low[here], low[there])
                step += 1
            if step < len(after):
                trail += [(here, step), (after[step], 0)]
            elif low[here] == order[here]:
                part = [open_parts.pop()]
                while part[-1] != here:
                    part.append(open_parts.pop())
                for member in part:
                    closed[member] = True
                found.append(part)
    return found


def _items(thing: Any) -> list[tuple[str, Any]]:
    """Entries of a dictionary in the order of their keys; none for anything else."""
    return list(thing.items()) if isinstance(thing, pikepdf.Dictionary) else []


def _unparsed(thing: Any) -> bytes:
    """A direct object as it would be written."""
    return thing.unparse() if isinstance(thing, pikepdf.Object) else repr(thing).encode()


def bits(mask: int) -> tuple[int, ...]:
    """The places of the bits that are set, lowest first."""
    if mask.bit_count() > 64:
        return tuple(found.start() for found in re.finditer("1", bin(mask)[:1:-1]))
    picked = []
    while mask:
        lowest = mask & -mask
        picked.append(lowest.bit_length() - 1)
        mask ^= lowest
    return tuple(picked)
