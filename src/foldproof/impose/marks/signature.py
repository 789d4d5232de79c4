# SPDX-License-Identifier: AGPL-3.0-or-later
"""The signature mark: which section it is, at the foot of its first page next to the spine, outside the trim.

Sewn work has no gap at the spine, so the mark stands in the foot trim, where the binder sees it until the knives take
it off.  A piece set inside another carries the signature of its section with a star, as is the custom.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.room import GAP_PT, Room
from foldproof.makeup.plan import PagePlace
from foldproof.pdf.sheets_drawing import Stroke, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import mm_to_pt

_SIZES_PT = (7.0, 6.0, 5.0, 4.0, 3.2)
_FROM_SPINE_PT = mm_to_pt(2)
_STEP_PT = mm_to_pt(1)


def strokes(room: Room, place: PagePlace, text: str, reading: str) -> list[Stroke]:
    """The mark for the first page of a piece; empty where the foot has no room."""
    font = mark_font()
    words = font.spelled(text)
    own = place.matrix.inverse()  # side frame → centre of the page's trim, page upright
    clip, trim = own.rect(place.clip_pt), own.rect(place.trim_pt)
    spine_left = (place.position % 2 == 0) == (reading == "left to right")
    turns = round({(1, 0): 0, (0, 1): 1, (-1, 0): 2, (0, -1): 3}[(round(place.matrix.a), round(place.matrix.b))])
    for size_pt in _SIZES_PT:
        high, wide = CAP_HEIGHT * size_pt, font.width_pt(words, size_pt)
        low = clip.y0 - GAP_PT - 0.3 - high
        for count in range(int(trim.width / 2 / _STEP_PT)):
            away = _FROM_SPINE_PT + count * _STEP_PT
            left = trim.x0 + away if spine_left else trim.x1 - away - wide
            box = place.matrix.rect(Rect(left, low, left + wide, low + high))
            if room.free(box, 0.5):
                room.take(box)
                x, y = place.matrix.point(left, low)
                return [Words(x, y, words, size_pt, turns)]
    return []
