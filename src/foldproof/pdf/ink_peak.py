# SPDX-License-Identifier: AGPL-3.0-or-later
"""The heaviest ink of a page: the mean over a square of 5 mm, wherever it is heaviest, and how much lies over a limit.

A square is 14 pixels a side at 72 dpi, 4.94 mm: the nearest even number to 5 mm.  It lies on whole pixels and wholly
inside the trim.

Pages of text must not pay for pages of pictures, so the page is first summed in cells of half a square.  A square lies
in three cells each way at most, so that nine cells are a bound for all squares in them.  Where that bound stays under
one full plate, as on nearly all pages of text, squares of whole cells are enough to tell what the heaviest is like
(nothing is judged there); elsewhere every square counts that the bound lets pass.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from foldproof.manuscript.seen import InkPeak
from foldproof.pdf.ink_grid import Grid
from foldproof.units import mm_to_pt

Samples = NDArray[np.uint8]
Sums = NDArray[np.uint32]

#: side of the square over which ink is averaged
SIDE_MM = 5.0
#: from here on up, the part of the trim that lies in heavier squares is told, by tenths
_TOLD_FROM = 2.0
#: below it squares of whole cells are enough
_EXACT_FROM = 1.0
#: full ink of one plate in a sample
_FULL = 255
_BYTES = np.uint32(0x00FF00FF)


@frozen
class Square:
    """The square, in pixels, and the cells it is looked for by."""

    side: int  #: even
    half: int

    @classmethod
    def on(cls, grid: Grid) -> Square:
        half = max(1, round(mm_to_pt(SIDE_MM) * (grid.sx + grid.sy) / 4))
        return cls(2 * half, half)


def ink_peak(samples: Samples, cells: Sums, square: Square, grid: Grid, names: Sequence[str]) -> InkPeak:
    """The heaviest square of a page that is not blank.

    Args:
        samples: over the trim, one a colorant.
        cells: sums of all colorants in cells of half a square, from the upper left corner of the trim.
        names: of the colorants.
    """
    high, wide = samples.shape[:2]
    down, across = min(square.side, high), min(square.side, wide)
    full = down * across * _FULL
    over: tuple[tuple[float, float], ...] = ()
    if (down, across) != (square.side, square.side):  # a page smaller than a square
        best, row, column, over = _exact(samples, (0, high, 0, wide), (down, across), full)
    else:
        best, row, column = _by_cells(cells)
        row, column = min(row * square.half, high - down), min(column * square.half, wide - across)
        # nine cells are two squares of four that share the middle one, and two corners
        if 2 * (best + int(cells.max())) > _EXACT_FROM * full:
            bound = _bounds(cells)
            likely = bound > max(_EXACT_FROM * full, min(best, _TOLD_FROM * full))
            if likely.any():
                top, bottom = _reach(np.flatnonzero(likely.any(axis=1)), square, high)
                left, right = _reach(np.flatnonzero(likely.any(axis=0)), square, wide)
                found = _exact(samples, (top, bottom, left, right), (down, across), full)
                if found[0] >= best:
                    best, row, column, over = found
    inks = samples[row : row + down, column : column + across].sum(axis=(0, 1), dtype=np.uint32).tolist()
    return InkPeak(
        # at the edge of the trim the square takes in more than its cells
        total=round(sum(inks) / full, 4),
        by_ink=tuple((name, round(ink / full, 4)) for name, ink in zip(names, inks, strict=True) if ink),
        place_mm=grid.rect_mm(column, row, column + across, row + down),
        side_mm=SIDE_MM,
        over=over,
    )


def _total(samples: Samples) -> Sums:
    """All plates together, pixel by pixel."""
    if samples.shape[2] == 4:
        words: Sums = samples.view(np.uint32)[:, :, 0]
        pairs = words & _BYTES
        pairs += (words >> np.uint32(8)) & _BYTES
        return np.asarray((pairs & np.uint32(0xFFFF)) + (pairs >> np.uint32(16)))
    total: Sums = samples[:, :, 0].astype(np.uint32)
    for plate in range(1, samples.shape[2]):
        total += samples[:, :, plate]
    return total


def _by_cells(sums: Sums) -> tuple[int, int, int]:
    """The heaviest square of two by two cells, and its first cell: row and column."""
    both = sums.copy()
    both[:-1] += sums[1:]
    fours = both.copy()
    fours[:, :-1] += both[:, 1:]
    row, column = divmod(int(fours.argmax()), fours.shape[1])
    return int(fours[row, column]), row, column


def _bounds(sums: Sums) -> Sums:
    """For each cell: it and those round it; no square that has its middle there holds more."""
    tall = sums.copy()
    tall[:-1] += sums[1:]
    tall[1:] += sums[:-1]
    nine = tall.copy()
    nine[:, :-1] += tall[:, 1:]
    nine[:, 1:] += tall[:, :-1]
    return nine


def _reach(cells: NDArray[np.intp], square: Square, most: int) -> tuple[int, int]:
    """First and last pixel of the squares that have their middle in one of these cells."""
    start, end = (int(cells[0]) - 1) * square.half, (int(cells[-1]) + 2) * square.half
    return max(0, min(start, most - square.side)), min(most, max(end, square.side))


def _exact(
    samples: Samples, part: tuple[int, int, int, int], size: tuple[int, int], full: int
) -> tuple[int, int, int, tuple[tuple[float, float], ...]]:
    """Every square inside a part of the trim (first and last row, first and last column).

    Returns:
        The heaviest sum, its row and column, and the parts of the trim that lie in squares over each tenth.
    """
    (top, bottom, left, right), (down, across) = part, size
    sums = _sliding(_sliding(_total(samples[top:bottom, left:right]), down).T, across).T
    row, column = divmod(int(sums.argmax()), sums.shape[1])
    best = int(sums[row, column])
    over: list[tuple[float, float]] = []
    if best > _TOLD_FROM * full:
        trim_px = samples.shape[0] * samples.shape[1]
        widest = _heaviest_round(_heaviest_round(sums, down).T, across).T
        tenths = (widest.astype(np.int64) - 1) * 10 // full
        counts = np.bincount(np.maximum(tenths, 0).ravel(), minlength=int(_TOLD_FROM * 10))
        beyond = counts[::-1].cumsum()[::-1]
        over = [
            (tenth / 10, round(int(beyond[tenth]) / trim_px, 6)) for tenth in range(int(_TOLD_FROM * 10), len(beyond))
        ]
    return best, top + row, left + column, tuple(over)


def _sliding(values: Sums, length: int) -> Sums:
    """Sums of so many rows, one for each first row."""
    summed: Sums = np.zeros((values.shape[0] + 1, values.shape[1]), dtype=np.uint32)
    np.cumsum(values, axis=0, out=summed[1:])
    # beyond 2^32 the sums run round, and so do their differences
    return np.asarray(summed[length:] - summed[:-length])


def _heaviest_round(sums: Sums, length: int) -> Sums:
    """For every row: the heaviest of the squares that cover it, given those by their first row."""
    padded: Sums = np.zeros((sums.shape[0] + 2 * (length - 1), sums.shape[1]), dtype=np.uint32)
    padded[length - 1 : length - 1 + sums.shape[0]] = sums
    have = 1
    while have < length:
        step = min(have, length - have)
        padded = np.maximum(padded[:-step], padded[step:])
        have += step
    return padded
