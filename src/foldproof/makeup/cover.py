# SPDX-License-Identifier: AGPL-3.0-or-later
"""The cheapest sheets that carry so many sections of each class, no more and no fewer.  Exact.  Pure.

It knows classes, contents and costs, and nothing of paper.  Bellman's recurrence over every smaller set of counts:
the least cost of ``s`` is the least of ``cost(p) + least(s - content(p))`` over the patterns ``p`` (R. Bellman,
Dynamic Programming, 1957: the knapsack whose articles may be taken again and again).  Every cost is a whole number,
so that no rounding can turn one choice into another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import prod
from typing import Any

import numpy as np
import numpy.typing as npt
from attrs import frozen

#: whole numbers up to this many bits go into one int64: two of them and the mark for "not reached" add up without
#: overflow
WORD_BITS = 61
#: what one call of numpy costs, in elements that it could work through instead (measured, some microsecond)
_CALL = 1500


class TooMany(Exception):
    """There are more sets of counts than may be looked at; the message says how many."""


@frozen
class Pattern:
    """One kind of sheet, to be used as often as one likes."""

    content: tuple[int, ...]  #: how many sections of each class one sheet carries, at least one of them more than 0
    cost: tuple[int, ...]  #: whole numbers, none below 0, compared one after another
    ref: int  #: the caller's number for it


@frozen
class Solution:
    """So many sheets of each kind."""

    cost: tuple[int, ...]  #: summed over all sheets
    chosen: tuple[tuple[int, int], ...]  #: ref and how many times, by ref


def cheapest(counts: tuple[int, ...], patterns: Sequence[Pattern], limit_states: int = 400_000) -> Solution | None:
    """The cheapest sheets whose contents add up to the counts exactly; ``None`` where none do.

    Of solutions that cost the same the one of fewest sheets is taken, then the one whose refs, written out in
    ascending order, come first in the dictionary's sense.  Patterns of the same content count as the cheapest of them,
    the lowest ref first.

    Args:
        counts: sections wanted of each class.
        patterns: contents as long as ``counts``, costs all of the same length.
        limit_states: how many sets of counts, the product of (count + 1), may be looked at.

    Raises:
        TooMany: there are more.
        ValueError: a count or cost below 0, an empty pattern, contents or costs of unlike length.
    """
    _hold(counts, patterns)
    states = prod(count + 1 for count in counts)
    if states > limit_states:
        raise TooMany(f"{states} sets of counts are more than the {limit_states} that may be looked at")
    usable = _reduced(counts, patterns)
    length = len(patterns[0].cost) if patterns else 0
    if not any(counts):
        return Solution((0,) * length, ())
    if not usable:
        return None
    packing = _packing(counts, usable)
    table = _Table(counts, packing)
    worth = [packing.words((*pattern.cost, 1)) for pattern in usable]
    # small contents first: most larger ones then show as no better than what has been put together already
    for nth in sorted(range(len(usable)), key=lambda nth: (sum(usable[nth].content), nth)):
        table.allow(usable[nth].content, worth[nth])
    return _traced(counts, usable, worth, table)


def _hold(counts: tuple[int, ...], patterns: Sequence[Pattern]) -> None:
    if any(count < 0 for count in counts):
        raise ValueError(f"counts {counts} go below 0")
    for pattern in patterns:
        if len(pattern.content) != len(counts) or min(pattern.content, default=0) < 0 or not any(pattern.content):
            raise ValueError(f"pattern {pattern.ref} carries {pattern.content}, which is no content for {counts}")
        if len(pattern.cost) != len(patterns[0].cost) or min(pattern.cost, default=0) < 0:
            raise ValueError(f"pattern {pattern.ref} costs {pattern.cost}, which is no cost beside {patterns[0].cost}")


def _reduced(counts: tuple[int, ...], patterns: Sequence[Pattern]) -> list[Pattern]:
    """Of each content the cheapest, by ref; without those that carry more of a class than is wanted."""
    best: dict[tuple[int, ...], Pattern] = {}
    for pattern in patterns:
        if any(held > wanted for held, wanted in zip(pattern.content, counts, strict=True)):
            continue
        other = best.get(pattern.content)
        if other is None or (pattern.cost, pattern.ref) < (other.cost, other.ref):
            best[pattern.content] = pattern
    return sorted(best.values(), key=lambda pattern: (pattern.ref, pattern.content))


# --- costs as machine words -----------------------------------------------------------------------------------------


@frozen
class _Packing:
    """How the digits of a cost (the number of sheets is the last) go into whole numbers that compare as they do."""

    #: of each word the bits of its digits, the weightiest first
    bits: tuple[tuple[int, ...], ...]
    exact: bool  #: one word of Python's own numbers, for a digit that is wider than an int64 holds

    def words(self, cost: tuple[int, ...]) -> tuple[int, ...]:
        digits = iter(cost)
        made = []
        for word in self.bits:
            value = 0
            for width in word:
                value = value << width | next(digits)
            made.append(value)
        return tuple(made)

    @property
    def never(self) -> int:
        """More than the first word of any sum: not reached."""
        return 1 << max(sum(self.bits[0]), WORD_BITS if not self.exact else 0)


def _packing(counts: tuple[int, ...], patterns: list[Pattern]) -> _Packing:
    """Widths that no sum over the sheets of a solution, whole or in part, can overflow.

    A sheet of n sections and cost c pays c / n for each; so all sheets pay at most the sections wanted times the most
    that any pattern pays for one.
    """
    wanted = sum(counts)
    costs = [(*pattern.cost, 1) for pattern in patterns]
    carried = [sum(pattern.content) for pattern in patterns]
    most = [
        max(wanted * digit // n for digit, n in zip(column, carried, strict=True))
        for column in zip(*costs, strict=True)
    ]
    widths = [max(1, value.bit_length()) for value in most]
    if max(widths) > WORD_BITS:
        return _Packing((tuple(widths),), True)
    words: list[list[int]] = [[]]
    for width in widths:
        if sum(words[-1]) + width > WORD_BITS:
            words.append([])
        words[-1].append(width)
    return _Packing(tuple(map(tuple, words)), False)


# --- the table of least costs ---------------------------------------------------------------------------------------


class _Table:
    """The least cost of every set of counts up to those wanted, with the patterns allowed so far."""

    def __init__(self, counts: tuple[int, ...], packing: _Packing) -> None:
        self.counts = counts
        self.never = packing.never  #: first word of what nothing adds up to
        kind: Any = object if packing.exact else np.int64
        shape = tuple(count + 1 for count in counts)
        self.words: list[npt.NDArray[Any]] = [np.zeros(shape, kind) for _ in packing.bits]
        self.words[0][...] = self.never
        self.words[0][(0,) * len(counts)] = 0

    def at(self, place: tuple[int, ...]) -> tuple[int, ...]:
        """Least cost in words; the first is :attr:`never` where nothing adds up to it."""
        return tuple(int(word[place]) for word in self.words)

    def allow(self, content: tuple[int, ...], worth: tuple[int, ...]) -> None:
        """One more pattern, to be used as often as one likes."""
        if self.at(content) <= worth:
            return  # what is there already makes it up at no more, and so it does everywhere
        steps = [count // held if held else 0 for count, held in zip(self.counts, content, strict=True)]
        often = min(step for step, held in zip(steps, content, strict=True) if held)
        along = min((axis for axis, held in enumerate(content) if held), key=lambda axis: steps[axis])
        size = self.words[0].size
        if often.bit_length() * (size + _CALL) <= steps[along] * _CALL + size:
            # once at most, then thrice at most, then seven times ...: 1, 2, 4 ... more in one go
            for power in range(often.bit_length()):
                times = 1 << power
                held = tuple(times * one for one in content)
                self._better(_shifted(held, self.counts), tuple(times * one for one in worth))
        else:
            # in slabs as thick as the pattern: each rests on the one before, which is finished
            for slab in _slabs(content, self.counts, along):
                self._better(slab, worth)

    def _better(self, places: tuple[tuple[slice, ...], tuple[slice, ...]], worth: tuple[int, ...]) -> None:
        """Where what lies at the source and ``worth`` together are less than what lies at the target, take them."""
        target, source = places
        new = [word[source] + one for word, one in zip(self.words, worth, strict=True)]
        old = [word[target] for word in self.words]
        if len(new) == 1:
            np.minimum(old[0], new[0], out=old[0])
            return
        less = new[-1] < old[-1]
        for mine, theirs in zip(reversed(new[:-1]), reversed(old[:-1]), strict=True):
            less &= mine == theirs
            less |= mine < theirs
        for mine, theirs in zip(new, old, strict=True):
            np.copyto(theirs, mine, where=less)


def _shifted(held: tuple[int, ...], counts: tuple[int, ...]) -> tuple[tuple[slice, ...], tuple[slice, ...]]:
    """All places that lie at least ``held`` from nought, and the places from which they are reached."""
    target = tuple(slice(one, count + 1) for one, count in zip(held, counts, strict=True))
    source = tuple(slice(0, count + 1 - one) for one, count in zip(held, counts, strict=True))
    return target, source


def _slabs(
    content: tuple[int, ...], counts: tuple[int, ...], along: int
) -> Iterator[tuple[tuple[slice, ...], tuple[slice, ...]]]:
    target, source = (list(places) for places in _shifted(content, counts))
    thick, end = content[along], counts[along] + 1
    for start in range(thick, end, thick):
        stop = min(start + thick, end)
        target[along], source[along] = slice(start, stop), slice(start - thick, stop - thick)
        yield tuple(target), tuple(source)


def _traced(
    counts: tuple[int, ...], patterns: list[Pattern], worth: list[tuple[int, ...]], table: _Table
) -> Solution | None:
    """The way back, the lowest ref first.

    The first ref is the lowest that any cheapest solution holds; what is then left has no cheapest solution with a
    lower one, or the whole would have had it.  So each pattern is asked in turn and never again.
    """
    place, left = counts, table.at(counts)
    if left[0] >= table.never:
        return None
    chosen: dict[int, int] = {}
    total = [0] * len(patterns[0].cost)
    for pattern, own in zip(patterns, worth, strict=True):
        while all(one >= held for one, held in zip(place, pattern.content, strict=True)):
            before = tuple(one - held for one, held in zip(place, pattern.content, strict=True))
            rest = table.at(before)
            if tuple(one + more for one, more in zip(rest, own, strict=True)) != left:
                break
            place, left = before, rest
            chosen[pattern.ref] = chosen.get(pattern.ref, 0) + 1
            total = [one + more for one, more in zip(total, pattern.cost, strict=True)]
    return Solution(tuple(total), tuple(sorted(chosen.items())))
