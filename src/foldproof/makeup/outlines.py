# SPDX-License-Identifier: AGPL-3.0-or-later
"""Divisions of a book, each with its cheapest sheets, ranked.  Pure.

An outline is a plan before anything has its place: which sections, which sheets, what they cost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import field, frozen

from foldproof.errors import NoPlan
from foldproof.job.model import HouseLine, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.candidates import Miss, Setting, Task, settings
from foldproof.makeup.cover import TooMany
from foldproof.makeup.faces import Classes, classes_of
from foldproof.makeup.inserts import divisions_round, refuse_inserts, with_spreads
from foldproof.makeup.rates import binding_rate
from foldproof.makeup.search import Covered, Pool, cover
from foldproof.makeup.sections import SHORT_SIZES, Division, Unit

#: classes of ink that are told apart for one size of section, and sets of counts that may then be looked at: in a small
#: book nearly all, in a large one the commonest
_TOLD_APART = ((10, 1024), (4, 400_000), (3, 400_000), (2, 400_000), (1, 400_000))


@frozen(eq=False)
class Request:
    """What a plan is asked for, all names resolved."""

    pages: int  #: of the manuscript
    whole: int  #: with the front blanks
    front: int
    job: Job
    task: Task
    line: HouseLine | None
    masks: tuple[int, ...]  #: inks of every place of the book, front blanks counted
    inks: tuple[str, ...]  #: names of the bits, in the order of the plates

    @property
    def most_blanks(self) -> int:
        asked = self.job.sections.blanks
        return self.task.house.allowances.blanks if asked is None else asked


@frozen(eq=False)
class Outline:
    """One way to make the book, reckoned to the end."""

    base: Unit
    division: Division
    classes: Classes
    covers: tuple[Covered, ...]  #: by stock: of the text, then of the inserts
    key: tuple[int, ...] = field()  #: what it costs, for ranking
    exact: bool = True  #: every class of inks was told apart
    pools: tuple[Pool, ...] = ()  #: what its sheets were chosen from, by stock

    @property
    def main(self) -> Setting:
        """Where its fullest sheets are printed."""
        return max(
            (pick for pick, _ in self.covers[0].chosen),
            key=lambda pick: sum(n * kind.pages for n, kind in zip(pick.content, self.classes.kinds, strict=True)),
        ).setting

    @property
    def largest(self) -> int:
        """Pages of the largest piece of the text: of an ordinary section, where the book is large enough for one."""
        return max(pages for unit in self.division.units for pages, stock in unit.parts if stock == 0)

    @property
    def like(self) -> tuple[object, ...]:
        """Plans that are alike in this are one alternative: pages of a section, press, size and grain of the sheet."""
        main = self.main
        return self.base.pages, main.bed.press.name, main.sheet


def outlines(
    request: Request, bases: Sequence[Unit], *, only_best: bool, most: int | None = None
) -> tuple[list[Outline], list[Miss]]:
    """The cheapest outline of every base, press and sheet, the cheapest of all first.

    Args:
        only_best: the first is wanted, and those that it is measured against (one of each size of section).
        most: so many of the best are enough; others may be left out.

    Raises:
        NoPlan: an insert of the job cannot stand where it is asked for, whatever the section.
    """
    refuse_inserts(request.job.inserts, request.pages, request.task.ways.keys(), request.task.binding)
    misses: list[Miss] = []
    best: list[Outline] = []
    stands: list[NoPlan] = []
    pools: dict[int, tuple[Pool, ...]] = {}
    for base in bases:
        pool = pools[id(base)] = _pools(request, base, misses)
        try:
            for group in _divisions(request, base):
                found = [one for division in group if (one := _outline(request, base, division, pool))]
                if found:
                    best.append(min(found, key=lambda one: one.key))
                    break
        except NoPlan as cannot:
            stands.append(cannot)
    if len(stands) == len(bases):
        raise stands[0]
    best.sort(key=lambda one: one.key)
    # ordinary sections that the book is too small for leave the same ones to it
    first: dict[tuple[Unit, ...], Outline] = {}
    for one in best:
        first.setdefault(one.division.units, one)
    best = list(first.values())
    if only_best or not best:
        return best, misses
    others = _others(best, pools)
    best = _distinct(best)
    for at_least, leader, main in others:
        if most is not None and len(best) >= most and at_least > best[most - 1].key[0]:
            break  # neither it nor any that follows is among the best
        other = _alternative(request, leader, pools[id(leader.base)], main)
        if other is not None:
            best = _distinct([*best, other])
    return best, misses


def _distinct(found: Sequence[Outline]) -> list[Outline]:
    """Of those that are alike the cheapest, the cheapest of all first."""
    kept: dict[tuple[object, ...], Outline] = {}
    for one in sorted(found, key=lambda one: one.key):
        kept.setdefault(one.like, one)
    return list(kept.values())


def _others(
    leaders: Sequence[Outline], pools: dict[int, tuple[Pool, ...]]
) -> list[tuple[float, Outline, tuple[int, ...]]]:
    """Presses and sheets that none of the leaders has, with what they cost at least, the least first."""
    known = {one.like for one in leaders}
    found = []
    for leader in leaders:
        pool = pools[id(leader.base)][0]
        rest = leader.key[0] - leader.covers[0].cost[0]  # binding, and sheets of other stocks
        for main, setting in _mains(pool, leader):
            like = (leader.base.pages, setting.bed.press.name, setting.sheet)
            if like not in known:
                known.add(like)
                # a little less, for what the binary fractions may have added
                found.append((rest + pool.at_least(leader.classes, 0, main) * (1 - 1e-9), leader, main))
    return sorted(found, key=lambda one: one[0])


def of_other_pages(request: Request, one: Outline) -> Outline | None:
    """The cheapest outline of the same ordinary sections for another number of pages, chosen from the same pools.

    Args:
        request: as ``one`` was asked for, but for the pages and their inks.

    Raises:
        NoPlan: an insert of the job stands where there is no page.
    """
    refuse_inserts(request.job.inserts, request.pages, request.task.ways.keys(), request.task.binding)
    for group in _divisions(request, one.base):
        found = [other for division in group if (other := _outline(request, one.base, division, one.pools))]
        if found:
            return min(found, key=lambda other: other.key)
    return None


def _mains(pool: Pool, leader: Outline) -> Iterator[tuple[tuple[int, ...], Setting]]:
    """Settings of one press and sheet together, whatever the way to print and however the sheet lies."""
    groups: dict[tuple[str, object], list[int]] = {}
    pages = leader.largest
    for index, one in enumerate(pool.settings):
        if one.cell.pages == pages:
            groups.setdefault((one.bed.press.name, one.sheet), []).append(index)
    for indices in groups.values():
        yield tuple(indices), pool.settings[indices[0]]


def _pools(request: Request, base: Unit, misses: list[Miss]) -> tuple[Pool, ...]:
    task = request.task
    text = {*base.pieces, *(size for size in SHORT_SIZES if size < base.pages)}
    text |= {insert.holds for insert in request.job.inserts if insert.holds}
    wanted = [text, *({insert.pages} for insert in request.job.inserts)]
    return tuple(
        Pool(task, tuple(sorted(settings(task, stock, sizes & task.ways.keys(), misses), key=lambda s: s.order)))
        for stock, sizes in enumerate(wanted)
    )


def _divisions(request: Request, base: Unit) -> Iterator[list[Division]]:
    """The divisions of the book with this ordinary section, those that are to be weighed against one another together.

    Where the shortest sections go through no folder they are left out, and the book has more blanks instead.
    """
    task, job = request.task, request.job
    shorts = [size for size in SHORT_SIZES if size in task.ways] or sorted(task.ways, reverse=True)
    if task.binding == bind.LEAFLET:
        shorts = []  # one sheet folded
    one_unit = task.binding == bind.STITCHED
    seen: set[tuple[Unit, ...]] = set()
    for kept in range(len(shorts), -1, -1):
        found = divisions_round(
            job.inserts, request.whole, request.front, base, shorts[:kept], where=job.sections.short,
            one_unit=one_unit, most_blanks=request.most_blanks,
        )  # fmt: skip
        group = []
        try:
            for told in found:
                division = with_spreads(told, job.spreads, request.front)
                if division.units not in seen and _can_nest(task, division):
                    seen.add(division.units)
                    group.append(division)
        except NoPlan:
            if kept == len(shorts):
                raise
            return  # an insert that stands among all sizes of section, and not among fewer
        if job.sections.pages is not None or job.sections.fold is not None:
            # sections of a size that was asked for: as many as the book holds
            most = max((_ordinary(division, base) for division in group), default=0)
            group = [division for division in group if _ordinary(division, base) == most]
        yield group


def _ordinary(division: Division, base: Unit) -> int:
    return sum(pieces.count(base.pieces[0]) for pieces in (unit.pieces for unit in division.units))


def _can_nest(task: Task, division: Division) -> bool:
    """Whether what has others set in it has a single middle."""
    return all(
        bind.nests(scheme, task.reading)
        for unit in division.units
        for pages in unit.pieces[:-1]
        for way in task.ways.get(pages, ())
        for scheme in way.pieces
    )


def _outline(request: Request, base: Unit, division: Division, pools: Sequence[Pool]) -> Outline | None:
    """The cheapest sheets of a division; ``None`` where some section of it has none."""
    task = request.task
    for most, states in _TOLD_APART:
        classes, exact = classes_of(division, task.ways, task.reading, request.masks, most)
        try:
            covers = [cover(pool, classes, stock, most_states=states) for stock, pool in enumerate(pools)]
        except TooMany:
            continue
        return _summed(request, base, division, classes, covers, exact, pools)
    return None


def _alternative(request: Request, leader: Outline, pools: Sequence[Pool], main: Sequence[int]) -> Outline | None:
    """The cheapest sheets of the same division when the fullest are printed in one of the settings ``main``."""
    try:
        first = cover(pools[0], leader.classes, 0, main)
    except TooMany:
        return None
    covers = [first, *leader.covers[1:]]
    return _summed(request, leader.base, leader.division, leader.classes, covers, leader.exact, pools)


def _summed(
    request: Request,
    base: Unit,
    division: Division,
    classes: Classes,
    covers: Sequence[Covered | None],
    exact: bool,
    pools: Sequence[Pool],
) -> Outline | None:
    done = [one for one in covers if one is not None]
    if len(done) < len(covers):
        return None
    parts = [one.cost for one in done if one.cost]
    bound = binding_rate(request.task, request.line, division)
    key = tuple(sum(each) for each in zip(*parts, bound, strict=True))
    # blanks last: of two that cost the same the one with fewer
    return Outline(base, division, classes, tuple(done), (*key, division.blanks), exact, tuple(pools))
