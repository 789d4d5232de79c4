# SPDX-License-Identifier: AGPL-3.0-or-later
"""The page tree as written (ISO 32000-1, 7.7.3), walked before the library mends it.

Asking the library for its pages gives those without a MediaBox a Letter one and mends other entries; so the tree is
walked first, by hand, without recursion.
"""

from __future__ import annotations

from typing import Any

import pikepdf
from attrs import evolve, frozen

from foldproof.errors import Unreadable
from foldproof.pdf.structure_model import Corners
from foldproof.pdf.structure_objects import corners, entry, keys_of, members, number, object_id

#: a balanced tree of nodes with two children each holds 2^200 pages; deeper ones overflow the stack of other readers
DEEPEST = 200


@frozen(eq=False)
class Inherited:
    """The entries that pass from a node to its pages (table 30, "inheritable")."""

    media: Corners | None = None
    crop: Corners | None = None
    rotate: float | None = None
    resources: Any = None


@frozen(eq=False)
class Leaf:
    """A page object, its keys, and what it takes from above; its own entries come first."""

    page: pikepdf.Object
    keys: frozenset[str]
    held: Inherited
    odd: tuple[str, ...]


def leaves(pdf: pikepdf.Pdf) -> tuple[list[Leaf], int]:
    """All pages, in order; and how many places of the tree name something that is no page, or nothing that can be read.

    Raises:
        Unreadable: the tree comes back to a node, or is deeper than any book.  The message begins in mid-sentence.
    """
    found: list[Leaf] = []
    missing = 0
    seen: set[tuple[int, int]] = set()
    waiting: list[tuple[Any, Inherited, int]] = [(entry(pdf.Root, "/Pages"), Inherited(), 0)]
    while waiting:
        node, above, depth = waiting.pop()
        keys = keys_of(node)
        if isinstance(node, pikepdf.Stream) or not keys:
            missing += depth > 0
            continue
        held, odd = _taken(node, keys, above)
        # the library tells nodes from pages by /Kids alone, whatever /Type says
        if "/Kids" not in keys and depth:
            found.append(Leaf(node, keys, held, odd))
            continue
        own = object_id(node)
        if own in seen:
            raise Unreadable("its page tree runs in a circle")
        if own:
            seen.add(own)
        if depth > DEEPEST:
            raise Unreadable(f"its page tree is more than {DEEPEST} levels deep")
        waiting += [(kid, held, depth + 1) for kid in reversed(members(node.get("/Kids")))]
    return found, missing


def of_page(page: pikepdf.Object) -> Leaf:
    """A page that the walk did not meet, with nothing inherited."""
    keys = keys_of(page)
    held, odd = _taken(page, keys, Inherited())
    return Leaf(page, keys, held, odd)


def _taken(node: Any, keys: frozenset[str], above: Inherited) -> tuple[Inherited, tuple[str, ...]]:
    """What holds from this node on: its own entries where they make sense, else those from above."""
    odd = []
    held = above
    if "/MediaBox" in keys:
        media = corners(node.get("/MediaBox"))
        if media:
            held = evolve(held, media=media)
        else:
            odd.append("MediaBox")
    if "/CropBox" in keys:
        crop = corners(node.get("/CropBox"))
        if crop:
            held = evolve(held, crop=crop)
        else:
            odd.append("CropBox")
    if "/Rotate" in keys:
        if (rotate := number(node.get("/Rotate"))) is not None:
            held = evolve(held, rotate=rotate)
        else:
            odd.append("Rotate")
    if "/Resources" in keys:
        if isinstance(resources := node.get("/Resources"), pikepdf.Dictionary):
            held = evolve(held, resources=resources)
        else:
            odd.append("Resources")
    return held, tuple(odd)
