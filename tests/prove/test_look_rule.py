# SPDX-License-Identifier: AGPL-3.0-or-later
"""The look at one leaf, on drawings made here: what a page has where it may not print plays no part on any grid."""

from __future__ import annotations

from typing import Any

import numpy as np

from foldproof.pdf.proof_render import Pixels, Window
from foldproof.prove.look import LeafLook, LeafSeen, _leaf

SAME_PLACE = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
#: mm: the page may print on the right three quarters of its window
WINDOW, VISIBLE = (0.0, 0.0, 80.0, 60.0), (20.0, 0.0, 80.0, 60.0)


class Drawn:
    """Stands in for the drawing of a page or of a side: a line of one pixel, so far down, and what lies at the left."""

    def __init__(self, at: dict[float, int], left: int = 255) -> None:
        self._at, self._left = at, left

    def page(self, *_: object, **more: object) -> Drawn:
        return self

    def pixels(self, placed: object, window: Window, *, turned: bool = False) -> Pixels:
        wide, high = window.size
        out = np.full((high, wide, 3), 255, dtype=np.uint8)
        out[self._at[window.dpi], wide // 2 :] = 0
        out[:, : wide // 8] = self._left
        return out


def seen(side: Drawn, page: Drawn) -> LeafSeen:
    leaf = LeafLook(3, 3, SAME_PLACE, SAME_PLACE, WINDOW, VISIBLE, None, (), False)
    pages: Any = page
    drawing: Any = side
    return _leaf(leaf, drawing, pages, False)


def test_what_may_not_print_is_white_at_144_dpi_too() -> None:
    """A line that snapped to the next pixel at 72 dpi is looked at again; the ground at the left is cut off."""
    sheet, page = Drawn({72.0: 50, 144.0: 100}), Drawn({72.0: 51, 144.0: 101}, left=0)
    assert seen(sheet, page).look == "same within the pixel rule"


def test_what_is_printed_where_nothing_may_is_seen() -> None:
    sheet, page = Drawn({72.0: 50, 144.0: 100}, left=0), Drawn({72.0: 51, 144.0: 101})
    assert seen(sheet, page).look == "differs"


def test_a_line_that_moved_by_more_is_seen_and_boxed() -> None:
    found = seen(Drawn({72.0: 50, 144.0: 100}), Drawn({72.0: 52, 144.0: 104}))
    assert found.look == "differs" and found.where is not None
    # the pixels of both lines, from the middle to the outermost, which do not count; half a pixel of 144 dpi is 0.09 mm
    left, low, right, high = found.where
    assert abs(left - 40) < 0.3 and abs(right - 80) < 0.6
    each_mm = 25.4 / 144
    assert abs(high - (60 - 100 * each_mm)) < 0.3 and abs(low - (60 - 105 * each_mm)) < 0.3
