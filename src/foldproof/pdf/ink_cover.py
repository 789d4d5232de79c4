# SPDX-License-Identifier: AGPL-3.0-or-later
"""How much of each ink a page carries: over the whole trim, and in cells, from which the heaviest place is found.

Both come from one adding up, by words of four samples and over few rows at a time: several times as fast as every
fourth byte.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from foldproof.pdf.ink_edges import Ink

Samples = NDArray[np.uint8]
Sums = NDArray[np.uint32]

#: rows of cells added up in one go: what a processor's cache holds
_CELLS_AT_ONCE = 24
#: strips of colour nearer to one another than this are added up together
_NEARLY = 4
_LITTLE = bool(np.frombuffer(b"\1\0", dtype=np.uint16)[0] == 1)
_BYTE, _BYTES = np.uint32(0xFF), np.uint32(0x00FF00FF)


@frozen(eq=False)
class Cover:
    """What the trim carries."""

    #: mean of each colorant, 0 to 1; only those that occur
    coverage: dict[str, float]
    #: sums of all plates in cells of so many pixels a side, from the upper left corner of the trim
    cells: Sums


def cover(samples: Samples, ink: Ink, names: Sequence[str], cell: int) -> Cover:
    """Add up a page that is not blank.

    Args:
        samples: over the trim, one a colorant.
        names: of the colorants.
        cell: pixels a side of a cell, at most 256.
    """
    high, wide = ink.stains.shape
    cells = np.zeros((-(-high // cell), -(-wide // cell)), dtype=np.uint32)
    rows, columns = np.flatnonzero(ink.rows), np.flatnonzero(ink.columns)
    top, left = int(rows[0]) // cell, int(columns[0]) // cell
    inked = slice(top * cell, int(rows[-1]) + 1), slice(left * cell, int(columns[-1]) + 1)
    if samples.shape[2] == 4:
        totals, strips = _by_words(ink.stains[inked], ink.in_rows[inked[0]], cell)
    else:
        totals, strips = _by_planes(samples[inked], cell)
    across = -(-strips.shape[1] // cell)
    padded = np.zeros((strips.shape[0], across * cell), dtype=np.uint32)
    padded[:, : strips.shape[1]] = strips
    part = cells[top : top + strips.shape[0], left : left + across]
    for column in range(cell):
        part += padded[:, column::cell]
    coverage: dict[str, float] = {}
    for name, total in zip(names, totals, strict=True):
        if total:
            coverage[name] = round(min(1.0, coverage.get(name, 0.0) + total / 255 / (high * wide)), 6)
    return Cover(coverage, cells)


def _by_words(words: Sums, in_rows: Sums, cell: int) -> tuple[list[int], Sums]:
    """Sum of each of four plates, and of all in strips of ``cell`` rows, column by column."""
    cyan, magenta, yellow, black = (np.uint32(8 * (n if _LITTLE else 3 - n)) for n in range(4))
    strips: Sums = np.zeros((-(-words.shape[0] // cell), words.shape[1]), dtype=np.uint32)
    totals = [0, 0, 0, 0]
    step = _CELLS_AT_ONCE * cell
    room: Sums = np.empty((min(step, words.shape[0]), words.shape[1]), dtype=np.uint32)
    if (in_rows & (_BYTE << black)).any():
        for start in range(0, words.shape[0], step):
            part = words[start : start + step]
            plate = np.right_shift(part, black, out=room[: part.shape[0]])
            if not _LITTLE:
                plate &= _BYTE
            sums = _strips(plate, cell)
            strips[start // cell : start // cell + sums.shape[0]] = sums
        totals[3] = int(strips.sum(dtype=np.uint32))
    # coloured words in a page of black text stand on few rows
    coloured = np.flatnonzero(in_rows & ((_BYTE << cyan) | (_BYTE << magenta) | (_BYTE << yellow)))
    for first, last in _runs(coloured // cell):
        for strip in range(first, last, _CELLS_AT_ONCE):
            part = words[strip * cell : min(last, strip + _CELLS_AT_ONCE) * cell]
            # cyan and yellow side by side: their sums have no more than 16 bits
            pairs = np.right_shift(part, min(cyan, yellow), out=room[: part.shape[0]])
            pairs &= _BYTES
            laid = _strips(pairs, cell)
            one, other = laid & np.uint32(0xFFFF), laid >> np.uint32(16)
            plate = np.right_shift(part, magenta, out=room[: part.shape[0]])
            plate &= _BYTE
            middle = _strips(plate, cell)
            for number, sums in enumerate((one, middle, other) if _LITTLE else (other, middle, one)):
                totals[number] += int(sums.sum(dtype=np.uint32))
                strips[strip : strip + sums.shape[0]] += sums
    return totals, strips


def _runs(strips: NDArray[np.intp]) -> list[tuple[int, int]]:
    """First strip and the one after the last, of strips that follow one another or nearly so."""
    if not strips.size:
        return []
    gaps = np.flatnonzero(np.diff(strips) > _NEARLY)
    firsts, lasts = strips[np.append(0, gaps + 1)], strips[np.append(gaps, strips.size - 1)]
    return list(zip(firsts.tolist(), (lasts + 1).tolist(), strict=True))


def _by_planes(samples: Samples, cell: int) -> tuple[list[int], Sums]:
    """The same for any number of plates."""
    strips: Sums = np.zeros((-(-samples.shape[0] // cell), samples.shape[1]), dtype=np.uint32)
    totals = []
    for plate in range(samples.shape[2]):
        sums = _strips(samples[:, :, plate].astype(np.uint32), cell)
        totals.append(int(sums.sum(dtype=np.uint32)))
        strips += sums
    return totals, strips


def _strips(values: Sums, cell: int) -> Sums:
    """Sums of every ``cell`` rows; the last strip may be of fewer."""
    whole = values.shape[0] // cell
    strips: Sums = np.empty((-(-values.shape[0] // cell), values.shape[1]), dtype=np.uint32)
    np.add.reduce(values[: whole * cell].reshape(whole, cell, values.shape[1]), axis=1, out=strips[:whole])
    if whole < strips.shape[0]:
        np.add.reduce(values[whole * cell :], axis=0, out=strips[whole])
    return strips
