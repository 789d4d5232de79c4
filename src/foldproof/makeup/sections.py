# SPDX-License-Identifier: AGPL-3.0-or-later
"""How the pages of a book are divided into gathered sections.  Pure; counts only.

The rule: as many ordinary sections as there are, then shorter ones for the rest, next to the last rather than a mostly
blank one at the end; as few blanks as the fold allows (at most 3: no piece of folded paper has fewer than 4 pages),
always at the end, where the last section is an ordinary one and stays full of matter.

Twelve pages left over become an 8 and a 4, not a 12: both are folded by halves from the same sheet as the 16s (they
share the place of one), while a 12 wants three rows of panels, another sheet and bolts at the foot.  A 12 is folded
when the job asks for 12s.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from attrs import frozen

#: sizes that a remainder is made of, where the house folds them
SHORT_SIZES = (32, 16, 8, 4)


@frozen
class Unit:
    """One entry of the gathering: pages of the pieces set one in another, the outermost first."""

    pieces: tuple[int, ...]

    @property
    def pages(self) -> int:
        return sum(self.pieces)


@frozen
class Division:
    """A book divided."""

    units: tuple[Unit, ...]
    pages: int  #: of the manuscript with its front blanks

    @property
    def capacity(self) -> int:
        return sum(unit.pages for unit in self.units)

    @property
    def blanks(self) -> int:
        """Empty pages at the end."""
        return self.capacity - self.pages


def divide(
    pages: int, ordinary: Unit, shorts: Sequence[int], *, short_last: bool = False, one_unit: bool = False
) -> Division:
    """Divide ``pages`` into ordinary units and shorter ones.

    Args:
        pages: manuscript and front blanks, at least 1.
        ordinary: the unit of an ordinary section.
        shorts: sizes that may make up the rest; those not shorter than the ordinary one are left out.
        short_last: shorter sections at the very end instead of next to the last.
        one_unit: stitched: everything is set one in another, the outermost first.
    """
    if pages < 1:
        raise ValueError("a book has at least one page")
    whole, rest = divmod(pages, ordinary.pages)
    sizes = sorted({size for size in shorts if size < ordinary.pages}, reverse=True)
    extra = _remainder(rest, ordinary, sizes)
    units = [ordinary] * whole
    if extra == (ordinary.pages,):
        units.append(ordinary)
    elif extra:
        # the larger of several short ones lies nearer the end, so that the last is never the weakest
        short = [Unit((size,)) for size in sorted(extra)]
        at = len(units) if short_last or not units else len(units) - 1
        units[at:at] = short
    if one_unit:
        units = [_one_in_another(units, ordinary)]
    return Division(tuple(units), pages)


def _one_in_another(units: list[Unit], ordinary: Unit) -> Unit:
    """Everything in one unit: the outermost carries the last pages, so it is an ordinary one, the short ones next."""
    full = [piece for unit in units if unit == ordinary for piece in unit.pieces]
    short = sorted((unit.pages for unit in units if unit != ordinary), reverse=not full)
    return Unit((*full[:1], *short, *full[1:]))


def _remainder(rest: int, ordinary: Unit, sizes: list[int]) -> tuple[int, ...]:
    """Sizes for the rest: fewest blanks first, then fewest sections; one more ordinary one when that is no worse."""
    if rest == 0:
        return ()
    choices: list[tuple[int, ...]] = [(ordinary.pages,)]
    for count in range(1, len(sizes) + 1):
        choices.extend(chosen for chosen in combinations(sizes, count) if sum(chosen) >= rest)
    return min(choices, key=lambda chosen: (sum(chosen) - rest, len(chosen), chosen))
