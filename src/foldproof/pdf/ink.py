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
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray
from pymupdf import mupdf

from foldproof.geometry import Matrix, Rect
from foldproof.manuscript.model import PageInk
from foldproof.pdf.ink_edges import Band, Edge, edge_facts
from foldproof.pdf.interpreter import Turn, run, to_trim
from foldproof.units import mm_to_pt, pt_to_mm

_mu: Any = mupdf

#: a sample of 255 below this is no ink: 1.6 %, above what conversions of white leave behind
FAINTEST = 4
_FAINT_WORD = 0xFCFCFCFC  # the same for four samples at once: a sample of at least 4 has a bit of 0xFC
#: larger rasters are drawn coarser: 6 million pixels are a page of 860 x 860 mm at 72 dpi
_MOST_PX = 6_000_000
#: how far beyond the bleed asked for the raster looks
BEYOND_MM = 1.0
#: across a band
_FINE_MM = 0.09
_PROCESS = ("Cyan", "Magenta", "Yellow", "Black")

Samples = NDArray[np.uint8]
Mask = NDArray[np.bool_]


@frozen
class Grid:
    """Whole pixels laid on the trim: column 0 begins at its left line, row 0 at its head; y runs down."""

    width_px: int
    height_px: int
    #: pixels a point, across and down
    sx: float
    sy: float
    trim_pt: tuple[float, float]

    @classmethod
    def on(cls, trim_pt: tuple[float, float], margin_pt: float) -> Grid:
        width, height = trim_pt
        area = (width + 2 * margin_pt) * (height + 2 * margin_pt)
        scale = min(1.0, math.sqrt(_MOST_PX / max(area, 1.0)))
        across, down = max(1, round(width * scale)), max(1, round(height * scale))
        return cls(across, down, across / width, down / height, trim_pt)

    @property
    def matrix(self) -> Matrix:
        """Trim frame (points, y up) to pixels."""
        return Matrix(self.sx, 0.0, 0.0, -self.sy, 0.0, float(self.height_px))

    def rect_mm(self, x0: float, y0: float, x1: float, y1: float) -> Rect:
        """Pixel bounds to the trim frame, mm."""
        left, right = x0 / self.sx, x1 / self.sx
        foot, head = self.trim_pt[1] - y1 / self.sy, self.trim_pt[1] - y0 / self.sy
        return Rect(*(round(pt_to_mm(v), 3) for v in (left, foot, right, head)))


def page_ink(page: Any, turn: Turn, bleed_mm: float) -> PageInk:
    """Draw a loaded page and reduce it.

    Raises:
        Unreadable: MuPDF gave up on the page.
    """
    margin_pt = mm_to_pt(bleed_mm + BEYOND_MM)
    grid = Grid.on(turn.trim_pt, margin_pt)
    plates = _Plates(page)
    media = grid.matrix.rect(Rect(*turn.media_pt))
    window = (
        max(-math.ceil(margin_pt * grid.sx), math.floor(media.x0 + 0.01)),
        max(-math.ceil(margin_pt * grid.sy), math.floor(media.y0 + 0.01)),
        min(grid.width_px + math.ceil(margin_pt * grid.sx), math.ceil(media.x1 - 0.01)),
        min(grid.height_px + math.ceil(margin_pt * grid.sy), math.ceil(media.y1 - 0.01)),
    )
    to_frame = to_trim(page, turn)
    if window[2] <= window[0] or window[3] <= window[1]:
        return PageInk(turn.index, True, None, (), {})  # no paper where the trim is said to be
    raster = _drawn(page, plates, to_frame.then(grid.matrix), window)
    samples = raster.samples
    mask = _mask(samples)
    # the part of the window inside the trim, and where it lies in the trim
    left, top = max(0, window[0]), max(0, window[1])
    right, foot = min(grid.width_px, window[2]), min(grid.height_px, window[3])
    inside = (
        slice(max(0, top - window[1]), max(0, foot - window[1])),
        slice(left - window[0], max(0, right - window[0])),
    )
    trim = np.zeros((grid.height_px, grid.width_px), dtype=np.bool_)
    if foot > top and right > left:
        trim[top:foot, left:right] = mask[inside]
    blank = not trim.any()

    def band(edge: Edge) -> Band:
        return _band(page, plates, to_frame, grid, turn, bleed_mm, edge)

    return PageInk(
        index=turn.index,
        blank=blank,
        ink_mm=_ink_box(mask, window, grid, bleed_mm),
        edges=edge_facts(trim, grid, bleed_mm, band),
        coverage={} if blank else _coverage(samples, inside, plates.names, grid.width_px * grid.height_px),
    )


@frozen(eq=False)
class _Raster:
    """Samples, one a colorant, 0 for bare paper; they live only as long as the pixmap that owns them."""

    samples: Samples
    pixmap: Any


class _Plates:
    """The colorants of a page: process and spots."""

    def __init__(self, page: Any) -> None:
        self.separations = _mu.pdf_page_separations(page)
        count = _mu.fz_count_separations(self.separations) if self.separations.m_internal else 0
        names = []
        for number in range(count):
            _mu.fz_set_separation_behavior(self.separations, number, _mu.FZ_SEPARATION_SPOT)
            names.append(_mu.fz_separation_name(self.separations, number))
        if not count:
            self.separations = _mu.FzSeparations()
        self.names = (*_PROCESS, *names)


def _drawn(page: Any, plates: _Plates, matrix: Matrix, window: tuple[int, int, int, int]) -> _Raster:
    """One run of the page onto a fresh raster."""
    space = _mu.FzColorspace(_mu.FzColorspace.Fixed_CMYK)
    pixmap = _mu.fz_new_pixmap_with_bbox(space, _mu.FzIrect(*window), plates.separations, 0)
    _mu.fz_clear_pixmap_with_value(pixmap, 0xFF)
    device = _mu.fz_new_draw_device(_mu.FzMatrix(), pixmap)
    run(page, device, matrix, _mu.FzCookie())
    shape = (window[3] - window[1], window[2] - window[0], len(plates.names))
    samples: Samples = np.frombuffer(_mu.fz_pixmap_samples_memoryview(pixmap), dtype=np.uint8).reshape(shape)
    return _Raster(samples, pixmap)


def _mask(samples: Samples) -> Mask:
    """Where there is ink of any colorant."""
    if samples.shape[2] == 4:
        words = samples.view(np.uint32)[:, :, 0]
        return np.asarray((words & np.uint32(_FAINT_WORD)) != 0)
    found = np.asarray(samples[:, :, 0] >= FAINTEST)
    for colorant in range(1, samples.shape[2]):
        found |= samples[:, :, colorant] >= FAINTEST
    return found


def _ink_box(mask: Mask, window: tuple[int, int, int, int], grid: Grid, bleed_mm: float) -> Rect | None:
    """The box round all ink inside trim and bleed."""
    bleed_x, bleed_y = round(mm_to_pt(bleed_mm) * grid.sx), round(mm_to_pt(bleed_mm) * grid.sy)
    x0, y0 = max(window[0], -bleed_x), max(window[1], -bleed_y)
    x1, y1 = min(window[2], grid.width_px + bleed_x), min(window[3], grid.height_px + bleed_y)
    part = mask[max(0, y0 - window[1]) : max(0, y1 - window[1]), max(0, x0 - window[0]) : max(0, x1 - window[0])]
    rows = np.flatnonzero(part.any(axis=1))
    if not rows.size:
        return None
    columns = np.flatnonzero(part[rows[0] : rows[-1] + 1].any(axis=0))
    return grid.rect_mm(x0 + int(columns[0]), y0 + int(rows[0]), x0 + int(columns[-1]) + 1, y0 + int(rows[-1]) + 1)


def _coverage(samples: Samples, inside: tuple[slice, slice], names: tuple[str, ...], trim_px: int) -> dict[str, float]:
    """Mean of each colorant over the trim, 0 to 1; only those that occur."""
    part = samples[inside]
    if len(names) == 4:
        words = np.ascontiguousarray(part).view(np.uint32)[:, :, 0]
        occurring = int(np.bitwise_or.reduce(words, axis=None))
        order = range(4) if _LITTLE else range(3, -1, -1)
        bytes_of = [(occurring >> 8 * place) & 0xFF for place in order]
        alone = [number for number in range(4) if bytes_of[number]]
        if len(alone) == 1:
            # one plate alone, as on most pages of a book: the word is its sample, shifted
            shift = 8 * (alone[0] if _LITTLE else 3 - alone[0])
            totals = {alone[0]: int(words.sum(dtype=np.uint64)) >> shift}
        else:
            totals = {number: int(part[:, :, number].sum(dtype=np.uint64)) for number in alone}
    else:
        totals = {number: int(part[:, :, number].sum(dtype=np.uint64)) for number in range(len(names))}
    found: dict[str, float] = {}
    for number, total in totals.items():
        if total:
            found[names[number]] = round(min(1.0, found.get(names[number], 0.0) + total / 255 / trim_px), 6)
    return found


_LITTLE = bool(np.frombuffer(b"\1\0", dtype=np.uint16)[0] == 1)


def _band(page: Any, plates: _Plates, to_frame: Matrix, grid: Grid, turn: Turn, bleed_mm: float, edge: Edge) -> Band:
    """One edge of the trim drawn finely across."""
    steps = math.ceil(bleed_mm / _FINE_MM - 1e-9)
    fine_mm = bleed_mm / steps if steps else _FINE_MM  # the bleed asked for ends exactly between two pixels
    fine = 1 / mm_to_pt(fine_mm)
    out, deep = math.ceil((bleed_mm + BEYOND_MM) / fine_mm), Band.DEEP
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
    raster = _drawn(page, plates, to_frame.then(laid), window)
    mask = edge.facing(_mask(raster.samples))
    # rows now run inwards: the first `out` lie beyond the line, the one next to it last
    beyond = mask[:out][::-1].copy()
    # matter beyond the MediaBox is not there (ISO 32000-1, 14.11.2.1)
    beyond[max(0, round(room * fine)) :] = False
    return Band(fine_mm, mask[out:], beyond)
