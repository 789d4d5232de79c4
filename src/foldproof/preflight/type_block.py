# SPDX-License-Identifier: AGPL-3.0-or-later
"""The type area of a book, from those of its pages: where the text block stands on most rectos and most versos.

Lengths are millimetres in the trim frame of a page.  A book without a firm type area (ragged lines, a picture book, a
few pages) has none, and there is nothing to hold its pages against.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from foldproof.manuscript.seen import TypeArea
from foldproof.preflight.measures import objects_of, size_mm
from foldproof.preflight.model import Facts

#: edges nearer than this are the same: bounds of glyphs, hanging punctuation and rounded widths play within it
SAME_MM = 0.4
#: a page counts with so many lines at both edges
_LEAST_LINES = 5
#: ... and a book with so many such pages of a side, when this part of them agree
_LEAST_PAGES, _LEAST_PART = 8, 0.55


@frozen
class Block:
    """The usual text block of pages of one side of the leaf."""

    left_mm: float
    right_mm: float
    head_mm: float | None  #: ``None`` where pages do not agree
    foot_mm: float | None
    pages: int  #: how many pages keep to it

    @property
    def measure_mm(self) -> float:
        return self.right_mm - self.left_mm


def areas(facts: Facts) -> list[tuple[int, TypeArea]]:
    """Pages of the book's size with a text block that has two edges, by index.

    Raises:
        NotJudged: the object pass did not run.
    """
    found = []
    for page, seen in zip(facts.manuscript.pages, objects_of(facts), strict=True):
        area = seen.type_area if seen is not None else None
        if area is None or area.ragged or area.lines < _LEAST_LINES:
            continue
        if all(abs(one - other) <= 1.0 for one, other in zip(size_mm(page), facts.trim_mm, strict=True)):
            found.append((page.index, area))
    return found


def usual(pages: Sequence[tuple[int, TypeArea]]) -> Block | None:
    """What most of these pages keep to, ``None`` where they do not agree or are too few."""
    some = [area for _, area in pages]
    if len(some) < _LEAST_PAGES:
        return None
    left, right = agreed([a.left_mm for a in some]), agreed([a.right_mm for a in some])
    if left is None or right is None:
        return None
    keeping = sum(abs(a.left_mm - left) <= SAME_MM and abs(a.right_mm - right) <= SAME_MM for a in some)
    if keeping < _LEAST_PART * len(some):
        return None
    return Block(left, right, agreed([a.head_mm for a in some]), agreed([a.foot_mm for a in some]), keeping)


def sides(facts: Facts) -> tuple[list[tuple[int, TypeArea]], Block, Block] | None:
    """The pages, and the usual block of rectos and of versos; ``None`` for a book without a firm type area.

    Raises:
        NotJudged: the object pass did not run.
    """
    pages = areas(facts)
    recto = usual([page for page in pages if page[0] % 2 == 0])
    verso = usual([page for page in pages if page[0] % 2 == 1])
    if recto is None or verso is None or abs(recto.measure_mm - verso.measure_mm) > 2 * SAME_MM:
        return None
    return pages, recto, verso


def agreed(values: Sequence[float], part: float = _LEAST_PART) -> float | None:
    """The middle of the fullest heap of values, when more than ``part`` of them lie in it."""
    ordered = sorted(values)
    count, start, end = 0, 0, 0
    for place, value in enumerate(ordered):
        while end < len(ordered) and ordered[end] <= value + SAME_MM:
            end += 1
        if end - place > count:
            count, start = end - place, place
    return ordered[start + count // 2] if count and count >= part * len(ordered) else None
