# SPDX-License-Identifier: AGPL-3.0-or-later
"""The glyphs of a text object, as they lie in memory.

A callback's text object is a list of spans; a span of one font and size holds its glyphs in one array.  Asking the
library's Python layer for each glyph costs a microsecond and more, beyond the whole rest of the pass; so the arrays are
copied from where they lie.  Whether they lie as this module thinks is tried once a process on the first text that
comes, against the layer's own accessors; where it does not hold, these are asked, slowly and to the same result.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from ctypes import string_at
from typing import Any

import numpy as np
from pymupdf import mupdf

_mu: Any = mupdf

#: fz_text_span: font, trm (6 floats), bit field (writing mode is bit 0), len, cap, items, next
_SPAN = struct.Struct("@P6fIiiPP")
#: fz_matrix
_MATRIX = struct.Struct("@6f")
#: fz_text_item: place in user space; advance in ems; glyph, character, code
ITEM = np.dtype([("x", "f4"), ("y", "f4"), ("adv", "f4"), ("gid", "i4"), ("ucs", "i4"), ("cid", "i4")])
ITEM_BYTES = ITEM.itemsize
_ITEM = struct.Struct("@3f3i")

Six = tuple[float, float, float, float, float, float]
#: a, b, c, d of the span's matrix (em to user space); whether it runs downwards; number of glyphs; the glyphs, ITEM
Run = tuple[float, float, float, float, bool, int, bytes]

_holds: bool | None = None


def runs(text: Any) -> Iterator[Run]:
    """The spans of a text object that hold glyphs."""
    head = text.head
    if head is None:
        return
    if not (_try_layout(head) if _holds is None else _holds):
        yield from _asked_for(head)
        return
    address = int(head.this)
    while address:
        _, a, b, c, d, _, _, bits, length, _, items, address = _SPAN.unpack(string_at(address, _SPAN.size))
        if length > 0:
            yield a, b, c, d, bool(bits & 1), length, string_at(items, length * ITEM_BYTES)


def six(matrix: Any) -> Six:
    """The numbers of a matrix."""
    if _holds:
        return _MATRIX.unpack(string_at(int(matrix.this), _MATRIX.size))
    return matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f


def first_and_last(run: Run) -> tuple[float, float, float, float]:
    """Places of the first and the last glyph: x, y, x, y in user space."""
    items = run[6]
    first, last = _ITEM.unpack_from(items), _ITEM.unpack_from(items, len(items) - ITEM_BYTES)
    return first[0], first[1], last[0], last[1]


def _asked_for(span: Any) -> Iterator[Run]:
    """By the library's accessors."""
    while span is not None:
        trm, length, wrapped = span.trm, span.len, _mu.FzTextSpan(span)
        if length > 0:
            items = (wrapped.items(place) for place in range(length))
            packed = b"".join(_ITEM.pack(i.x, i.y, i.adv, i.gid, i.ucs, i.cid) for i in items)
            yield trm.a, trm.b, trm.c, trm.d, bool(span.wmode), length, packed
        span = span.next


def _try_layout(span: Any) -> bool:
    """Whether a span and its glyphs lie in memory as thought: held against the library's own accessors."""
    global _holds
    if struct.calcsize("P") != 8 or _SPAN.size != 64 or _ITEM.size != ITEM_BYTES:
        _holds = False
        return False
    fields = _SPAN.unpack(string_at(int(span.this), _SPAN.size))
    trm, length = span.trm, span.len
    following = int(span.next.this) if span.next is not None else 0
    holds = fields[1:7] == (trm.a, trm.b, trm.c, trm.d, trm.e, trm.f) and fields[8] == length
    holds = holds and fields[7] & 1 == span.wmode and fields[11] == following
    holds = holds and _MATRIX.unpack(string_at(int(trm.this), _MATRIX.size)) == fields[1:7]
    if holds and length:
        holds = fields[10] == int(span.items.this)
        wrapped = _mu.FzTextSpan(span)
        for place in {0, length - 1} if holds else ():
            item = wrapped.items(place)
            ours = _ITEM.unpack(string_at(fields[10] + place * ITEM_BYTES, ITEM_BYTES))
            holds = holds and ours == (item.x, item.y, item.adv, item.gid, item.ucs, item.cid)
    _holds = holds
    return holds
