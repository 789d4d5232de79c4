# SPDX-License-Identifier: AGPL-3.0-or-later
"""MuPDF, opened in a worker: quiet, one document kept from job to job, pages turned into the trim frame.

Nothing here or in the passes is safe against a page that never ends or a library that crashes: they run in a process
that may be killed (:mod:`foldproof.workers`).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pymupdf
from attrs import field, frozen
from pymupdf import mupdf

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.geometry import Matrix, Rect
from foldproof.pdf.memory import in_words, room_for

# its Python layers carry no types
_fitz: Any = pymupdf
_mu: Any = mupdf

_MEDIA_BOX, _CROP_BOX = _mu.pdf_new_name("MediaBox"), _mu.pdf_new_name("CropBox")

#: what MuPDF raises from Python
FAILURES = (_mu.FzErrorBase, RuntimeError, OSError)
#: what MuPDF may keep of decoded pictures and fonts while it draws a page; its own limit is twice as much.  A picture
#: of A4 in CMYK at 300 ppi takes 35 MB
STORE_BYTES = 128_000_000
#: it keeps them from page to page too and does not tell how much that is: when the process has grown by this much since
#: the last time, all is dropped
_GROWTH_BYTES = 60_000_000
#: where the system does not say how large the process is, it is dropped after so many pages
_BLIND_PAGES = 16
#: a document is opened afresh after so many pages: MuPDF keeps every object that it has parsed
_PAGES_AN_OPENING = 2000


_PAGE_BYTES = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096


@frozen
class Book:
    """A file to open, and how."""

    path: Path
    sha256: str
    password: str | None = field(default=None, repr=False)


@frozen
class Turn:
    """What the passes must know of a page before they look at it."""

    index: int  #: 0-based
    #: default user space (PDF units) to the trim frame (points), as ``PageFact.to_trim``
    to_trim: Matrix
    #: width and height of the trim in points, upright
    trim_pt: tuple[float, float]
    #: the MediaBox in the trim frame, points: x0, y0, x1, y1
    media_pt: tuple[float, float, float, float]


class _Shelf:
    """The one document that this process holds open."""

    def __init__(self) -> None:
        self.book: Book | None = None
        self.document: Any = None
        self.pages = 0

        self.limit: int | None = None
        self.bounded = False
        #: MuPDF had something to say of the page that is open
        self.remarked = False

    def take(self, book: Book) -> Any:
        if (self.book is not book and self.book != book) or self.pages >= _PAGES_AN_OPENING:
            self.drop()
            if not self.bounded:
                # a store of our own size in the place of the empty one; done once, before anything lies in it
                _mu.fz_new_store_context(STORE_BYTES)
                self.bounded = True
            self.document = _opened(book)
        # the pages of a lot share theirs: it need not be compared field by field every time
        self.book = book
        return self.document

    def drop(self) -> None:
        self.document, self.book, self.pages = None, None, 0
        _fitz.TOOLS.store_shrink(100)

    def tidy(self) -> None:
        """After a page: keep the process small, and what was wrong with this page from being told of the next."""
        self.pages += 1
        # MuPDF collects its warnings without bound until they are asked for, and one that is alike the last of the page
        # before is counted, not told, until then
        self.remarked |= bool(_fitz.TOOLS.mupdf_warnings())
        if self.remarked:
            # a broken font or picture is told of when it is read, not when it is found in the store: which pages are
            # said to be damaged would hang on which of them this process came to first
            _fitz.TOOLS.store_shrink(100)
            self.remarked = False
        size = _resident_bytes()
        if size is None:
            if self.pages % _BLIND_PAGES == 0:
                _fitz.TOOLS.store_shrink(100)
        elif self.limit is None:
            self.limit = size + _GROWTH_BYTES
        elif size > self.limit:
            _fitz.TOOLS.store_shrink(100)
            # what stays is not the store's; shrinking again at every page would only cost time
            self.limit = max(self.limit, (_resident_bytes() or size) + _GROWTH_BYTES // 2)


_SHELF = _Shelf()


def quiet() -> None:
    """Keep MuPDF's own messages off stdout and stderr."""
    _fitz.TOOLS.mupdf_display_errors(False)
    _fitz.TOOLS.mupdf_display_warnings(False)


def _opened(book: Book) -> Any:
    quiet()
    try:
        room_for(book.path)
        document = _mu.pdf_open_document(str(book.path))
        if _mu.pdf_needs_password(document) and not _mu.pdf_authenticate_password(document, book.password or ""):
            raise NeedsPassword(f"{book.path.name} is locked by a password; give it with --password-file.")
        return document
    except FAILURES as failure:
        raise Unreadable(f"{book.path.name} cannot be interpreted: {in_words(failure)}.") from failure


@contextmanager
def opened_page(book: Book, turn: Turn) -> Iterator[Any]:
    """A page of the book, loaded; what it left in memory is dropped afterwards as far as it is too much.

    MuPDF cuts what it draws at the CropBox, which is for screens: the bleed of a page that is cropped to its trim would
    be missing.  So the open copy of the page is given the MediaBox as read for both.

    Raises:
        Unreadable: the file or the page cannot be read.
        NeedsPassword: the file is locked.
    """
    document = _SHELF.take(book)
    _fitz.TOOLS.mupdf_warnings()  # of other work of this process, and of opening the file
    try:
        if not 0 <= turn.index < _mu.pdf_count_pages(document):
            raise Unreadable("the interpreter does not find this page in the page tree")
        page = _mu.pdf_load_page(document, turn.index)
        media = turn.to_trim.inverse().rect(Rect(*turn.media_pt))
        if not _shows_all(page, media):
            for box in (_MEDIA_BOX, _CROP_BOX):
                _mu.pdf_dict_put_rect(page.obj(), box, _mu.FzRect(media.x0, media.y0, media.x1, media.y1))
    except (*FAILURES, ZeroDivisionError) as failure:
        raise Unreadable(in_words(failure)) from failure
    try:
        yield page
    except FAILURES as failure:
        raise Unreadable(in_words(failure)) from failure
    finally:
        del page
        _SHELF.tidy()


def to_trim(page: Any, turn: Turn) -> Matrix:
    """The matrix to run a page with, so that its device space is the trim frame (points, y up).

    MuPDF puts its own page matrix (CropBox, /Rotate, UserUnit, y turned down) between user space and device.  It is
    asked for and undone, so that frames follow from the boxes as read and from nothing that MuPDF thinks of them.
    """
    box, own = _mu.FzRect(), _mu.FzMatrix()
    _mu.pdf_page_transform(page, box, own)
    try:
        undone = Matrix(own.a, own.b, own.c, own.d, own.e, own.f).inverse()
    except ZeroDivisionError as flat:
        raise Unreadable("its boxes leave no area") from flat
    return undone.then(turn.to_trim)


def run(page: Any, device: Any, matrix: Matrix, cookie: Any) -> None:
    """Interpret a page once as it would be printed: content, and the annotations and fields that print.

    Raises:
        Unreadable: MuPDF gave up.
    """
    try:
        _mu.pdf_run_page_with_usage(page, device, _mu.FzMatrix(*matrix.as_tuple()), "Print", cookie)
        _mu.fz_close_device(device)
    except FAILURES as failure:
        raise Unreadable(in_words(failure)) from failure


#: what MuPDF says of content that it cannot follow, and what that means; more than that it says of fonts and pictures
_REMARKS = (
    ("zlib error", "a stream does not unpack"),
    ("premature end of data", "a stream ends before its data do"),
    ("cannot find ", "it asks for something that its resources do not hold"),
    ("syntax error", "its operators cannot be read in places"),
    ("gstate underflow", "it restores a graphics state that it never saved"),
)


def remarks() -> tuple[str, ...]:
    """What was wrong with the content of the page that was run last, in our words, each once; then forgotten."""
    said = _fitz.TOOLS.mupdf_warnings()
    if not said:
        return ()
    _SHELF.remarked = True
    found = dict.fromkeys(ours for line in said.splitlines() for theirs, ours in _REMARKS[:3] if theirs in line)
    # a missing resource is told as an error of syntax, too
    rest = [line for line in said.splitlines() if not any(theirs in line for theirs, _ in _REMARKS[:3])]
    found |= dict.fromkeys(ours for line in rest for theirs, ours in _REMARKS[3:] if line.startswith(theirs))
    return tuple(found)


def _shows_all(page: Any, media: Rect) -> bool:
    """Whether MuPDF would draw just the MediaBox as it is.  Changing a page costs a millisecond: only where needed."""
    shown, matrix = _mu.FzRect(), _mu.FzMatrix()
    _mu.pdf_page_transform(page, shown, matrix)
    pairs = ((shown.x0, media.x0), (shown.y0, media.y0), (shown.x1, media.x1), (shown.y1, media.y1))
    return all(abs(a - b) < 0.01 for a, b in pairs)


def _resident_bytes() -> int | None:
    try:
        with open("/proc/self/statm", "rb") as status:  # noqa: PTH123 - ten microseconds, once a page
            return int(status.read().split()[1]) * _PAGE_BYTES
    except (OSError, IndexError, ValueError):
        return None
