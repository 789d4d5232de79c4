# SPDX-License-Identifier: AGPL-3.0-or-later
"""A die's shapes as MuPDF paints them, part by part, for measuring."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
import pymupdf

from foldproof.geometry import Matrix, Rect
from foldproof.pdf.die_shapes import Shape, content, moved
from foldproof.pdf.interpreter import quiet

_fitz: Any = pymupdf

Mask = npt.NDArray[np.bool_]


class Painted:
    """Shapes on a page of their own, to be looked at through windows."""

    def __init__(self, page: Any, box: Rect) -> None:
        # parsed once, painted window by window
        self._list, self._box = page.get_displaylist(annots=0), box

    def ink(self, window: Rect, scale: float) -> Mask:
        """Where there is ink in a window (die's frame, points), ``scale`` pixels a point, the first row at the head.

        A pixel is ink when at least half of it is covered.
        """
        wide, high = round(window.width * scale), round(window.height * scale)
        left, head = window.x0 - self._box.x0, self._box.y1 - window.y1
        clip = _fitz.Rect(left, head, left + window.width, head + window.height)
        # the matrix puts the window's corner on a whole pixel
        matrix = _fitz.Matrix(scale, 0, 0, scale, -left * scale, -head * scale)
        pix = self._list.get_pixmap(matrix=matrix, colorspace=_fitz.csGRAY, alpha=0, clip=clip)
        seen = np.frombuffer(pix.samples, np.uint8).reshape(pix.height, pix.stride)[:, : pix.width] < 128
        mask = np.zeros((high, wide), bool)
        part = seen[max(0, -pix.y) :, max(0, -pix.x) :]
        rows, columns = max(0, pix.y), max(0, pix.x)
        part = part[: high - rows, : wide - columns]
        mask[rows : rows + part.shape[0], columns : columns + part.shape[1]] = part
        return mask


@contextmanager
def painted(shapes: tuple[Shape, ...], box: Rect) -> Iterator[Painted]:
    """The shapes, drawn in black; ``box`` (die's frame, points) holds all that will be looked at."""
    quiet()
    stream = io.BytesIO()
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(max(box.width, 3.0), max(box.height, 3.0)))
        here = moved(shapes, Matrix.translation(-box.x0, max(box.height, 3.0) - box.y1))
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(content(here).encode("ascii"))
        pdf.save(stream)
    document = _fitz.open("pdf", stream.getvalue())
    try:
        yield Painted(document[0], box)
    finally:
        document.close()
