# SPDX-License-Identifier: AGPL-3.0-or-later
"""How the pages of a book are divided into gathered sections.  Pure; counts only.

A division has ordinary sections of one size and, for the rest, at most one of each smaller size, never one more than is
wanted; as few blanks as the house allows (3 by custom: no piece of folded paper has fewer than 4 pages), always at the
end.  Which of the divisions is taken is a matter of what they cost.

A short section is never the first or the last of a book (common practice, no source): it lies next to the last, or is
set round or inside a full one.

Twelve pages left over become an 8 and a 4, not a 12: both are folded by halves from the same sheet as the 16s (they
share the place of one), while a 12 wants three rows of panels, another sheet and bolts at the foot.  A 12 is folded
when the job asks for 12s.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from attrs import frozen

#: sizes that a remainder is made of, where the house folds them
SHORT_SIZES = (32, 16, 8, 4)

NEXT_TO_LAST, WRAPPED, INSIDE, LAST = "next to last", "wrapped", "inside", "last"


@frozen
class Unit:
    """One entry of the gathering: pages of what is set one in another, the outermost first."""

    pieces: tuple[int, ...]
    #: number of the stock of each piece: 0 the text's, 1 … those of inserts; all of the text when empty
    stocks: tuple[int, ...] = ()

    @property
    def pages(self) -> int:
        return sum(self.pieces)

    @property
    def parts(self) -> tuple[tuple[int, int], ...]:
        """Pages and stock of each piece."""
        return tuple(zip(self.pieces, self.stocks or (0,) * len(self.pieces), strict=True))


@frozen
class Mix:
    """Ordinary sections and shorter ones that hold some pages."""

    ordinary: int
    shorts: tuple[int, ...]  #: ascending
    blanks: int


@frozen
class Division:
    """A book divided."""

    units: tuple[Unit, ...]
    pages: int  #: of the manuscript with its front blanks
    rule: str = ""  #: where the short ones went, and by whose rule, as a sentence

    @property
    def capacity(self) -> int:
        return sum(unit.pages for unit in self.units)

    @property
    def blanks(self) -> int:
        """Empty pages at the end."""
        return self.capacity - self.pages


def mixes(pages: int, ordinary: int, shorts: Sequence[int], most_blanks: int) -> tuple[Mix, ...]:
    """All ways to hold ``pages`` with so many blanks at the most; those with the fewest where none keeps to it.

    Args:
        pages: manuscript and front blanks, at least 1.
        ordinary: pages of an ordinary section.
        shorts: sizes that may make up the rest; those not shorter than the ordinary one are left out.
    """
    if pages < 1:
        raise ValueError("a book has at least one page")
    sizes = sorted({size for size in shorts if size < ordinary})
    found: list[Mix] = []
    for count in range(len(sizes) + 1):
        for chosen in combinations(sizes, count):
            whole = max(0, -(-(pages - sum(chosen)) // ordinary))
            blanks = whole * ordinary + sum(chosen) - pages
            smallest = min((*chosen, *((ordinary,) if whole else ())), default=0)
            if 0 <= blanks < smallest:  # else one of them could be left out
                found.append(Mix(whole, chosen, blanks))
    kept = [mix for mix in found if mix.blanks <= most_blanks]
    least = min(mix.blanks for mix in found)
    return tuple(
        sorted(
            kept or [mix for mix in found if mix.blanks == least],
            key=lambda mix: (mix.blanks, mix.ordinary + len(mix.shorts), mix.shorts),
        )
    )


def arranged(mix: Mix, ordinary: Unit, where: str = NEXT_TO_LAST) -> tuple[tuple[Unit, ...], str]:
    """The units of a mix in the order of the gathering, and the rule by which the short ones stand where they do."""
    full = [ordinary] * mix.ordinary
    shorts = [Unit((size,)) for size in mix.shorts]
    if not shorts:
        return tuple(full), ""
    sizes = " and ".join(str(size) for size in mix.shorts)
    those = "section" if len(shorts) == 1 else "sections"
    if where == LAST:
        return (*full, *shorts[::-1]), f"The short {those} of {sizes} at the very end, as the job asks."
    if not full:
        if len(shorts) == 1:
            return tuple(shorts), ""
        return (Unit(mix.shorts[::-1]),), f"Sections of {sizes} set one in another: no full one stands beside them."
    asked = where != NEXT_TO_LAST
    if len(full) == 1 and not asked:
        where = WRAPPED  # beside a single full one it would be first or last
    if where == NEXT_TO_LAST:
        # the larger of several short ones lies nearer the end, so that the last is never the weakest
        says = f"The short {those} of {sizes} next to the last: never first or last (custom of the trade)."
        return (*full[:-1], *shorts, full[-1]), says
    at = max(0, len(full) - 2)  # a full one that is not the last, where there are two
    pieces = (*mix.shorts, *ordinary.pieces) if where == WRAPPED else (*ordinary.pieces, *mix.shorts[::-1])
    full[at] = Unit(pieces)
    how = "wrapped round" if where == WRAPPED else "set inside"
    why = "as the job asks" if asked else "never first or last (custom of the trade)"
    return tuple(full), f"The short {those} of {sizes} {how} a full one: {why}."


def one_in_another(units: Sequence[Unit], ordinary: Unit) -> Unit:
    """Everything in one unit: the outermost carries the last pages, so it is an ordinary one, the short ones next."""
    full = [piece for unit in units if unit == ordinary for piece in unit.pieces]
    short = sorted((piece for unit in units if unit != ordinary for piece in unit.pieces), reverse=not full)
    return Unit((*full[:1], *short, *full[1:]))


def divide(
    pages: int, ordinary: Unit, shorts: Sequence[int], *, where: str = NEXT_TO_LAST, one_unit: bool = False
) -> Division:
    """The division with the fewest blanks, then the fewest sections: the first of :func:`mixes`, arranged.

    Args:
        where: where shorter sections go.
        one_unit: stitched: everything is set one in another, the outermost first.
    """
    return next(divisions(pages, ordinary, shorts, where=where, one_unit=one_unit, most_blanks=0))


def divisions(
    pages: int, ordinary: Unit, shorts: Sequence[int], *, where: str, one_unit: bool, most_blanks: int
) -> Iterator[Division]:
    """All divisions of a book without inserts."""
    for mix in mixes(pages, ordinary.pages, shorts, most_blanks):
        # in a stitched book all lie round one middle anyway: there is no next to the last
        units, rule = arranged(mix, ordinary, LAST if one_unit else where)
        if one_unit:
            units, rule = (one_in_another(units, ordinary),), ""
        yield Division(units, pages, rule)
