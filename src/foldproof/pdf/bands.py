# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words at the head and the foot of a page, caught while the object pass runs.

A Python callback sees only the first glyph of a line of text; so the outermost lines of
the head and foot bands are kept during the run, and read afterwards by MuPDF's own text device, which knows all glyphs.
Nothing is interpreted a second time.
"""

from __future__ import annotations

from typing import Any

import pymupdf
from attrs import frozen
from pymupdf import mupdf

_fitz: Any = pymupdf
_mu: Any = mupdf

#: depth of each band as a part of the trim's height: folios and running heads stand in the margins
_BAND = 0.17
#: of a band, what stands within this of its outermost line (points): the line itself, and one set a little off it
_LINE_PT = 15.0


@frozen
class Word:
    """A word in the trim frame, points."""

    x0: float
    y0: float
    x1: float
    y1: float
    text: str


_Held = tuple[float, Any, Any]


class Bands:
    """Collects the text of the two bands of one page."""

    def __init__(self, width_pt: float, height_pt: float) -> None:
        self.width, self.height = width_pt, height_pt
        self.low, self.high = height_pt * _BAND, height_pt * (1 - _BAND)
        #: text objects of each band, with the matrix and the height of their first glyph
        self.held: tuple[list[_Held], list[_Held]] = ([], [])
        self.outermost = [0.0, height_pt]

    def offer(self, text: Any, ctm: Any) -> None:
        """Take a text object when its first glyph stands in a band, near the outermost line seen so far."""
        span = text.head
        if span is None or span.len == 0:
            return
        first = span.items
        x, y = first.x, first.y
        down = ctm.b * x + ctm.d * y + ctm.f
        if self.high <= down <= self.height:
            at_foot = 0
            if down < self.outermost[0] - _LINE_PT:
                return
            self.outermost[0] = max(self.outermost[0], down)
        elif 0 <= down <= self.low:
            at_foot = 1
            if down > self.outermost[1] + _LINE_PT:
                return
            self.outermost[1] = min(self.outermost[1], down)
        else:
            return
        if not 0 <= ctm.a * x + ctm.c * y + ctm.e <= self.width:
            return
        # The text object lives on after the callback only when it is kept; the matrix does not.
        kept = _mu.FzText(_mu.ll_fz_keep_text(text))
        self.held[at_foot].append((down, kept, _mu.FzMatrix(ctm.a, ctm.b, ctm.c, ctm.d, ctm.e, ctm.f)))

    def words(self) -> tuple[Word, ...]:
        """The words of the outermost lines, in no promised order."""
        lines = [
            held for band, outermost in zip(self.held, self.outermost, strict=True) for held in band
            if abs(held[0] - outermost) <= _LINE_PT
        ]  # fmt: skip
        self.held = ([], [])
        if not lines:
            return ()
        page = _mu.FzStextPage(_mu.FzRect(0, 0, self.width, self.height))
        device = _mu.fz_new_stext_device(page, _mu.FzStextOptions())
        black, plain = _mu.fz_device_gray(), _mu.FzColorParams()
        for _, text, matrix in lines:
            _mu.fz_fill_text(device, text, matrix, black, [0.0], 1.0, plain)
        _mu.fz_close_device(device)
        found = _fitz.TextPage(page).extractWORDS()
        return tuple(
            Word(round(x0, 2), round(y0, 2), round(x1, 2), round(y1, 2), text) for x0, y0, x1, y1, text, *_ in found
        )
