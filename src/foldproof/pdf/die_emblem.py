# SPDX-License-Identifier: AGPL-3.0-or-later
"""A given emblem, read by MuPDF's interpreter as outlines alone; whatever is no outline is refused in a sentence.

The rules of callbacks are those of :mod:`foldproof.pdf.objects`: nothing may be raised inside one.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

from attrs import evolve, frozen
from pymupdf import mupdf

from foldproof.errors import AskedWrong
from foldproof.geometry import Matrix, Rect
from foldproof.pdf.die_shapes import Outline, Pen, Shape, Step, bounds, moved
from foldproof.pdf.interpreter import FAILURES, quiet
from foldproof.pdf.native import READ, Four

_mu: Any = mupdf

#: bytes of the file; shapes, segments of outlines; seconds: no emblem comes near to them
_MOST_BYTES, _MOST_SHAPES, _MOST_STEPS, _MOST_SECONDS = 20_000_000, 5_000, 200_000, 10.0
#: paint is paper white when its every part is at least so light (RGB)
_WHITE = 0.98
#: and black when none is lighter than this: black ink alone shows as a dark grey
_BLACK = 0.25
#: an emblem smaller or larger than this is a slip, points
_SMALLEST_PT, _LARGEST_PT = 1.0, 14_400.0


@frozen
class Emblem:
    """What an emblem draws: points, the lower left of all its ink at the origin, y up, as large as in its file."""

    name: str  #: of the file, without its folder
    shapes: tuple[Shape, ...]
    width_pt: float
    height_pt: float
    colours: int  #: that it was painted in; all are one ink now


def read_emblem(path: Path) -> Emblem:
    """The first page of a PDF as outlines in one ink.

    Raises:
        AskedWrong: the file is missing, locked, damaged, too large or empty; or it holds a picture, a shading,
            transparency, text in a font, a pattern or paper-white paint.  One sentence, with what to do.
    """
    name = path.name
    _there(path)
    quiet()
    # nothing that it says is of the manuscript
    device = _Device()
    try:
        document = _mu.pdf_open_document(str(path))
        if _mu.pdf_needs_password(document):
            raise _Refused("is locked by a password", "ask for an open copy")
        if not _mu.pdf_count_pages(document):
            raise _Refused("has no page", _AGAIN)
        page = _mu.pdf_load_page(document, 0)
        device.page = READ.four(_mu.ll_pdf_bound_page(page.m_internal, _mu.FZ_CROP_BOX))
        _mu.pdf_run_page_with_usage(page, device, _mu.FzMatrix(1, 0, 0, 1, 0, 0), "Print", device.cookie)
        if device.raised is None:
            _mu.fz_close_device(device)
    except FAILURES:
        if device.raised is None:
            raise AskedWrong(refusal(name, "is no PDF that can be read, or is damaged", _AGAIN)) from None
    except _Refused as no:
        raise AskedWrong(refusal(name, *no.args)) from None
    if isinstance(device.raised, _Refused):
        raise AskedWrong(refusal(name, *device.raised.args)) from None
    if device.raised is not None:
        raise device.raised
    # MuPDF turns a page's y downwards
    shapes = moved(device.shapes, Matrix(1, 0, 0, -1, 0, 0))
    box = bounds(shapes)
    if box is None:
        raise AskedWrong(refusal(name, "draws nothing", "give the file that holds the drawing"))
    if max(box.width, box.height) < _SMALLEST_PT or max(box.width, box.height) > _LARGEST_PT:
        raise AskedWrong(refusal(name, f"draws something {box.width:.3g} x {box.height:.3g} pt large",
                                   "export it at the size that it is to be stamped in"))  # fmt: skip
    return Emblem(name, moved(shapes, Matrix.translation(-box.x0, -box.y0)), box.width, box.height, len(device.colours))


_AGAIN = "export it again as a PDF"


class _Refused(Exception):
    """What is wrong with the emblem, and what to do."""


def refusal(name: str, wrong: str, remedy: str) -> str:
    """Why an emblem cannot be used, in a sentence; ``name``: of its file, without its folder."""
    return f"The job: stamping.emblem: {name} {wrong}; {remedy}."


def _there(path: Path) -> None:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise AskedWrong(refusal(path.name, "is no file", "name a PDF beside the job file"))
    except OSError:
        wrong = "is not there, or cannot be opened"
        raise AskedWrong(refusal(path.name, wrong, "name a PDF beside the job file")) from None
    if size > _MOST_BYTES:
        wrong = f"is {size / 1e6:.0f} MB large, and no emblem needs more than {_MOST_BYTES / 1e6:.0f}"
        raise AskedWrong(refusal(path.name, wrong, "export the outlines alone"))


def _guarded(callback: Callable[..., None]) -> Callable[..., int]:
    """Keep what a callback raises and stop the run; 0 tells MuPDF that a tile is to be drawn and is not known yet."""

    @wraps(callback)
    def guarded(self: _Device, *arguments: Any) -> int:
        try:
            callback(self, *arguments)
        except BaseException as raised:  # KeyboardInterrupt too: nothing may pass through MuPDF
            self.raised = self.raised or raised
            self.cookie.set_abort()
        return 0

    return guarded


_OUTLINES = "turn it into outlines in the drawing program"


def _refuses(wrong: str, remedy: str = _OUTLINES) -> Callable[..., int]:
    def refuse(self: _Device, *_: Any) -> None:
        raise _Refused(wrong, remedy)

    return _guarded(wraps(refuse)(refuse))


class _Device(_mu.FzDevice2):  # type: ignore[misc]
    """Collects outlines; its device space is MuPDF's page, points, y down."""

    def __init__(self) -> None:
        super().__init__()
        self.cookie = _mu.FzCookie()
        self.until = time.monotonic() + _MOST_SECONDS
        self.raised: BaseException | None = None
        self.page: Four = (0.0, 0.0, 0.0, 0.0)
        self.shapes: list[Shape] = []
        self.clips: list[Outline] = []
        self.colours: set[tuple[str, tuple[float, ...]]] = set()
        self.steps = 0
        for enable in (
            self.use_virtual_fill_path, self.use_virtual_stroke_path, self.use_virtual_clip_path,
            self.use_virtual_clip_stroke_path, self.use_virtual_fill_text, self.use_virtual_stroke_text,
            self.use_virtual_clip_text, self.use_virtual_clip_stroke_text,
            self.use_virtual_fill_shade, self.use_virtual_fill_image, self.use_virtual_fill_image_mask,
            self.use_virtual_clip_image_mask, self.use_virtual_pop_clip, self.use_virtual_begin_mask,
            self.use_virtual_end_mask, self.use_virtual_begin_group, self.use_virtual_end_group,
            self.use_virtual_begin_tile, self.use_virtual_end_tile,
        ):  # fmt: skip
            enable()

    @_guarded
    def fill_path(
        self, _: Any, path: Any, even_odd: int, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        outline = self._outline(path, ctm, bool(even_odd))
        if outline is not None:
            self._painted(Shape(outline, None, tuple(self.clips)), space, colour, alpha)

    @_guarded
    def stroke_path(
        self, _: Any, path: Any, stroke: Any, ctm: Any, space: Any, colour: Any, alpha: float, params: Any
    ) -> None:
        outline = self._outline(path, ctm, False)
        if outline is None:
            return
        pen = Pen(
            width=float(stroke.linewidth),
            cap=int(stroke.start_cap) % 3,
            join=int(stroke.linejoin) % 3,
            miter=float(stroke.miterlimit),
            dash=tuple(float(_mu.floats_getitem(stroke.dash_list, i)) for i in range(stroke.dash_len)),
            phase=float(stroke.dash_phase),
        )
        self._painted(Shape(outline, pen, tuple(self.clips)), space, colour, alpha)

    @_guarded
    def clip_path(self, _: Any, path: Any, even_odd: int, ctm: Any, scissor: Any) -> None:
        # a clip without a path hides everything
        self.clips.append(self._outline(path, ctm, bool(even_odd)) or Outline((("m", 0.0, 0.0), ("h",))))

    @_guarded
    def pop_clip(self, _: Any) -> None:
        if self.clips:
            self.clips.pop()

    fill_text = stroke_text = clip_text = clip_stroke_text = _refuses(
        "holds text set in a font", "turn the text into outlines in the drawing program"
    )
    fill_shade = _refuses("holds a shading, which foil cannot print", "give it in solid outlines")
    fill_image = fill_image_mask = clip_image_mask = _refuses("holds a picture of pixels", "trace it as outlines")
    clip_stroke_path = _refuses("paints through a stroke as a mask")
    begin_mask = _refuses("uses transparency", "flatten it into solid outlines")
    begin_tile = _refuses("is filled with a pattern")

    @_guarded
    def end_mask(self, *_: Any) -> None:
        pass

    @_guarded
    def end_tile(self, *_: Any) -> None:
        pass

    @_guarded
    def begin_group(
        self, _: Any, area: Any, space: Any, isolated: int, knockout: int, blend: int, alpha: float
    ) -> None:
        if blend or alpha < 1.0:
            raise _Refused("uses transparency", "flatten it into solid outlines")

    @_guarded
    def end_group(self, *_: Any) -> None:
        pass

    def _painted(self, shape: Shape, space: Any, colour: Any, alpha: float) -> None:
        if alpha < 1.0:
            raise _Refused("uses transparency", "flatten it into solid outlines")
        values = READ.values(colour, int(_mu.ll_fz_colorspace_n(space)))
        look = _look(space, colour, values)
        if look is None:
            raise _Refused(
                "paints in white, which a die cannot: all that is painted becomes foil",
                "cut the holes into the shapes, or take the white away",
            )
        seen = self._seen(shape)
        if seen is None:
            return
        self.colours.add(look)
        self.shapes.append(seen)
        if len(self.shapes) > _MOST_SHAPES or time.monotonic() > self.until:
            raise _Refused("holds more shapes than an emblem can have", "simplify it in the drawing program")

    def _seen(self, shape: Shape) -> Shape | None:
        """The shape as far as it lies on its page; ``None`` where nothing of it does."""
        box = bounds((shape,))
        page = Rect(*self.page)
        if box is None or page.common(box.grown(1e-3)) is None:
            return None
        if page.holds(box, 1e-3):
            return shape
        x0, y0, x1, y1 = self.page
        edge = Outline((("m", x0, y0), ("l", x1, y0), ("l", x1, y1), ("l", x0, y1), ("h",)))
        return evolve(shape, clips=(edge, *shape.clips))

    def _outline(self, path: Any, ctm: Any, even_odd: bool) -> Outline | None:
        walker = _Walker()
        _mu.fz_walk_path(_mu.FzPath(_mu.ll_fz_keep_path(path)), walker, walker.m_internal)
        self.steps += len(walker.steps)
        if self.steps > _MOST_STEPS:
            raise _Refused("has more segments than an emblem can have", "simplify it in the drawing program")
        while walker.steps and walker.steps[-1][0] == "m":
            walker.steps.pop()
        matrix = READ.six(ctm)
        # a matrix that flattens everything draws nothing
        if not walker.steps or matrix[0] * matrix[3] - matrix[1] * matrix[2] == 0:
            return None
        return Outline(tuple(walker.steps), Matrix(*matrix), even_odd)


class _Walker(_mu.FzPathWalker2):  # type: ignore[misc]
    """Copies a path of MuPDF's."""

    def __init__(self) -> None:
        super().__init__()
        self.steps: list[Step] = []
        self.use_virtual_moveto()
        self.use_virtual_lineto()
        self.use_virtual_curveto()
        self.use_virtual_closepath()

    def moveto(self, _: Any, x: float, y: float) -> None:
        if self.steps and self.steps[-1][0] == "m":
            self.steps.pop()
        self.steps.append(("m", x, y))

    def lineto(self, _: Any, x: float, y: float) -> None:
        self.steps.append(("l", x, y))

    def curveto(self, _: Any, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        self.steps.append(("c", x1, y1, x2, y2, x, y))

    def closepath(self, _: Any) -> None:
        self.steps.append(("h",))


def _look(space: Any, colour: Any, values: tuple[float, ...]) -> tuple[str, tuple[float, ...]] | None:
    """A colour as the eye tells it from others, all blacks one; ``None`` for paint that leaves the paper white.

    Full ink of a spot colour is never white, however light the colour that stands for it on a screen.
    """
    spot = bool(_mu.ll_fz_colorspace_is_device_n(space))
    if spot:
        return (str(_mu.ll_fz_colorspace_name(space)), values) if max(values, default=0.0) > 0.0 else None
    # kept by name: the library reads it after an unnamed one is gone
    params = _mu.FzColorParams()
    rgb = _mu.ll_fz_convert_color(space, colour, _mu.ll_fz_device_rgb(), None, params.internal())[:3]
    if min(rgb) >= _WHITE:
        return None
    return ("", (0.0, 0.0, 0.0)) if max(rgb) <= _BLACK else ("", tuple(round(part, 1) for part in rgb))
