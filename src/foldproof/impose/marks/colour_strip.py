# SPDX-License-Identifier: AGPL-3.0-or-later
"""The colour strip: patches of the inks of a side, along the tail or above the gripper margin.

It is made of zones, one for every ink zone of the press as far as there is room.  Every zone begins with the solids of
all inks; then two more patches follow, which change from zone to zone: tints of 40 % and 80 % of one ink (the tone
values whose control patches ISO 12647-2 names; from memory), a grey balance patch of cyan, magenta and yellow beside
the tint of black that it should look like (25/19/19, 50/40/40 and 75/64/64 %: ISO 12647-2:2004, from memory), and two
of the solids of cyan, magenta and yellow over one another.  Spot inks have solids and tints; how one takes on another
is no matter of the standard.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import bands, margins
from foldproof.impose.marks.room import Room
from foldproof.impose.marks.view import SheetView, SideView
from foldproof.pdf.sheets_drawing import Block, Paint, Process, Spot
from foldproof.units import mm_to_pt

#: width and height of a patch; a densitometer's opening wants 3 mm at least (common practice, no source)
_PATCHES_PT = tuple((mm_to_pt(wide), mm_to_pt(high)) for wide, high in ((5, 6), (5, 5), (5, 4), (4, 4), (4, 3), (3, 3)))
#: from one ink zone of a press to the next; common practice, no source
_ZONE_PT = mm_to_pt(32.5)
_TINTS = (0.4, 0.8)
_GREYS = ((0.25, 0.19, 0.19, 0.25), (0.5, 0.4, 0.4, 0.5), (0.75, 0.64, 0.64, 0.75))
_ASIDE_PT = mm_to_pt(1)  #: white before and after the strip
_PROCESS = {"Cyan": "cyan", "Magenta": "magenta", "Yellow": "yellow", "Black": "black"}

Patches = tuple[Paint, ...]


def tint(ink: str, amount: float) -> Paint:
    """An ink by the name of its plate."""
    return Process(**{_PROCESS[ink]: amount}) if ink in _PROCESS else Spot(ink, amount)


def solids(inks: tuple[str, ...]) -> Patches:
    return tuple(tint(ink, 1.0) for ink in inks)


def pairs(inks: tuple[str, ...]) -> tuple[Patches, ...]:
    """What follows the solids, zone after zone: two patches each, one where the inks give no second."""
    out: list[Patches] = [tuple(tint(ink, amount) for amount in _TINTS) for ink in inks]
    if {"Cyan", "Magenta", "Yellow"} <= set(inks):
        for cyan, magenta, yellow, black in _GREYS:
            grey = Process(cyan, magenta, yellow)
            out.append((grey, tint("Black", black)) if "Black" in inks else (grey,))
    over = [
        Process(cyan, magenta, yellow)
        for cyan, magenta, yellow in ((1, 1, 0), (1, 0, 1), (0, 1, 1), (1, 1, 1))
        if {name for name, used in zip(_PROCESS, (cyan, magenta, yellow), strict=False) if used} <= set(inks)
    ]
    return (*out, *(tuple(over[start : start + 2]) for start in range(0, len(over), 2)))


@frozen
class _Strip:
    """Room for a strip: free stretches of one band."""

    band: Rect
    gaps: tuple[tuple[float, float], ...]
    wide_pt: float  #: of a patch

    def zones(self, unit_pt: float, pitch_pt: float) -> Iterator[float]:
        """Where each zone begins, from the left; the zones of a stretch stand in its middle."""
        for low, end in self.gaps:
            count = int((end - low - unit_pt) / pitch_pt + 1e-9) + 1
            spare = end - low - unit_pt - (count - 1) * pitch_pt
            for number in range(count):
                yield low + spare / 2 + number * pitch_pt


def draw(sheet: SheetView) -> bool:
    """Draw the strips of the printed sides; whether every side whose inks are known has one."""
    whole = True
    for side in sheet.sides:
        inks = tuple(ink for ink in side.inks or () if ink not in ("All", "None", ""))
        if inks:
            whole = _side(side, inks) and whole
    return whole


def _side(side: SideView, inks: tuple[str, ...]) -> bool:
    strip = _room(side.room, len(inks) + 2)
    if strip is None:
        return False
    first, more = solids(inks), pairs(inks)
    unit_pt = (len(inks) + 2) * strip.wide_pt
    starts = list(strip.zones(unit_pt, max(unit_pt, _ZONE_PT)))
    if len(starts) < len(more):  # closer than the ink zones, so that more of the patches are there once
        starts = list(strip.zones(unit_pt, unit_pt))
    low, high = strip.band.y0, strip.band.y1
    for x, pair in zip(starts, cycle(more), strict=False):
        boxes = [
            Rect(x + number * strip.wide_pt, low, x + (number + 1) * strip.wide_pt, high)
            for number in range(len(first) + len(pair))
        ]
        side.room.take(Rect(x, low, boxes[-1].x1, high))
        side.draw(*(Block.of(box, paint) for box, paint in zip(boxes, (*first, *pair), strict=True)))
    return True


def _room(room: Room, patches: int) -> _Strip | None:
    """The best band at the tail or the gripper: patches of full size over most of the sheet, else the most of them."""
    found = [margin for margin in margins(room) if not margin.upright]
    best: tuple[float, _Strip] | None = None
    for margin in sorted(found, key=lambda margin: margin.edge, reverse=True):  # the tail first
        for wide, high in _PATCHES_PT:
            for band in bands(margin, high):
                gaps = sorted((low + _ASIDE_PT, end - _ASIDE_PT) for low, end in room.gaps(band, upright=False))
                kept = tuple(gap for gap in gaps if gap[1] - gap[0] >= patches * wide)
                covered = sum(end - low for low, end in kept) / band.width
                worth = min(covered, 0.7) * wide * high
                if kept and (best is None or worth > best[0] + 1e-9):
                    best = worth, _Strip(band, kept, wide)
    return best[1] if best else None
