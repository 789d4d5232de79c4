# SPDX-License-Identifier: AGPL-3.0-or-later
"""A page or a side drawn into its plates: CMYK and one plate for every spot, overprint and transparency reckoned by
MuPDF, numbers as the file states them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray
from pymupdf import mupdf

from foldproof.geometry import Matrix
from foldproof.manuscript.seen import PROCESS
from foldproof.pdf.ink_grid import Window
from foldproof.pdf.interpreter import run

_mu: Any = mupdf

#: colorants that are no plates of their own (ISO 32000-1, 8.6.6.4 and 8.6.6.5)
NO_SPOTS = frozenset((*PROCESS, "All", "None", ""))

Samples = NDArray[np.uint8]


@contextmanager
def native() -> Iterator[None]:
    """Numbers as the file gives them, for as long as a page is drawn.

    With its colour management on, MuPDF would take ICCBased CMYK through two profiles of which the press knows none.
    Without it, ICCBased colours count as the device colours of as many components, and RGB becomes CMYK by the formula
    of ISO 32000-1, 10.3.4, with all grey in black: a plain guess, but everybody's, and never over 200 %.
    """
    _mu.fz_disable_icc()
    try:
        yield
    finally:
        _mu.fz_enable_icc()


@frozen(eq=False)
class Raster:
    """Samples, one a colorant, 0 for bare paper; they live only as long as the pixmap that owns them."""

    samples: Samples
    pixmap: Any


#: the window and raster drawn last, at most one
_KEPT: list[tuple[Window, Raster]] = []


class Plates:
    """The colorants of a page: process and spots."""

    def __init__(self, page: Any, also: Iterable[str] = ()) -> None:
        """``also``: colorants that are to have plates, whether MuPDF finds them on the page or not."""
        separations = _mu.pdf_page_separations(page)
        names = []
        if separations.m_internal:
            names = [_mu.fz_separation_name(separations, n) for n in range(_mu.fz_count_separations(separations))]
        more = sorted(set(also) - {*names, *NO_SPOTS})
        if more and not separations.m_internal:
            separations = _mu.fz_new_separations(0)
        for name in more:
            _mu.fz_add_separation_equivalents(separations, 0, 0, name)
        names += more
        for number in range(len(names)):
            _mu.fz_set_separation_behavior(separations, number, _mu.FZ_SEPARATION_SPOT)
        self.separations = separations if names else _mu.FzSeparations()
        self.names = (*PROCESS, *names)


def drawn(
    page: Any, plates: Plates, matrix: Matrix, window: Window, *, keep: bool = False, fair: bool = False
) -> Raster:
    """One run of the page onto a bare raster.

    Args:
        keep: the raster is good until the next such one is drawn.
        fair: upright pictures are laid on the nearest pixels, as those in tiling patterns are, so that their areas come
            out right on average.  Else MuPDF lets each grow to whole pixels, so that nothing thin is lost.
    """
    raster = _bare(plates, window, keep)
    _mu.fz_clear_pixmap_with_value(raster.pixmap, 0xFF)
    device = _mu.fz_new_draw_device(_mu.FzMatrix(), raster.pixmap)
    if fair:
        device.m_internal.flags |= _mu.FZ_DEVFLAG_GRIDFIT_AS_TILED
    run(page, device, matrix, _mu.FzCookie())
    return raster


def _bare(plates: Plates, window: Window, keep: bool) -> Raster:
    """A raster for the window; the last one again where it fits, as pages of a book are of one size."""
    keep = keep and len(plates.names) == len(PROCESS)
    if keep and _KEPT and _KEPT[0][0] == window:
        return _KEPT[0][1]
    space = _mu.FzColorspace(_mu.FzColorspace.Fixed_CMYK)
    pixmap = _mu.fz_new_pixmap_with_bbox(space, _mu.FzIrect(*window), plates.separations, 0)
    shape = (window[3] - window[1], window[2] - window[0], len(plates.names))
    samples: Samples = np.frombuffer(_mu.fz_pixmap_samples_memoryview(pixmap), dtype=np.uint8).reshape(shape)
    raster = Raster(samples, pixmap)
    if keep:
        _KEPT[:] = [(window, raster)]
    return raster
