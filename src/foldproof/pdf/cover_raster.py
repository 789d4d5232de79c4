# SPDX-License-Identifier: AGPL-3.0-or-later
"""A part of a cover drawn as a raster: how light it is, what a scanner sees of it, which inks make it up."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from attrs import frozen
from pymupdf import mupdf

from foldproof.geometry import Matrix, Rect
from foldproof.pdf.ink_raster import Plates, Samples, drawn, native
from foldproof.pdf.interpreter import Turn, run, to_trim
from foldproof.units import PT_PER_INCH, mm_to_inch, mm_to_pt

_mu: Any = mupdf

#: pixels of one raster at the most: a page may be as large as it likes, memory is not
MOST_PIXELS = 64_000_000


def fitting_dpi(box_mm: Rect, dpi: float) -> float:
    """The resolution asked for, or the finest at which the box has no more than :data:`MOST_PIXELS`."""
    area = mm_to_inch(box_mm.width) * mm_to_inch(box_mm.height)
    return min(dpi, math.sqrt(MOST_PIXELS / area)) if area > 0 else dpi


def lightness(page: Any, turn: Turn, box_mm: Rect, dpi: float) -> Samples:
    """Rows from the top by columns, 0 black to 255 bare paper.  ``box_mm``: trim frame."""
    return _shown(page, turn, box_mm, dpi, _mu.fz_device_gray())[:, :, 0]


def screen_colours(page: Any, turn: Turn, box_mm: Rect, dpi: float) -> Samples:
    """Rows by columns by red, green, blue, as a screen shows it."""
    return _shown(page, turn, box_mm, dpi, _mu.fz_device_rgb())


@frozen(eq=False)
class Inked:
    """What the plates print: rows by columns by inks, 0 bare to 255 solid."""

    names: tuple[str, ...]
    samples: Samples


def inked(page: Any, turn: Turn, box_mm: Rect, dpi: float) -> Inked:
    """The inks as the file itself states them, overprint reckoned; see :mod:`foldproof.pdf.ink` for RGB."""
    plates = Plates(page)
    laid, (across, down) = _laid(box_mm, dpi)
    with native():
        raster = drawn(page, plates, to_trim(page, turn).then(laid), (0, 0, across, down))
    return Inked(plates.names, raster.samples.copy())


def _shown(page: Any, turn: Turn, box_mm: Rect, dpi: float, space: Any) -> Samples:
    laid, (across, down) = _laid(box_mm, dpi)
    pixmap = _mu.fz_new_pixmap_with_bbox(space, _mu.FzIrect(0, 0, across, down), _mu.FzSeparations(), 0)
    _mu.fz_clear_pixmap_with_value(pixmap, 0xFF)
    device = _mu.fz_new_draw_device(_mu.FzMatrix(), pixmap)
    run(page, device, to_trim(page, turn).then(laid), _mu.FzCookie())
    flat = np.frombuffer(_mu.fz_pixmap_samples_memoryview(pixmap), dtype=np.uint8)
    return flat.reshape(down, across, -1).copy()


def _laid(box_mm: Rect, dpi: float) -> tuple[Matrix, tuple[int, int]]:
    """Trim frame, points, to pixels from the upper left corner of the box; and how many pixels that makes."""
    scale = dpi / PT_PER_INCH
    x0, y1 = mm_to_pt(box_mm.x0), mm_to_pt(box_mm.y1)
    size = max(1, round(mm_to_pt(box_mm.width) * scale)), max(1, round(mm_to_pt(box_mm.height) * scale))
    return Matrix(scale, 0.0, 0.0, -scale, -x0 * scale, y1 * scale), size
