# SPDX-License-Identifier: AGPL-3.0-or-later
"""The job line in a margin: title, sections, sheet, side, way to print, press, inks, date.

It never runs out of its room.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import Margin, bands, margins
from foldproof.impose.marks.room import Room
from foldproof.pdf.sheets_drawing import Stroke, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, DESCENT, mark_font
from foldproof.units import mm_to_pt

_SIZES_PT = (7.0, 6.0, 5.0, 4.0)
_SHORTEST_PT = mm_to_pt(25)
_ENOUGH_PT = mm_to_pt(320)
#: a later sheet's line may be a little longer than the one that the room was sought for
_SPARE = 1.06
_ASIDE_PT = 3.0  #: white before and after the line
_DOT = " · "


@frozen
class Strip:
    """Room for one line of text."""

    x: float  #: start of the baseline, side frame, points
    y: float
    turns: int
    length_pt: float
    size_pt: float


def reserve(room: Room, text: str) -> Strip | None:
    """The strip for the job line, taken from ``room``: the first that holds ``text`` whole, else the longest."""
    font = mark_font()
    best: tuple[float, Strip, Rect] | None = None
    order = ("top", "bottom", "left", "right")
    found = sorted(margins(room), key=lambda margin: order.index(margin.edge))
    for size_pt in _SIZES_PT:
        wanted = min(font.width_pt(font.spelled(text), size_pt) * _SPARE, _ENOUGH_PT)
        for margin in found:
            for strip, box in _strips(room, margin, size_pt, wanted):
                if strip.length_pt >= wanted:
                    room.take(box)
                    return strip
                # a cut line in a larger size says less than a whole one in a smaller
                worth = strip.length_pt / size_pt
                if strip.length_pt >= _SHORTEST_PT and (best is None or worth > best[0] + 1e-9):
                    best = worth, strip, box
    if best is None:
        return None
    room.take(best[2])
    return best[1]


def _strips(room: Room, margin: Margin, size_pt: float, wanted: float) -> list[tuple[Strip, Rect]]:
    """The longest free stretch of each band of a margin, from the pages towards the paper's edge.

    A stretch begins where the pages begin, if what is left is as long as ``wanted``.
    """
    matter = room.matter
    out: list[tuple[Strip, Rect]] = []
    for band in bands(margin, size_pt * (CAP_HEIGHT + DESCENT)):
        gaps = room.gaps(band, margin.upright)
        if not gaps:
            continue
        low, end = gaps[0][0] + _ASIDE_PT, gaps[0][1] - _ASIDE_PT
        if matter is not None:
            start = max(low, matter.y0 if margin.upright else matter.x0)
            low = start if end - start >= wanted else low
        end = min(end, low + wanted)
        if margin.upright:  # read from the right: the line runs up the sheet
            strip = Strip(band.x1 - DESCENT * size_pt, low, 1, end - low, size_pt)
            out.append((strip, Rect(band.x0, low, band.x1, end)))
        else:
            strip = Strip(low, band.y0 + DESCENT * size_pt, 0, end - low, size_pt)
            out.append((strip, Rect(low, band.y0, end, band.y1)))
    return out


def whole(title: str, facts: tuple[str, ...]) -> str:
    """The line as it stands where there is room for it."""
    return _DOT.join((title, *facts)) if title else _DOT.join(facts)


def strokes(strip: Strip, title: str, facts: tuple[str, ...]) -> tuple[Stroke, ...]:
    """The line in its strip: whole, else a little smaller, else with the title cut, else with the end cut."""
    font = mark_font()
    rest = font.spelled(_DOT.join(facts))
    head = font.spelled(title)
    line = whole(head, (rest,))
    size_pt = strip.size_pt
    for smaller in (1.0, 0.9, 0.8):
        if font.width_pt(line, size_pt * smaller) <= strip.length_pt:
            return (Words(strip.x, strip.y, line, size_pt * smaller, strip.turns),)
    size_pt *= 0.8
    spare = strip.length_pt - font.width_pt(_DOT + rest, size_pt)
    cut = font.shortened(head, size_pt, spare) if spare > 0 else ""
    line = f"{cut}{_DOT}{rest}" if len(cut) > 3 else font.shortened(rest, size_pt, strip.length_pt)
    return (Words(strip.x, strip.y, line, size_pt, strip.turns),) if line else ()
