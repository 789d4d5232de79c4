# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages of another stock between, round or inside the sections of a book, and double-page pictures on a centre.  Pure.

An insert's pages are pages of the manuscript, in reading order.  The text before it must fill whole sections, since no
blank page may stand in the middle of a book; what would make it do so is said where it does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import product

from attrs import frozen

from foldproof.errors import NoPlan
from foldproof.job.model import Insert, Spread
from foldproof.makeup.binding import LEAFLET, STITCHED
from foldproof.makeup.sections import NEXT_TO_LAST, Division, Mix, Unit, arranged, divisions, mixes
from foldproof.units import format_mm

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
        held = (insert.holds,) if insert.holds else ordinary.pieces
        return _Fixed(start, Unit((insert.pages, *held), (nth, *(0,) * len(held))))
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
            more, rule = _beside(mix, ordinary, where, nth > 0, nth < len(fixed))
            units += more
            rules += [rule] if rule else []
        if nth < len(fixed):
            units.append(fixed[nth].unit)
    return Division(tuple(units), pages, " ".join(dict.fromkeys(rules)))


def _beside(mix: Mix, ordinary: Unit, where: str, after: bool, before: bool) -> tuple[tuple[Unit, ...], str]:
    """The units of one stretch of text, after and before an insert or at an end of the book.

    Next to an insert a short section is neither first nor last, even where there is but one full one beside it.
    """
    shorts = tuple(Unit((size,)) for size in mix.shorts)
    if where != NEXT_TO_LAST or not shorts or not (after or before) or mix.ordinary > 1:
        return arranged(mix, ordinary, where)
    if not mix.ordinary:
        return (shorts, "") if after and before else arranged(mix, ordinary, where)
    sizes = " and ".join(str(size) for size in mix.shorts)
    those = "section" if len(shorts) == 1 else "sections"
    rule = f"The short {those} of {sizes} next to an insert: never first or last (custom of the trade)."
    return ((*shorts, ordinary) if after else (ordinary, *shorts)), rule


def _stitched(
    inserts: Sequence[Insert], pages: int, front: int, ordinary: Unit, shorts: Sequence[int], most_blanks: int
) -> Iterator[Division]:
    """Everything lies round one middle: an insert is the innermost of all, or the outermost."""
    if len(inserts) > 1:
        raise NoPlan("A stitched book takes one insert, at its centre or round all of it.", ('binding = "sewn"',))
    (insert,) = inserts
    text = pages - insert.pages
    start = insert.first_page - 1 + front
    found, centres = [], []
    for mix in mixes(text, ordinary.pages, shorts, most_blanks):
        whole = mix.ordinary * ordinary.pages + sum(mix.shorts)
        centres.append(whole // 2)
        full, short = ordinary.pieces * mix.ordinary, tuple(sorted(mix.shorts, reverse=not mix.ordinary))
        pieces = (*full[:1], *short, *full[1:])
        if insert.how == ROUND and start == 0 and insert.holds in (None, whole):
            found.append(Division((Unit((insert.pages, *pieces), (1, *(0,) * len(pieces))),), pages))
        elif insert.how != ROUND and start == whole // 2:
            found.append(Division((Unit((*pieces, insert.pages), (*(0,) * len(pieces), 1)),), pages))
    if found:
        yield from found
        return
    centre = centres[0] - front + 1
    ways = [f'first_page = {centre}, how = "inside"']
    if not front:
        ways.append('first_page = 1, how = "round"')
    held = f" and holds {insert.holds}" if insert.holds else ""
    raise NoPlan(
        f"In a stitched book of {text} pages of text an insert lies at the centre, at page {centre}, or round "
        f'all of it, from its very first page; the job has it at page {insert.first_page}, how = "{insert.how}"{held}.',
        tuple(ways),
    )


def refuse_inserts(inserts: Sequence[Insert], pages: int, sizes: Collection[int], binding: str) -> None:
    """Say no to what could stand nowhere, whatever the sections of the text.

    Args:
        pages: of the manuscript.
        sizes: pages of the pieces that the house folds for this binding.

    Raises:
        NoPlan: the message says why, ``would`` what would go.
    """
    if not inserts:
        return
    if binding == LEAFLET:
        raise NoPlan("A leaflet is one piece of paper, and nothing is set into it.", ('binding = "sewn"', "no insert"))
    if sum(insert.pages for insert in inserts) >= pages:
        raise NoPlan(
            f"The inserts of the job are all of its {_pages(pages)}, and no text is left to bind them with.",
            ("their stock as the stock of the paper, and no insert",),
        )
    for insert in inserts:
        wanted = [(insert.pages, "has")]
        if insert.how == ROUND and insert.holds and binding != STITCHED:
            wanted.append((insert.holds, "holds"))
        for count, verb in wanted:
            if count not in sizes:
                near = sorted(sizes, key=lambda size: (abs(size - count), size))[:2]
                raise NoPlan(
                    f"The insert at page {insert.first_page} {verb} {_pages(count)}, "
                    f"and the house folds no {binding} piece of so many.",
                    tuple(f"{size} pages" for size in sorted(near)),
                )


def insert_words(division: Division, inserts: Sequence[Insert], text_stock: str, front: int) -> tuple[str, ...]:
    """A sentence for every insert: which pages, on which stock, how they lie."""
    said = {}
    at = 1 - front  # PDF page with which a gathered section begins
    for unit in division.units:
        outside = 0
        for nth, (pages, stock) in enumerate(unit.parts):
            if stock:
                last = at + unit.pages - outside
                here = at + outside, last - 1
                inner = unit.pages - 2 * outside - pages
                which, how = _which(*here), "between sections"
                if inner:
                    half = pages // 2
                    one, other = _which(here[0], here[0] + half - 1), _which(last - half, last - 1)
                    which = f"{here[0]}, {here[0] + 1}, {other}" if half == 2 else f"{one} and {other}"
                    how = f"round {_pages(inner)}"
                elif nth:
                    how = f"inside {_pages(2 * outside)}"
                said[stock] = f"Insert: pages {which} on {inserts[stock - 1].stock or text_stock}, {how}."
            outside += pages // 2
        at += unit.pages
    return tuple(said[stock] for stock in sorted(said))


def _which(first: int, last: int) -> str:
    return f"{first} and {last}" if last == first + 1 else f"{first} to {last}"


# --- double-page pictures ---------------------------------------------------------------------------------------------


def with_spreads(division: Division, spreads: Sequence[Spread], front: int) -> Division:
    """The same sections in the order in which most double-page pictures lie on a centre; of equals the customary one.

    Only short sections that lie by themselves are moved, each among the text between two inserts, and never to the
    first or last place of the book.  One that the job has at the very end stays there.
    """
    if not spreads:
        return division
    sizes = [unit.pages for unit in division.units if not any(unit.stocks)]
    usual = max(sizes, key=lambda size: (sizes.count(size), size), default=0)
    wanted = [one.first_page - 1 + front for one in spreads]
    units: list[Unit] = []
    moved: list[int] = []
    stretch: list[Unit] = []
    for unit in (*division.units, None):
        if unit is not None and not any(unit.stocks):
            stretch.append(unit)
            continue
        first, last = len(units) == 0, unit is None
        done = _most_whole(stretch, sum(u.pages for u in units), usual, wanted, first, last)
        moved += [u.pages for u in stretch if _loose(u, usual)] if done != stretch else []
        units += done if unit is None else [*done, unit]
        stretch = []
    if not moved:
        return division
    those = f"section of {moved[0]} stands" if len(moved) == 1 else f"sections of {' and '.join(map(str, moved))} stand"
    return Division(
        tuple(units), division.pages, f"The short {those} where most double-page pictures lie on a centre (job)."
    )


def _loose(unit: Unit, usual: int) -> bool:
    return unit.pages < usual and len(unit.pieces) == 1


def _most_whole(
    stretch: list[Unit], start: int, usual: int, wanted: Sequence[int], first: bool, last: bool
) -> list[Unit]:
    """The short sections of a stretch put where most pictures lie whole: exact, over all orders of short among full.

    Args:
        start: 0-based position of its first page.
        wanted: positions of the left pages of the pictures.
        first, last: the stretch begins, or ends, the book.
    """
    short = [unit for unit in stretch if _loose(unit, usual)]
    full = [unit for unit in stretch if not _loose(unit, usual)]
    if not short or (last and stretch[-1] in short):
        return stretch
    every = (1 << len(short)) - 1
    # best[placed, mask]: most pictures from here on, and the next unit, when so many full ones and these short ones lie
    best: dict[tuple[int, int], tuple[int, Unit | None]] = {(len(full), every): (0, None)}
    for placed in range(len(full), -1, -1):
        for mask in range(every, -1, -1):
            at = start + sum(u.pages for u in full[:placed])
            at += sum(u.pages for nth, u in enumerate(short) if mask >> nth & 1)
            ways = [(full[placed], placed + 1, mask)] if placed < len(full) else []
            if (placed or not first) and (placed < len(full) or not last):
                ways += [(u, placed, mask | 1 << nth) for nth, u in enumerate(short) if not mask >> nth & 1]
            found = [(best[p, m][0] + wanted.count(_middle(at, unit)), unit) for unit, p, m in ways if (p, m) in best]
            if found:
                best[placed, mask] = max(found, key=lambda way: way[0])  # of equals the first: short ones late
    if (0, 0) not in best or best[0, 0][0] <= sum(wanted.count(m) for m in _middles(stretch, start)):
        return stretch
    order: list[Unit] = []
    placed = mask = 0
    while (unit := best[placed, mask][1]) is not None:
        order.append(unit)
        if unit in short:
            mask |= 1 << short.index(unit)
        else:
            placed += 1
    return order


def _middle(at: int, unit: Unit) -> int:
    """Position of the left page of a section's middle opening; -1 where its middle is a leaf and no opening."""
    return at + unit.pages // 2 - 1 if unit.pages % 4 == 0 else -1


def _middles(units: Sequence[Unit], start: int = 0) -> list[int]:
    found, at = [], start
    for unit in units:
        found.append(_middle(at, unit))
        at += unit.pages
    return [one for one in found if one >= 0]


def on_centre(division: Division, spreads: Sequence[Spread], front: int) -> tuple[Spread, ...]:
    """Those pictures whose two pages are the middle opening of a section."""
    middles = set(_middles(division.units))
    return tuple(one for one in spreads if one.first_page - 1 + front in middles)


def spread_words(division: Division, spreads: Sequence[Spread], front: int, ground_mm: float = 0.0) -> tuple[str, ...]:
    """A sentence for every double-page picture: whole on a centre, or how far it is from the nearest.

    Args:
        ground_mm: what is ground off either side of the crease before gluing: no picture is whole across that.
    """
    whole = set(on_centre(division, spreads, front))
    middles = _middles(division.units)
    edges, at = set(), 0
    for unit in division.units:
        at += unit.pages
        edges.add(at - 1)
    said = []
    for one in spreads:
        here = one.first_page - 1 + front
        pages = f"The picture over pages {one.first_page} and {one.first_page + 1}"
        if here + 1 >= division.pages:
            said.append(f"{pages} lies beyond the last page of the book, page {division.pages - front}.")
            continue
        if one in whole:
            ground = f"; {format_mm(ground_mm)} are ground off each side of the crease" if ground_mm else ""
            said.append(f"{pages} lies whole on the centre of a section{ground}.")
            continue
        if here % 2 == 0:
            said.append(f"{pages} is no opening: page {one.first_page} is printed on the front of its own leaf.")
            continue
        later = min((m - here for m in middles if m >= here), default=None)
        sooner = min((here - m for m in middles if m < here), default=None)
        ways = [f"{later} pages later" if later else "", f"{sooner} pages earlier" if sooner else ""]
        would = " or ".join(way for way in ways if way)
        across = "in two sections" if here in edges else "on two leaves of a section"
        so = f"it would be whole {would}" if would else "no section of this book has a middle opening"
        said.append(f"{pages} lies {across}; {so}.")
    return tuple(said)
