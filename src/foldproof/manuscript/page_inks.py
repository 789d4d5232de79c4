# SPDX-License-Identifier: AGPL-3.0-or-later
"""The inks that each page really carries, as the make-up asks for them: what a side carries decides its plates.

A page carries an ink when it marks the plate somewhere inside trim and bleed; what lies outside is not printed.  In
doubt an ink counts: a plate too many costs money, a plate too few costs the edition.  So

- matter in RGB, Lab or another space that is no ink counts as the ink pass converts it (ISO 32000-1, 10.3.4, with all
  grey in black): what is neutral asks for black alone, a colour for two of cyan, magenta and yellow at most, and black.
  A conversion by a profile may ask for more; ``rgb-matter`` says that it is to be done first;
- a tint below 1 % is none: no plate or screen holds it.  One pixel of more than that counts.  Both are told;
- matter in Separation /All is on every plate in use (8.6.6.4): a page that has it inside the trim carries every ink of
  the book, and black where the book has no other; in the bleed alone (marks) it asks for nothing.  /None is on none;
- a spot in glyphs of Type 3 or in a shading by function counts, and with it the process inks that it is drawn in here;
- a page that could not be interpreted counts as carrying all that it might.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence

from attrs import frozen

from foldproof.manuscript.model import Observations, PageInk
from foldproof.manuscript.seen import PROCESS, in_plate_order

_NO_SPOTS = ("All", "None", "")

#: less of the trim in solid ink, on all pages of a side, is a trace: 6 mm² of a page of 140 x 216 mm, as the check
#: ``light-plate`` has it; common practice, no source
TRACE = 0.0002
#: from 3 % on a halftone dot is sure to print (tone value limits of ISO 12647-2, from memory); what is below 1 % makes
#: no plate
_SURE_PERCENT, _LEAST_PERCENT = 3, 1
#: so many pages are named before the rest is counted
_NAMED = 8

Inks = tuple[str, ...]


def page_inks(observations: Observations, spots: Iterable[str] = ()) -> tuple[Inks, ...]:
    """The plates that each page marks, in page order; empty for a page with nothing on it.

    Within a page process inks come first, in the order cyan, magenta, yellow, black, then spots by name.

    Args:
        observations: with the ink pass; a page that it did not see counts as carrying every ink.
        spots: names that the file states (``Manuscript.spots``), which a page that could not be interpreted may carry.
    """
    known = _seen(observations)
    in_use = in_plate_order(name for ink in known if ink is not None for name in ink.inks)
    unseen = in_plate_order((*PROCESS, *in_use, *(name for name in spots if name not in _NO_SPOTS)))
    everywhere = in_use or ("Black",)
    return tuple(
        unseen if ink is None else everywhere if ink.every_plate else in_plate_order(ink.inks) for ink in known
    )


def ink_names(pages: Iterable[Iterable[str]]) -> Inks:
    """All inks of these pages in the order of the plates: of a book, of a side."""
    return in_plate_order(name for inks in pages for name in inks)


@frozen
class Trace:
    """A plate that carries next to nothing."""

    ink: str
    pages: tuple[int, ...]  #: 0-based: all pages of one side that carry it
    cover: float  #: of one page, 0 to 1, solid; 0 where it lies in the bleed alone


def traces(observations: Observations, sides: Sequence[Hashable]) -> tuple[Trace, ...]:
    """Plates that a side would have for next to nothing, in order of page.

    Args:
        sides: for every page the side it is printed on (``Plan.sides``).
    """
    carried: dict[tuple[Hashable, str], list[tuple[int, float]]] = defaultdict(list)
    more: set[tuple[Hashable, str | None]] = set()
    for index, (ink, side) in enumerate(zip(_seen(observations), sides, strict=True)):
        if ink is None or ink.every_plate:
            # it may bring as much of any ink
            more.add((side, None))
            continue
        # how much of these there is, nobody knows here; they are told for themselves
        more.update((side, name) for name in (*dict(ink.faint), *ink.stand_in))
        for name in ink.inks:
            carried[side, name].append((index, ink.coverage.get(name, 0.0)))
    found = [
        Trace(name, tuple(index for index, _ in pages), sum(cover for _, cover in pages))
        for (side, name), pages in carried.items()
        if not {(side, None), (side, name)} & more and sum(cover for _, cover in pages) <= TRACE
    ]
    return tuple(sorted(found, key=lambda trace: trace.pages))


def told(observations: Observations, sides: Sequence[Hashable] | None = None) -> tuple[str, ...]:
    """What :func:`page_inks` took for granted or left out, and plates for next to nothing; a sentence each.

    Args:
        sides: for every page the side it is printed on (``Plan.sides``); without them no plate is called light.
    """
    lines = []
    for index in sorted(n for n in range(len(observations.ink)) if n in observations.lost):
        lines.append(
            f"Page {index + 1} could not be interpreted ({observations.lost[index]}); it is taken to carry every ink."
        )
    dark = [n for n, ink in enumerate(observations.ink) if ink is None and n not in observations.lost]
    if dark:
        lines.append(f"The inks of {_pages(dark)} were not looked at; every ink is taken to be there.")
    every = [n for n, ink in enumerate(observations.ink) if ink is not None and ink.every_plate]
    if every:
        lines.append(
            f"Matter in the registration colour is on {_pages(every)}; it prints in every plate in use, so "
            f"{'this page is' if len(every) == 1 else 'these pages are'} taken to carry every ink of the book."
        )
    stand_in: dict[str, list[int]] = defaultdict(list)
    for index, ink in enumerate(_seen(observations)):
        for name in ink.stand_in if ink is not None else ():
            stand_in[name].append(index)
    lines += [
        f"{_said(name)} on {_pages(pages)} may stand in glyphs or shadings that can be looked at only in the process "
        "colour that stands in for it; both count for plates."
        for name, pages in sorted(stand_in.items())
    ]
    lines += _faint(observations)
    lines += [_trace(trace) for trace in traces(observations, sides)] if sides is not None else []
    return tuple(lines)


def _faint(observations: Observations) -> list[str]:
    """Tints that are too light to be sure of."""
    found: dict[tuple[bool, str], list[int]] = defaultdict(list)
    for index, ink in enumerate(_seen(observations)):
        if ink is not None:
            for name, _ in ink.faint:
                found[name in ink.inks, name].append(index)
    ends = {
        False: f"stays below {_LEAST_PERCENT} %; it does not print and counts for no plate.",
        True: f"stays below {_SURE_PERCENT} %, where a dot may not hold; it counts for a plate all the same.",
    }
    names = in_plate_order(name for _, name in found)
    return [
        f"{_said(name)} on {_pages(found[counts, name])} {end}"
        for counts, end in ends.items()
        for name in names
        if (counts, name) in found
    ]


def _trace(trace: Trace) -> str:
    where = f"{_said(trace.ink)} has next to nothing to print on the side of {_pages(trace.pages)}"
    if not trace.cover:
        return f"{where}, in the bleed alone: a plate for what is cut off."
    return f"{where} ({trace.cover * 100:.2g} % of a page in all): a plate for so little."


def _seen(observations: Observations) -> tuple[PageInk | None, ...]:
    """The inks of every page that was interpreted to its end."""
    return tuple(None if index in observations.lost else ink for index, ink in enumerate(observations.ink))


def _said(name: str) -> str:
    return name if name in PROCESS else f'"{name}"'


def _pages(indices: Sequence[int]) -> str:
    """``"page 3"``, ``"pages 3, 5 and 9"``; 1-based, as PDF readers count."""
    numbers = [str(index + 1) for index in indices[:_NAMED]]
    if len(indices) > _NAMED:
        numbers.append(f"{len(indices) - _NAMED} more")
    if len(numbers) == 1:
        return f"page {numbers[0]}"
    return f"pages {', '.join(numbers[:-1])} and {numbers[-1]}"
