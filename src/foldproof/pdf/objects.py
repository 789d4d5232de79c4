# SPDX-License-Identifier: AGPL-3.0-or-later
"""The object pass: what a page paints, told by MuPDF's interpreter object by object.

One run of the page itself (a display list tells other facts) into a device whose callbacks are Python.  Rules that
MuPDF's callbacks impose: nothing may be raised inside one (it would come out as another type, or not at all), so the
first exception is kept, the run aborted and the exception raised outside; a callback that opens something needs the
one that closes it.

What is painted while a soft mask is made is no paint on paper, and what its clip hides altogether, or lies outside the
MediaBox, does not print: neither is told.  Not to be had from a device: the colours inside shadings.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any

from attrs import frozen
from pymupdf import mupdf

from foldproof.manuscript.model import ColourUse, PageObjects, PictureKind, PictureUse
from foldproof.pdf.bands import Bands, Word
from foldproof.pdf.interpreter import Turn, run, to_trim
from foldproof.pdf.marks import mark_like
from foldproof.pdf.native import READ, Four
from foldproof.pdf.objects_frame import Frame, mm, mm_rect, unit_square
from foldproof.pdf.objects_paint import Paints, line_pt, rule_pt
from foldproof.pdf.objects_pictures import lies_somewhere, picture_use
from foldproof.pdf.objects_space import Spaces
from foldproof.pdf.objects_text import Texts
from foldproof.pdf.type_area import TypeLines

_mu: Any = mupdf

#: more objects than this on a page are not looked at; about 2 s of work (the densest page of twelve books has 60,000)
MOST_OBJECTS = 200_000
#: nor is a page looked at for longer
_MOST_SECONDS = 8.0
#: rules kept for the search for trim marks; a page with more short hairlines is a chart, not a page with marks
_MOST_RULES = 400
#: a mark is a rule thinner than this and no longer than that
_RULE_PT, _RULE_LENGTH_PT = 1.0, 62.4  # 22 mm: common practice 5 to 15 mm, no source


@frozen
class Seen:
    """What the pass yields: the facts, and the words at head and foot from which the folio is read."""

    objects: PageObjects
    words: tuple[Word, ...]


def page_objects(page: Any, turn: Turn, most: int = MOST_OBJECTS) -> Seen:
    """Run a loaded page once and say what it paints.

    Raises:
        Unreadable: MuPDF gave up on the page.
    """
    device = Device(turn, most)
    run(page, device, to_trim(page, turn), device.cookie)
    if device.raised is not None:
        raise device.raised
    width, height = turn.trim_pt
    return Seen(
        PageObjects(
            index=turn.index,
            pictures=tuple(device.pictures),
            colours=tuple(_colours(device)),
            text_count=device.text_count,
            path_count=device.path_count,
            folio=None,
            mark_like=tuple(mm_rect(r) for r in mark_like(device.rules, width, height)),
            cut_short=device.cut_short,
            paints=device.paints.uses(),
            texts=device.texts.uses(),
            transparency=device.frame.transparency(),
            type_area=device.lines.area(),
            objects=device.count,
        ),
        device.bands.words(),
    )


#: what a kind of paint is called among the colours
_WHAT = {"stencil": "fill"}


def _colours(device: Device) -> Iterable[ColourUse]:
    """Spaces by kind of paint, in order of appearance."""
    found: dict[tuple[str, str], tuple[int, int, Four]] = dict(device.picture_spaces)
    for name, first in device.texts.colours.items():
        found[name, "text"] = first
    for (what, place, *_), kind in device.paints.kinds.items():
        key = (device.spaces[place].name, _WHAT.get(what, what))
        count, order, box = found.get(key, (0, kind.order, kind.first))
        found[key] = (count + kind.count, *min((order, box), (kind.order, kind.first)))
    for (name, what), (count, _, box) in sorted(found.items(), key=lambda item: item[1][1]):
        yield ColourUse(name, what, count, mm(box))


def _guarded(callback: Callable[..., None]) -> Callable[..., int]:
    """Keep what a callback raises and stop the run; 0 tells MuPDF that a tile is to be drawn and is not known yet."""

    @wraps(callback)
    def guarded(self: Device, *arguments: Any) -> int:
        try:
            callback(self, *arguments)
        except BaseException as raised:  # KeyboardInterrupt too: nothing may pass through MuPDF
            self.stop(raised)
        return 0

    return guarded


class Device(_mu.FzDevice2):  # type: ignore[misc]
    """Collects facts; its device space is the trim frame, points, y up."""

    def __init__(self, turn: Turn, most: int) -> None:
        super().__init__()
        self.cookie = _mu.FzCookie()
        self.most, self.until = most, time.monotonic() + _MOST_SECONDS
        self.count = self.text_count = self.path_count = 0
        self.pause = 0
        self.cut_short = False
        self.raised: BaseException | None = None
        self.frame, self.spaces = Frame(turn.trim_pt, turn.media_pt), Spaces()
        self.paints, self.texts = Paints(self.frame, self.spaces), Texts(self.frame, self.spaces)
        self.pictures: list[PictureUse] = []
        self.picture_spaces: dict[tuple[str, str], tuple[int, int, Four]] = {}
        self.rules: list[Four] = []
        self.width, self.height = turn.trim_pt
        self.bands, self.lines = Bands(self.width, self.height), TypeLines(self.width, self.height)
        self.own = self.m_internal
        for enable in (
            self.use_virtual_fill_path, self.use_virtual_stroke_path, self.use_virtual_clip_path,
            self.use_virtual_clip_stroke_path, self.use_virtual_fill_text, self.use_virtual_stroke_text,
            self.use_virtual_clip_text, self.use_virtual_clip_stroke_text, self.use_virtual_ignore_text,
            self.use_virtual_fill_shade, self.use_virtual_fill_image, self.use_virtual_fill_image_mask,
            self.use_virtual_clip_image_mask, self.use_virtual_pop_clip, self.use_virtual_begin_mask,
            self.use_virtual_end_mask, self.use_virtual_begin_group, self.use_virtual_end_group,
            self.use_virtual_begin_tile, self.use_virtual_end_tile,
        ):  # fmt: skip
            enable()

    def stop(self, raised: BaseException) -> None:
        self.raised = self.raised or raised
        self.cookie.set_abort()

    def full(self) -> bool:
        """Count one object; whether that is enough for a page, of objects or of time."""
        self.count += 1
        if self.count < self.pause:
            return False
        if self.count > self.most or time.monotonic() > self.until:
            self.cut_short, self.pause = True, 0
            self.cookie.set_abort()
            return True
        self.pause = min(self.count + 1000, self.most + 1)
        return False

    # The names and orders of arguments are MuPDF's.  The first four come by the thousand and guard themselves.

    def fill_path(
        self, _: Any, path: Any, even_odd: int, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        try:
            if self.full():
                return
            self.path_count += 1
            box = READ.four(_mu.ll_fz_bound_path(path, None, ctm))
            kind = self.paints.offer(self.count, "fill", box, space, colour, alpha, params)
            if kind is None:
                return
            thin = rule_pt(box)
            self.paints.drawn(self.count, "fill", kind, thin, box)
            if thin is not None:
                self._rule(box)
        except BaseException as raised:
            self.stop(raised)

    def stroke_path(
        self, _: Any, path: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        try:
            if self.full():
                return
            self.path_count += 1
            box = READ.four(_mu.ll_fz_bound_path(path, stroke, ctm))
            kind = self.paints.offer(self.count, "stroke", box, space, colour, alpha, params)
            if kind is None:
                return
            thin = line_pt(READ.pen(stroke), READ.six(ctm))
            self.paints.drawn(self.count, "stroke", kind, thin, box)
            self._rule(box)
        except BaseException as raised:
            self.stop(raised)

    def clip_path(self, *_: Any) -> None:
        try:
            self._clip()
        except BaseException as raised:
            self.stop(raised)

    def pop_clip(self, _: Any) -> None:
        self.frame.pop()

    def _rule(self, box: Four) -> None:
        """Keep a short hairline that may be a trim mark."""
        x0, y0, x1, y1 = box
        thin, long = (x1 - x0, y1 - y0) if x1 - x0 < y1 - y0 else (y1 - y0, x1 - x0)
        if thin >= _RULE_PT or not 2 < long < _RULE_LENGTH_PT or len(self.rules) >= _MOST_RULES:
            return
        if x0 >= 0 and y0 >= 0 and x1 <= self.width and y1 <= self.height:
            self.rules.append(box)

    @_guarded
    def fill_text(self, _: Any, text: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any) -> None:
        if self.full():
            return
        self.text_count += 1
        painted = self.texts.offer(self.count, "fill", text, None, ctm, space, colour, alpha, params)
        if painted is not None:
            matrix, spans = painted
            self.bands.offer(text, matrix, spans)
            self.lines.offer(matrix, spans)
            self._draw_glyphs()

    def _draw_glyphs(self) -> None:
        """Glyphs that bring their own colour come as text: they are drawn into this device for what they paint."""
        while self.texts.to_draw:
            font, gid, matrix = self.texts.to_draw.pop(0)
            _mu.ll_fz_run_t3_glyph(font.m_internal, gid, _mu.ll_fz_make_matrix(*matrix), self.own)

    @_guarded
    def stroke_text(
        self, _: Any, text: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        if self.full():
            return
        self.text_count += 1
        self.texts.offer(self.count, "stroke", text, stroke, ctm, space, colour, alpha, params)

    @_guarded
    def clip_text(self, _: Any, text: Any, ctm: Any, scissor: Any) -> None:
        if self.full():
            return
        self.text_count += 1
        self.texts.offer(self.count, "clip", text, None, ctm)
        self._clip()

    @_guarded
    def clip_stroke_text(self, _: Any, text: Any, stroke: Any, ctm: Any, scissor: Any) -> None:
        if self.full():
            return
        self.text_count += 1
        self.texts.offer(self.count, "clip", text, stroke, ctm)
        self._clip()

    @_guarded
    def ignore_text(self, _: Any, text: Any, ctm: Any) -> None:
        if self.full():
            return
        self.texts.offer(self.count, "invisible", text, None, ctm)

    @_guarded
    def fill_shade(self, _: Any, shade: Any, ctm: Any, alpha: float, params: Any) -> None:
        if self.full():
            return
        box = READ.four(_mu.ll_fz_bound_shade(shade, ctm))
        self.paints.offer(self.count, "shading", box, shade.colorspace, None, alpha, params)

    @_guarded
    def fill_image(self, _: Any, image: Any, ctm: Any, alpha: float, params: Any) -> None:
        if self.full():
            return
        name = self.spaces.of(image.colorspace)[1].name
        kind = PictureKind.LINE_WORK if image.bpc == 1 and image.n == 1 else PictureKind.CONTONE
        matrix = READ.six(ctm)
        if not lies_somewhere(matrix):
            return
        self.pictures.append(
            picture_use(image, matrix, kind, name, self.frame, overprint=bool(READ.params(params) & 0xFF0000))
        )
        box = unit_square(matrix)
        if not self.frame.masked and not self.frame.hides(box):
            if alpha < 1.0:
                self.frame.see_through(box)
            count, order, first = self.picture_spaces.get((name, "picture"), (0, self.count, self.frame.tile or box))
            self.picture_spaces[name, "picture"] = (count + 1, order, first)

    @_guarded
    def fill_image_mask(self, _: Any, image: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any) -> None:
        if self.full():
            return
        matrix = READ.six(ctm)
        if not lies_somewhere(matrix):
            return
        self.paints.offer(self.count, "stencil", unit_square(matrix), space, colour, alpha, params)
        values = READ.values(colour, self.spaces.of(space)[1].components)
        over = bool(READ.params(params) & 0xFF0000)
        self.pictures.append(
            picture_use(image, matrix, PictureKind.STENCIL, "none", self.frame, overprint=over, values=values)
        )

    @_guarded
    def clip_image_mask(self, _: Any, image: Any, ctm: Any, scissor: Any) -> None:
        if self.full():
            return
        # the soft mask or stencil of the picture that is painted next, or a stencil filled with a pattern
        stencil = bool(image.imagemask)
        name = "none" if stencil else "DeviceGray"
        matrix = READ.six(ctm)
        if lies_somewhere(matrix):
            self.pictures.append(picture_use(image, matrix, PictureKind.SOFT_MASK, name, self.frame))
            if not stencil:
                self.frame.mask(unit_square(matrix))
        self._clip()

    def _clip(self) -> None:
        """What a clip lets through is what MuPDF reckons: its bounds within those of all that stand open."""
        self.frame.push(_mu.ll_fz_device_current_scissor(self.own))

    @_guarded
    def clip_stroke_path(self, *_: Any) -> None:
        self._clip()

    @_guarded
    def begin_mask(self, _: Any, area: Any, *__: Any) -> None:
        self.frame.begin_mask(READ.four(area), _mu.ll_fz_device_current_scissor(self.own))

    @_guarded
    def end_mask(self, *_: Any) -> None:
        self.frame.end_mask()

    @_guarded
    def begin_group(
        self, _: Any, area: Any, space: Any, isolated: int, knockout: int, blend: int, alpha: float
    ) -> None:
        self.frame.begin_group(READ.four(area), space if isolated else None, blend, alpha, self.spaces)

    @_guarded
    def end_group(self, *_: Any) -> None:
        self.frame.end_group()

    @_guarded
    def begin_tile(self, *_: Any) -> None:
        self.frame.begin_tile()

    @_guarded
    def end_tile(self, *_: Any) -> None:
        self.frame.end_tile()
