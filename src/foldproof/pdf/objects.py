# SPDX-License-Identifier: AGPL-3.0-or-later
"""The object pass: what a page paints, told by MuPDF's interpreter object by object.

One run of the page itself (a display list tells other facts) into a device whose callbacks are Python.  Rules that
MuPDF's callbacks impose: nothing may be raised inside one (it would come out as another type, or not at all), so the
first exception is kept, the run aborted and the exception raised outside; a callback that opens something needs the
one that closes it.

Not to be had from a device: the colours inside shadings.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import wraps
from typing import Any

from attrs import frozen
from pymupdf import mupdf

from foldproof.geometry import Rect
from foldproof.manuscript.model import ColourUse, PageObjects, PictureKind, PictureUse
from foldproof.pdf.bands import Bands, Word
from foldproof.pdf.interpreter import Turn, run, to_trim
from foldproof.pdf.marks import mark_like
from foldproof.units import PT_PER_INCH, pt_to_mm

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
    device = _Device(turn, most)
    run(page, device, to_trim(page, turn), device.cookie)
    if device.raised is not None:
        raise device.raised
    width, height = turn.trim_pt
    colours = tuple(
        ColourUse(space, what, count, _mm(first)) for (space, what), (count, first) in device.colours.items()
    )
    return Seen(
        PageObjects(
            index=turn.index,
            pictures=tuple(device.pictures),
            colours=colours,
            text_count=device.texts,
            path_count=device.paths,
            folio=None,
            mark_like=tuple(_mm_rect(r) for r in mark_like(device.rules, width, height)),
            cut_short=device.cut_short,
        ),
        device.bands.words(),
    )


def _guarded(callback: Callable[..., None]) -> Callable[..., None]:
    """Keep what a callback raises, count it as one object, and stop the run when either is too much."""

    @wraps(callback)
    def guarded(self: _Device, *arguments: Any) -> None:
        self.count += 1
        if self.count > self.most or (self.count & 1023 == 0 and time.monotonic() > self.until):
            self.cut_short = True
            self.cookie.set_abort()
            return
        try:
            callback(self, *arguments)
        except BaseException as raised:  # KeyboardInterrupt too: nothing may pass through MuPDF
            self.raised = self.raised or raised
            self.cookie.set_abort()

    return guarded


class _Device(_mu.FzDevice2):  # type: ignore[misc]
    """Collects facts; its device space is the trim frame, points, y up."""

    def __init__(self, turn: Turn, most: int) -> None:
        super().__init__()
        self.cookie = _mu.FzCookie()
        self.most, self.until = most, time.monotonic() + _MOST_SECONDS
        self.count = self.texts = self.paths = self.masked = 0
        self.cut_short = False
        self.raised: BaseException | None = None
        self.pictures: list[PictureUse] = []
        self.colours: dict[tuple[str, str], tuple[int, Any]] = {}
        self.rules: list[tuple[float, float, float, float]] = []
        self.width, self.height = turn.trim_pt
        self.bands = Bands(self.width, self.height)
        for enable in (
            self.use_virtual_fill_path, self.use_virtual_stroke_path, self.use_virtual_fill_text,
            self.use_virtual_stroke_text, self.use_virtual_clip_text, self.use_virtual_clip_stroke_text,
            self.use_virtual_fill_shade, self.use_virtual_fill_image, self.use_virtual_fill_image_mask,
            self.use_virtual_clip_image_mask, self.use_virtual_pop_clip, self.use_virtual_begin_mask,
            self.use_virtual_end_mask,
        ):  # fmt: skip
            enable()

    # The names and orders of arguments are MuPDF's.

    @_guarded
    def fill_path(self, _: Any, path: Any, even_odd: int, ctm: Any, space: Any, *rest: Any) -> None:
        self._path(path, None, ctm, space, "fill")

    @_guarded
    def stroke_path(self, _: Any, path: Any, stroke: Any, ctm: Any, space: Any, *rest: Any) -> None:
        self._path(path, stroke, ctm, space, "stroke")

    @_guarded
    def fill_text(self, _: Any, text: Any, ctm: Any, space: Any, *rest: Any) -> None:
        self._text(text, None, ctm, space)
        if not self.masked:
            self.bands.offer(text, ctm)

    @_guarded
    def stroke_text(self, _: Any, text: Any, stroke: Any, ctm: Any, space: Any, *rest: Any) -> None:
        self._text(text, stroke, ctm, space)

    @_guarded
    def clip_text(self, *_: Any) -> None:
        self.texts += 1

    @_guarded
    def clip_stroke_text(self, *_: Any) -> None:
        self.texts += 1

    @_guarded
    def fill_shade(self, _: Any, shade: Any, ctm: Any, *rest: Any) -> None:
        self._colour(shade.colorspace, "shading", lambda: _mu.ll_fz_bound_shade(shade, ctm))

    @_guarded
    def fill_image(self, _: Any, image: Any, ctm: Any, *rest: Any) -> None:
        space = self._colour(image.colorspace, "picture", lambda: _corners(ctm))
        kind = PictureKind.LINE_WORK if image.bpc == 1 and image.n == 1 else PictureKind.CONTONE
        self._picture(image, ctm, kind, space)

    @_guarded
    def fill_image_mask(self, _: Any, image: Any, ctm: Any, space: Any, *rest: Any) -> None:
        self._colour(space, "fill", lambda: _corners(ctm))
        self._picture(image, ctm, PictureKind.STENCIL, "none")

    @_guarded
    def clip_image_mask(self, _: Any, image: Any, ctm: Any, *rest: Any) -> None:
        # the soft mask or stencil of the picture that is painted next, or a stencil filled with a pattern
        self._picture(image, ctm, PictureKind.SOFT_MASK, "none" if image.imagemask else "DeviceGray")

    def pop_clip(self, *_: Any) -> None:
        """Closes what a clip has opened; nothing to note."""

    def begin_mask(self, *_: Any) -> None:
        """What is painted until the end makes a luminosity or alpha: it is no colour on paper."""
        self.masked += 1

    def end_mask(self, *_: Any) -> None:
        self.masked -= 1

    def _path(self, path: Any, stroke: Any, ctm: Any, space: Any, what: str) -> None:
        self.paths += 1
        box = _mu.ll_fz_bound_path(path, stroke, ctm)
        self._colour(space, what, lambda: box)
        x0, y0, x1, y1 = box.x0, box.y0, box.x1, box.y1
        thin, long = sorted((x1 - x0, y1 - y0))
        if thin >= _RULE_PT or not 2 < long < _RULE_LENGTH_PT or len(self.rules) >= _MOST_RULES or self.masked:
            return
        if min(x0, y0) >= 0 and x1 <= self.width and y1 <= self.height:
            self.rules.append((x0, y0, x1, y1))

    def _text(self, text: Any, stroke: Any, ctm: Any, space: Any) -> None:
        self.texts += 1
        self._colour(space, "text", lambda: _mu.ll_fz_bound_text(text, stroke, ctm))

    def _colour(self, space: Any, what: str, place: Callable[[], Any]) -> str:
        name = _space(space)
        if not self.masked:
            known = self.colours.get((name, what))
            self.colours[name, what] = (known[0] + 1, known[1]) if known else (1, _four(place()))
        return name

    def _picture(self, image: Any, ctm: Any, kind: PictureKind, space: str) -> None:
        # MuPDF's image space has its origin at the upper left; lengths of the two vectors are those of PDF's own
        across_pt = (ctm.a * ctm.a + ctm.b * ctm.b) ** 0.5
        down_pt = (ctm.c * ctm.c + ctm.d * ctm.d) ** 0.5
        width, height = image.w, image.h
        self.pictures.append(
            PictureUse(
                kind=PictureKind.SOFT_MASK if self.masked else kind,
                width_px=width,
                height_px=height,
                bits=1 if image.imagemask else image.bpc,
                space=space,
                ppi_x=_ppi(width, across_pt),
                ppi_y=_ppi(height, down_pt),
                place_mm=_mm_rect(_corners(ctm)),
                # MuPDF stores pictures that are objects, so that two hold them; an inline one is held by its use alone
                inline=kind is not PictureKind.SOFT_MASK and not self.masked and image.key_storable.storable.refs == 1,
            )
        )


def _ppi(pixels: int, length_pt: float) -> float:
    """Pixels an inch of paper; a picture squeezed to a line has the resolution of the thinnest line there is."""
    return round(pixels * PT_PER_INCH / max(length_pt, 0.001), 3)


def _space(space: Any) -> str:
    """A colour space in words (see ``PictureUse.space``)."""
    if space is None:
        return "none"
    if space.flags & _mu.FZ_COLORSPACE_IS_DEVICE:
        return str(space.name)
    if _mu.ll_fz_colorspace_is_indexed(space):
        return f"Indexed({_space(_mu.ll_fz_base_colorspace(space))})"
    if _mu.ll_fz_colorspace_is_device_n(space):
        return _colorants(space)
    name = str(space.name)
    return name if name in ("CalGray", "CalRGB", "Lab") else f"ICCBased({space.n})"


def _colorants(space: Any) -> str:
    names = [_mu.ll_fz_colorspace_colorant(space, i) or "" for i in range(space.n)]
    whole = str(space.name)
    if len(names) == 1 and not whole.startswith("DeviceN"):
        return f"Separation({names[0]})"
    return f"DeviceN({', '.join(names)})"


_Four = tuple[float, float, float, float]


def _four(box: Any) -> _Four:
    return box if isinstance(box, tuple) else (box.x0, box.y0, box.x1, box.y1)


def _corners(ctm: Any) -> _Four:
    """The upright rectangle round the unit square's image."""
    a, b, c, d, e, f = ctm.a, ctm.b, ctm.c, ctm.d, ctm.e, ctm.f
    xs, ys = (e, e + a, e + c, e + a + c), (f, f + b, f + d, f + b + d)
    return min(xs), min(ys), max(xs), max(ys)


def _mm_rect(box: _Four) -> Rect:
    return Rect(*(round(pt_to_mm(v), 3) for v in box))


def _mm(box: _Four) -> Rect | None:
    """``None`` for MuPDF's empty or endless boxes."""
    if box[0] > box[2] or box[1] > box[3] or max(map(abs, box)) > 1e6:
        return None
    return _mm_rect(box)
