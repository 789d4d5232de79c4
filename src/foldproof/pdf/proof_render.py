# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's eye: MuPDF draws a leaf from the sheet and the page from the manuscript on the same grid of pixels.

A side is interpreted once, into a display list; every leaf on it is a replay with a finite scissor (half a
millisecond whatever the sheet; without it the cost grows with the pages a side).  Optional content stands at the
file's own default and at what its usage says for printing, on both.
"""

from __future__ import annotations

import math
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pymupdf
from attrs import frozen
from pymupdf import mupdf

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.pdf.memory import room_for
from foldproof.pdf.proof_affine import Box, Map, back, box_round, chain, shift, then
from foldproof.units import PT_PER_MM

_TOOLS: Any = pymupdf.TOOLS
_TOOLS.mupdf_display_errors(False)
_TOOLS.mupdf_display_warnings(False)

_MEDIA_BOX, _CROP_BOX = mupdf.pdf_new_name("MediaBox"), mupdf.pdf_new_name("CropBox")

Pixels = npt.NDArray[np.uint8]

#: a turn that keeps MuPDF from setting level text to whole pixels: far below a pixel over any page
TURN_RAD = 1e-5
#: the grid starts this part of a pixel outside its box: pages set in whole points would else have their baselines on
#: the very edge between two pixels, where the noise of the last digit moves them
_ASIDE_PX = 0.29
#: how much of what MuPDF has kept it may keep from sheet to sheet
_KEEP_PERCENT = 60


@frozen
class Window:
    """A box of the leaf frame (mm, y up) and the grid of pixels laid over it."""

    box: Box
    dpi: float
    aside_px: float = _ASIDE_PX

    @property
    def size(self) -> tuple[int, int]:
        """Whole pixels that lie inside, across and down; never none."""
        each = self.dpi / 72 * PT_PER_MM
        return (
            max(1, math.floor((self.box[2] - self.box[0]) * each + self.aside_px)),
            max(1, math.floor((self.box[3] - self.box[1]) * each + self.aside_px)),
        )

    def to_pixels(self, *, turned: bool = False) -> Map:
        """Leaf frame, mm → pixels, y down from the upper left corner."""
        each = self.dpi / 72 * PT_PER_MM
        flat = then(shift(-self.box[0], -self.box[3]), (each, 0.0, 0.0, -each, self.aside_px, self.aside_px))
        if not turned:
            return flat
        cos, sin = math.cos(TURN_RAD), math.sin(TURN_RAD)
        return then(flat, (cos, sin, -sin, cos, 0.0, 0.0))

    def cells(self, box: Box, margin: float) -> tuple[slice, slice]:
        """Rows and columns of the pixels that a box of the leaf frame touches, ``margin`` pixels more on each side."""
        x0, y0, x1, y1 = box_round(self.to_pixels(), box)
        width, height = self.size
        return (
            slice(_clamped(math.floor(y0 - margin), height), _clamped(math.ceil(y1 + margin), height)),
            slice(_clamped(math.floor(x0 - margin), width), _clamped(math.ceil(x1 + margin), width)),
        )


def _let_go(raster: Any) -> None:
    """Called when nobody looks at the samples any more; the argument was all that kept the raster."""


def _clamped(value: int, top: int) -> int:
    return min(max(value, 0), top)


class Viewer:
    """One PDF opened in MuPDF."""

    def __init__(self, path: Path, password: str | None = None) -> None:
        """Open.

        Raises:
            NeedsPassword: it is locked.
            Unreadable: MuPDF cannot open it.
        """
        with _translated(path.name):
            room_for(path)
            self._pdf = mupdf.pdf_open_document(str(path))
            if mupdf.pdf_needs_password(self._pdf) and not mupdf.pdf_authenticate_password(self._pdf, password or ""):
                raise NeedsPassword(f"{path.name} is locked by a password. Give it with --password-file.")
        self._name = path.name

    @property
    def pages(self) -> int:
        with _translated(self._name):
            return int(mupdf.pdf_count_pages(self._pdf))

    def page(self, index: int, *, medium: Box | None, annotated: bool) -> Drawing:
        """A page, interpreted anew for every drawing, with its annotations that print or without any.

        MuPDF cuts what it draws at the CropBox, which is for screens: a page that is cropped is given its medium
        (MediaBox, user space) in the copy in memory, or its bleed would be missing.

        MuPDF makes up appearances for form fields that have none; so annotations are asked for only where one of the
        page's own is to be seen.  And it draws no link, and no field that stands in no form, though they have an
        appearance that prints: in the copy in memory these are told to it as stamps.
        """
        with _translated(f"Page {index + 1} of {self._name}"):
            if annotated:
                _draw_as_stamps(self._pdf, index)
            page = mupdf.pdf_load_page(self._pdf, index)
            if medium is not None and not _shows(page, medium):
                for name in (_MEDIA_BOX, _CROP_BOX):
                    mupdf.pdf_dict_put_rect(page.obj(), name, mupdf.FzRect(*medium))
            return Drawing(page, None, _page_map(page), f"Page {index + 1} of {self._name}", annotated=annotated)

    def side(self, index: int) -> Drawing:
        """A page, interpreted once and replayed for every drawing; without annotations, which no plate prints."""
        name = f"Page {index + 1} of {self._name}"
        with _translated(name):
            page = mupdf.pdf_load_page(self._pdf, index)
            listed = mupdf.FzDisplayList(mupdf.FzRect(mupdf.FzRect.Fixed_INFINITE))
            device = mupdf.fz_new_list_device(listed)
            mupdf.pdf_run_page_contents_with_usage(page, device, mupdf.FzMatrix(), "Print", mupdf.FzCookie())
            mupdf.fz_close_device(device)
            return Drawing(page, listed, _page_map(page), name)


class Drawing:
    """A page ready to be drawn."""

    def __init__(self, page: Any, listed: Any | None, page_map: Map, name: str, *, annotated: bool = False) -> None:
        self._page = page
        self._listed = listed
        self._annotated = annotated
        self._from_user = back(page_map)
        self._name = name

    def pixels(self, to_leaf: Map, window: Window, *, turned: bool = False) -> Pixels:
        """Draw what of the page lies in the window, in RGB on white paper.

        Args:
            to_leaf: default user space of the page → leaf frame, mm.
            window: what to draw, and how fine.
            turned: by :data:`TURN_RAD`.

        Raises:
            Unreadable: MuPDF gave up.
        """
        width, height = window.size
        six = chain(self._from_user, to_leaf, window.to_pixels(turned=turned))
        with _translated(self._name):
            matrix = mupdf.FzMatrix(*six)
            bounds = mupdf.FzIrect(0, 0, width, height)
            raster = mupdf.fz_new_pixmap_with_bbox(
                mupdf.FzColorspace(mupdf.FzColorspace.Fixed_RGB), bounds, mupdf.FzSeparations(), 0
            )
            mupdf.fz_clear_pixmap_with_value(raster, 255)
            device = mupdf.fz_new_draw_device(mupdf.FzMatrix(), raster)
            if self._listed is not None:
                scissor = mupdf.FzRect(0, 0, width, height)
                mupdf.fz_run_display_list(self._listed, device, matrix, scissor, mupdf.FzCookie())
            elif self._annotated:
                mupdf.pdf_run_page_with_usage(self._page, device, matrix, "Print", mupdf.FzCookie())
            else:
                mupdf.pdf_run_page_contents_with_usage(self._page, device, matrix, "Print", mupdf.FzCookie())
            mupdf.fz_close_device(device)
            flat = np.frombuffer(mupdf.fz_pixmap_samples_memoryview(raster), dtype=np.uint8)
            # The samples belong to the raster: it lives as long as any view of them, and nothing is copied.
            weakref.finalize(flat, _let_go, raster)
            return flat.reshape(height, width, 3)


@frozen
class CountJob:
    path: Path
    password: str | None = None


def count_drawn(job: CountJob) -> int:
    """How many pages MuPDF finds.

    Raises:
        NeedsPassword, Unreadable: MuPDF cannot open it.
    """
    return Viewer(job.path, job.password).pages


def shrink_store() -> None:
    """Give back what MuPDF has kept longest of pages already drawn: pictures above all.

    Not everything: fonts would have to be read and glyphs drawn anew for every sheet, a third of the time of the look.
    """
    mupdf.fz_shrink_store(_KEEP_PERCENT)


def _draw_as_stamps(pdf: Any, index: int) -> None:
    subtype, stamp = mupdf.pdf_new_name("Subtype"), mupdf.pdf_new_name("Stamp")
    annotations = mupdf.pdf_dict_gets(mupdf.pdf_lookup_page_obj(pdf, index), "Annots")
    for place in range(mupdf.pdf_array_len(annotations)):
        one = mupdf.pdf_array_get(annotations, place)
        drawn = mupdf.pdf_dict_gets(mupdf.pdf_dict_gets(one, "AP"), "N")
        kind = mupdf.pdf_to_name(mupdf.pdf_dict_get(one, subtype))
        if kind in ("Link", "Widget") and mupdf.pdf_is_dict(drawn):
            mupdf.pdf_dict_put(one, subtype, stamp)


def _shows(page: Any, medium: Box) -> bool:
    shown, matrix = mupdf.FzRect(), mupdf.FzMatrix()
    mupdf.pdf_page_transform(page, shown, matrix)
    pairs = zip((shown.x0, shown.y0, shown.x1, shown.y1), medium, strict=True)
    return all(abs(one - other) < 0.01 for one, other in pairs)


def _page_map(page: Any) -> Map:
    box, matrix = mupdf.FzRect(), mupdf.FzMatrix()
    mupdf.pdf_page_transform(page, box, matrix)
    return matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f


@contextmanager
def _translated(what: str) -> Iterator[None]:
    try:
        yield
    except (Unreadable, MemoryError):
        raise
    except Exception as odd:  # MuPDF's Python layer raises several unrelated types
        # not with this module: whoever hands out what is to be drawn loads it too, and need not load pypdf
        from foldproof.pdf.proof_objects import unread

        raise unread(what, odd, "drawn") from odd
