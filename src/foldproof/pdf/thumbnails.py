# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small pictures of pages and sheets, drawn by MuPDF.

:func:`views` is the whole job of a worker process: it opens the file, draws, closes, and hands back JPEG bytes.  A
page that cannot be drawn gives ``None`` in its place; only a process that dies or hangs loses the others of its job.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pymupdf
from attrs import field, frozen
from pymupdf import mupdf

from foldproof.pdf.opened import FAILURES, Six, framed, unlocked

# its Python layer carries no types
_fitz: Any = pymupdf

#: MuPDF's own scale of JPEG quality, 0 to 100: enough to know a page by, small enough to embed
_QUALITY = 72
#: no picture gets wider or higher than this, whatever its box
_MOST_PX = 2400

Box = tuple[float, float, float, float]


@frozen
class View:
    """One picture that is wanted."""

    index: int  #: 0-based page of the file
    #: the page's default user space (PDF units) to the frame of the picture (points, y up), in PDF's order a b c d e f
    to_frame: Six
    box_pt: Box  #: what is shown, in that frame
    width_px: int


@frozen
class ViewJob:
    """Pictures of one file."""

    path: Path
    views: tuple[View, ...]
    password: str | None = field(default=None, repr=False)


def views(job: ViewJob) -> tuple[bytes | None, ...]:
    """JPEG bytes for every view of the job, ``None`` where a page cannot be drawn."""
    _fitz.TOOLS.mupdf_display_errors(False)
    _fitz.TOOLS.mupdf_display_warnings(False)
    nothing: tuple[bytes | None, ...] = (None,) * len(job.views)
    try:
        document = unlocked(job.path, job.password)
        if document is None:
            return nothing
        count = mupdf.pdf_count_pages(document)
        return tuple(_drawn(document, view) if 0 <= view.index < count else None for view in job.views)
    except FAILURES:
        return nothing
    finally:
        _fitz.TOOLS.store_shrink(100)


def _drawn(document: Any, view: View) -> bytes | None:
    x0, y0, x1, y1 = view.box_pt
    if not (x1 > x0 and y1 > y0):
        return None
    scale = min(view.width_px / (x1 - x0), _MOST_PX / (y1 - y0), _MOST_PX / (x1 - x0))
    width_px, height_px = max(1, round((x1 - x0) * scale)), max(1, round((y1 - y0) * scale))
    try:
        page = mupdf.pdf_load_page(document, view.index)
        _uncrop(page)
        matrix = framed(page, view.to_frame)
        # frame (y up) to pixels (y down), the box's upper left corner at the origin
        matrix = mupdf.fz_concat(matrix, mupdf.FzMatrix(scale, 0, 0, -scale, -x0 * scale, y1 * scale))
        bounds = mupdf.FzIrect(0, 0, width_px, height_px)
        pixels = mupdf.fz_new_pixmap_with_bbox(mupdf.fz_device_rgb(), bounds, mupdf.FzSeparations(), 0)
        mupdf.fz_clear_pixmap_with_value(pixels, 255)
        device = mupdf.fz_new_draw_device(mupdf.FzMatrix(), pixels)
        mupdf.pdf_run_page(page, device, matrix, mupdf.FzCookie())
        mupdf.fz_close_device(device)
        made: bytes = _fitz.Pixmap("raw", pixels).tobytes("jpeg", jpg_quality=_QUALITY)
    except FAILURES:
        return None
    return made


def _uncrop(page: Any) -> None:
    """Let the open copy of a page show its whole MediaBox.

    MuPDF cuts what it draws at the CropBox, which is for screens: a page that is cropped to its trim would be shown
    without its bleed, just where a finding about the bleed marks it.
    """
    own = page.obj()
    media, crop = (mupdf.pdf_dict_get_inheritable(own, mupdf.pdf_new_name(box)) for box in ("MediaBox", "CropBox"))
    if crop.m_internal and media.m_internal:
        mupdf.pdf_dict_put_rect(own, mupdf.pdf_new_name("CropBox"), mupdf.pdf_to_rect(media))
