# SPDX-License-Identifier: AGPL-3.0-or-later
"""One bench's paper as plain data: the noun that every bench fills and that ``bench.typ`` frames.

A bench fills one :class:`Bench` (or several, one after the other: the press has one for every kind of sheet).  What
stands between the facts and the cautions is its own: ``body``, drawn by the function ``<layout>-body`` of a Typst
fragment that follows ``bench.typ``.  The frame adds head, code to scan, cautions, ticks and boxes to sign.

Each bench is a module of this room with one function ``benches(work: Work) -> tuple[Bench, ...]``, empty where the job
has no such bench; :mod:`foldproof.tickets.write` calls them in the order of the work.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from attrs import field, frozen

from foldproof.impose.marks.code import plain_ascii, symbol
from foldproof.manuscript.first_lines import cut_at_word
from foldproof.quantities.model import Count, Work
from foldproof.tickets.cautions import DEFER

#: form of the text of a ticket's code
FORM = "FT1"
#: letters of the title in a code, and on the head of a page
_CODE_LETTERS, _HEAD_LETTERS = 24, 110
#: letters without a space after which a line may break all the same
_LONG_WORD = 22


@frozen
class Bench:
    """One entry of the tickets; a page, or more where a table runs on."""

    bench: str  #: ``"press"``; entries of one bench stand one after the other and make one file
    name: str  #: as the head says it, ``"Press"``
    what: str  #: in a line, what goes over the bench: ``"sheets 1–4, 16 pages, octavo"``
    layout: str  #: ``"press"``: ``press-body(body)`` draws the body
    facts: tuple[tuple[str, str], ...] = ()  #: name and value, large, two in a row
    body: dict[str, Any] = field(factory=dict)
    #: the customary ones of the bench; :data:`foldproof.tickets.cautions.DEFER` closes them in the frame
    cautions: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()  #: what is ticked off, a few words each
    due: tuple[str, str] = ("", "")  #: quantity that comes in and that must go out, as reckoned; ``""`` unknown
    most_pages: int = 4  #: no fewer than it can come to: so many codes are made

    def as_data(self, first: bool) -> dict[str, Any]:
        """As ``bench.typ`` wants it.

        Args:
            first: whether it is the first entry of its bench.
        """
        return {
            "bench": self.bench,
            "name": self.name,
            "what": breakable(self.what),
            "layout": self.layout,
            "facts": [[name, breakable(value)] for name, value in self.facts if value],
            "body": self.body,
            "cautions": [*self.cautions, DEFER] if self.cautions else [],
            "checks": list(self.checks),
            "due": list(self.due),
            "first": first,
        }


def frame_data(title: str, benches: Sequence[Bench], date: str = "") -> dict[str, Any]:
    """Everything that ``bench.typ`` needs, of all benches in their order."""
    seen: set[str] = set()
    entries = []
    pages: dict[str, int] = {}
    for bench in benches:
        entries.append(bench.as_data(bench.bench not in seen))
        seen.add(bench.bench)
        pages[bench.bench] = pages.get(bench.bench, 0) + bench.most_pages
    return {
        "title": breakable(title),
        "head": breakable(short(title, _HEAD_LETTERS)),
        "date": date,
        "benches": entries,
        "codes": {name: [_svg(code_text(title, name, n)) for n in range(1, most + 1)] for name, most in pages.items()},
    }


def code_text(title: str, bench: str, page: int) -> str:
    """What the code on a page says: ``"FT1|The Lamps of Merrowb|press|1"``: job, bench, page of the bench."""
    return "|".join((FORM, plain_ascii(title)[:_CODE_LETTERS].rstrip(), bench, str(page)))


def due(work: Work, bench: str, sheets: Sequence[int] = ()) -> tuple[str, str]:
    """Quantity that comes to a bench and that must leave it, in words.

    Args:
        sheets: of these press sheets alone, where the bench works on sheets; each goes through by itself.
    """
    alike: dict[tuple[int, ...], list[Count]] = {}
    for count in counts_of(work, bench, sheets):
        alike.setdefault(count.sheets, []).append(count)
    if not alike:
        return "", ""
    # what goes through several times comes out of the last
    came = [(len(_of(group, sheets)), steps[0].goes_in, steps[-1].comes_out) for group, steps in alike.items()]
    return _each(came, 1), _each(came, 2)


def _of(group: Sequence[int], wanted: Sequence[int]) -> Sequence[int]:
    return [number for number in group if number in wanted] if group and wanted else group or (0,)


def _each(came: Sequence[tuple[int, int, int]], which: int) -> str:
    """``"1,130"``, ``"1,130 of each of 4"``, ``"1,060 to 1,130 of each of 12"``."""
    numbers = sorted({row[which] for row in came})
    many = sum(row[0] for row in came)
    told = f"{numbers[0]:,}" + (f" to {numbers[-1]:,}" if len(numbers) > 1 else "")
    return told + (f" of each of {many}" if many > 1 else "")


def counts_of(work: Work, bench: str, sheets: Sequence[int] = ()) -> tuple[Count, ...]:
    """What was reckoned of a bench; of some sheets alone where they are named."""
    wanted = set(sheets)
    return tuple(
        count
        for count in work.quantities.counts
        if count.bench == bench and (not wanted or not count.sheets or wanted.intersection(count.sheets))
    )


def short(text: str, letters: int) -> str:
    """A text on one line, cut to so many letters, at a space where one is near."""
    return cut_at_word(" ".join(text.split()), letters)


def breakable(text: str) -> str:
    """The same text, its very long words with places (zero width spaces) at which a line may break."""
    return re.sub(rf"\S{{{_LONG_WORD},}}", lambda found: _broken(found[0]), text)


def _broken(word: str) -> str:
    return "\u200b".join(word[at : at + 8] for at in range(0, len(word), 8))


def _svg(text: str) -> str:
    """A Data Matrix as one path, two white modules round it (ISO/IEC 16022 asks for one)."""
    rows = symbol(text, oblong=False)
    side = len(rows)
    path = []
    for down, row in enumerate(rows):
        start = 0
        while start < side:
            end = start
            while end < side and row[end] == row[start]:
                end += 1
            if row[start]:
                path.append(f"M{start + 2} {down + 2}h{end - start}v1h-{end - start}z")
            start = end
    whole = side + 4
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole} {whole}"><path d="{"".join(path)}"/></svg>'
