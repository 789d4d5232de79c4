# SPDX-License-Identifier: AGPL-3.0-or-later
"""Printed folios, from the words that stand at head and foot of the pages.

A number is taken for a folio only when its neighbours bear it out: it stands alone in its line or at an end of it, be
it with the number of all pages behind ("5 / 95", "5 of 95"), and pages near by count on from it.  A wrong folio would
send a reader to a wrong page; so in doubt there is none.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from attrs import frozen

from foldproof.pdf.bands import Word

#: how far away a page may be that bears a folio out, and how many such pages are needed
_NEAR, _WITNESSES = 4, 2
#: words whose baselines differ by less are one line (points)
_LINE_PT = 3.0
_ROMAN = re.compile(r"m{0,3}(cm|cd|d?c{0,3})(xc|xl|l?x{0,3})(ix|iv|v?i{0,3})")
_ROMAN_VALUES = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100, "d": 500, "m": 1000}
#: what may stand round a folio: ``- 12 -``, ``[12]``, ``· 12 ·``
_AROUND = " .,:;|/·•*~-–—[](){}<>\u2003"
#: what stands between a folio and the number of all pages, besides a stroke
_OF = frozenset(("of", "von", "de", "di", "sur", "van", "av", "af", "z", "ze", "из"))


@frozen
class Candidate:
    """A number that may be the folio."""

    style: str  #: ``"arabic"``, ``"roman"`` or ``"ROMAN"``
    value: int
    text: str


def candidates(words: Sequence[Word]) -> tuple[Candidate, ...]:
    """Numbers that stand alone in a line or at an end of it, each once."""
    lines: list[list[Word]] = []
    for word in sorted(words, key=lambda w: (w.y0 + w.y1, w.x0)):
        if lines and abs((lines[-1][0].y0 + lines[-1][0].y1) - (word.y0 + word.y1)) < 2 * _LINE_PT:
            lines[-1].append(word)
        else:
            lines.append([word])
    found: dict[Candidate, None] = {}
    for line in lines:
        texts = [t for word in sorted(line, key=lambda w: w.x0) for t in _parts(word.text) if t]
        for text in dict.fromkeys(texts[:1] + texts[-1:] + _before_all(texts)):
            number = _number(text)
            if number is not None:
                found[number] = None
    return tuple(found)


def folios(pages: Sequence[Sequence[Candidate]]) -> list[str | None]:
    """The folio of every page, ``None`` where none is borne out.

    Args:
        pages: the candidates of each page in order; none for a page that was not read.
    """
    runs = [Counter((c.style, index - c.value) for c in page) for index, page in enumerate(pages)]
    result: list[str | None] = []
    for index, page in enumerate(pages):
        near = runs[max(0, index - _NEAR) : index] + runs[index + 1 : index + 1 + _NEAR]
        backing = [(sum((c.style, index - c.value) in run for run in near), c) for c in page]
        best = max((count for count, _ in backing), default=0)
        borne_out = [c for count, c in backing if count == best and best >= _WITNESSES]
        result.append(borne_out[0].text if len(borne_out) == 1 else None)
    return result


def _parts(word: str) -> list[str]:
    """What a word says without its ornaments, ``5/95`` in two."""
    first, stroke, second = word.partition("/")
    if stroke and first.strip(_AROUND).isdecimal() and second.strip(_AROUND).isdecimal():
        return [first.strip(_AROUND), second.strip(_AROUND)]
    return [word.strip(_AROUND)]


def _before_all(texts: Sequence[str]) -> list[str]:
    """The number before that of all pages, at the end of the line."""
    if len(texts) < 2 or not texts[-1].isdecimal():
        return []
    before = texts[-2]
    if before in _OF and len(texts) > 2:
        before = texts[-3]
    return [before] if before.isdecimal() and int(before) <= int(texts[-1]) else []


def _number(text: str) -> Candidate | None:
    if text.isascii() and text.isdecimal() and len(text) <= 5 and not text.startswith("0"):
        return Candidate("arabic", int(text), text)
    low = text.lower()
    if text in (low, text.upper()) and low and _ROMAN.fullmatch(low):
        total = 0
        for sign, after in zip(low, [*low[1:], ""], strict=True):
            value = _ROMAN_VALUES[sign]
            total += -value if after and value < _ROMAN_VALUES[after] else value
        return Candidate("roman" if text == low else "ROMAN", total, text)
    return None
