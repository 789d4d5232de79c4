# SPDX-License-Identifier: AGPL-3.0-or-later
"""A file opened in MuPDF for reading single pages, and the way from a page to a frame of ours."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pymupdf import mupdf

from foldproof.pdf.memory import room_for

#: what MuPDF and its Python layer raise; FzErrorBase is a plain Exception
FAILURES = (mupdf.FzErrorBase, RuntimeError, ValueError, OSError)

Six = tuple[float, float, float, float, float, float]


def unlocked(path: Path, password: str | None) -> Any | None:
    """The document; ``None`` where the password does not open it.

    Not through pymupdf's own Document, which reads the whole outline.  Raises one of :data:`FAILURES`.
    """
    room_for(path)
    document = mupdf.pdf_open_document(str(path))
    if mupdf.pdf_needs_password(document) and not mupdf.pdf_authenticate_password(document, password or ""):
        return None
    return document


def framed(page: Any, to_frame: Six) -> Any:
    """MuPDF's matrix from a page as it draws it to a frame.

    Args:
        to_frame: the page's default user space (PDF units) to the frame (points, y up), in PDF's order a b c d e f.
    """
    # MuPDF's own page space begins at the CropBox and is already turned: undo that, then go by our frame
    crop, seen = mupdf.FzRect(), mupdf.FzMatrix()
    mupdf.pdf_page_transform(page, crop, seen)
    return mupdf.fz_concat(mupdf.fz_invert_matrix(seen), mupdf.FzMatrix(*to_frame))
