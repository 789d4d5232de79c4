# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many sheets and books must be begun with so that enough are left at the end.  Exact.  Pure.

The reckoning runs backwards through the operations, from the finished books to the pile at the press.  An operation
that spoils the part ``w`` of what goes into it and wants ``s`` sheets to be set up needs

    in = out / (1 - w) + s

and what goes into it is what the operation before it must give.  So a set-up is grossed up by the waste of every
operation that the reckoning comes to after it, which are those done before it: a folder is set up on printed sheets,
and some were spoilt in printing them.  Written out: gross = net / product of (1 - w) + the set-ups, each so grossed up
(handbook waste-chain; standard estimating arithmetic, from memory).  Every step is a fraction; the end alone is
rounded, upwards.

The operations in their order: each pass through the press, folding, gathering (for stitched books: stitching), sewing
(sewn books), trimming, casing-in (of books that get no case it spoils nothing:
:func:`foldproof.job.covering.allowances_for`).  Leaflets are cut before they are folded, and never gathered.  The press
spoils its part in every pass (handbook waste-3pc counts by passes).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from math import ceil

from attrs import frozen

from foldproof.job.model import Allowances, Binding


@frozen
class Sheets:
    """How many of one press sheet."""

    net: int  #: for the copies wanted, nothing spoilt
    gross: int  #: to be laid on at the press
    folding: int  #: to be laid on at the folder


@frozen
class Books:
    """How many books go into each operation of binding, as exact numbers; as many as come out where it is not done."""

    gathered: Fraction
    sewn: Fraction
    trimmed: Fraction
    cased: Fraction


@lru_cache(maxsize=4096)
def exact(value: float) -> Fraction:
    """The number as the house file writes it: 4.35 is 435/100, not the nearest binary fraction."""
    return Fraction(str(value))


def half_up(value: Fraction, places: int) -> int:
    """In units of the last decimal place, halves upwards: 12.345 to two places is 1235."""
    tens: int = 10**places
    return (2 * value.numerator * tens + value.denominator) // (2 * value.denominator)


@lru_cache(maxsize=1024)
def books_fed(copies: int, binding: Binding, allowances: Allowances) -> Books:
    """Books that go into each operation, so that ``copies`` come out of the last.

    Raises:
        ValueError: fewer copies than one.
    """
    if copies < 1:
        raise ValueError(f"a run of {copies} copies is none")
    cased = copies / _left(allowances.spoil_casing) if binding != "leaflet" else Fraction(copies)
    trimmed = cased / _left(allowances.spoil_trimming)
    sewn = trimmed / _left(allowances.spoil_sewing) if binding == "sewn" else trimmed
    gathered = sewn / _left(allowances.spoil_gathering) if binding != "leaflet" else sewn
    return Books(gathered, sewn, trimmed, cased)


def sheets_needed(
    copies: int,
    copies_on: int,
    binding: Binding,
    allowances: Allowances,
    *,
    press_set_ups: Sequence[int] = (),
    folder_set_up: int = 0,
) -> Sheets:
    """How many of one press sheet are wanted.

    Net is copies / copies_on, rounded up (handbook sheets-formula, imp-wat-halves: a sheet that holds two copies of its
    sections is printed half as often).

    Args:
        copies: finished books.
        copies_on: so many copies of each of its sections stand on the sheet.
        press_set_ups: of each pass through the press, in order, the sheets that its make-ready takes; none: the sheet
            is not printed.
        folder_set_up: press sheets that setting the folder takes.

    Raises:
        ValueError: fewer copies than one, or fewer on a sheet.
    """
    return _sheets_needed(copies, copies_on, binding, allowances, tuple(press_set_ups), folder_set_up)


@lru_cache(maxsize=16384)
def _sheets_needed(
    copies: int,
    copies_on: int,
    binding: Binding,
    allowances: Allowances,
    press_set_ups: tuple[int, ...],
    folder_set_up: int,
) -> Sheets:
    if copies_on < 1:
        raise ValueError(f"a sheet with {copies_on} copies of its sections makes no books")
    # a leaflet goes through the knife before the folder
    folded = books_fed(copies, binding, allowances).gathered if binding != "leaflet" else Fraction(copies)
    folding = folded / copies_on / _left(allowances.spoil_folding) + folder_set_up
    need = folding if binding != "leaflet" else folding / _left(allowances.spoil_trimming)
    press = _left(allowances.spoil_press)
    for set_up in reversed(press_set_ups):
        need = need / press + set_up
    return Sheets(ceil(Fraction(copies, copies_on)), ceil(need), ceil(folding))


def _left(per_cent: float) -> Fraction:
    """The part of what goes in that comes out."""
    return 1 - exact(per_cent) / 100
