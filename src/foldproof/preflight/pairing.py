# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which page of an earlier version a page of this one is.

Pages that occur once in both versions and follow one another in the same order are the same (the longest such row; the
method is known as patience sorting).  From them the likeness is followed to both sides, and what lies between is looked
at again by itself.  A stretch that has as many pages in both versions then goes page by page: it was changed in place.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence

from attrs import field, frozen

#: a stretch of the old pages and one of the new: first, end, first, end
_Range = tuple[int, int, int, int]


@frozen
class Pairing:
    """Pages by 0-based index."""

    #: new page: the old one that it is
    pairs: dict[int, int] = field(factory=dict)
    #: of the new ones, those that are as they were
    alike: frozenset[int] = frozenset()
    #: changed pages, new and old: number of the stretch that they lie in, the same on both sides
    new_stretch: dict[int, int] = field(factory=dict)
    old_stretch: dict[int, int] = field(factory=dict)
    #: how many pages either version has
    old_pages: int = 0
    new_pages: int = 0


def paired(old: Sequence[str], new: Sequence[str]) -> Pairing:
    """Pair the pages of two versions by their digests; an empty digest is like no other."""
    alike: dict[int, int] = {}
    changed: list[_Range] = []
    todo: list[_Range] = [(0, len(old), 0, len(new))]
    while todo:
        inner = _followed(old, new, todo.pop(), alike)
        anchors = _anchors(old, new, inner)
        if not anchors:
            changed.append(inner)
            continue
        o, end_o, n, end_n = inner
        for at_o, at_n in anchors:
            alike[at_n] = at_o
            todo.append((o, at_o, n, at_n))
            o, n = at_o + 1, at_n + 1
        todo.append((o, end_o, n, end_n))
    pairs, new_stretch, old_stretch = dict(alike), {}, {}
    for number, (o, end_o, n, end_n) in enumerate(sorted(changed)):
        new_stretch.update(dict.fromkeys(range(n, end_n), number))
        old_stretch.update(dict.fromkeys(range(o, end_o), number))
        if end_o - o == end_n - n:
            pairs.update(zip(range(n, end_n), range(o, end_o), strict=True))
    return Pairing(pairs, frozenset(alike), new_stretch, old_stretch, len(old), len(new))


def _followed(old: Sequence[str], new: Sequence[str], within: _Range, alike: dict[int, int]) -> _Range:
    """Pair what is alike from both ends; what is left between."""
    o, end_o, n, end_n = within
    while o < end_o and n < end_n and old[o] and old[o] == new[n]:
        alike[n] = o
        o, n = o + 1, n + 1
    while o < end_o and n < end_n and old[end_o - 1] and old[end_o - 1] == new[end_n - 1]:
        end_o, end_n = end_o - 1, end_n - 1
        alike[end_n] = end_o
    return o, end_o, n, end_n


def _anchors(old: Sequence[str], new: Sequence[str], within: _Range) -> list[tuple[int, int]]:
    """Pages that occur once in both stretches: the longest row of them that keeps its order."""
    o, end_o, n, end_n = within
    in_old, in_new = Counter(old[o:end_o]), Counter(new[n:end_n])
    place = {digest: n + at for at, digest in enumerate(new[n:end_n]) if digest and in_new[digest] == 1}
    both = [(at, place[old[at]]) for at in range(o, end_o) if in_old[old[at]] == 1 and old[at] in place]
    # Of every length of row so far: the least last place, where that stands in ``both``, and what comes before it.
    lasts: list[int] = []
    ends: list[int] = []
    before: list[int | None] = []
    for number, (_, at) in enumerate(both):
        length = bisect_left(lasts, at)
        before.append(ends[length - 1] if length else None)
        lasts[length : length + 1] = [at]
        ends[length : length + 1] = [number]
    row: list[tuple[int, int]] = []
    step: int | None = ends[-1] if ends else None
    while step is not None:
        row.append(both[step])
        step = before[step]
    return row[::-1]
