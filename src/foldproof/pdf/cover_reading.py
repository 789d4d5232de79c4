# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stands where on a cover: every painted thing with the box that its clip lets through, and the lines of type.

The object pass counts uses that are alike as one, as a book of thousands of pages wants it.  A cover is one page, and
its checks ask of every single thing how far it stands from trim and folds.  One run of the page; places are in the trim
frame, mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import islice, pairwise
from typing import Any, NamedTuple

import numpy as np
from pymupdf import mupdf

from foldproof.geometry import Rect
from foldproof.pdf.cover_things import Drawn, Line, Mark
from foldproof.pdf.interpreter import Turn, run, to_trim
from foldproof.pdf.native import ITEM, READ, Four, Six, Span, chain
from foldproof.pdf.objects import MOST_OBJECTS, Device
from foldproof.pdf.objects_frame import common, unit_square
from foldproof.units import pt_to_mm

_mu: Any = mupdf

#: more things, or glyphs, are not kept: about a second of work
MOST_MARKS, MOST_GLYPHS = 60_000, 20_000
#: glyphs whose base lines lie closer than this part of their size stand in one line, those farther apart than that
#: along it in two; a wider gap than the last is a space (ems; common practice, no source)
_ONE_LINE, _TWO_LINES, _SPACE = 0.2, 1.2, 0.15


class _Glyph(NamedTuple):
    angle: float
    across: float  #: base line, points from the origin, square to the direction of writing
    along: float
    end: float
    size: float
    char: str
    box: Four


def drawn_things(page: Any, turn: Turn) -> Drawn:
    """Run a loaded page once and say what it paints, thing by thing.

    Raises:
        Unreadable: MuPDF gave up on the page.
    """
    device = _Things(turn, MOST_OBJECTS)
    run(page, device, to_trim(page, turn), device.cookie)
    if device.raised is not None:
        raise device.raised
    return Drawn(tuple(device.marks), lines_of(device.glyphs), device.cut_short or device.too_many)


class _Things(Device):
    """Keeps what the object pass counts."""

    def __init__(self, turn: Turn, most: int) -> None:
        super().__init__(turn, most)
        self.marks: list[Mark] = []
        self.glyphs: list[_Glyph] = []
        self.too_many = False

    def keep(self, what: str, bound: Callable[[], Four], space: Any, colour: Any = None) -> None:
        """Note one thing with the box that ``bound`` tells, unless its clip hides it or a mask is being made."""
        try:
            self._keep(what, bound(), space, colour)
        except BaseException as raised:  # nothing may pass through MuPDF
            self.stop(raised)

    def _keep(self, what: str, box: Four, space: Any, colour: Any) -> None:
        frame = self.frame
        if frame.masked or frame.hides(box) or self.raised is not None:
            return
        if len(self.marks) >= MOST_MARKS:
            self.too_many = True
            return
        shown = frame.tile or common(box, frame.clip)
        if not (shown[0] <= shown[2] and shown[1] <= shown[3] and all(abs(side) <= 1e6 for side in shown)):
            return
        known = self.spaces.of(space)[1]
        values = READ.values(colour, known.components) if colour is not None else ()
        self.marks.append(Mark(what, _mm(shown), known.name, tuple(round(value, 3) for value in values)))

    def fill_path(
        self, _: Any, path: Any, even_odd: int, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        super().fill_path(_, path, even_odd, ctm, space, colour, alpha, params)
        if alpha > 0:
            self.keep("fill", lambda: READ.four(_mu.ll_fz_bound_path(path, None, ctm)), space, colour)

    def stroke_path(
        self, _: Any, path: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        super().stroke_path(_, path, stroke, ctm, space, colour, alpha, params)
        if alpha > 0:
            self.keep("stroke", lambda: READ.four(_mu.ll_fz_bound_path(path, stroke, ctm)), space, colour)

    def fill_shade(self, _: Any, shade: Any, ctm: Any, alpha: float, params: Any) -> int:
        done: int = super().fill_shade(_, shade, ctm, alpha, params)
        self.keep("shading", lambda: READ.four(_mu.ll_fz_bound_shade(shade, ctm)), shade.colorspace)
        return done

    def fill_image(self, _: Any, image: Any, ctm: Any, alpha: float, params: Any) -> int:
        done: int = super().fill_image(_, image, ctm, alpha, params)
        self.keep("picture", lambda: unit_square(READ.six(ctm)), image.colorspace)
        return done

    def fill_image_mask(self, _: Any, image: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any) -> int:
        done: int = super().fill_image_mask(_, image, ctm, space, colour, alpha, params)
        self.keep("stencil", lambda: unit_square(READ.six(ctm)), space, colour)
        return done

    def fill_text(self, _: Any, text: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any) -> int:
        done: int = super().fill_text(_, text, ctm, space, colour, alpha, params)
        self.set_type(text, ctm)
        return done

    def stroke_text(
        self, _: Any, text: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> int:
        done: int = super().stroke_text(_, text, stroke, ctm, space, colour, alpha, params)
        self.set_type(text, ctm)
        return done

    def clip_text(self, _: Any, text: Any, ctm: Any, scissor: Any) -> int:
        # type that a picture or tint shows through
        self.set_type(text, ctm)
        done: int = super().clip_text(_, text, ctm, scissor)
        return done

    def set_type(self, text: Any, ctm: Any) -> None:
        """Note the glyphs of a text object."""
        try:
            if self.frame.masked or self.frame.tile is not None or self.raised is not None:
                return
            matrix = READ.six(ctm)
            fonts = [one.font for one in chain(text) if one.len > 0]
            for span, font in zip(READ.spans(text), fonts, strict=False):
                self._set(span, font, matrix)
        except BaseException as raised:
            self.stop(raised)

    def _set(self, span: Span, font: Any, matrix: Six) -> None:
        a, b, c, d, e, f = matrix
        em = (
            span.a * a + span.b * c, span.a * b + span.b * d,
            span.c * a + span.d * c, span.c * b + span.d * d,
        )  # fmt: skip
        size = math.hypot(em[0], em[1])
        if not 0 < size < 1e6:
            return
        cos, sin = em[0] / size, em[1] / size
        angle = math.degrees(math.atan2(sin, cos)) % 360
        items = np.frombuffer(READ.items(span), ITEM)
        for item in islice(items, MOST_GLYPHS + 1):
            if len(self.glyphs) >= MOST_GLYPHS:
                self.too_many = True
                return
            gid, code = int(item["gid"]), int(item["ucs"])
            char = chr(code) if 32 < code < 0x110000 and not 0xD800 <= code < 0xE000 and code != 0xA0 else ""
            x, y = float(item["x"]), float(item["y"])
            x, y = a * x + c * y + e, b * x + d * y + f
            if gid < 0 or not char:
                continue
            box = READ.four(_mu.ll_fz_bound_glyph(font, gid, _mu.ll_fz_make_matrix(*em, x, y)))
            if self.frame.hides(box) or not (box[0] < box[2] and box[1] < box[3]):
                continue
            box = common(box, self.frame.clip)
            along = x * cos + y * sin
            self.glyphs.append(
                _Glyph(angle, y * cos - x * sin, along, along + float(item["adv"]) * size, size, char, box)
            )


def lines_of(glyphs: Sequence[_Glyph]) -> tuple[Line, ...]:
    """Glyphs put together to lines, from the head of the page to its foot for each direction of writing."""
    by_angle: dict[int, list[_Glyph]] = {}
    for glyph in glyphs:
        by_angle.setdefault(round(glyph.angle) % 360, []).append(glyph)
    found: list[Line] = []
    for _, same in sorted(by_angle.items()):
        same.sort(key=lambda glyph: (-glyph.across, glyph.along))
        row: list[_Glyph] = []
        for glyph in same:
            if row and row[0].across - glyph.across > _ONE_LINE * max(row[0].size, glyph.size):
                found += _split(row)
                row = []
            row.append(glyph)
        found += _split(row)
    return tuple(found)


def _split(row: list[_Glyph]) -> list[Line]:
    """The glyphs of one base line, parted where a gap is too wide for a line."""
    row.sort(key=lambda glyph: glyph.along)
    parts: list[list[_Glyph]] = []
    for glyph in row:
        gap = glyph.along - parts[-1][-1].end if parts else 0.0
        if not parts or gap > _TWO_LINES * max(glyph.size, parts[-1][-1].size):
            parts.append([])
        parts[-1].append(glyph)
    return [_line(part) for part in parts]


def _line(part: list[_Glyph]) -> Line:
    text = part[0].char
    for before, glyph in pairwise(part):
        text += (" " if glyph.along - before.end > _SPACE * glyph.size else "") + glyph.char
    boxes = [glyph.box for glyph in part]
    box = (
        min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes),
    )  # fmt: skip
    return Line(text, _mm(box), round(part[0].angle, 1) % 360, round(max(glyph.size for glyph in part), 1))


def _mm(box: Four) -> Rect:
    return Rect(*(round(pt_to_mm(side), 4) + 0.0 for side in box))
