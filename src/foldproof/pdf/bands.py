# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words at the head and the foot of a page, caught while the object pass runs.

A text object may be one word or, from some programs, all the text of a page down to the folio.  The objects that reach
the outermost lines of the head and foot bands are kept during the run, and read afterwards by MuPDF's own text device,
which makes words of their glyphs.  Nothing is interpreted a second time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import pymupdf
from pymupdf import mupdf

from foldproof.pdf.native import ITEM, READ, Six, Span

_fitz: Any = pymupdf
_mu: Any = mupdf

#: depth of each band as a part of the trim's height: folios and running heads stand in the margins
_BAND = 0.17
#: of a band, what stands within this of its outermost line (points): the line itself, and one set a little off it
_LINE_PT = 15.0
#: glyphs of one font and size in one run: more than a line, so that each of them may lie highest or lowest.  Of shorter
#: runs the first and the last are looked at
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

    def offer(self, text: Any, matrix: Six, spans: Sequence[Span]) -> None:
        """Take a text object that reaches a band, near the outermost line seen so far."""
        _, b, _, d, _, f = matrix
        y0, y1 = self.height + 1, -1.0
        for span in spans:
            if span.glyphs > _LONG:
                low, high = _heights(span, b, d, f)
            else:
                low, high = b * span.x + d * span.y + f, b * span.last_x + d * span.last_y + f
                if low > high:
                    low, high = high, low
            y0, y1 = low if low < y0 else y0, high if high > y1 else y1
        if y0 > self.height or y1 < 0 or not (y1 >= self.highest - _LINE_PT or y0 <= self.lowest + _LINE_PT):
            return
        # what stands half outside the trim is kept, but says nothing about the others
        if self.highest < y1 <= self.height:
            self.highest = y1
        if 0 <= y0 < self.lowest:
            self.lowest = y0
        # the text object lives on after the callback only when it is kept
        self.held.append((y0, y1, _mu.FzText(_mu.ll_fz_keep_text(text)), _mu.FzMatrix(*matrix)))

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


def _heights(span: Span, b: float, d: float, f: float) -> tuple[float, float]:
    """How low and how high the baselines of a span lie; the numbers are those of the matrix that make a height."""
    items = np.frombuffer(READ.items(span), dtype=ITEM)
    every = b * items["x"] + d * items["y"] + f
    return float(every.min()), float(every.max())
