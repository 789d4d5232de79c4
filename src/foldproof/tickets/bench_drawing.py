# SPDX-License-Identifier: AGPL-3.0-or-later
"""Drawings of the binder's benches: shapes and words in millimetres of the ticket, upper left at the origin, y down.

The shapes are plain data, so that a test can measure them as a ruler would; ``finish.typ`` paints them one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from attrs import define, field

from foldproof.units import format_mm

Point = tuple[float, float]

#: scales that a rule is held to easily, as 1 to so many: those of ISO 5455, and between the large ones some others
SCALES = (0.2, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
#: letters of a word that has to be read at arm's length
WORD_PT = 11.0
#: width of a letter or figure of the ticket's face, in parts of its size; on the safe side of what words come to
_LETTER = 0.55
_MM_PER_PT = 0.3528
_TIP_MM = 2.2


def scale_for(size_mm: tuple[float, float], room_mm: tuple[float, float], largest: float = 1.0) -> float:
    """The largest of :data:`SCALES`, no larger than asked, at which a size fits into a room."""
    for scale in SCALES:
        if scale >= largest and size_mm[0] / scale <= room_mm[0] and size_mm[1] / scale <= room_mm[1]:
            return scale
    return max(size_mm[0] / room_mm[0], size_mm[1] / room_mm[1])


def scale_words(scale: float) -> str:
    """``"1:2"``, ``"2:1"``."""
    return f"1:{scale:.4g}" if scale >= 1 else f"{1 / scale:.4g}:1"


def width_of(text: str, size_pt: float = WORD_PT) -> float:
    """How wide a word comes out at the most, mm."""
    return len(text) * _LETTER * size_pt * _MM_PER_PT


@define
class Drawing:
    """A drawing in the making."""

    size_mm: tuple[float, float]
    shapes: list[dict[str, Any]] = field(factory=list)
    words: list[dict[str, Any]] = field(factory=list)

    def line(self, style: str, start: Point, end: Point) -> None:
        self.shapes.append({"style": style, "points_mm": [start, end]})

    def box(self, style: str, corner: Point, opposite: Point) -> None:
        (x0, y0), (x1, y1) = corner, opposite
        self.outline(style, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))

    def outline(self, style: str, points: Sequence[Point]) -> None:
        self.shapes.append({"style": style, "points_mm": list(points)})

    def dot(self, style: str, at: Point, radius_mm: float) -> None:
        self.shapes.append({"style": style, "points_mm": [at], "radius_mm": radius_mm})

    def word(
        self, text: str, at: Point, to: str = "centre", *, size_pt: float = WORD_PT, bold: bool = False, turn: int = 0
    ) -> None:
        """Words on one line.

        Args:
            at: the middle of the line's height; its left end, middle or right end as ``to`` says.
            to: ``"left"`` (they begin there), ``"centre"``, ``"right"`` (they end there).
            turn: degrees counter-clockwise, about the middle; with ``"centre"`` alone.
        """
        self.words.append({"text": text, "at_mm": at, "to": to, "size_pt": size_pt, "bold": bold, "turn": turn})

    def number(self, number: int, at: Point) -> None:
        """A figure in a ring."""
        self.dot("ring", at, 3.4)
        self.word(str(number), at, size_pt=13.0, bold=True)

    def across(self, y: float, x0: float, x1: float, length_mm: float, *, words: str = "", beyond: str = "") -> None:
        """A measure along a level line: its arrow heads at the ends, its length in the middle above it.

        Args:
            words: instead of the length alone.
            beyond: ``"left"``, ``"right"``: where the words stand if they are wider than the measure.
        """
        text = words or format_mm(length_mm)
        if x1 - x0 >= width_of(text):
            self._arrow((x0, y), (x1, y))
            self.word(text, ((x0 + x1) / 2, y - 2.8))
            return
        self._pinched((x0, y), (x1, y), (1.0, 0.0))
        if beyond == "left":
            self.word(text, (x0 - 5.5, y), "right")
        else:
            self.word(text, (x1 + 5.5, y), "left")

    def up(self, x: float, y0: float, y1: float, length_mm: float, *, words: str = "", beyond: str = "right") -> None:
        """A measure along an upright line; its words stand beside it, at its right unless ``beyond`` says left."""
        text = words or format_mm(length_mm)
        if y1 - y0 >= 2 * _TIP_MM + 1:
            self._arrow((x, y0), (x, y1))
        else:
            self._pinched((x, y0), (x, y1), (0.0, 1.0))
        side = 1.8 if beyond == "right" else -1.8
        self.word(text, (x + side, (y0 + y1) / 2), "left" if beyond == "right" else "right")

    def torn(self, x0: float, x1: float, y: float) -> None:
        """A white strip with a zigzag above it: the drawing goes on there, but not here."""
        teeth = max(2, round((x1 - x0) / 6.0))
        step = (x1 - x0) / teeth
        edge = [(x0 + n * step / 2, y - (1.6 if n % 2 else 0.2)) for n in range(2 * teeth + 1)]
        self.outline("white", [*edge, (x1, y + 1.0), (x0, y + 1.0)])
        for start, end in pairwise(edge):
            self.line("fine", start, end)

    def data(self) -> dict[str, Any]:
        return {"size_mm": self.size_mm, "shapes": self.shapes, "words": self.words}

    def _arrow(self, start: Point, end: Point) -> None:
        self.line("fine", start, end)
        self._tip(end, start)
        self._tip(start, end)

    def _pinched(self, start: Point, end: Point, way: Point) -> None:
        """Too short for heads inside: they point at it from outside."""
        before = (start[0] - 5 * way[0], start[1] - 5 * way[1])
        after = (end[0] + 5 * way[0], end[1] + 5 * way[1])
        self.line("fine", before, after)
        self._tip(start, before)
        self._tip(end, after)

    def _tip(self, at: Point, from_: Point) -> None:
        level = abs(from_[0] - at[0]) > abs(from_[1] - at[1])
        back = _TIP_MM if (from_[0] - at[0] if level else from_[1] - at[1]) > 0 else -_TIP_MM
        half = _TIP_MM / 3.5
        x, y = at
        points = (
            ((x, y), (x + back, y - half), (x + back, y + half))
            if level
            else ((x, y), (x - half, y + back), (x + half, y + back))
        )
        self.outline("black", points)
