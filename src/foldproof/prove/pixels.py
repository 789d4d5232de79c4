# SPDX-License-Identifier: AGPL-3.0-or-later
"""Two drawings on the same grid of pixels: where they differ, and whether it matters."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from itertools import product

import numpy as np
import numpy.typing as npt

from foldproof.pdf.proof_render import Pixels

#: how far a pixel at 144 dpi may lie outside what the other drawing has around it
ROUND_ABOUT = 90
#: grids on which a page is drawn at 144 dpi before it is said to differ, as parts of a pixel: MuPDF snaps clips to
#: whole pixels, and one whose edge lies between two may cut a line on one drawing only; on another grid it does not
GRIDS_PX = (0.29, 0.61, 0.87)
#: what is still paper, on a leaf where nothing is printed
PAPER = 235
#: a difference that fills a square this many pixels wide at 72 dpi (1.4 mm), all lighter or all darker by more than
#: this: a tint laid over or lost.  Snapping moves edges; on 1,300 pages it never filled 3 pixels by more than 1 of 255.
TINT_PX, TINT = 4, 16
#: pixels weighed at once: a page that is another altogether has half a million
_AT_ONCE = 20_000


def unlike(
    one: Pixels, other: Pixels, judged: npt.NDArray[np.bool_]
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.uint8]]:
    """The pixels that count and differ, as flat indexes in order, and by how much the most different channel does.

    Few differ on most pages, so nothing is reckoned over whole pages but where they do.
    """
    pixels = np.flatnonzero(one != other) // 3
    pixels = pixels[np.diff(pixels, prepend=-1) > 0]  # the channels of a pixel stand side by side
    pixels = pixels[judged.ravel()[pixels]]
    a, b = one.reshape(-1, 3)[pixels], other.reshape(-1, 3)[pixels]
    return pixels, (np.maximum(a, b) - np.minimum(a, b)).max(axis=1, initial=0)


def marked(pixels: npt.NDArray[np.intp], shape: tuple[int, ...]) -> npt.NDArray[np.bool_]:
    out = np.zeros(shape, dtype=bool)
    out.ravel()[pixels] = True
    return out


def filled(one: Pixels, other: Pixels, pixels: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_] | None:
    """Squares throughout which one drawing is lighter, or throughout which it is darker; ``None`` without any.

    Args:
        one, other: the drawings.
        pixels: flat indexes, in order, of where they differ by more than :data:`TINT`.
    """
    high, wide = one.shape[:2]
    corners = _corners_of_squares(pixels, high, wide)
    if not corners.size:
        return None
    # nothing is reckoned but from the first row of squares to the last
    rows = slice(corners[0] // wide, corners[-1] // wide + TINT_PX)
    off = one[rows].astype(np.int16) - other[rows]
    off[~marked(pixels, (high, wide))[rows]] = 0
    out = np.zeros((high, wide), dtype=bool)
    for alike in (off > TINT, off < -TINT):
        throughout = _throughout(alike)
        whole = throughout[:, :, 0] | throughout[:, :, 1] | throughout[:, :, 2]
        for down, right in product(range(TINT_PX), repeat=2):
            out[rows][down : down + whole.shape[0], right : right + whole.shape[1]] |= whole
    return out if out.any() else None


def _throughout(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """By its upper left corner, whether a square is marked throughout; of each channel."""
    last = TINT_PX - 1
    for step in (mask.shape[0] - last, mask.shape[1] - last):
        squeezed = mask[:step].copy()
        for down in range(1, TINT_PX):
            squeezed &= mask[down : down + step]
        mask = squeezed.swapaxes(0, 1)
    return mask


def _corners_of_squares(pixels: npt.NDArray[np.intp], high: int, wide: int) -> npt.NDArray[np.intp]:
    """The upper left corners of all squares of ``TINT_PX`` that are marked throughout, as flat indexes."""
    last = TINT_PX - 1
    runs = pixels[:-last][pixels[last:] - pixels[:-last] == last]
    runs = runs[runs % wide <= wide - TINT_PX]
    begins = np.zeros((high + last) * wide, dtype=bool)
    begins[runs] = True
    for step in range(1, TINT_PX):
        runs = runs[begins[runs + step * wide]]
    return np.asarray(runs)


def outside(one: Pixels, other: Pixels) -> Iterator[npt.NDArray[np.intp]]:
    """Pixels that lie outside the other's 3 x 3 minimum and maximum by more than the rule allows.

    Yields:
        Flat indexes in order, some at a time: whoever asks whether there is any may stop at the first.
    """
    for some in _far_apart(one, other):
        yield some[_beyond(one, other, some) | _beyond(other, one, some)]


def beyond(one: Pixels, other: Pixels) -> Iterator[npt.NDArray[np.intp]]:
    """Pixels of the first alone that do, as :func:`outside`."""
    for some in _far_apart(one, other):
        yield some[_beyond(one, other, some)]


def _far_apart(one: Pixels, other: Pixels) -> Iterator[npt.NDArray[np.intp]]:
    # a pixel that lies so far from what is around another lies so far from the other
    far = np.flatnonzero(largest(np.maximum(one, other) - np.minimum(one, other)) > ROUND_ABOUT)
    for start in range(0, far.size, _AT_ONCE):
        yield far[start : start + _AT_ONCE]


def _beyond(one: Pixels, other: Pixels, pixels: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
    high, wide = one.shape[:2]
    row, column = np.divmod(pixels, wide)
    # past the edge stands what is at the edge
    rows = [np.clip(row + step, 0, high - 1) * wide for step in (-1, 0, 1)]
    columns = [np.clip(column + step, 0, wide - 1) for step in (-1, 0, 1)]
    near = [other.reshape(-1, 3)[down + right] for down, right in product(rows, columns)]
    low, most = reduce(np.minimum, near), reduce(np.maximum, near)
    here = one.reshape(-1, 3)[pixels]
    over = here > np.minimum(most, 255 - ROUND_ABOUT) + np.uint8(ROUND_ABOUT)
    under = here < np.maximum(low, ROUND_ABOUT) - np.uint8(ROUND_ABOUT)
    return np.asarray((over | under).any(axis=1), dtype=bool)


def largest(pixels: Pixels) -> Pixels:
    """Over the three channels.  Ten times as fast as a reduction along so short an axis."""
    return np.maximum(np.maximum(pixels[:, :, 0], pixels[:, :, 1]), pixels[:, :, 2])


def smallest(pixels: Pixels) -> Pixels:
    return np.minimum(np.minimum(pixels[:, :, 0], pixels[:, :, 1]), pixels[:, :, 2])


def around(pixels: Pixels, choose: np.ufunc) -> Pixels:
    """Minimum or maximum over each pixel and its eight neighbours."""
    out = pixels.copy()
    out[1:] = choose(out[1:], pixels[:-1])
    out[:-1] = choose(out[:-1], pixels[1:])
    level = out.copy()
    level[:, 1:] = choose(level[:, 1:], out[:, :-1])
    level[:, :-1] = choose(level[:, :-1], out[:, 1:])
    return level


def grown(mask: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Three pixels wider, so that a speck can be seen in a small picture."""
    out = mask
    for _ in range(3):
        out = around(out.astype(np.uint8)[:, :, None], np.maximum)[:, :, 0] > 0
    return out
