# SPDX-License-Identifier: AGPL-3.0-or-later
"""How a sheet is cut, as a drawing with numbered cuts and the steps in words; for ``cut-plan`` in ``case.typ``."""

from __future__ import annotations

from typing import Any

from foldproof.case.cutting import Layout, Step
from foldproof.geometry import Rect
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of

#: room for the sheet itself; its steps stand beside it
_ROOM_MM = (56.0, 74.0)
#: cuts nearer to each other than this are drawn finer, and finer still
_NEAR_MM, _DENSE_MM = 5.0, 1.5
#: from the edges of the drawing to the sheet: numbers at the left and above, measures at the right and below
_LEFT_MM, _ABOVE_MM, _RIGHT_MM, _FOOT_MM = 9.0, 8.0, 36.0, 9.0
_RING_MM, _RING_PT = 2.5, 9.5
#: a step is numbered on each of its pieces in hand while these are so few, else on the first alone
_FEW = 8


def cut_plan_data(layout: Layout, called: str = "The sheet,") -> dict[str, Any]:
    """The drawing (mm of the ticket, see :class:`Drawing`), its caption and the steps.

    Args:
        called: how the words of the first step begin: ``"Each length,"`` of cloth.
    """
    scale = scale_for(layout.sheet_mm, _ROOM_MM)
    wide, high = (side / scale for side in layout.sheet_mm)
    drawing = Drawing((_LEFT_MM + wide + _RIGHT_MM, _ABOVE_MM + high + _FOOT_MM))
    on = _On(layout, scale)
    drawing.box("grey", *on.corners(Rect(0, 0, *layout.sheet_mm)))
    for part in layout.pieces:
        drawing.box("white", *on.corners(part.rect_mm))
        _label(drawing, part.what, on.corners(part.rect_mm))
    steps = layout.steps
    for cut in layout.cuts:
        drawing.line(_pen(steps[cut.step - 1], scale), on.at(*cut.start_mm), on.at(*cut.end_mm))
    drawing.box("outline", *on.corners(Rect(0, 0, *layout.sheet_mm)))
    _numbers(drawing, layout, on)
    right, bottom = _LEFT_MM + wide, _ABOVE_MM + high
    drawing.up(right + 4, _ABOVE_MM, bottom, layout.sheet_mm[1])
    drawing.across(bottom + 6, _LEFT_MM, right, layout.sheet_mm[0])
    if layout.grain:
        _grain(drawing, layout.grain, right + 24, (_ABOVE_MM, bottom))
    words = [[str(step.number), step.words.replace("The sheet,", called)] for step in steps]
    grain = {"up": " Grain up the drawing.", "across": " Grain across the drawing."}.get(layout.grain, "")
    return {
        "head": "",
        "drawing": drawing.data(),
        "caption": f"Scale {scale_words(scale)}; grey: left over.{grain}",
        "steps": words or [["–", "No cut: the sheet is the piece."]],
        "words": "",
    }


class _On:
    """From the sheet (mm, y up) to the ticket (mm, y down)."""

    def __init__(self, layout: Layout, scale: float) -> None:
        self.high, self.scale = layout.sheet_mm[1], scale

    def at(self, x: float, y: float) -> tuple[float, float]:
        return _LEFT_MM + x / self.scale, _ABOVE_MM + (self.high - y) / self.scale

    def corners(self, rect: Rect) -> tuple[tuple[float, float], tuple[float, float]]:
        """Upper left and lower right."""
        return self.at(rect.x0, rect.y1), self.at(rect.x1, rect.y0)


def _pen(step: Step, scale: float) -> str:
    """Heavy for the first step; as fine as it must be where cuts lie close."""
    hand = step.hands[0]
    apart = min(part.size_mm[0 if hand.upright else 1] for part in hand.parts[:-1]) / scale
    if apart < _DENSE_MM:
        return "hair"
    return "outline" if step.number == 1 and apart >= _NEAR_MM else "fine"


def _label(drawing: Drawing, what: str, corners: tuple[tuple[float, float], tuple[float, float]]) -> None:
    """The name of a piece where it has room, clear of the numbers near its edges."""
    (x0, y0), (x1, y1) = corners
    words, middle = width_of(what), ((x0 + x1) / 2, (y0 + y1) / 2)
    wide, high = x1 - x0, y1 - y0
    beside = 2 * _RING_MM + 0.5
    if high >= 5 and words + (0.5 if high >= 19 else beside) <= wide:
        drawing.word(what, middle)
    elif wide >= 5 + beside and words + 0.5 <= high:
        drawing.word(what, middle, turn=90)


def _numbers(drawing: Drawing, layout: Layout, on: _On) -> None:
    """The number of each step: of the first at the edge of the sheet, of others near the start of their first cuts."""
    steps = layout.steps
    shown: list[tuple[float, float]] = []
    for cut in layout.cuts:
        hands = [hand.rect_mm for hand in steps[cut.step - 1].hands]
        if cut.hand_mm not in (hands if len(hands) <= _FEW else hands[:1]):
            continue  # a later cut of its piece, or one of many pieces
        (x0, y0), (x1, y1) = on.at(*cut.start_mm), on.at(*cut.end_mm)
        upright = x0 == x1
        if cut.step == 1:
            at = (x0, _ABOVE_MM - 4.5) if upright else (_LEFT_MM - 4.5, y0)
        else:
            near = min(_RING_MM + 0.8, (abs(y1 - y0) if upright else abs(x1 - x0)) / 2)
            at = (x0, min(y0, y1) + near) if upright else (min(x0, x1) + near, y0)
        if all(abs(at[0] - x) > 2 * _RING_MM or abs(at[1] - y) > 2 * _RING_MM for x, y in shown):
            shown.append(at)
            drawing.dot("ring", at, _RING_MM)
            drawing.word(str(cut.step), at, size_pt=_RING_PT, bold=True)


def _grain(drawing: Drawing, grain: str, x: float, heights: tuple[float, float]) -> None:
    """An arrow with two heads, and its name."""
    middle, half = sum(heights) / 2, min(9.0, (heights[1] - heights[0]) / 2 - 1)
    if grain == "up":
        drawing.up(x, middle - half, middle + half, 0.0, words="grain")
    else:
        drawing.across(middle, x - 7, x + 7, 0.0, words="grain")
