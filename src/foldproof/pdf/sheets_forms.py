# SPDX-License-Identifier: AGPL-3.0-or-later
"""A page becomes a form XObject: its own content stream, in place, with nothing re-encoded.

What goes into the form is the page's resources (inherited ones resolved by the library as it opens the file), a BBox
and the page's transparency group.  A page group is isolated whatever it says (ISO 32000-1, 11.4.7), a form's is only
when it says so, hence ``/I true`` on a copy.  A page without a group gets none: in a form of its own it would blend
differently.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import pikepdf
from pikepdf import Dictionary, Name

from foldproof.errors import Unreadable
from foldproof.geometry import Rect
from foldproof.pdf.sheets_blending import page_group

#: keys that a content stream keeps when it is copied: how its bytes are encoded
_CODING = ("/Filter", "/DecodeParms")
#: all that the dictionary of a content stream should hold; one with more may be something else besides
_PLAIN = frozenset({*_CODING, "/Length", "/DL"})


def contents(page: pikepdf.Object) -> list[pikepdf.Object]:
    """The content streams of a page, in order; anything else in their place is passed over, as readers do."""
    found = page.get("/Contents")
    if isinstance(found, pikepdf.Stream):
        return [found]
    if isinstance(found, pikepdf.Array):
        return [part for part in found.as_list() if isinstance(part, pikepdf.Stream)]
    return []


class Forms:
    """Turns the pages of one open document into forms."""

    def __init__(self, pdf: pikepdf.Pdf, pages: Sequence[pikepdf.Object]) -> None:
        self._pdf = pdf
        self._pages = pages
        self._streams = [contents(page) for page in pages]
        self._uses = Counter(part.objgen for parts in self._streams for part in parts)
        self._made: dict[tuple[int, Rect], pikepdf.Object] = {}
        self._spent: set[int] = set()

    def form(self, index: int, box: Rect) -> pikepdf.Object:
        """The form of a page, clipped to ``box`` (media frame).

        Raises:
            Unreadable: the content is in several parts and one of them cannot be decoded, so they cannot be joined.
        """
        made = self._made.get((index, box))
        if made is None:
            made = self._made[index, box] = self._make(index, box)
        return made

    def _make(self, index: int, box: Rect) -> pikepdf.Object:
        page = self._pages[index]
        stream = self._content(index)
        stream["/Type"] = Name.XObject
        stream["/Subtype"] = Name.Form
        stream["/BBox"] = [round(box.x0, 5), round(box.y0, 5), round(box.x1, 5), round(box.y1, 5)]
        resources = page.get("/Resources")
        # Without resources of its own a form would look for them in the sheet (ISO 32000-1, table 95).
        stream["/Resources"] = resources if isinstance(resources, Dictionary) else Dictionary()
        group = page_group(page)
        if group is not None:
            copy = Dictionary(dict(group.items()))
            copy["/I"] = True
            stream["/Group"] = copy
        return stream

    def _content(self, index: int) -> pikepdf.Object:
        """The stream to make the form of: the page's own where it belongs to this page alone, else a copy."""
        parts = self._streams[index]
        if len(parts) != 1:
            return self._pdf.make_stream(b"\n".join(self._decoded(part, index) for part in parts))
        stream = parts[0]
        alone = self._uses[stream.objgen] == 1 and index not in self._spent
        if alone and _PLAIN.issuperset(stream.keys()):
            self._spent.add(index)
            return stream
        copy = self._pdf.make_stream(self._raw(stream, index))
        for key in _CODING:
            if key in stream:
                copy[key] = stream[key]
        return copy

    @staticmethod
    def _decoded(part: pikepdf.Object, index: int) -> bytes:
        try:
            return part.read_bytes()
        except (pikepdf.PdfError, NotImplementedError, RuntimeError) as broken:
            raise Unreadable(
                f"The content of page {index + 1} is in several parts and one of them cannot be decoded, so the page "
                "cannot be placed on a sheet. Export the book again from the layout program."
            ) from broken

    @staticmethod
    def _raw(stream: pikepdf.Object, index: int) -> bytes:
        try:
            return stream.read_raw_bytes()
        except (pikepdf.PdfError, RuntimeError) as broken:
            raise Unreadable(
                f"The content of page {index + 1} cannot be read from the file. Export the book again from the layout "
                "program."
            ) from broken
