# SPDX-License-Identifier: AGPL-3.0-or-later
"""The exact search: section mix x sheet x press x way to print x stock sheet.  Pure.

A *content* is how many sections of each class stand on one sheet.  What a printed sheet costs hangs on its content
alone, once press, sheet and way are chosen; so for every content the cheapest setting is kept, and the sheets of a
book are the cheapest set of contents that adds up to its sections (:mod:`foldproof.makeup.cover`).  Nothing is
greedy: every division that the rules of :mod:`foldproof.makeup.sections` allow is reckoned to the end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import product

from attrs import define, field, frozen

from foldproof.makeup.candidates import Setting, Task
from foldproof.makeup.cover import Pattern, TooMany, cheapest
from foldproof.makeup.faces import Classes, Faces, Kind
from foldproof.makeup.layout import copies_that_go
from foldproof.makeup.rates import sheet_rate

#: contents of one setting, and sets of counts of one book, that are looked at; beyond them fewer classes are told apart
_MOST_CONTENTS = 20_000
_MOST_STATES = 400_000


@frozen(eq=False)
class Pick:
    """One kind of sheet of a plan: what stands on it, and where and how it is printed."""

    setting: Setting
    content: tuple[int, ...]  #: blocks of each class
    flips: tuple[bool, ...]  #: classes whose blocks are laid face down, so that fewer plates do
    copies: int  #: of every block on the sheet, or on one half of it
    cost: tuple[int, ...]


@frozen(eq=False)
class Covered:
    """The cheapest sheets for the blocks of one stock."""

    cost: tuple[int, ...]
    chosen: tuple[tuple[Pick, int], ...]  #: and how many of each


@define(eq=False)
class Pool:
    """Everything that can be printed on one stock, and what it costs; filled as it is asked."""

    task: Task
    settings: tuple[Setting, ...]
    _known: dict[tuple[int, tuple[tuple[Kind, int], ...]], Pick | None] = field(factory=dict)
    _rates: dict[tuple[int, int, tuple[tuple[int, int], ...], int, int], tuple[int, ...] | None] = field(factory=dict)
    _every: dict[tuple[tuple[Kind, ...], tuple[int, ...]], tuple[Pick, ...]] = field(factory=dict)
    _shares: dict[tuple[tuple[Kind, ...], tuple[int, ...]], dict[tuple[int, int], float]] = field(factory=dict)

    def every_pick(self, classes: Classes) -> tuple[Pick, ...]:
        """Everything that any setting can carry of some classes, but for settings that others beat.

        Raises:
            TooMany: some setting can carry more contents than may be looked at.
        """
        key = classes.kinds, classes.counts
        if key not in self._every:
            self._every[key] = tuple(pick for index in self._best_settings() for pick in self.picks(index, classes))
        return self._every[key]

    def at_least(self, classes: Classes, stock: int, main: Iterable[int]) -> float:
        """No sheets of which the fullest are printed in one of the settings ``main`` cost less, in the first figure.

        Every sheet's cost is shared among its pages; no block pays less than the least that any sheet asks of one.
        """
        first = [pick for index in main for pick in self.picks(index, classes)]
        fullest = max((_pages(pick, classes) for pick in first), default=0)
        key = classes.kinds, classes.counts
        if key not in self._shares:
            self._shares[key] = _least_shares(self.every_pick(classes), classes)
        least = _least_shares(first, classes)
        for (n, pages), share in self._shares[key].items():
            if pages < fullest:
                least[n, 0] = min(share, least.get((n, 0), math.inf))
        total = 0.0
        for n, (kind, count) in enumerate(zip(classes.kinds, classes.counts, strict=True)):
            if kind.stock == stock:
                total += (
                    count * kind.pages * min((share for (m, _), share in least.items() if m == n), default=math.inf)
                )
        return total

    def _best_settings(self) -> tuple[int, ...]:
        """Settings that no other beats: as many cells on no larger a sheet, in the same press, way and fold."""
        best: dict[object, list[int]] = {}
        for index, one in enumerate(self.settings):
            key = (one.bed.press.name, one.bed.way, one.cell.name, one.spine_upright, one.grain_right)
            held = best.setdefault(key, [])
            size, cells = _area(one), one.grid.cells
            if any(_area(self.settings[k]) <= size and self.settings[k].grid.cells >= cells for k in held):
                continue
            held[:] = [
                k for k in held if not (size <= _area(self.settings[k]) and cells >= self.settings[k].grid.cells)
            ]
            held.append(index)
        return tuple(sorted(index for held in best.values() for index in held))

    def picks(self, index: int, classes: Classes) -> Iterator[Pick]:
        """Everything that a setting can carry of some classes."""
        setting = self.settings[index]
        usable = [
            n for n, kind in enumerate(classes.kinds) if kind.stock == setting.stock and kind.pages in setting.blocks
        ]
        # the larger first, as they are laid: small ones then share a cell
        usable.sort(key=lambda n: -classes.kinds[n].pages)
        counts = classes.counts
        for content in _contents([counts[n] for n in usable], self._room(setting, classes, usable)):
            whole = [0] * len(counts)
            for n, many in zip(usable, content, strict=True):
                whole[n] = many
            pick = self._pick(index, classes.kinds, tuple(whole))
            if pick is not None:
                yield pick

    def _room(self, setting: Setting, classes: Classes, usable: Sequence[int]) -> Callable[[Sequence[int]], bool]:
        sizes = [setting.blocks[classes.kinds[n].pages].size_mm for n in usable]
        wide = setting.grid.cell_w_mm

        def fits(content: Sequence[int]) -> bool:
            # a bound first: more than the cells' whole width never goes in
            if (
                sum(many * size[0] for many, size in zip(content, sizes, strict=True))
                > wide * setting.grid.cells + 1e-6
            ):
                return False
            return copies_that_go(_listed(content, sizes), setting.grid, 1) > 0

        return fits

    def _pick(self, index: int, kinds: tuple[Kind, ...], content: tuple[int, ...]) -> Pick | None:
        key = (index, tuple((kinds[n], many) for n, many in enumerate(content) if many))
        if key not in self._known:
            self._known[key] = self._priced(index, kinds, content)
        known = self._known[key]
        if known is None or known.content == content:
            return known
        spread = dict(key[1])
        flips = dict(zip(spread, _kept(known), strict=True))
        return Pick(
            known.setting, content, tuple(flips.get(kind, False) for kind in kinds), known.copies, known.cost
        )  # fmt: skip

    def _priced(self, index: int, kinds: tuple[Kind, ...], content: tuple[int, ...]) -> Pick | None:
        """The cheapest number of copies, and the cheapest way up of every class.

        More copies on a sheet mean fewer sheets, but in a short run also pieces folded for no book; so each number is
        reckoned.
        """
        setting = self.settings[index]
        there = sorted((n for n, many in enumerate(content) if many), key=lambda n: -kinds[n].pages)
        sizes = _listed([content[n] for n in there], [setting.blocks[kinds[n].pages].size_mm for n in there])
        blocks: dict[int, int] = {}
        for n in there:  # one setting of the folder for pieces that fold alike, whatever their inks
            blocks[kinds[n].pages] = blocks.get(kinds[n].pages, 0) + content[n]
        sides = ways_up(tuple(kinds[n].faces[_way_nth(self.task, kinds[n].pages, setting)] for n in there))
        best: tuple[tuple[int, ...], int, tuple[bool, ...]] | None = None
        for copies in range(copies_that_go(sizes, setting.grid), 0, -1):
            for front, back, flips in sides:
                cost = self._rate(index, copies, tuple(blocks.items()), front, back)
                if cost is not None and (best is None or (cost, -copies, flips) < best):
                    best = cost, -copies, flips
        if best is None:
            return None
        flipped = dict(zip(there, best[2], strict=True))
        return Pick(setting, content, tuple(flipped.get(n, False) for n in range(len(content))), -best[1], best[0])

    def _rate(
        self, index: int, copies: int, blocks: tuple[tuple[int, int], ...], front: int, back: int
    ) -> tuple[int, ...] | None:
        """:func:`sheet_rate`, asked once: it hangs on how many inks either side carries, not on which."""
        setting = self.settings[index]
        inks = (front | back,) * 2 if setting.bed.halved else (front, back)
        key = index, copies, blocks, inks[0].bit_count(), inks[1].bit_count()
        if key not in self._rates:
            self._rates[key] = sheet_rate(self.task, setting, copies, blocks, front, back)
        return self._rates[key]


@lru_cache(maxsize=65536)
def ways_up(faces: tuple[Faces, ...]) -> tuple[tuple[int, int, tuple[bool, ...]], ...]:
    """Inks of front and back for the ways in which blocks can lie face up or down, and which lie down.

    The cost hangs on how many inks either side carries: of ways alike in that the first stands for all.  Blocks of one
    class lie alike: with one of two turned over both sides would carry all inks of the class, and more never costs
    less.
    """
    found: dict[tuple[int, int], tuple[int, int, tuple[bool, ...]]] = {}
    # what carries the same on both formes has nothing to gain by being turned over
    for flips in product(*((False, True) if up != down else (False,) for up, down in faces)):
        front = back = 0
        for (up, down), flip in zip(faces, flips, strict=True):
            front |= down if flip else up
            back |= up if flip else down
        found.setdefault((front.bit_count(), back.bit_count()), (front, back, flips))
    return tuple(found.values())


def _kept(pick: Pick) -> tuple[bool, ...]:
    return tuple(flip for flip, many in zip(pick.flips, pick.content, strict=True) if many)


def _way_nth(task: Task, pages: int, setting: Setting) -> int:
    return task.ways[pages].index(setting.blocks[pages].way)


def _least_shares(picks: Iterable[Pick], classes: Classes) -> dict[tuple[int, int], float]:
    """For every class and every size of sheet, in pages, that carries it: the least that such a sheet costs a page."""
    least: dict[tuple[int, int], float] = {}
    for pick in picks:
        pages = _pages(pick, classes)
        share = pick.cost[0] / pages
        for n, many in enumerate(pick.content):
            if many and share < least.get((n, pages), math.inf):
                least[n, pages] = share
    return least


def _area(setting: Setting) -> float:
    return setting.bed.width_mm * setting.bed.height_mm


def _listed(content: Sequence[int], sizes: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [size for many, size in zip(content, sizes, strict=True) for _ in range(many)]


def _contents(counts: Sequence[int], fits: Callable[[Sequence[int]], bool]) -> Iterator[tuple[int, ...]]:
    """All contents but the empty one that fit, each class up to its count.

    Raises:
        TooMany: there are more than may be looked at.
    """
    at = [0] * len(counts)
    made = 0

    def grown(n: int) -> Iterator[tuple[int, ...]]:
        nonlocal made
        if n == len(counts):
            if any(at):
                made += 1
                if made > _MOST_CONTENTS:
                    raise TooMany(f"more than the {_MOST_CONTENTS} contents of a sheet that may be looked at")
                yield tuple(at)
            return
        for many in range(counts[n] + 1):
            at[n] = many
            if many and not fits(at):
                break
            yield from grown(n + 1)
        at[n] = 0

    yield from grown(0)


def cover(
    pool: Pool, classes: Classes, stock: int, main: Iterable[int] | None = None, most_states: int = _MOST_STATES
) -> Covered | None:
    """The cheapest sheets for all blocks of one stock.

    Args:
        main: settings that the fullest sheets must be printed in; others then only carry less than those can.
        most_states: sets of counts that may be looked at.

    Returns:
        ``None`` when some block has no sheet.

    Raises:
        TooMany: more classes and sections than can be searched to the end.
    """
    kinds = [n for n, kind in enumerate(classes.kinds) if kind.stock == stock]
    counts = tuple(classes.counts[n] for n in kinds)
    if not any(counts):
        return Covered((), ())
    if math.prod(count + 1 for count in counts) > most_states:  # before the work of listing what goes on a sheet
        raise TooMany(f"{counts} of each class make more than the {most_states} sets that may be looked at")
    picks: Sequence[Pick]
    if main is None:
        picks = pool.every_pick(classes)
    else:
        first = [pick for index in main for pick in pool.picks(index, classes)]
        if not first:
            return None
        fullest = max(_pages(pick, classes) for pick in first)
        picks = first + [pick for pick in pool.every_pick(classes) if _pages(pick, classes) < fullest]
    patterns = [
        Pattern(tuple(pick.content[n] for n in kinds), pick.cost, ref) for ref, pick in enumerate(picks)
    ]  # fmt: skip
    if not patterns:
        return None
    found = cheapest(counts, patterns, most_states)
    if found is None:
        return None
    return Covered(found.cost, tuple((picks[ref], times) for ref, times in found.chosen))


def _pages(pick: Pick, classes: Classes) -> int:
    return sum(many * kind.pages for many, kind in zip(pick.content, classes.kinds, strict=True))
