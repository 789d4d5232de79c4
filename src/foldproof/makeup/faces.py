# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which inks the two formes of a section carry.  Pure.

A set of inks is a bit mask: bit ``n`` stands for the ``n``-th ink of the book in the order of the plates.  Sections of
one size, one stock and the same inks on either forme are alike for the choice of sheets: they make one class.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from attrs import field, frozen

from foldproof.makeup.folding import read
from foldproof.makeup.places import unit_leaf
from foldproof.makeup.sections import Division
from foldproof.makeup.shapes import Way

#: (inks of the forme that lies up when the section is folded, inks of the other)
Faces = tuple[int, int]


@frozen
class Kind:
    """Sections that are alike for the choice of sheets."""

    pages: int
    stock: int
    faces: tuple[Faces, ...]  #: for every way to fold so many pages, in the order of the task


@frozen
class Wanted:
    """One block of the book: a section, or one of those set one in another."""

    unit: int
    part: int  #: 0-based in the unit
    kind: Kind
    flipped: bool  #: its formes stand in ``kind`` with sides exchanged, so that it counts as like another


@frozen
class Classes:
    """The blocks of a division by class, each class in the order of the gathering."""

    kinds: tuple[Kind, ...]
    members: tuple[tuple[Wanted, ...], ...] = field(eq=False)

    @property
    def counts(self) -> tuple[int, ...]:
        return tuple(len(members) for members in self.members)


def classes_of(
    division: Division, ways: dict[int, tuple[Way, ...]], reading: str, masks: Sequence[int], most: int = 4
) -> tuple[Classes, bool]:
    """Blocks by class, and whether every class is told apart.

    Args:
        masks: inks of every page by its position in the book, blanks 0; pages past the end carry none.
        most: classes of ink for one size that are told apart; beyond them the rarer ones count with all their inks.
    """
    found: dict[tuple[int, int], dict[Kind, list[Wanted]]] = {}
    first = 0
    for number, unit in enumerate(division.units):
        outside = 0
        for part, (pages, stock) in enumerate(unit.parts):
            faces = tuple(_faces(way, reading, outside, unit.pages, first, masks) for way in ways.get(pages, ()))
            other = tuple((down, up) for up, down in faces)
            flipped = other < faces
            kind = Kind(pages, stock, other if flipped else faces)
            group = found.setdefault((pages, stock), {})
            group.setdefault(kind, []).append(Wanted(number, part, kind, flipped))
            outside += pages // 4
        first += unit.pages
    exact = True
    members: dict[Kind, list[Wanted]] = {}
    for group in found.values():
        by_number = sorted(group.items(), key=lambda item: (-len(item[1]), item[0].faces))
        if len(by_number) > most:
            exact = False
            rare = [kind for kind, _ in by_number[most - 1 :]]
            union = _together(rare)
            by_number = [*by_number[: most - 1], (union, [w for kind in rare for w in group[kind]])]
        for kind, blocks in by_number:
            # all inks of the rare ones may make them alike with another class
            members.setdefault(kind, []).extend(blocks)
    in_order = (sorted(blocks, key=lambda one: (one.unit, one.part)) for blocks in members.values())
    return Classes(tuple(members), tuple(map(tuple, in_order))), exact


def _together(kinds: Sequence[Kind]) -> Kind:
    first = kinds[0]
    faces = []
    for nth in range(len(first.faces)):
        both = 0
        for kind in kinds:
            both |= kind.faces[nth][0] | kind.faces[nth][1]
        faces.append((both, both))
    return Kind(first.pages, first.stock, tuple(faces))


def _faces(way: Way, reading: str, outside: int, unit_pages: int, first: int, masks: Sequence[int]) -> Faces:
    up = down = 0
    for recto_up, offset in leaves_of(way, reading, outside, unit_pages):
        at = first + offset
        recto = masks[at] if at < len(masks) else 0
        verso = masks[at + 1] if at + 1 < len(masks) else 0
        up |= recto if recto_up else verso
        down |= verso if recto_up else recto
    return up, down


@lru_cache(maxsize=4096)
def leaves_of(way: Way, reading: str, outside: int, unit_pages: int) -> tuple[tuple[bool, int], ...]:
    """For every leaf of a block: whether its first page lies up, and where in the unit that page is (0-based).

    ``outside``: leaves of outer blocks on one side of the spine.
    """
    made = []
    whole = unit_pages // 2
    for nth, scheme in enumerate(way.pieces):
        round_it = outside + sum(piece.panels // 2 for piece in way.pieces[:nth])
        for leaf in read(scheme, reading):
            made.append((leaf.recto_on_front, 2 * unit_leaf(leaf.order, scheme.panels, round_it, whole)))
    return tuple(made)
