# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words at the head and the foot of a page, caught while the object pass runs.

A Python callback sees only the first glyph of a text object, and an object may be one word or, from some programs, all
the text of a page down to the folio.  So the objects that reach the outermost lines of the head and foot bands are
kept during the run, and read afterwards by MuPDF's own text device, which knows all glyphs.  Nothing is interpreted
a second time.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import pymupdf
from pymupdf import mupdf

_fitz: Any = pymupdf
_mu: Any = mupdf

#: depth of each band as a part of the trim's height: folios and running heads stand in the margins
_BAND = 0.17
#: of a band, what stands within this of its outermost line (points): the line itself, and one set a little off it
_LINE_PT = 15.0
#: glyphs of one font and size in one run: more than a line, so that only its bounds tell where it ends.  They are
#: dear; of shorter runs the first glyphs of the first and the last are looked at
_LONG = 160


class Word(NamedTuple):
    """A word in the trim frame, points.  A plain tuple: a book has a hundred thousand of them."""

    x0: float
    y0: float
    x1: float
    y1: float
    text: str


class Bands:
    """Collects the text of the two bands of one page."""

    def __init__(self, width_pt: float, height_pt: float) -> None:
        self.width, self.height = width_pt, height_pt
        self.low, self.high = height_pt * _BAND, height_pt * (1 - _BAND)
        #: bounds (foot and head end), the text object and its matrix
        self.held: list[tuple[float, float, Any, Any]] = []
        #: the head end of the highest object yet, the foot end of the lowest
        self.highest, self.lowest = self.high, self.low

    def offer(self, text: Any, ctm: Any) -> None:
        """Take a text object that reaches a band, near the outermost line seen so far."""
        head = text.head
        if head is None or head.len == 0:
            return
        if head.len > _LONG:
            box = _mu.ll_fz_bound_text(text, None, ctm)
            y0, y1 = box.y0, box.y1
        else:
            first, b, d, f = head.items, ctm.b, ctm.d, ctm.f
            y0 = y1 = b * first.x + d * first.y + f
            last = text.tail.items if head.next is not None else None
            if last is not None:
                y0, y1 = sorted((y0, b * last.x + d * last.y + f))
        if y0 > self.height or y1 < 0 or not (y1 >= self.highest - _LINE_PT or y0 <= self.lowest + _LINE_PT):
            return
        # what stands half outside the trim is kept, but says nothing about the others
        if self.highest < y1 <= self.height:
            self.highest = y1
        if 0 <= y0 < self.lowest:
            self.lowest = y0
        # the text object lives on after the callback only when it is kept; the matrix does not
        kept = _mu.FzText(_mu.ll_fz_keep_text(text))
        self.held.append((y0, y1, kept, _mu.FzMatrix(ctm.a, ctm.b, ctm.c, ctm.d, ctm.e, ctm.f)))

    def words(self) -> tuple[Word, ...]:
        """The words of the outermost lines, in no promised order."""
        objects = [
            (text, matrix)
            for y0, y1, text, matrix in self.held
            if y1 >= self.highest - _LINE_PT or y0 <= self.lowest + _LINE_PT
        ]
        self.held = []
        if not objects:
            return ()
        page = _mu.FzStextPage(_mu.FzRect(0, 0, self.width, self.height))
        device = _mu.fz_new_stext_device(page, _mu.FzStextOptions())
        black, plain = _mu.fz_device_gray(), _mu.FzColorParams()
        for text, matrix in objects:
            _mu.fz_fill_text(device, text, matrix, black, [0.0], 1.0, plain)
        _mu.fz_close_device(device)
        found = [
            word[:5]
            for word in _fitz.TextPage(page).extractWORDS()
            if word[0] >= 0 and word[1] >= 0 and word[2] <= self.width and word[3] <= self.height
        ]
        head = max(max((word[3] for word in found), default=0.0) - _LINE_PT, self.high)
        foot = min(min((word[1] for word in found), default=0.0) + _LINE_PT, self.low)
        return tuple(Word(*word) for word in found if word[3] >= head or word[1] <= foot)
