# SPDX-License-Identifier: AGPL-3.0-or-later
"""An EAN-13 in a raster: found by a general reader, then measured here.

A symbol is 95 modules wide (3 of the left guard, 42, 5 of the middle, 42, 3 of the right: ISO/IEC 15420, from memory).
Rows run down, columns to the right; a raster that is measured is turned first, so that the symbol reads from the left.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import zxingcpp
from attrs import frozen
from numpy.typing import NDArray

from foldproof.covers.isbn import PREFIXES, ean_check_digit

# the way in which formats are named is another from release to release; the plain name is taken by all
_zxing: Any = zxingcpp

#: modules of the whole symbol
MODULES = 95
#: how far beyond the symbol is looked for ink, in modules: more than any quiet zone asks
LOOK_MODULES = 16
#: a symbol that leans more than this is not measured (degrees; common practice, no source)
_UPRIGHT_DEGREES = 3.0
#: rows belong to the bars while so many of their pixels are as in the middle row
_ALIKE = 0.96

Lightness = NDArray[np.floating[Any]]


@frozen
class Found:
    """Where a reader found a symbol: pixels, and how it is turned."""

    digits: str
    valid: bool
    #: quarter turns counter-clockwise (of :func:`numpy.rot90`) after which it reads from the left; ``None``: it leans
    turns: int | None
    #: x0, y0, x1, y1 round what the reader saw of it, pixels
    box_px: tuple[float, float, float, float]


@frozen
class Measured:
    """A symbol in a raster that was turned for it; pixels."""

    first: float  #: left edge of the first bar
    last: float  #: right edge of the last bar
    top: int  #: first row of the shorter bars
    bottom: int  #: row below their last
    quiet: tuple[float, float]
    light: float
    dark: float
    inverted: bool
    #: columns in the middle of the widest bars
    bar_columns: tuple[int, ...]

    @property
    def module(self) -> float:
        return (self.last - self.first) / MODULES


def find(lightness: NDArray[np.uint8]) -> Found | None:
    """The symbol of a book in a raster, else any EAN-13; one with a wrong check digit only where there is no other.

    Bars that are light on a dark ground are looked for where there are no dark ones: no till reads them, but whoever
    drew them wants to be told why.
    """
    found = _read(lightness) or _read(255 - lightness)
    found.sort(key=lambda one: (not one.valid, not one.digits.startswith(PREFIXES), one.box_px))
    return found[0] if found else None


def _read(lightness: NDArray[np.uint8]) -> list[Found]:
    results = _zxing.read_barcodes(lightness, formats=_zxing.BarcodeFormat.EAN13, return_errors=True)
    return [one for one in map(_found, results) if one is not None]


def _found(result: Any) -> Found | None:
    digits = "".join(sign for sign in result.text if sign.isdigit())
    if len(digits) != 13:
        return None
    p = result.position
    corners = [(q.x, q.y) for q in (p.top_left, p.top_right, p.bottom_right, p.bottom_left)]
    xs, ys = [float(c[0]) for c in corners], [float(c[1]) for c in corners]
    along = (xs[1] + xs[2] - xs[0] - xs[3], ys[1] + ys[2] - ys[0] - ys[3])
    # a level symbol may be seen in a single row, and its first and last corners fall together
    angle = math.degrees(math.atan2(-along[1], along[0])) if along != (0.0, 0.0) else float(-result.orientation)
    quarter = round(angle / 90)
    leans = abs(angle - 90 * quarter) > _UPRIGHT_DEGREES
    # rows that go level through a leaning symbol begin one beside the other
    down = (xs[3] + xs[2] - xs[0] - xs[1], ys[3] + ys[2] - ys[0] - ys[1])
    if math.hypot(*down) > 0.1 * math.hypot(*along):
        crossed = along[0] * down[1] - along[1] * down[0]
        square = math.degrees(math.atan2(crossed, along[0] * down[0] + along[1] * down[1]))
        leans = leans or abs(abs(square) - 90) > _UPRIGHT_DEGREES
    return Found(
        digits=digits,
        valid=bool(result.valid) and ean_check_digit(digits[:12]) == digits[12],
        turns=None if leans else -quarter % 4,
        box_px=(min(xs), min(ys), max(xs), max(ys)),
    )


def measure(red: Lightness, first: float, last: float, row: int) -> Measured | None:
    """Measure a symbol.

    Args:
        red: reflectance in red light, 0 to 1, turned so that the symbol reads from the left.
        first, last: about where it begins and ends, columns.
        row: a row that goes through all of its bars.

    Returns:
        ``None`` where no bars stand there.
    """
    high, wide = red.shape
    row = min(max(row, 0), high - 1)
    profile = np.median(red[max(0, row - 2) : row + 3], axis=0)
    about = max(1.0, (last - first) / MODULES)
    inside = profile[max(0, int(first)) : min(wide, math.ceil(last) + 1)]
    if inside.size < MODULES:
        return None
    light, dark = (float(v) for v in np.percentile(inside, (97, 3)))
    if light - dark < 0.02:
        return None
    half = (light + dark) / 2
    # what stands before the first bar is light on every symbol that can be read, unless light and dark are exchanged
    before = profile[max(0, int(first - 3 * about)) : max(1, int(first - about))]
    inverted = bool(before.size) and float(np.median(before)) < half
    level = 2 * half - profile if inverted else profile
    starts, ends = _edges(level, half)
    if not starts.size or not ends.size:
        return None
    one = float(starts[np.argmin(np.abs(starts - first))])
    other = float(ends[np.argmin(np.abs(ends - last))])
    if other - one < MODULES:
        return None
    dark_at = (2 * half - red if inverted else red) < half
    top, bottom = _rows(dark_at, row, round(one), round(other))
    runs = [(s, e) for s, e in zip(starts, ends, strict=False) if one <= s and e <= other]
    widest = sorted(runs, key=lambda run: run[0] - run[1])[:8]
    return Measured(
        first=one,
        last=other,
        top=top,
        bottom=bottom,
        quiet=_quiet(dark_at, one, other, top, bottom),
        light=light,
        dark=dark,
        inverted=inverted,
        bar_columns=tuple(sorted(int((s + e) / 2) for s, e in widest)),
    )


def _edges(level: Lightness, half: float) -> tuple[Lightness, Lightness]:
    """Where bars begin and end, to a part of a pixel: the place between two pixels at which the half is crossed."""
    dark = level < half
    change = np.flatnonzero(dark[1:] != dark[:-1])
    a, b = level[change], level[change + 1]
    # pixel centres stand at n + 1/2
    places = change + 0.5 + (a - half) / (a - b)
    begins = dark[change + 1]
    starts, ends = places[begins], places[~begins]
    if dark[0]:
        starts = np.concatenate(([0.0], starts))
    if dark[-1]:
        ends = np.concatenate((ends, [float(level.size)]))
    return starts, ends


def _rows(dark: NDArray[np.bool_], row: int, first: int, last: int) -> tuple[int, int]:
    """The rows that look as the given one does from the first bar to the last."""
    same: NDArray[np.bool_] = np.equal(dark[:, first:last], dark[row, first:last])
    alike: list[bool] = (np.count_nonzero(same, axis=1) >= _ALIKE * same.shape[1]).tolist()
    top = bottom = row
    while top > 0 and alike[top - 1]:
        top -= 1
    while bottom < len(alike) - 1 and alike[bottom + 1]:
        bottom += 1
    return top, bottom + 1


def _quiet(dark: NDArray[np.bool_], first: float, last: float, top: int, bottom: int) -> tuple[float, float]:
    """How far it is free before and behind the bars.

    The ends of the bars are left out: the first digit stands below them, before the first bar.
    """
    inset = (bottom - top) // 8
    rows: NDArray[np.bool_] = np.asarray(np.any(dark[top + inset : max(top + inset + 1, bottom - inset)], axis=0))
    module = (last - first) / MODULES
    # what is less than a third of a module from the bar is the bar's own edge
    before = np.flatnonzero(rows[: max(0, math.floor(first - module / 3))])
    behind_from = math.ceil(last + module / 3)
    behind = np.flatnonzero(rows[behind_from:])
    left = first - (float(before[-1]) + 1 if before.size else 0.0)
    right = (float(behind[0]) + behind_from if behind.size else float(len(rows))) - last
    return max(0.0, left), max(0.0, right)
