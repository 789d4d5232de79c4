# SPDX-License-Identifier: AGPL-3.0-or-later
"""Look at a cover: thing by thing, and at the bars on its back.  Done in a process that may be ended."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from attrs import evolve, frozen

from foldproof.covers.bars import LOOK_MODULES, MODULES, Found, find, measure
from foldproof.covers.model import Bars, CoverSeen
from foldproof.geometry import Rect
from foldproof.pdf.cover_raster import fitting_dpi, inked, lightness, screen_colours
from foldproof.pdf.cover_reading import drawn_things
from foldproof.pdf.cover_things import Mark
from foldproof.pdf.interpreter import Book, Turn, opened_page, quiet
from foldproof.units import inch_to_mm

#: dots an inch at which bars are looked for, and those that were found are measured
DPI, FINE_DPI = 600.0, 900.0
#: what looks like bars: so many rules of about the same height side by side, within so wide a stretch
_LEAST_RULES, _LEAST_HEIGHT_MM, _MOST_WIDTH_MM, _MOST_STRETCH_MM = 20, 5.0, 3.0, 90.0


@frozen
class Look:
    """What a worker is to look at."""

    book: Book
    turn: Turn
    back_mm: Rect | None  #: where bars are looked for, trim frame; ``None``: nowhere


def look_at(job: Look) -> CoverSeen:
    """The whole job of a worker.

    Raises:
        Unreadable: the page cannot be interpreted.
    """
    quiet()
    with opened_page(job.book, job.turn) as page:
        drawn = drawn_things(page, job.turn)
        if job.back_mm is None or job.back_mm.is_empty:
            return CoverSeen(drawn.marks, drawn.lines, drawn.cut_short, None)
        dpi = fitting_dpi(job.back_mm, DPI)
        found = find(lightness(page, job.turn, job.back_mm, dpi))
        bars = None if found is None else _measured(page, job.turn, job.back_mm, dpi, found)
        unread = None if bars is not None else bars_like(drawn.marks, job.back_mm)
        return CoverSeen(drawn.marks, drawn.lines, drawn.cut_short, bars, unread, dpi)


def _measured(page: Any, turn: Turn, back: Rect, dpi: float, found: Found) -> Bars:
    mm = inch_to_mm(1.0) / dpi
    x0, y0, x1, y1 = found.box_px
    seen = Rect(back.x0 + x0 * mm, back.y1 - y1 * mm, back.x0 + x1 * mm, back.y1 - y0 * mm)
    rough = Bars(found.digits, found.valid, seen, upright=False)
    turns = found.turns
    if turns is None:
        return rough
    level = turns % 2 == 0
    length = seen.width if level else seen.height
    module_mm = length / MODULES
    if module_mm <= 0:
        return rough
    # the reader tells where along the bars it read, and not surely how high they are
    along, across = LOOK_MODULES * module_mm, length / 3
    dx, dy = (along, across) if level else (across, along)
    around = Rect(seen.x0 - dx, seen.y0 - dy, seen.x1 + dx, seen.y1 + dy)
    fine = fitting_dpi(around, FINE_DPI)
    px = fine / inch_to_mm(1.0)
    colours = np.rot90(screen_colours(page, turn, around, fine), turns)
    # at a few pixels a bar a reader may take one digit for another and the check digit may hold all the same
    again = find(lightness(page, turn, around, fine))
    if again is not None and again.valid >= found.valid:
        found = evolve(found, digits=again.digits, valid=again.valid)
    red = reflectance(colours[:, :, 0])
    begin = LOOK_MODULES * module_mm * px
    got = measure(red, begin, begin + length * px, red.shape[0] // 2)
    if got is None:
        return rough
    box_px = (got.first, float(got.top), got.last, float(got.bottom))
    plates = inked(page, turn, around, fine)
    samples = np.rot90(plates.samples, turns)
    columns = [column for column in got.bar_columns if column < samples.shape[1]]
    middle = samples[(got.top + got.bottom) // 2, columns, :] if not got.inverted else np.zeros((1, len(plates.names)))
    inks = zip(plates.names, np.median(middle, axis=0) / 255, strict=True) if columns else ()
    return Bars(
        digits=found.digits,
        valid=found.valid,
        box_mm=_back(box_px, turns, around, px, red.shape),
        module_mm=got.module / px,
        height_mm=(got.bottom - got.top) / px,
        quiet_mm=(got.quiet[0] / px, got.quiet[1] / px),
        light=float(got.light),
        dark=float(got.dark),
        inverted=got.inverted,
        inks=tuple((name, round(float(cover), 3)) for name, cover in inks if cover > 0),
    )


def reflectance(red: Any) -> Any:
    """How much red light comes back, 0 to 1, from the red of a screen colour (IEC 61966-2-1: sRGB to linear light)."""
    share = np.arange(256) / 255
    table = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return table.astype(np.float32)[red]


def _back(box: tuple[float, float, float, float], turns: int, around: Rect, px: float, shape: tuple[int, ...]) -> Rect:
    """A box in the raster that was turned, as a place on the cover."""
    x0, y0, x1, y1 = box
    high, wide = shape[0], shape[1]
    # turned clockwise again, a quarter at a time: (x, y) in a raster of this height becomes (high - y, x)
    for _ in range(turns):
        x0, y0, x1, y1 = high - y1, x0, high - y0, x1
        high, wide = wide, high
    return Rect(around.x0 + x0 / px, around.y1 - y1 / px, around.x0 + x1 / px, around.y1 - y0 / px)


def bars_like(marks: Sequence[Mark], back: Rect) -> Rect | None:
    """Where many rules of about the same height stand side by side, level or upright: bars that could not be read."""
    for level in (True, False):
        rows: dict[tuple[int, int], list[Rect]] = {}
        for mark in marks:
            box = mark.box_mm
            if mark.what not in ("fill", "stroke") or not back.holds(box, 0.5):
                continue
            width, height = (box.width, box.height) if level else (box.height, box.width)
            if height >= _LEAST_HEIGHT_MM and width <= _MOST_WIDTH_MM:
                foot = box.y0 if level else box.x0
                # bars of the guards reach lower: the upper ends are alike
                head = box.y1 if level else box.x1
                rows.setdefault((round(head), math.floor(foot / 5)), []).append(box)
        for boxes in sorted(rows.values(), key=len, reverse=True):
            whole = Rect(
                min(b.x0 for b in boxes), min(b.y0 for b in boxes), max(b.x1 for b in boxes), max(b.y1 for b in boxes)
            )
            stretch = whole.width if level else whole.height
            if len(boxes) >= _LEAST_RULES and stretch <= _MOST_STRETCH_MM:
                return whole
    return None
