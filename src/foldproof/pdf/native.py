# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fields of MuPDF's structures, read where they lie in memory.

Through the library's Python layer each field costs a third of a microsecond, and a glyph three: more than all the rest
of the object pass.  So matrices, rectangles, colour values, colour parameters, pens and runs of text are read from the
addresses that the layer gives.  Whether they lie as this module thinks is tried once a process, on structures made for
it and on their fields as the layer tells them; where one does not hold, everything is asked of the layer, slowly and to
the same result.
"""

from __future__ import annotations

import ctypes
import struct
from collections.abc import Iterator
from typing import Any, NamedTuple, Protocol

import numpy as np
from pymupdf import mupdf

_mu: Any = mupdf

Six = tuple[float, float, float, float, float, float]
Four = tuple[float, float, float, float]


class Span(NamedTuple):
    """A run of glyphs of one font."""

    font: int  #: address
    #: em to user space
    a: float
    b: float
    c: float
    d: float
    downwards: bool  #: written from top to bottom
    glyphs: int
    where: Any  #: for :meth:`Reader.gids` and its like
    #: places of the first and the last glyph, user space
    x: float
    y: float
    last_x: float
    last_y: float


class Reader(Protocol):
    """What is read of the structures."""

    def six(self, matrix: Any) -> Six: ...
    def four(self, rect: Any) -> Four: ...
    def values(self, colour: Any, count: int) -> tuple[float, ...]: ...
    def params(self, params: Any) -> int:
        """Overprint and its mode in one number: see :func:`overprint`."""
        ...

    def pen(self, stroke: Any) -> float:
        """Line width, user space."""
        ...

    def spans(self, text: Any) -> list[Span]:
        """Those that hold glyphs."""
        ...

    def gids(self, span: Span) -> list[int]:
        """Glyph numbers; -1 where a glyph stands for several characters."""
        ...

    def characters(self, span: Span) -> list[int]:
        """What the glyphs stand for, in Unicode."""
        ...

    def items(self, span: Span) -> bytes:
        """All of its glyphs: an array of :data:`ITEM`."""
        ...


def address(thing: Any) -> int:
    """Where a structure lies; 0 for none."""
    return 0 if thing is None else int(getattr(thing, "this", thing))


def overprint(params: int) -> tuple[bool, int]:
    """Whether paint overprints, and the overprint mode (ISO 32000-1, 8.6.7)."""
    return bool(params & 0xFF0000), 1 if params & 0xFF000000 else 0


class Asked:
    """Everything through the Python layer."""

    def six(self, m: Any) -> Six:
        return m.a, m.b, m.c, m.d, m.e, m.f

    def four(self, r: Any) -> Four:
        return r.x0, r.y0, r.x1, r.y1

    def values(self, colour: Any, count: int) -> tuple[float, ...]:
        return tuple(_mu.floats_getitem(colour, place) for place in range(count))

    def params(self, p: Any) -> int:
        return (1 << 16 if p.op else 0) | (1 << 24 if p.opm else 0)

    def pen(self, stroke: Any) -> float:
        return float(stroke.linewidth)

    def spans(self, text: Any) -> list[Span]:
        found = []
        for span in chain(text):
            if span.len > 0:
                trm, wrapped = span.trm, _mu.FzTextSpan(span)
                first, last = wrapped.items(0), wrapped.items(span.len - 1)
                numbers = (trm.a, trm.b, trm.c, trm.d, bool(span.wmode), span.len, wrapped)
                found.append(Span(address(span.font), *numbers, first.x, first.y, last.x, last.y))
        return found

    def gids(self, span: Span) -> list[int]:
        return [span.where.items(place).gid for place in range(span.glyphs)]

    def characters(self, span: Span) -> list[int]:
        return [span.where.items(place).ucs for place in range(span.glyphs)]

    def items(self, span: Span) -> bytes:
        listed = (span.where.items(place) for place in range(span.glyphs))
        return b"".join(_ITEM(i.x, i.y, i.adv, i.gid, i.ucs, i.cid) for i in listed)


#: the whole of memory as bytes, from address 0; nothing of it is touched but what is asked for
_BYTES: Any = None
_INTS: Any = None
if ctypes.sizeof(ctypes.c_void_p) == 8:
    _BYTES = memoryview((ctypes.c_ubyte * (1 << 62)).from_address(0)).cast("B")
    _INTS = _BYTES.cast("i")
_SIX, _FOUR, _TWO = struct.Struct("@6f").unpack_from, struct.Struct("@4f").unpack_from, struct.Struct("@2f").unpack_from
_VALUES = tuple(struct.Struct(f"@{n}f").unpack_from for n in range(33))  # FZ_MAX_COLORS is 32
#: fz_color_params: rendering intent, black point compensation, overprint, overprint mode, a byte each
_PARAMS = struct.Struct("<I").unpack_from
#: fz_stroke_state: references, three caps, join, line width
_PEN = struct.Struct("@5if").unpack_from
_HEAD = struct.Struct("@iP").unpack_from  # fz_text: references, first span
#: fz_text_span: font, matrix, bit fields, length, capacity, items, next
_SPAN = struct.Struct("@P6fIiiPP").unpack_from
#: fz_text_item: place in user space, advance in ems, glyph, character in Unicode, code
ITEM = np.dtype([("x", "f4"), ("y", "f4"), ("adv", "f4"), ("gid", "i4"), ("ucs", "i4"), ("cid", "i4")])
_ITEM = struct.Struct("@3f3i").pack
_ITEM_BYTES, _ITEM_INTS = 24, 6


class Seen:
    """Everything where it lies."""

    def six(self, m: Any) -> Six:
        return _SIX(_BYTES, int(m.this))

    def four(self, r: Any) -> Four:
        return _FOUR(_BYTES, int(r.this))

    def values(self, colour: Any, count: int) -> tuple[float, ...]:
        return _VALUES[count](_BYTES, int(colour))

    def params(self, p: Any) -> int:
        found: int = _PARAMS(_BYTES, int(p.this))[0] & 0xFFFF0000
        return found

    def pen(self, stroke: Any) -> float:
        width: float = _PEN(_BYTES, int(stroke.this))[5]
        return width

    def spans(self, text: Any) -> list[Span]:
        found = []
        place = _HEAD(_BYTES, int(text.this))[1]
        while place:
            font, a, b, c, d, _, _, bits, glyphs, _, items, place = _SPAN(_BYTES, place)
            if glyphs > 0:
                last = _TWO(_BYTES, items + _ITEM_BYTES * (glyphs - 1))
                found.append(Span(font, a, b, c, d, bits & 1 == 1, glyphs, items, *_TWO(_BYTES, items), *last))
        return found

    def gids(self, span: Span) -> list[int]:
        start = span.where // 4
        found: list[int] = _INTS[start + 3 : start + _ITEM_INTS * span.glyphs : _ITEM_INTS].tolist()
        return found

    def characters(self, span: Span) -> list[int]:
        start = span.where // 4
        found: list[int] = _INTS[start + 4 : start + _ITEM_INTS * span.glyphs : _ITEM_INTS].tolist()
        return found

    def items(self, span: Span) -> bytes:
        copied: bytes = _BYTES[span.where : span.where + _ITEM_BYTES * span.glyphs].tobytes()
        return copied


def chain(text: Any) -> Iterator[Any]:
    """The spans of a text object as the Python layer has them."""
    span = text.head
    while span is not None:
        yield span
        span = span.next


def _lies_as_thought() -> bool:
    """Hold the one reader against the other on structures made for it."""
    if _BYTES is None or struct.calcsize("@P6fIiiPP") != 64:
        return False
    seen, asked = Seen(), Asked()
    matrix = _mu.FzMatrix(1.5, 2.5, 3.5, 4.5, 5.5, 6.5)
    rect = _mu.FzRect(1.5, 2.5, 3.5, 4.5)
    if seen.six(matrix.internal()) != (1.5, 2.5, 3.5, 4.5, 5.5, 6.5):
        return False
    if seen.four(rect.internal()) != (1.5, 2.5, 3.5, 4.5):
        return False
    owner = _mu.FzColorParams()  # what it holds is gone with it
    params = owner.internal()
    for op, opm in ((0, 0), (1, 0), (1, 1)):
        params.op, params.opm = op, opm
        if overprint(seen.params(params)) != (bool(op), opm) or overprint(asked.params(params)) != (bool(op), opm):
            return False
    stroke = _mu.FzStrokeState(_mu.ll_fz_new_stroke_state())
    stroke.m_internal.linewidth = 3.25
    if seen.pen(stroke.m_internal) != 3.25:
        return False
    return _text_lies_as_thought(seen, asked)


def _text_lies_as_thought(seen: Seen, asked: Asked) -> bool:
    text = _mu.FzText()
    for name, downwards in (("Helvetica", 0), ("Courier", 1)):
        font = _mu.fz_new_base14_font(name)
        for place in range(3):
            trm = _mu.FzMatrix(12.0, 0.5, 0.25, 7.0, 100.0 + place, 200.0 - place)
            glyph, character = 40 + place, 65 + place
            _mu.fz_show_glyph(text, font, trm, glyph, character, downwards, 0, _mu.FZ_BIDI_LTR, _mu.FZ_LANG_UNSET)
    one, other = seen.spans(text.m_internal), asked.spans(text.m_internal)
    if len(one) != 2 or [s._replace(where=0) for s in one] != [s._replace(where=0) for s in other]:
        return False
    return all(
        seen.gids(s) == asked.gids(t) == [40, 41, 42]
        and seen.characters(s) == asked.characters(t) == [65, 66, 67]
        and seen.items(s) == asked.items(t)
        for s, t in zip(one, other, strict=True)
    )


def _reader() -> Reader:
    return Seen() if _lies_as_thought() else Asked()


READ: Reader = _reader()
