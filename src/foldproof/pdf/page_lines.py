# SPDX-License-Identifier: AGPL-3.0-or-later
"""The lines of text of a few pages, as a reader sees them from head to foot.

:func:`page_lines` is the whole job of a worker process, which may be killed: it opens the file, reads, closes.  The
lines are those of MuPDF's own text device; a page that cannot be interpreted has none.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pymupdf
from attrs import field, frozen
from pymupdf import mupdf

from foldproof.pdf.opened import FAILURES, Six, framed, unlocked

# its Python layer carries no types
_fitz: Any = pymupdf

#: bottoms of pieces that differ by less than this part of the type size are one line
_ONE_LINE = 0.3
#: pieces of a line that are farther apart than this part of the type size are set apart by a space
_SPACE = 0.15
#: no more lines of a page than this
_MOST = 400


class TextLine(NamedTuple):
    """A level line of text; points from the upper left corner of the trim, y down."""

    x0: float
    top: float
    x1: float
    foot: float
    size: float  #: of most of its letters
    text: str


@frozen
class LinesOf:
    """One page that is to be read."""

    index: int  #: 0-based page of the file
    to_trim: Six  #: the page's default user space (PDF units) to the trim frame (points, y up)
    size_pt: tuple[float, float]  #: of the trim


@frozen
class LinesJob:
    """Pages of one file."""

    path: Path
    pages: tuple[LinesOf, ...]
    password: str | None = field(default=None, repr=False)


def page_lines(job: LinesJob) -> tuple[tuple[TextLine, ...], ...]:
    """For every page of the job its lines within the trim, from head to foot."""
    _fitz.TOOLS.mupdf_display_errors(False)
    _fitz.TOOLS.mupdf_display_warnings(False)
    nothing: tuple[tuple[TextLine, ...], ...] = ((),) * len(job.pages)
    try:
        document = unlocked(job.path, job.password)
        if document is None:
            return nothing
        count = mupdf.pdf_count_pages(document)
        return tuple(_lines(document, page) if 0 <= page.index < count else () for page in job.pages)
    except FAILURES:
        return nothing
    finally:
        _fitz.TOOLS.store_shrink(100)


def _lines(document: Any, wanted: LinesOf) -> tuple[TextLine, ...]:
    width, height = wanted.size_pt
    try:
        page = mupdf.pdf_load_page(document, wanted.index)
        matrix = mupdf.fz_concat(framed(page, wanted.to_trim), mupdf.FzMatrix(1, 0, 0, -1, 0, height))
        held = mupdf.FzStextPage(mupdf.FzRect(0, 0, width, height))
        device = mupdf.fz_new_stext_device(held, mupdf.FzStextOptions())
        mupdf.pdf_run_page_contents(page, device, matrix, mupdf.FzCookie())
        mupdf.fz_close_device(device)
        found = _fitz.TextPage(held).extractDICT()
    except FAILURES:
        return ()
    pieces = [
        piece
        for block in found["blocks"]
        for line in block.get("lines", ())
        if abs(line["dir"][1]) < 0.01 and line["dir"][0] > 0
        for piece in _pieces(line["spans"], width, height)
    ]
    return tuple(_joined(pieces)[:_MOST])


def _pieces(spans: list[dict[str, Any]], width: float, height: float) -> list[TextLine]:
    out = []
    for span in spans:
        x0, top, x1, foot = span["bbox"]
        text = "".join(letter if letter.isprintable() else " " for letter in span["text"]).strip()
        if text and 0 <= (x0 + x1) / 2 <= width and 0 <= (top + foot) / 2 <= height:
            out.append(TextLine(x0, top, x1, foot, round(span["size"], 1), text))
    return out


def _joined(pieces: list[TextLine]) -> list[TextLine]:
    """Pieces that stand on one line, from the left, as one."""
    lines: list[list[TextLine]] = []
    for piece in sorted(pieces, key=lambda one: (one.foot, one.x0)):
        if lines and abs(lines[-1][-1].foot - piece.foot) < _ONE_LINE * max(piece.size, 1.0):
            lines[-1].append(piece)
        else:
            lines.append([piece])
    return [_line(sorted(line)) for line in lines]


def _line(pieces: list[TextLine]) -> TextLine:
    text = pieces[0].text
    for one, after in pairwise(pieces):
        text += (" " if after.x0 - one.x1 > _SPACE * after.size else "") + after.text
    most = max(pieces, key=lambda piece: len(piece.text))
    return TextLine(
        pieces[0].x0,
        min(piece.top for piece in pieces),
        max(piece.x1 for piece in pieces),
        max(piece.foot for piece in pieces),
        most.size,
        " ".join(text.split()),
    )
