# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ink pass: a page as its plates would print it, at 72 dpi, reduced at once to what the checks ask.

The raster is CMYK and one plate for every spot, overprint and transparency reckoned by MuPDF, from one run of the page
as it prints.  Its grid is laid on the trim: scaled by less than half a pixel in the whole width and height, so that all
four trim lines fall exactly between two pixels.

72 dpi is enough for what lies inside.  At the trim line it is not: MuPDF lets a picture grow to whole pixels, 0.35 mm.
So an edge where ink stands in the last row of pixels is drawn once more, as a band a few millimetres deep, about
0.09 mm a pixel across the edge (:mod:`foldproof.pdf.ink_edges`).  Pages without matter at their edges, nearly all pages
of an ordinary book, are drawn once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from foldproof.geometry import Matrix, Rect
from foldproof.manuscript.model import PageInk
from foldproof.manuscript.seen import PROCESS
from foldproof.pdf.ink_cover import cover
from foldproof.pdf.ink_edges import Band, Edge, Ink, Stains, edge_facts, wet
from foldproof.pdf.ink_grid import Grid, Window
from foldproof.pdf.ink_ground import Asked, Ground, grounds_at
from foldproof.pdf.ink_peak import Square, ink_peak
from foldproof.pdf.ink_plates import Colorants, Marked, colorants, marked, plate_digests
from foldproof.pdf.ink_raster import NO_SPOTS, Plates, Samples, drawn, native
from foldproof.pdf.interpreter import Turn, to_trim
from foldproof.units import mm_to_pt

#: how far beyond the bleed asked for the raster looks
BEYOND_MM = 1.0
#: across a band
_FINE_MM = 0.09
#: pixels a point (1,200 an inch) and rows of the raster that has pictures decoded
_DECODED_PX, _DECODED_ROWS = 1200 / 72, 4
#: name of the plate that nothing prints in but what prints in every plate
_EVERY_PLATE = "every plate, and nothing else"


@frozen
class Inked:
    """What the pass yields: the facts, and the ground at each place that was asked for."""

    ink: PageInk
    grounds: tuple[Ground, ...]


def page_ink(
    page: Any,
    turn: Turn,
    bleed_mm: float,
    asked: Sequence[Asked] = (),
    *,
    large_pictures: bool = False,
    spots: bool = True,
) -> Inked:
    """Draw a loaded page and reduce it.

    Args:
        asked: places of text whose ground is wanted.
        large_pictures: the page holds pictures that are slow to decode; a hint that changes no fact.
        spots: the book states spots, so that they are looked for wherever the page may name them.

    Raises:
        Unreadable: MuPDF gave up on the page.
    """
    with native():
        return _page_ink(page, turn, bleed_mm, asked, large_pictures, spots)


def _page_ink(
    page: Any, turn: Turn, bleed_mm: float, asked: Sequence[Asked], large_pictures: bool, spots: bool
) -> Inked:
    margin_pt = mm_to_pt(bleed_mm + BEYOND_MM)
    grid = Grid.on(turn.trim_pt, margin_pt)
    named = colorants(page) if spots else Colorants()
    plates = Plates(page, named.named)
    media = grid.matrix.rect(Rect(*turn.media_pt))
    window = (
        max(-math.ceil(margin_pt * grid.sx), math.floor(media.x0 + 0.01)),
        max(-math.ceil(margin_pt * grid.sy), math.floor(media.y0 + 0.01)),
        min(grid.width_px + math.ceil(margin_pt * grid.sx), math.ceil(media.x1 - 0.01)),
        min(grid.height_px + math.ceil(margin_pt * grid.sy), math.ceil(media.y1 - 0.01)),
    )
    to_frame = to_trim(page, turn)
    if window[2] <= window[0] or window[3] <= window[1]:
        # no paper where the trim is said to be
        return Inked(PageInk(turn.index, True, None, (), {}), ((),) * len(asked))
    raster = drawn(page, plates, to_frame.then(grid.matrix), window, keep=True)
    stains = _stains(raster.samples)
    box = (0, 0, grid.width_px, grid.height_px)
    ink = Ink.of(_part(stains, window, box))

    if large_pictures and sum(map(int, (ink.columns[0], ink.columns[-1], ink.rows[-1]))) > 1:
        _decode_once(page, plates, to_frame, turn)

    def band(edge: Edge) -> Band:
        return _band(page, plates, to_frame, grid, turn, bleed_mm, edge)

    coverage, peak = {}, None
    if not ink.blank:
        square, samples = Square.on(grid), _part(raster.samples, window, box)
        covered = cover(samples, ink, plates.names, square.half)
        coverage, peak = covered.coverage, ink_peak(samples, covered.cells, square, grid, plates.names)
    printed, ink_mm, on = _bleed_box(window, grid, bleed_mm), None, Marked((), (), False)
    looks: tuple[tuple[str, str], ...] = ()
    if printed is not None:
        whole = ink if printed == box else Ink.of(_part(stains, window, printed))
        ink_mm = _ink_box(whole, printed, grid)
        samples = _part(raster.samples, window, printed)
        on = _marked(page, plates, to_frame.then(grid.matrix), samples, whole, printed, grid, named.stand_in - NO_SPOTS)
        looks = plate_digests(samples, plates.names)
    facts = PageInk(
        index=turn.index,
        blank=ink.blank,
        ink_mm=ink_mm,
        edges=edge_facts(ink, grid, bleed_mm, band),
        coverage=coverage,
        peak=peak,
        inks=on.inks,
        faint=on.faint,
        every_plate=on.every_plate,
        stand_in=on.stand_in,
        plates=looks,
    )
    return Inked(facts, grounds_at(asked, raster.samples, window, ink, grid, plates.names))


def _stains(samples: Samples) -> Stains:
    """All samples of a pixel in one word: four of them side by side, or more laid over one another."""
    if samples.shape[2] == 4:
        return samples.view(np.uint32)[:, :, 0]
    laid = samples[:, :, 0].copy()
    for colorant in range(1, samples.shape[2]):
        laid |= samples[:, :, colorant]
    return laid


def _part(raster: NDArray[Any], window: Window, box: Window) -> NDArray[Any]:
    """What a raster of a window shows of a box, bare paper where it shows nothing."""
    x0, y0 = max(window[0], box[0]), max(window[1], box[1])
    x1, y1 = max(x0, min(window[2], box[2])), max(y0, min(window[3], box[3]))
    shown: NDArray[Any] = raster[y0 - window[1] : y1 - window[1], x0 - window[0] : x1 - window[0]]
    if (x0, y0, x1, y1) == box:
        return shown
    whole = np.zeros((box[3] - box[1], box[2] - box[0], *raster.shape[2:]), dtype=raster.dtype)
    whole[y0 - box[1] : y1 - box[1], x0 - box[0] : x1 - box[0]] = shown
    return whole


def _bleed_box(window: Window, grid: Grid, bleed_mm: float) -> Window | None:
    """Trim and bleed, as far as there is paper."""
    bleed_x, bleed_y = round(mm_to_pt(bleed_mm) * grid.sx), round(mm_to_pt(bleed_mm) * grid.sy)
    x0, y0 = max(window[0], -bleed_x), max(window[1], -bleed_y)
    x1, y1 = min(window[2], grid.width_px + bleed_x), min(window[3], grid.height_px + bleed_y)
    return None if x1 <= x0 or y1 <= y0 else (x0, y0, x1, y1)


def _ink_box(ink: Ink, printed: Window, grid: Grid) -> Rect | None:
    """The box round all ink inside trim and bleed."""
    if ink.blank:
        return None
    (x0, y0, *_), rows, columns = printed, np.flatnonzero(ink.rows), np.flatnonzero(ink.columns)
    return grid.rect_mm(x0 + int(columns[0]), y0 + int(rows[0]), x0 + int(columns[-1]) + 1, y0 + int(rows[-1]) + 1)


def _marked(
    page: Any,
    plates: Plates,
    matrix: Matrix,
    samples: Samples,
    ink: Ink,
    printed: Window,
    grid: Grid,
    stand_in: Iterable[str],
) -> Marked:
    """The plates that the page marks in a window of it, trim and bleed."""
    if samples.shape[2] == len(PROCESS):
        laid = np.bitwise_or.reduce(ink.in_rows, keepdims=True).view(np.uint8).tolist()
    else:
        laid = [int(np.bitwise_or.reduce(samples[:, :, plate], axis=None)) for plate in range(samples.shape[2])]

    def every_plate() -> Samples | None:
        named = colorants(page)
        if named.whole and "All" not in named.named:
            return None
        more = Plates(page, (*plates.names, _EVERY_PLATE))
        alone = drawn(page, more, matrix, printed)
        return alone.samples[:, :, more.names.index(_EVERY_PLATE)].copy()

    x0, y0 = max(0, -printed[0]), max(0, -printed[1])
    trim = slice(y0, y0 + grid.height_px), slice(x0, x0 + grid.width_px)
    return marked(samples, laid, plates.names, trim, every_plate, stand_in)


def _decode_once(page: Any, plates: Plates, to_frame: Matrix, turn: Turn) -> None:
    """Have pictures decoded whole and at full size before the bands are drawn.

    For a band MuPDF decodes only the part of a picture that shows in it, each time anew, and a JPEG from its head
    however little is wanted.  A raster of a few rows, and finer across than any picture so that nothing is scaled down
    for it, makes it decode all once; it finds that in its store for every band.
    """
    x0, y0, x1, y1 = turn.media_pt
    down = _DECODED_ROWS / (y1 - y0)
    squeezed = Matrix(_DECODED_PX, 0.0, 0.0, down, 0.0, -y0 * down)
    across = math.floor(x0 * _DECODED_PX), math.ceil(x1 * _DECODED_PX)
    drawn(page, plates, to_frame.then(squeezed), (across[0], 0, across[1], _DECODED_ROWS))


def _fine_mm(bleed_mm: float) -> tuple[float, int]:
    """Size of a pixel across a band, and how many of them the band reaches beyond the trim."""
    steps = math.ceil(bleed_mm / _FINE_MM - 1e-9)
    fine_mm = bleed_mm / steps if steps else _FINE_MM  # the bleed asked for ends exactly between two pixels
    return fine_mm, math.ceil((bleed_mm + BEYOND_MM) / fine_mm)


def _band(page: Any, plates: Plates, to_frame: Matrix, grid: Grid, turn: Turn, bleed_mm: float, edge: Edge) -> Band:
    """One edge of the trim drawn finely across."""
    fine_mm, out = _fine_mm(bleed_mm)
    fine, deep = 1 / mm_to_pt(fine_mm), Band.DEEP
    width, height = turn.trim_pt
    x0, y0, x1, y1 = turn.media_pt
    match edge:
        case Edge.LEFT:
            laid, room = Matrix(fine, 0, 0, -grid.sy, 0, grid.height_px), -x0
            window = (-out, 0, deep, grid.height_px)
        case Edge.RIGHT:
            laid, room = Matrix(fine, 0, 0, -grid.sy, -width * fine, grid.height_px), x1 - width
            window = (-deep, 0, out, grid.height_px)
        case Edge.FOOT:
            laid, room = Matrix(grid.sx, 0, 0, -fine, 0, 0), -y0
            window = (0, -deep, grid.width_px, out)
        case Edge.HEAD:
            laid, room = Matrix(grid.sx, 0, 0, -fine, 0, height * fine), y1 - height
            window = (0, -out, grid.width_px, deep)
    raster = drawn(page, plates, to_frame.then(laid), window)
    mask = edge.facing(wet(_stains(raster.samples)))
    # rows now run inwards: the first `out` lie beyond the line, the one next to it last
    beyond = mask[:out][::-1].copy()
    # matter beyond the MediaBox is not there (ISO 32000-1, 14.11.2.1)
    beyond[max(0, round(room * fine)) :] = False
    return Band(fine_mm, mask[out:], beyond)
