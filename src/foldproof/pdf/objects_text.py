# SPDX-License-Identifier: AGPL-3.0-or-later
"""The text of a page by font, size and colour; and the glyphs in it that the font does not have.

Glyph 0 is ``.notdef`` in every font program that MuPDF hands to FreeType (Type 1 and CFF: moved or fixed there;
TrueType: by its specification).  In a Type 3 font numbers are character codes and say nothing of the kind, and in a
font that MuPDF had to put in place of one that is not embedded they speak of the other font: neither is counted.
"""

from __future__ import annotations

import ctypes
import math
from itertools import islice
from typing import Any, NamedTuple

import numpy as np
from pymupdf import mupdf

from foldproof.manuscript.seen import TextUse
from foldproof.pdf.interpreter import FAILURES
from foldproof.pdf.native import ITEM, READ, Four, Six, Span, chain, overprint
from foldproof.pdf.objects_frame import Frame, mm
from foldproof.pdf.objects_lump import lumped
from foldproof.pdf.objects_space import Space, Spaces

_mu: Any = mupdf

#: characters that show nothing: an empty .notdef in their place is none the worse
_BLANK = (0x09, 0x0A, 0x0D, 0x20, 0xA0)
#: spaces are counted in type smaller than this: above, nobody asks
_SMALL_PT = 9.0
#: no encoding of its own gives a simple font a letter before this code (ISO 32000-1, annex D.2)
_FIRST_CODE = 0x20
#: how far a Type 3 font's own bounding box reaches from the base line, in parts of its nominal size: between these
#: that size is taken for the em.  The least is a full stop's, all that a subset may hold
_NOMINAL = 0.02, 4.0


#: codes of a Type 3 font
_TYPE3_GLYPHS = 256
_NONE: frozenset[int] = frozenset()


class _Font(NamedTuple):
    """A font of the page."""

    name: str
    type3: bool
    counts: bool  #: its glyph 0 is .notdef
    coloured: frozenset[int]  #: glyphs that bring their own colour: Type 3, operator d0 (ISO 32000-1, 9.6.5)
    #: glyphs that MuPDF draws itself, and gives as text that is not painted, so that it can be searched
    direct: frozenset[int]
    scale: float  #: em on paper against the nominal size
    held: Any  #: keeps it alive, so that no other comes to lie at its address


#: how, address of the space, values, parameters, alpha, group, meets the trim
_Look = tuple[str, int, tuple[float, ...], int, float, int, bool]
#: address of the font, size as reckoned
_Key = tuple[int, float, _Look]


class _Kind:
    """What is kept of all text alike."""

    __slots__ = ("blank", "count", "first", "glyphs", "spaces", "undefined", "undefined_box")

    def __init__(self, first: Four) -> None:
        self.count = self.glyphs = self.undefined = self.blank = self.spaces = 0
        self.first = first
        self.undefined_box: Four | None = None


class Texts:
    """Collects the text of one page."""

    def __init__(self, frame: Frame, spaces: Spaces) -> None:
        self.frame, self.spaces = frame, spaces
        self.fonts: dict[int, _Font] = {}
        #: fonts whose glyph 0 is asked for: whether it shows nothing
        self.empty: dict[int, bool] = {}
        self.kinds: dict[_Key, _Kind] = {}
        #: glyphs of Type 3 fonts that bring their own colour: those to be drawn for what they paint (font, number,
        #: matrix), and all that have been
        self.to_draw: list[tuple[Any, int, Six]] = []
        self.drawn: set[tuple[int, int]] = set()
        #: where text in a colour space occurs first, in how many objects, and the number of the first on the page
        self.colours: dict[str, tuple[int, int, Four]] = {}

    def offer(
        self,
        order: int,
        how: str,
        text: Any,
        stroke: Any,
        ctm: Any,
        space: Any = None,
        colour: Any = None,
        alpha: float = 1.0,
        params: Any = None,
    ) -> tuple[Six, list[Span]] | None:
        """Count a text object, and give its matrix and spans; ``None`` when its clip hides it or it makes a mask."""
        frame = self.frame
        if frame.masked:
            return None
        spans = READ.spans(text)
        if not spans:
            return None
        matrix = a, b, c, d, e, f = READ.six(ctm)
        x0, y0, x1, y1 = frame.core or frame.find_core()
        x, y = spans[0].x, spans[0].y
        x, y = a * x + c * y + e, b * x + d * y + f
        box: Four | None = None
        in_trim = True
        if not (x0 < x < x1 and y0 < y < y1):
            box = READ.four(_mu.ll_fz_bound_text(text, stroke, ctm))
            if frame.hides(box):
                return None
            in_trim = frame.in_trim(box)
        place, known = self.spaces.of(space)
        values = READ.values(colour, known.components) if colour is not None else ()
        look = (how, place, values, READ.params(params) if params is not None else 0, alpha, frame.group, in_trim)
        fonts, kinds, scale, coloured = self.fonts, self.kinds, a * d - b * c, False
        for number, span in enumerate(spans):
            font = fonts.get(span.font) or self._font(text, number, span)
            along = math.hypot(span.a * a + span.b * c, span.a * b + span.b * d)
            # height of the em on paper, square to the line: a slant adds nothing to it
            size = abs((span.a * span.d - span.b * span.c) * scale) / along * font.scale if along else 0.0
            gids = READ.gids(span)
            taken = look
            if font.type3 and how == "fill" and not font.coloured.isdisjoint(gids):
                taken = self._own(look, font, span, gids, matrix)
            elif font.type3 and how == "invisible" and not font.direct.isdisjoint(gids):
                taken = ("fill", *look[1:])
            coloured = coloured or taken is look
            key = (span.font, size, taken)
            kind = kinds.get(key)
            if kind is None:
                box = box or READ.four(_mu.ll_fz_bound_text(text, stroke, ctm))
                if alpha < 1.0:
                    frame.see_through(box)
                kind = kinds[key] = _Kind(frame.tile or box)
            kind.count += 1
            kind.glyphs += span.glyphs - gids.count(-1)
            if size < _SMALL_PT:
                kind.spaces += sum(code in _BLANK for code in READ.characters(span))
            if 0 in gids and font.counts:
                missing, blank = self._missing(span, gids, font)
                kind.blank += blank
                if missing and not kind.undefined:
                    box = box or READ.four(_mu.ll_fz_bound_text(text, stroke, ctm))
                    kind.undefined_box = frame.tile or box
                kind.undefined += missing
        if colour is not None and coloured:
            self._colour(order, known, text, stroke, ctm, box)
        return matrix, spans

    def _own(self, look: _Look, font: _Font, span: Span, gids: list[int], matrix: Six) -> _Look:
        """The look of glyphs that bring their own colour; each is drawn once a page to see which."""
        for gid in sorted(font.coloured.intersection(gids)):
            if (span.font, gid) not in self.drawn:
                self.drawn.add((span.font, gid))
                a, b, c, d, e, f = matrix
                x, y = span.x * a + span.y * c + e, span.x * b + span.y * d + f
                across = span.a * a + span.b * c, span.a * b + span.b * d
                self.to_draw.append((font.held, gid, (*across, span.c * a + span.d * c, span.c * b + span.d * d, x, y)))
        how, _, _, over, alpha, group, in_trim = look
        return how, self.spaces.of(None)[0], (), over, alpha, group, in_trim

    def _colour(self, order: int, space: Space, text: Any, stroke: Any, ctm: Any, box: Four | None) -> None:
        seen = self.colours.get(space.name)
        if seen is None:
            box = box or READ.four(_mu.ll_fz_bound_text(text, stroke, ctm))
            self.colours[space.name] = (1, order, self.frame.tile or box)
        else:
            self.colours[space.name] = (seen[0] + 1, seen[1], seen[2])

    def _missing(self, span: Span, gids: list[int], font: _Font) -> tuple[int, int]:
        """How many glyphs are .notdef, and how many of these are empty at a code that no encoding gives a letter."""
        if span.font not in self.empty:
            self.empty[span.font] = _shows_nothing(font.held)
        if not self.empty[span.font]:
            return gids.count(0), 0
        items = np.frombuffer(READ.items(span), ITEM)
        missing = items[(items["gid"] == 0) & ~np.isin(items["ucs"], _BLANK)]
        return len(missing), int((missing["cid"] < _FIRST_CODE).sum())

    def _font(self, text: Any, number: int, span: Span) -> _Font:
        held_spans = (one for one in chain(text) if one.len > 0)
        raw = next(islice(held_spans, number, None)).font
        flags = _mu.ll_fz_font_flags(raw)
        type3 = _mu.ll_fz_font_t3_procs(raw) is not None
        counts = not type3 and not flags.ft_substitute
        held = _mu.FzFont(_mu.ll_fz_keep_font(raw))
        found = self.fonts[span.font] = _Font(
            name=str(raw.name),
            type3=type3,
            counts=counts,
            coloured=_flagged(raw, _mu.FZ_DEVFLAG_COLOR),
            direct=_flagged(raw, _mu.FZ_DEVFLAG_UNCACHEABLE),
            scale=_type3_scale(raw) if type3 else 1.0,
            held=held,
        )
        return found

    def uses(self) -> tuple[TextUse, ...]:
        """All of it, in order of appearance."""
        found: dict[tuple[Any, ...], _Kind] = {}
        for (font, size, (how, place, values, params, alpha, group, in_trim)), kind in self.kinds.items():
            face, (around, blend) = self.fonts[font], self.frame.groups[group]
            key = (
                face.name,
                how,
                (round(size, 1), *(round(value, 3) for value in values)),
                face.type3,
                self.spaces[place].name,
                *overprint(params),
                round(alpha * around, 3),
                blend,
                in_trim,
            )
            _join(found, key, kind)
        return tuple(_use(key, kind) for key, kind in lumped(found, _join))


def _join(found: dict[tuple[Any, ...], _Kind], key: tuple[Any, ...], kind: _Kind) -> None:
    known = found.setdefault(key, kind)
    if known is kind:
        return
    known.count += kind.count
    known.glyphs += kind.glyphs
    known.undefined += kind.undefined
    known.blank += kind.blank
    known.spaces += kind.spaces
    known.undefined_box = known.undefined_box or kind.undefined_box


def _use(key: tuple[Any, ...], kind: _Kind) -> TextUse:
    font, how, (size, *values), type3, space, over, mode, alpha, blend, in_trim = key
    return TextUse(
        font=font,
        size_pt=size,
        how=how,
        space=space,
        values=tuple(values),
        overprint=over,
        overprint_mode=mode,
        alpha=alpha,
        blend=blend,
        glyphs=kind.glyphs,
        undefined=kind.undefined,
        count=kind.count,
        first_mm=mm(kind.first),
        undefined_mm=None if kind.undefined_box is None else mm(kind.undefined_box),
        undefined_blank=kind.blank,
        spaces=kind.spaces,
        type3=type3,
        in_trim=in_trim,
    )


def _shows_nothing(font: Any) -> bool:
    """Whether glyph 0 is empty."""
    try:
        path = _mu.fz_outline_glyph(font, 0, _mu.FzMatrix())
    except FAILURES:
        return False
    if not path.m_internal:
        return True
    box = _mu.fz_bound_path(path, _mu.FzStrokeState(), _mu.FzMatrix())
    return bool(box.x1 <= box.x0 or box.y1 <= box.y0)


def _flagged(font: Any, flag: int) -> frozenset[int]:
    """The glyphs of a Type 3 font that MuPDF has found to do something; none of other fonts."""
    if font.t3flags is None:
        return _NONE
    flags = (ctypes.c_ushort * _TYPE3_GLYPHS).from_address(int(font.t3flags))
    return frozenset(gid for gid, found in enumerate(flags) if found & flag)


def _type3_scale(font: Any) -> float:
    """A Type 3 font may say size 1 and draw letters of ten points, or the other way: its own bounds tell."""
    reach = max(font.bbox.y1, -font.bbox.y0)
    return 1.0 if not 0 < reach < 1e4 or _NOMINAL[0] <= reach <= _NOMINAL[1] else float(reach)
