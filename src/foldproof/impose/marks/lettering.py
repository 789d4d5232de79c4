# SPDX-License-Identifier: AGPL-3.0-or-later
"""A word beside the outer end of a mark that lies on a line of the sheet."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.impose.marks.view import SideView
from foldproof.pdf.sheets_drawing import Ink, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font

_WORD_PT = 4.5
_OFF_PT = 1.0


def name_beside(
    side: SideView,
    texts: Iterable[str],
    at: tuple[float, float],
    towards: tuple[int, int],
    off_pt: float = _OFF_PT,
) -> None:
    """Letter the first of ``texts`` that has room, on one side of the mark or the other.

    Args:
        at: outer end of the mark, side frame.
        towards: direction in which the mark runs there.
        off_pt: how far from the line the word begins.
    """
    (x, y), (dx, dy) = at, towards
    high = CAP_HEIGHT * _WORD_PT
    for text in texts:
        wide = mark_font().width_pt(text, _WORD_PT)
        if dy:
            low = y - high if dy > 0 else y
            spots = [(x + off_pt, low), (x - off_pt - wide, low)]
        else:
            left = x - wide if dx > 0 else x
            spots = [(left, y + off_pt), (left, y - off_pt - high)]
        for left, low in spots:
            box = Rect(left, low, left + wide, low + high)
            if side.room.free(box, 0.3):
                side.room.take(box)
                side.draw(Words(left, low, text, _WORD_PT, ink=Ink.EVERY_PLATE))
                return
