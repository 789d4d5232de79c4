# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small manuscripts in which every page says who it is: its number, four corners unlike each other, two edges bled."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from foldproof.manuscript.model import Manuscript
from foldproof.manuscript.read import read
from tests.build import Fill, book

#: points of the number on each page
SIZE_PT = 36.0
BLEED_MM = 3.0


def _corners(wide: float, high: float) -> list[Fill]:
    out = BLEED_MM
    return [
        Fill((2, high - 8, 8, high - 2)),  # head left: a square
        Fill((wide - 12, high - 4, wide + out, high + out), "0 0 0 0.6 k"),  # head right: a bar that bleeds both ways
        Fill((2, 2, 4, 12)),  # foot left: an upright bar
        Fill((wide - 14, 3, wide - 2, 5), "0 0 0 0.4 k"),  # foot right: a level one
        Fill((-out, high * 0.6, 3, high * 0.7), "0 0 0 0.8 k"),  # left edge: bleeds, above the middle
    ]


class Shelf:
    """Manuscripts, each written and read once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = cache(self._book)

    def _book(self, pages: int, trim_mm: tuple[float, float], printed: tuple[bool, ...] | None) -> Manuscript:
        corners = _corners(*trim_mm)

        def each(index: int) -> dict[str, Any]:
            if printed is not None and not printed[index]:
                return {"text": "", "folio": None}
            return {"text": str(index + 1), "fills": corners, "folio": None}

        target = self.folder / f"{self.book.cache_info().misses}.pdf"
        return read(book(pages, target, each=each, trim_mm=trim_mm, bleed_mm=BLEED_MM, size_pt=SIZE_PT))
