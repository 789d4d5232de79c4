# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which pages carry colour, and in how many inks: what the plates of a book cost hangs on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from foldproof.preflight.measures import ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book, listed, numbers

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    inked = [ink for ink in ink_of(facts) if ink is not None and not ink.blank]
    coloured = [ink.index for ink in inked if set(ink.coverage) - {"Black"}]
    if not coloured or len(coloured) == len(inked):
        return
    by_number = Counter(len(ink.coverage) for ink in inked)
    kinds = [f"{counted(pages, 'page')} in {_inks(number)}" for number, pages in sorted(by_number.items())]
    black = sorted({ink.index for ink in inked} - set(coloured))
    # the fewer are named
    named = (
        f", {numbers(coloured)}{_sides(facts)}; the others are in black alone"
        if len(coloured) <= len(black)
        else f"{_sides(facts)}; in black alone {'is' if len(black) == 1 else 'are'} {numbers(black)}"
    )
    yield in_book(
        "colour-pages",
        Severity.NOTE,
        f"Colour is on {len(coloured)} of {counted(len(inked), 'printed page')}{named}. By number of inks: "
        f"{listed(kinds, 9)}.",
        "Nothing to do if that is meant; where colour is to be saved, keep it to whole sections, and set what need not "
        "be coloured in black alone.",
        measured=len(coloured),
        limit=len(inked),
        unit="pages",
    )


def _inks(number: int) -> str:
    return f"{_NUMBERS[number] if number < len(_NUMBERS) else number} {'ink' if number == 1 else 'inks'}"


def _sides(facts: Facts) -> str:
    """On how many printed sides they fall, where the make-up is known."""
    if not facts.sides:
        return ""
    coloured = {
        facts.sides[ink.index]
        for ink in facts.observations.ink
        if ink is not None and ink.index < len(facts.sides) and set(ink.coverage) - {"Black"}
    }
    return f", which fall on {len(coloured)} of {counted(len(set(facts.sides)), 'printed side')}"


CHECK = Check(
    id="colour-pages",
    title="Pages that carry colour",
    needs=frozenset({Needs.INK}),
    measures="In how many inks each page prints, from the inks themselves, where some pages of a book are in colour "
    "and some in black alone; with a make-up, also on how many sides of the sheets the coloured ones fall.",
    why="Plates and units of the press are paid for by the side of a sheet: one coloured page makes the whole side a "
    "coloured one.",
    remedy="Keep colour to as few sections as the book allows.",
    source="common practice, no source",
    run=_run,
    limits={},
    severity=Severity.NOTE,
)
