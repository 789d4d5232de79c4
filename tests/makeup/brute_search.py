# SPDX-License-Identifier: AGPL-3.0-or-later
"""The cheapest make-up of a small book by brute force; the whys in test_search_exact.py.

Every division that the rules allow, every way to part its sections among sheets, every setting, every number of copies,
every block face up or face down.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache
from itertools import combinations, product
from math import ceil
from typing import Any

from attrs import frozen

from foldproof.job.model import HouseLine
from foldproof.makeup.candidates import Setting, Task
from foldproof.makeup.candidates import settings as all_settings
from foldproof.makeup.cost_charges import FoldedPiece
from foldproof.makeup.cost_run import RunInput, binding_cost, perfects, run_cost
from tests.makeup.brute_folding import fold

Rank = tuple[int, ...]


@frozen
class Block:
    """A piece of folded paper: its pages by position in the book, from the first to the last; -1: past the end."""

    stock: int
    positions: tuple[int, ...]

    @property
    def pages(self) -> int:
        return len(self.positions)


# --- divisions, by the rules as they are written down -----------------------------------------------------------------


def mixes(pages: int, ordinary: int, shorts: Sequence[int], most_blanks: int) -> list[tuple[int, tuple[int, ...]]]:
    """Ordinary sections and at most one of each smaller size, none more than wanted; blanks as few as allowed."""
    smaller = [size for size in shorts if size < ordinary]
    found = []
    for chosen in [c for n in range(len(smaller) + 1) for c in combinations(smaller, n)]:
        for whole in range(pages // ordinary + 2):
            all_of_them = [ordinary] * whole + list(chosen)
            blanks = sum(all_of_them) - pages
            if all_of_them and blanks >= 0 and all(blanks - size < 0 for size in all_of_them):
                found.append((blanks, whole, tuple(sorted(chosen))))
    few = [one for one in found if one[0] <= most_blanks]
    least = min(one[0] for one in found)
    return [one[1:] for one in few or [one for one in found if one[0] == least]]


def units_of(whole: int, shorts: tuple[int, ...], ordinary: int, stitched: bool) -> list[list[int]]:
    """Pieces of every gathered section, the outermost first: no short one first or last."""
    if stitched:
        return [[ordinary, *shorts, *[ordinary] * (whole - 1)]] if whole else [list(shorts[::-1])]
    if not shorts or (not whole and len(shorts) == 1):
        return [[ordinary]] * whole + [[size] for size in shorts]
    if not whole:
        return [list(shorts[::-1])]
    if whole == 1:
        return [[*shorts, ordinary]]
    return [*[[ordinary]] * (whole - 1), *[[size] for size in shorts], [ordinary]]


def blocks_of(units: Sequence[tuple[int, Sequence[int]]]) -> list[Block]:
    """Every piece with its pages: half of an outer piece before what lies in it, half behind."""
    blocks, first = [], 0
    for stock, pieces in units:
        inside = list(range(first, first + sum(pieces)))
        first += sum(pieces)
        for pages in pieces:
            half = pages // 2
            blocks.append(Block(stock, tuple(inside[:half] + inside[len(inside) - half :])))
            inside = inside[half : len(inside) - half]
    return blocks


@frozen
class Book:
    pages: int
    masks: tuple[int, ...]  #: inks of every page
    stitched: bool
    insert_at: int | None  #: pages of text before an insert of four


def divisions(book: Book, ordinary: int, shorts: Sequence[int], most_blanks: int) -> Iterator[list[list[Any]]]:
    if book.insert_at is None:
        for mix in mixes(book.pages, ordinary, shorts, most_blanks):
            yield [[0, pieces] for pieces in units_of(*mix, ordinary, book.stitched)]
        return
    before = [[0, [ordinary]]] * (book.insert_at // ordinary)
    for mix in mixes(book.pages - book.insert_at - 4, ordinary, shorts, most_blanks):
        yield [*before, [1, [4]], *([0, pieces] for pieces in units_of(*mix, ordinary, False))]


# --- sheets -----------------------------------------------------------------------------------------------------------


@cache
def rectos_up(columns: int, rows: int, folds: tuple[str, ...], head: str | None) -> tuple[bool, ...]:
    return tuple(leaf.recto_on_front for leaf in fold(columns, rows, folds, head, spine_left=True).leaves)


def faces(block: Block, setting: Setting, masks: Sequence[int]) -> tuple[int, int]:
    """Inks of the side that lies up and of the other, page by page."""
    scheme = setting.blocks[block.pages].way.main
    sides = [0, 0]
    for leaf, recto_up in enumerate(rectos_up(scheme.columns, scheme.rows, scheme.folds, scheme.head)):
        for verso in (0, 1):
            at = block.positions[2 * leaf + verso]
            sides[verso if recto_up else 1 - verso] |= masks[at] if at < len(masks) else 0
    return sides[0], sides[1]


@frozen(eq=False)
class Brute:
    task: Task
    line: HouseLine | None
    book: Book
    priced: bool

    def sheet(
        self, settings_: Sequence[Setting], blocks: Sequence[Block], known: dict[Any, Rank | None]
    ) -> Rank | None:
        """The cheapest sheet that carries just these blocks."""
        ranks = []
        for nth, setting in enumerate(settings_):
            if setting.stock != blocks[0].stock or any(b.pages not in setting.blocks for b in blocks):
                continue
            shares = [Fraction(setting.blocks[b.pages].size_mm[0] / setting.grid.cell_w_mm).limit_denominator(64)
                      for b in blocks]  # fmt: skip
            assert all(share in (1, Fraction(1, 2), Fraction(1, 4)) for share in shares)  # they fill cells to the end
            both = [faces(b, setting, self.book.masks) for b in blocks]
            sides = set()
            for over in product((0, 1), repeat=len(blocks)):
                front = back = 0
                for turned, pair in zip(over, both, strict=True):
                    front, back = front | pair[turned], back | pair[1 - turned]
                if setting.bed.way in ("work and turn", "work and tumble"):
                    front = back = front | back
                sides.add((front.bit_count(), back.bit_count()))
            counted = tuple(sorted(Counter(b.pages for b in blocks).items()))
            copies = 0
            while ceil(sum(shares) * (copies + 1)) <= setting.grid.cells:
                copies += 1
                for front, back in sides:
                    key = nth, counted, copies, front, back
                    if key not in known:
                        known[key] = self.rank(setting, counted, copies, front, back)
                    if (rank := known[key]) is not None:
                        ranks.append(rank)
        return min(ranks, default=None)

    def rank(
        self, setting: Setting, counted: tuple[tuple[int, int], ...], copies: int, front: int, back: int
    ) -> Rank | None:
        bed = setting.bed
        if bed.way == "perfecting" and not perfects(bed.press, front, back):
            return None
        on = copies * (2 if bed.way in ("work and turn", "work and tumble") else 1)
        pieces = tuple(
            FoldedPiece(setting.folders[pages], setting.blocks[pages].way.name, many * on) for pages, many in counted
        )
        stock, size = self.task.papers[setting.stock], (bed.width_mm, bed.height_mm)
        cost = run_cost(
            RunInput(bed.press, bed.way, front, back, stock, size, on, pieces),
            self.task.copies, self.task.binding, self.task.house.allowances,
        )  # fmt: skip
        plates, area, minutes = cost.quantity
        if self.priced:
            assert cost.money is not None
            return cost.money, plates, area // 100
        return plates, area // 100, minutes

    def division(self, settings_: Sequence[Setting], units: Sequence[Any], known: dict[Any, Any]) -> Rank | None:
        blocks = blocks_of(units)
        one_sheet: dict[tuple[int, ...], Rank | None] = {}
        best: Rank | None = None
        for parts in partitions(tuple(range(len(blocks)))):
            total: Rank | None = (0, 0, 0)
            for part in parts:
                if part not in one_sheet:
                    there = [blocks[n] for n in part]
                    alike = len({b.stock for b in there}) == 1
                    one_sheet[part] = self.sheet(settings_, there, known) if alike else None
                rank = one_sheet[part]
                total = None if rank is None or total is None else tuple(map(sum, zip(total, rank, strict=True)))
                if total is None:
                    break
            if total is not None and (best is None or total < best):
                best = total
        if best is None or not self.priced:
            return best
        nested = sum(len(pieces) - 1 for _, pieces in units)
        bound = binding_cost(
            len(units), nested, self.task.copies, self.line, self.task.binding, self.task.house.allowances
        )
        return (best[0] + (bound.money or 0), *best[1:])

    def best(self, sizes: Sequence[int], most_blanks: int) -> Rank | None:
        """Over all ordinary sizes; where shorter ones go nowhere, without them."""
        folded = sorted(self.task.ways, reverse=True)
        found = []
        for ordinary in sizes:
            for kept in range(len(folded), -1, -1):
                shorts, known = folded[:kept], {}
                there = {ordinary, *(size for size in folded if size < ordinary)}
                settings_ = [*all_settings(self.task, 0, there, None)]
                if self.book.insert_at is not None:
                    settings_ += all_settings(self.task, 1, {4}, None)
                ranks = [
                    self.division(settings_, units, known)
                    for units in divisions(self.book, ordinary, shorts, most_blanks)
                ]
                if any(rank is not None for rank in ranks):
                    found.append(min(rank for rank in ranks if rank is not None))
                    break
        return min(found, default=None)


def partitions(items: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Every way to part items into heaps."""
    if not items:
        yield ()
        return
    first, rest = items[0], items[1:]
    for count in range(len(rest) + 1):
        for others in combinations(rest, count):
            left = tuple(one for one in rest if one not in others)
            for more in partitions(left):
                yield ((first, *others), *more)
