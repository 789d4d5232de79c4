# SPDX-License-Identifier: AGPL-3.0-or-later
"""The full-size drawing of a paper cover or a jacket, lying open, printed side up: for the designer and the bench.

Everything is reckoned in millimetres in the *open* frame: lower left of the trimmed sheet, y up.  The page of the
drawing is larger and has that trim as its TrimBox.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from attrs import frozen

from foldproof.case.model import CoverSizes
from foldproof.geometry import Rect
from foldproof.pdf.cover_drawing import Layer, LayeredDrawing, write_layers
from foldproof.pdf.drawn_dimensions import DIMENSION_INK, centred, level, upright, wrapped
from foldproof.pdf.sheets_drawing import Block, Line, Paint, Process, Stroke, Words
from foldproof.pdf.sheets_font import mark_font
from foldproof.units import format_mm, format_size_mm, mm_to_pt

#: what matters keeps so far from trim, folds and hinge (common practice, no source)
SAFE_MM = 5.0
#: an EAN-13 symbol at its nominal size with its quiet zones, width and height with digits (ISO/IEC 15420 and the
#: GS1 General Specifications give 37.29 x 25.93; from memory), and the smallest that they allow, 80 per cent
BARCODE_MM = (37.29, 25.93)
BARCODE_LEAST = 0.8
#: barcode from trim and folds (common practice, no source)
_BARCODE_OFF_MM = 8.0

#: paper of the page round the drawing: for dimensions at head and left, words at foot
_LEFT_MM, _HEAD_MM, _SIDE_MM, _FOOT_MM = 30.0, 42.0, 30.0, 22.0
#: the narrowest page, so that the words have room
_PAGE_LEAST_MM = 180.0
#: the rows of dimensions, from the head of the sheet
_ROWS_MM = (12.0, 20.0, 28.0)
_TITLE_PT, _TEXT_PT, _LEADING = 13.0, 8.5, 1.35

_TRIM_INK, _BLEED_INK, _FOLD_INK = Process(black=1.0), Process(magenta=1.0), Process(cyan=1.0)
_HINGE_INK, _SAFE_INK = Process(cyan=0.6, yellow=1.0), Process(black=0.45)
_PALE = Process(black=0.06)


@frozen
class Panel:
    """One part of the sheet between two folds: where, mm, open frame."""

    name: str
    x0: float
    x1: float


def panels(sizes: CoverSizes) -> tuple[Panel, ...]:
    """From the left, printed side up; reading right to left everything stands the other way round."""
    side = sizes.panel_mm[0] + sizes.wrap_mm
    parts = [("back", side), ("spine", sizes.spine_mm), ("front", side)]
    if sizes.flap_mm:
        parts = [("back flap", sizes.flap_mm), *parts, ("front flap", sizes.flap_mm)]
    if sizes.reading == "right to left":
        parts.reverse()
    found, x = [], 0.0
    for name, wide in parts:
        found.append(Panel(name, x, x + wide))
        x += wide
    return tuple(found)


def barcode_place(sizes: CoverSizes) -> Rect | None:
    """Where the barcode is to stand, mm, open frame: at the foot of the back, by the spine; ``None``: no room."""
    back = next(panel for panel in panels(sizes) if panel.name == "back")
    at_spine = _BARCODE_OFF_MM + sizes.hinge_mm
    room = (back.x1 - back.x0 - sizes.wrap_mm - at_spine - SAFE_MM, sizes.panel_mm[1] - _BARCODE_OFF_MM - SAFE_MM)
    scale = min(1.0, room[0] / BARCODE_MM[0], room[1] / BARCODE_MM[1])
    if scale < BARCODE_LEAST:
        return None
    wide, high = BARCODE_MM[0] * scale, BARCODE_MM[1] * scale
    x = back.x0 + at_spine if sizes.reading == "right to left" else back.x1 - at_spine - wide
    return Rect(x, _BARCODE_OFF_MM, x + wide, _BARCODE_OFF_MM + high)


def write_cover_drawing(sizes: CoverSizes, title: str, target: Path) -> None:
    """Write the drawing of a cover or jacket to ``target`` (a path that may be overwritten); same sizes, same bytes.

    Raises:
        OSError: the disk did not take it.
    """
    write_layers(cover_drawing(sizes, title), target)


def cover_drawing(sizes: CoverSizes, title: str) -> LayeredDrawing:
    """The drawing in layers, at full size."""
    wide, high = sizes.trimmed_mm
    left = max(_LEFT_MM, (_PAGE_LEAST_MM - wide) / 2)
    page_wide = mm_to_pt(wide + left + max(_SIDE_MM, left))
    text = _text_lines(sizes, title, page_wide - 2 * mm_to_pt(_SIDE_MM / 2))
    words_mm = _FOOT_MM + (sum(size for _, size in text) + _TEXT_PT) * _LEADING / mm_to_pt(1) + 8
    origin = (mm_to_pt(left), mm_to_pt(words_mm))
    draw = _Drawing(sizes, *origin)
    trim = draw.rect(Rect(0, 0, wide, high))
    layers = (
        Layer("safe area", draw.safe()),
        Layer("barcode place", draw.barcode()),
        Layer("bleed", draw.frame(Rect(0, 0, wide, high).grown(sizes.bleed_mm), _BLEED_INK, (4.0, 2.0))),
        Layer("hinge", draw.hinges()),
        Layer("folds", draw.folds()),
        Layer("trim", draw.frame(Rect(0, 0, wide, high), _TRIM_INK)),
        Layer("dimensions", draw.dimensions()),
        Layer("text", (*draw.names(), *_placed(text, mm_to_pt(_SIDE_MM / 2), origin[1] - mm_to_pt(_FOOT_MM)))),
    )
    return LayeredDrawing(
        title=f"{title}: {sizes.kind}",
        page_pt=(page_wide, mm_to_pt(words_mm + high + _HEAD_MM)),
        trim_pt=trim,
        bleed_pt=trim.grown(mm_to_pt(sizes.bleed_mm)),
        layers=tuple(layer for layer in layers if layer.strokes),
    )


class _Drawing:
    """Strokes of one cover; x and y in mm, open frame, until they become strokes."""

    def __init__(self, sizes: CoverSizes, x: float, y: float) -> None:
        self.sizes, self.x, self.y = sizes, x, y
        self.wide, self.high = sizes.trimmed_mm
        self.panels = panels(sizes)

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self.x + mm_to_pt(x), self.y + mm_to_pt(y)

    def rect(self, box: Rect) -> Rect:
        return Rect(*self.at(box.x0, box.y0), *self.at(box.x1, box.y1))

    def frame(self, box: Rect, ink: Paint, dash: tuple[float, ...] = ()) -> tuple[Stroke, ...]:
        r = self.rect(box)
        corners = ((r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1), (r.x0, r.y0))
        return tuple(Line(*a, *b, 0.5, dash, ink) for a, b in pairwise(corners))

    def across(self, x: float, ink: Paint, dash: tuple[float, ...]) -> Line:
        return Line(*self.at(x, 0), *self.at(x, self.high), 0.5, dash, ink)

    def folds(self) -> tuple[Stroke, ...]:
        # a stitched cover has its two spine folds in one place
        return tuple(self.across(x, _FOLD_INK, (6.0, 2.0, 1.0, 2.0)) for x in dict.fromkeys(self.sizes.folds_mm))

    def spine(self) -> Panel:
        return next(panel for panel in self.panels if panel.name == "spine")

    def hinges(self) -> tuple[Stroke, ...]:
        hinge, spine = self.sizes.hinge_mm, self.spine()
        if not hinge:
            return ()
        return tuple(self.across(x, _HINGE_INK, (1.5, 1.5)) for x in (spine.x0 - hinge, spine.x1 + hinge))

    def safe(self) -> tuple[Stroke, ...]:
        strokes: list[Stroke] = []
        for panel in self.panels:
            x0, x1 = panel.x0, panel.x1
            if panel.name == "spine":
                off = min(SAFE_MM, (x1 - x0) * 0.15)
                x0, x1 = x0 + off, x1 - off
            else:
                x0 += SAFE_MM + (self.sizes.hinge_mm if x0 == self.spine().x1 else 0.0)
                x1 -= SAFE_MM + (self.sizes.hinge_mm if x1 == self.spine().x0 else 0.0)
            if x1 - x0 > 1 and self.high > 2 * SAFE_MM + 1:
                strokes += self.frame(Rect(x0, SAFE_MM, x1, self.high - SAFE_MM), _SAFE_INK, (0.8, 1.6))
        return tuple(strokes)

    def barcode(self) -> tuple[Stroke, ...]:
        place = barcode_place(self.sizes)
        if place is None:
            return ()
        box = self.rect(place)
        said = centred("barcode", *box.centre, 7.0, box.width - 4)
        return Block.of(box, _PALE), *self.frame(place, DIMENSION_INK), *said

    def names(self) -> tuple[Stroke, ...]:
        strokes: list[Stroke] = []
        for panel in self.panels:
            x, y = self.at((panel.x0 + panel.x1) / 2, self.high * 0.62)
            wide = mm_to_pt(panel.x1 - panel.x0)
            if wide >= 45:
                strokes += centred(panel.name, x, y, 11.0, wide - 8)
            elif wide >= 10:
                strokes += centred(panel.name, x, y, min(11.0, wide - 3), mm_to_pt(self.high) / 3, turns=3)
        return tuple(strokes)

    def dimensions(self) -> tuple[Stroke, ...]:
        sizes, spine = self.sizes, self.spine()
        near, middle, far = (self.at(0, self.high + row)[1] for row in _ROWS_MM)
        head, foot = self.at(0, self.high)[1], self.y
        strokes: list[Stroke] = []

        def across(x0: float, x1: float, y: float, edge: float, spill: str = "right") -> None:
            if x1 - x0 > 1e-9:
                shown = format_mm(x1 - x0, 2).removesuffix(" mm")
                strokes.extend(level(self.at(x0, 0)[0], self.at(x1, 0)[0], y, shown, from_y=edge, spill=spill))

        if sizes.hinge_mm:
            across(spine.x0 - sizes.hinge_mm, spine.x0, near, head, "left")
            across(spine.x1, spine.x1 + sizes.hinge_mm, near, head)
        across(spine.x0, spine.x1, middle if sizes.hinge_mm else near, head)
        for panel in self.panels:
            if panel.name != "spine":
                across(panel.x0, panel.x1, far, head)
        if sizes.wrap_mm:
            # of a panel with its wrap: the board itself is measured from the spine
            across(spine.x0 - sizes.panel_mm[0], spine.x0, middle, head, "left")
            across(spine.x1, spine.x1 + sizes.panel_mm[0], middle, head)
        below = foot - mm_to_pt(12)
        across(0, self.wide, below, foot)
        y0, y1 = self.at(0, 0)[1], self.at(0, self.high)[1]
        shown = format_mm(self.high, 2).removesuffix(" mm")
        strokes += upright(y0, y1, self.x - mm_to_pt(14), shown, from_x=self.x)
        if sizes.bleed_mm:
            b = self.at(-sizes.bleed_mm, -sizes.bleed_mm)
            bleed = format_mm(sizes.bleed_mm, 2).removesuffix(" mm")
            strokes += level(b[0], self.x, foot - mm_to_pt(8), bleed, from_y=b[1], spill="left")
        return tuple(strokes)


def _text_lines(sizes: CoverSizes, title: str, room_pt: float) -> tuple[tuple[str, float], ...]:
    """Lines under the drawing and their sizes."""
    wide, high = sizes.trimmed_mm
    facts = (
        f"Full size. All lengths in mm. Trimmed {format_size_mm(wide, high)}, bleed {format_mm(sizes.bleed_mm)}. "
        f"Reading {sizes.reading}.",
        "Lines: trim black, unbroken; bleed magenta, dashed; folds cyan, dash and dot; hinge green, dotted; safe area "
        "grey, fine dots; the place for the barcode is tinted.",
        *sizes.says,
    )
    head = [f"{sizes.kind.capitalize()}, lying open, printed side up", *_title(title, room_pt)]
    lines = [(line, _TITLE_PT) for line in head]
    for fact in facts:
        lines += [(line, _TEXT_PT) for line in wrapped(fact, _TEXT_PT, room_pt)]
    return tuple(lines)


def _title(title: str, room_pt: float) -> tuple[str, ...]:
    """A title in two lines at most."""
    first, *more = wrapped(title, _TITLE_PT, room_pt) or ("",)
    if not more:
        return (first,) if first else ()
    font = mark_font()
    return first, font.shortened(font.spelled(" ".join(more)), _TITLE_PT, room_pt)


def _placed(lines: tuple[tuple[str, float], ...], x: float, y: float) -> tuple[Stroke, ...]:
    strokes: list[Stroke] = []
    for place, (text, size) in enumerate(lines):
        y -= size * _LEADING
        if place and size != lines[place - 1][1]:
            y -= _TEXT_PT / 2
        strokes.append(Words(x, y, text, size))
    return tuple(strokes)
