# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages of another stock between, round or inside the sections of a book, and double-page pictures on a centre.  Pure.

An insert's pages are pages of the manuscript, in reading order.  The text before it must fill whole sections, since no
blank page may stand in the middle of a book; what would make it do so is said where it does not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from attrs import frozen

from foldproof.errors import NoPlan
from foldproof.job.model import Insert, Spread
from foldproof.makeup.sections import Division, Mix, Unit, arranged, divisions, mixes

BETWEEN, ROUND, WITHIN = "between", "round", "inside"
#: combinations of the parts of a book that are looked at
_MOST_COMBINATIONS = 400


@frozen
class _Fixed:
    """A gathered section whose place in the book is fixed: 0-based position of its first page."""

    start: int
    unit: Unit


def divisions_round(
    inserts: Sequence[Insert],
    pages: int,
    front: int,
    ordinary: Unit,
    shorts: Sequence[int],
    *,
    where: str,
    one_unit: bool,
    most_blanks: int,
) -> Iterator[Division]:
    """All divisions of a book, its inserts each in its place.

    Args:
        inserts: of the job, stock ``n`` of the plan being that of the ``n``-th insert, counted from 1.
        pages: manuscript and front blanks.
        front: blanks before the manuscript's first page.

    Raises:
        NoPlan: an insert cannot stand where the job has it; the message says why, ``would`` what would go.
    """
    if not inserts:
        yield from divisions(pages, ordinary, shorts, where=where, one_unit=one_unit, most_blanks=most_blanks)
        return
    if one_unit:
        yield from _stitched(inserts, pages, front, ordinary, shorts, most_blanks)
        return
    fixed = sorted((_fixed(nth, one, front, ordinary) for nth, one in enumerate(inserts, 1)), key=lambda f: f.start)
    ends = [0, *(one.start + one.unit.pages for one in fixed)]
    starts = [*(one.start for one in fixed), pages]
    choices: list[tuple[Mix | None, ...]] = []
    for nth, (low, high) in enumerate(zip(ends, starts, strict=True)):
        last = nth == len(fixed)
        if high < low:
            raise _too_far(fixed, nth, high, front, pages)
        if high == low:
            choices.append((None,))
            continue
        found = mixes(high - low, ordinary.pages, shorts, most_blanks if last else 0)
        if not last and found[0].blanks:
            raise _does_not_fill(high - low, found[0].blanks, high - front + 1, min((*shorts, ordinary.pages)))
        choices.append(found)
    for nth, chosen in enumerate(product(*choices)):
        if nth >= _MOST_COMBINATIONS:
            return
        yield _put_together(chosen, fixed, ordinary, where, pages)


def _fixed(nth: int, insert: Insert, front: int, ordinary: Unit) -> _Fixed:
    start = insert.first_page - 1 + front
    if insert.how == BETWEEN:
        return _Fixed(start, Unit((insert.pages,), (nth,)))
    if insert.how == ROUND:
        return _Fixed(start, Unit((insert.pages, insert.holds or ordinary.pages), (nth, 0)))
    half = ordinary.pages // 2
    if start < half:
        raise NoPlan(
            f"The insert at page {insert.first_page} cannot lie inside a section of {ordinary.pages} pages: "
            f"only {start} pages stand before it, and half a section has {half}.",
            (f'an insert at page {half - front + 1} or later, or how = "between"',),
        )
    return _Fixed(start - half, Unit((*ordinary.pieces, insert.pages), (*(0,) * len(ordinary.pieces), nth)))


def _too_far(fixed: Sequence[_Fixed], nth: int, high: int, front: int, pages: int) -> NoPlan:
    """The ``nth`` insert begins behind the last page, or before the one ahead of it ends."""
    before = fixed[nth - 1]
    first = before.start - front + 1
    if nth == len(fixed):
        return NoPlan(
            f"The section of the insert at page {first} ends {_pages(before.start + before.unit.pages - pages)} after "
            f"the last page of the book, page {pages - front}.",
            (f"an insert that ends at page {pages - front} or before",),
        )
    return NoPlan(
        f"The section of the insert at page {first} has {before.unit.pages} pages, and the next insert begins at page "
        f"{high - front + 1} already.",
        (f"the next insert at page {first + before.unit.pages} or later",),
    )


def _does_not_fill(pages: int, blanks: int, page: int, least: int) -> NoPlan:
    over = pages % least
    return NoPlan(
        f"The {pages} pages of text before the insert at page {page} do not fill whole sections: "
        f"{blanks} blank pages would stand in the middle of the book.",
        (
            f"the insert {_pages(over)} earlier, at page {page - over}" if over else "smaller sections",
            f"the insert {_pages(least - over)} later, at page {page + least - over}",
        ),
    )


def _pages(number: int) -> str:
    return "1 page" if number == 1 else f"{number} pages"


def _put_together(
    chosen: Sequence[Mix | None], fixed: Sequence[_Fixed], ordinary: Unit, where: str, pages: int
) -> Division:
    units: list[Unit] = []
    rules: list[str] = []
    for nth, mix in enumerate(chosen):
        if mix is not None:
            more, rule = arranged(mix, ordinary, where)
            units += more
            rules += [rule] if rule else []
        if nth < len(fixed):
            units.append(fixed[nth].unit)
    return Division(tuple(units), pages, " ".join(dict.fromkeys(rules)))


def _stitched(
    inserts: Sequence[Insert], pages: int, front: int, ordinary: Unit, shorts: Sequence[int], most_blanks: int
) -> Iterator[Division]:
    """Everything lies round one middle: an insert is the innermost of all, or the outermost."""
    if len(inserts) > 1:
        raise NoPlan("A stitched book takes one insert, at its centre or round all of it.", ('binding = "sewn"',))
    (insert,) = inserts
    text = pages - insert.pages
    start = insert.first_page - 1 + front
    for mix in mixes(text, ordinary.pages, shorts, most_blanks):
        whole = mix.ordinary * ordinary.pages + sum(mix.shorts)
        full, short = ordinary.pieces * mix.ordinary, tuple(sorted(mix.shorts, reverse=not mix.ordinary))
        pieces = (*full[:1], *short, *full[1:])
        if insert.how == ROUND and start == 0:
            yield Division((Unit((insert.pages, *pieces), (1, *(0,) * len(pieces))),), pages)
        elif insert.how != ROUND and start == whole // 2:
            yield Division((Unit((*pieces, insert.pages), (*(0,) * len(pieces), 1)),), pages)
        else:
            centre = whole // 2 - front + 1
            raise NoPlan(
                f"In a stitched book of {text} pages of text an insert lies at the centre, at page {centre}, or round "
                f'all of it, from page 1 with how = "round"; the job has it at page {insert.first_page}.',
                (f"first_page = {centre}",),
            )


def with_spreads(division: Division, spreads: Sequence[Spread], front: int) -> Division:
    """The same sections in the order in which most double-page pictures lie on a centre.

    Only a short section that lies by itself between others is moved, and never to the first or last place.
    """
    if not spreads or len(division.units) < 3:
        return division
    usual = max((unit.pages for unit in division.units), key=lambda size: sum(u.pages == size for u in division.units))
    loose = [n for n, u in enumerate(division.units) if u.pages < usual and not any(u.stocks) and n > 0]
    if len(loose) != 1 or any(any(unit.stocks) for unit in division.units):
        return division
    short = division.units[loose[0]]
    rest = [unit for n, unit in enumerate(division.units) if n != loose[0]]
    best, most = division, len(on_centre(division, spreads, front))
    for at in range(len(rest) - 1, 0, -1):
        moved = Division((*rest[:at], short, *rest[at:]), division.pages, division.rule)
        count = len(on_centre(moved, spreads, front))
        if count > most:
            says = f"The short section of {short.pages} stands where most double-page pictures lie on a centre (job)."
            best, most = Division(moved.units, moved.pages, says), count
    return best


def on_centre(division: Division, spreads: Sequence[Spread], front: int) -> tuple[Spread, ...]:
    """Those pictures whose two pages are the middle opening of a section."""
    middles, at = set(), 0
    for unit in division.units:
        middles.add(at + unit.pages // 2 - 1)
        at += unit.pages
    return tuple(one for one in spreads if one.first_page - 1 + front in middles)


def spread_words(division: Division, spreads: Sequence[Spread], front: int) -> tuple[str, ...]:
    """A sentence for every double-page picture: whole on a centre, or how far it is from the nearest."""
    whole = set(on_centre(division, spreads, front))
    middles, edges, at = [], set(), 0
    for unit in division.units:
        middles.append(at + unit.pages // 2 - 1)
        at += unit.pages
        edges.add(at - 1)
    said = []
    for one in spreads:
        here = one.first_page - 1 + front
        pages = f"The picture over pages {one.first_page} and {one.first_page + 1}"
        if one in whole:
            said.append(f"{pages} lies whole on the centre of a section.")
            continue
        if here % 2 == 0:
            said.append(f"{pages} is no opening: page {one.first_page} is printed on the front of its own leaf.")
            continue
        later = min((m - here for m in middles if m >= here), default=None)
        sooner = min((here - m for m in middles if m < here), default=None)
        ways = [f"{later} pages later" if later else "", f"{sooner} pages earlier" if sooner else ""]
        across = "in two sections" if here in edges else "on two leaves of a section"
        said.append(f"{pages} lies {across}; it would be whole {' or '.join(w for w in ways if w)}.")
    return tuple(said)
