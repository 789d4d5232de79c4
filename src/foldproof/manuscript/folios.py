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

from foldproof.geometry import Rect
from foldproof.manuscript.model import Observations
from foldproof.manuscript.seen import PrintedNumber
from foldproof.pdf.bands import Word
from foldproof.units import pt_to_mm

#: how far away a page may be that bears a folio out, and how many such pages are needed
_NEAR, _WITNESSES = 4, 2
#: how far away the pages may be whose folios tell where one stands (an even number), and how nearly they agree
_ODD_NEAR, _PLACE_MM = 8, 1.0
#: words whose baselines differ by less are one line (points)
_LINE_PT = 3.0
_ROMAN = re.compile(r"m{0,3}(cm|cd|d?c{0,3})(xc|xl|l?x{0,3})(ix|iv|v?i{0,3})")
_ROMAN_VALUES = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100, "d": 500, "m": 1000}
#: what may stand round a folio: ``- 12 -``, ``[12]``, ``· 12 ·``
_AROUND = " .,:;|/·•*~-–—[](){}<>\u2003"
#: what stands between a folio and the number of all pages, besides a stroke
_OF = frozenset(("of", "von", "de", "di", "sur", "van", "av", "af", "z", "ze", "из"))


def candidates(words: Sequence[Word]) -> tuple[PrintedNumber, ...]:
    """Numbers that stand alone in a line or at an end of it; places of words in points, trim frame."""
    lines: list[list[Word]] = []
    for word in sorted(words, key=lambda w: (w.y0 + w.y1, w.x0)):
        if lines and abs((lines[-1][0].y0 + lines[-1][0].y1) - (word.y0 + word.y1)) < 2 * _LINE_PT:
            lines[-1].append(word)
        else:
            lines.append([word])
    found: dict[PrintedNumber, None] = {}
    for line in lines:
        texts = [(t, word) for word in sorted(line, key=lambda w: w.x0) for t in _parts(word.text) if t]
        for text, word in dict.fromkeys(texts[:1] + texts[-1:] + _before_all(texts)):
            number = _number(text, word)
            if number is not None:
                found[number] = None
    return tuple(found)


def folios(pages: Sequence[Sequence[PrintedNumber]]) -> list[str | None]:
    """The folio of every page, ``None`` where none is borne out.

    Args:
        pages: the candidates of each page in order; none for a page that was not read.
    """
    runs = [Counter({(c.style, index - c.value) for c in page}) for index, page in enumerate(pages)]
    result: list[str | None] = []
    for index, page in enumerate(pages):
        near = runs[max(0, index - _NEAR) : index] + runs[index + 1 : index + 1 + _NEAR]
        backing = [(sum((c.style, index - c.value) in run for run in near), c) for c in page]
        best = max((count for count, _ in backing), default=0)
        # the same number at head and foot is one
        borne_out = list(dict.fromkeys(c.text for count, c in backing if count == best and best >= _WITNESSES))
        result.append(borne_out[0] if len(borne_out) == 1 else None)
    return result


def printed_folios(observations: Observations) -> tuple[str, ...]:
    """The folio of every page as it is printed, ``""`` where none is, where none is borne out or no object was seen.

    Args:
        observations: with the object pass, which reads the folios.
    """
    return tuple((seen.folio or "") if seen is not None else "" for seen in observations.objects)


def odd_folios(pages: Sequence[Sequence[PrintedNumber]], printed: Sequence[str | None]) -> list[PrintedNumber | None]:
    """The number that stands in the place of the folio on a page whose folio is not borne out: a misprint.

    Args:
        pages: as for :func:`folios`; ``printed`` is its result.
    """
    places = [
        next((c.place_mm for c in page if c.text == folio), None) if folio else None
        for page, folio in zip(pages, printed, strict=True)
    ]
    result: list[PrintedNumber | None] = []
    for index, page in enumerate(pages):
        odd = []
        if printed[index] is None and page:
            # rectos against rectos, versos against versos
            first = max(index % 2, index - _ODD_NEAR)
            near = [place for place in places[first : index + _ODD_NEAR + 1 : 2] if place]
            odd = [c for c in page if sum(_same_place(c.place_mm, place) for place in near) >= _WITNESSES]
        result.append(odd[0] if len(odd) == 1 else None)
    return result


def _same_place(one: Rect | None, other: Rect) -> bool:
    """Whether two numbers stand alike: as high, and beginning, ending or centred alike."""
    if one is None or abs(one.y0 + one.y1 - other.y0 - other.y1) > 2 * _PLACE_MM:
        return False
    starts, ends = abs(one.x0 - other.x0), abs(one.x1 - other.x1)
    return min(starts, ends, abs(one.x0 + one.x1 - other.x0 - other.x1) / 2) <= _PLACE_MM


def _parts(word: str) -> list[str]:
    """What a word says without its ornaments, ``5/95`` in two."""
    first, stroke, second = word.partition("/")
    if stroke and first.strip(_AROUND).isdecimal() and second.strip(_AROUND).isdecimal():
        return [first.strip(_AROUND), second.strip(_AROUND)]
    return [word.strip(_AROUND)]


def _before_all(texts: Sequence[tuple[str, Word]]) -> list[tuple[str, Word]]:
    """The number before that of all pages, at the end of the line."""
    if len(texts) < 2 or not texts[-1][0].isdecimal():
        return []
    before = texts[-3] if texts[-2][0] in _OF and len(texts) > 2 else texts[-2]
    return [before] if before[0].isdecimal() and int(before[0]) <= int(texts[-1][0]) else []


def _number(text: str, word: Word) -> PrintedNumber | None:
    place = Rect(*(round(pt_to_mm(v), 2) for v in word[:4]))
    if text.isascii() and text.isdecimal() and len(text) <= 5 and not text.startswith("0"):
        return PrintedNumber("arabic", int(text), text, place)
    low = text.lower()
    if text in (low, text.upper()) and low and _ROMAN.fullmatch(low):
        total = 0
        for sign, after in zip(low, [*low[1:], ""], strict=True):
            value = _ROMAN_VALUES[sign]
            total += -value if after and value < _ROMAN_VALUES[after] else value
        return PrintedNumber("roman" if text == low else "ROMAN", total, text, place)
    return None
