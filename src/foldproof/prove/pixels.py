# SPDX-License-Identifier: AGPL-3.0-or-later
"""Two drawings on the same grid of pixels: where they differ, and whether it matters."""

from __future__ import annotations

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
#: squares weighed at once: a page that is another altogether has half a million
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
    square = (np.arange(TINT_PX)[:, None] * wide + np.arange(TINT_PX)).ravel()
    a, b = one.reshape(-1, 3), other.reshape(-1, 3)
    found = []
    for start in range(0, corners.size, _AT_ONCE):
        cells = corners[start : start + _AT_ONCE, None] + square
        off = a[cells].astype(np.int16) - b[cells]
        whole = (off > TINT).all(axis=1) | (off < -TINT).all(axis=1)
        found.append(cells[whole.any(axis=1)].ravel())
    cells = np.concatenate(found) if found else corners
    return marked(cells, (high, wide)) if cells.size else None


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


def outside(one: Pixels, other: Pixels) -> npt.NDArray[np.bool_]:
    """Pixels that lie outside the other's 3 x 3 minimum and maximum by more than the rule allows."""
    return np.asarray(beyond(one, other) | beyond(other, one), dtype=bool)


def beyond(one: Pixels, other: Pixels) -> npt.NDArray[np.bool_]:
    low, high = around(other, np.minimum), around(other, np.maximum)
    over = one > np.minimum(high, 255 - ROUND_ABOUT) + np.uint8(ROUND_ABOUT)
    under = one < np.maximum(low, ROUND_ABOUT) - np.uint8(ROUND_ABOUT)
    return largest((over | under).view(np.uint8)) > 0


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
