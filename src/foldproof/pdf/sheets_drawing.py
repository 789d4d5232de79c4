# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a mark is drawn with: a handful of frozen strokes and the PDF operators they become.

Every coordinate is in the *side* frame in points: lower left of the sheet, y up, as the plate prints it.
"""

from __future__ import annotations

from enum import StrEnum

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.pdf.sheets_font import MarkFont

#: a circle out of four Bézier arcs: handle length over radius, 4/3 (sqrt(2) - 1)
_ARC = 0.5522847498


class Ink(StrEnum):
    """What a mark is printed in."""

    EVERY_PLATE = "every plate"  #: Separation /All (ISO 32000-1, 8.6.6.4): spots included
    BLACK = "black"  #: DeviceCMYK 0 0 0 1, the black plate alone


@frozen
class Process:
    """Tints of the four process inks, 0 to 1 (DeviceCMYK)."""

    cyan: float = 0.0
    magenta: float = 0.0
    yellow: float = 0.0
    black: float = 0.0


@frozen
class Spot:
    """A tint of an ink with a plate of its own (Separation), 0 to 1."""

    name: str
    tint: float = 1.0


Paint = Ink | Process | Spot


@frozen
class Line:
    """A straight rule."""

    x0: float
    y0: float
    x1: float
    y1: float
    width_pt: float = 0.25
    dash: tuple[float, ...] = ()
    ink: Paint = Ink.EVERY_PLATE


@frozen
class Ring:
    """A circle, its rule only, or filled."""

    x: float
    y: float
    radius_pt: float
    width_pt: float = 0.25
    filled: bool = False
    ink: Paint = Ink.EVERY_PLATE


@frozen
class Block:
    """A filled shape with straight sides."""

    points: tuple[tuple[float, float], ...]
    ink: Paint = Ink.BLACK

    @classmethod
    def of(cls, box: Rect, ink: Paint = Ink.BLACK) -> Block:
        return cls(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), ink)


@frozen
class Cells:
    """Upright rectangles filled together, so that no seam shows where two of them touch."""

    boxes: tuple[Rect, ...]
    ink: Paint = Ink.BLACK


@frozen
class Words:
    """One line of text; ``x, y`` is the left end of its baseline, which runs ``turns`` quarter turns off the level."""

    x: float
    y: float
    text: str
    size_pt: float
    turns: int = 0
    ink: Paint = Ink.BLACK


Stroke = Line | Ring | Block | Cells | Words


def number(value: float) -> str:
    """A number as PDF writes it: at most six places, no exponent, no trailing noughts, never ``-0``."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def numbers(*values: float) -> str:
    return " ".join(number(value) for value in values)


def spots(strokes: tuple[Stroke, ...]) -> dict[str, str]:
    """Spot inks of a drawing in the order of their use, and the names of their colour spaces: ``/S1``, ``/S2`` …"""
    used = dict.fromkeys(stroke.ink.name for stroke in strokes if isinstance(stroke.ink, Spot))
    return {name: f"/S{count}" for count, name in enumerate(used, start=1)}


def operators(strokes: tuple[Stroke, ...], font: MarkFont) -> bytes:
    """The content stream that draws ``strokes``.

    Its resources are ``/Every`` and those of :func:`spots` (colour spaces), and ``/F`` (font).
    """
    out: list[str] = []
    ink: Paint | None = None
    spaces = spots(strokes)
    pen: tuple[float, tuple[float, ...]] | None = None
    for stroke in strokes:
        if stroke.ink != ink:
            ink = stroke.ink
            out.append(_colour(ink, spaces))
        if isinstance(stroke, Line | Ring):
            wanted = (stroke.width_pt, stroke.dash if isinstance(stroke, Line) else ())
            if wanted != pen:
                pen = wanted
                out.append(f"{number(pen[0])} w [{numbers(*pen[1])}] 0 d")
        out.append(_operator(stroke, font))
    return "\n".join(out).encode("ascii")


def _colour(ink: Paint, spaces: dict[str, str]) -> str:
    match ink:
        case Ink.EVERY_PLATE:
            return "/Every CS 1 SCN /Every cs 1 scn"
        case Spot():
            space, tint = spaces[ink.name], number(ink.tint)
            return f"{space} CS {tint} SCN {space} cs {tint} scn"
        case Process():
            values = numbers(ink.cyan, ink.magenta, ink.yellow, ink.black)
            return f"{values} K {values} k"
    return "0 0 0 1 K 0 0 0 1 k"


def _operator(stroke: Stroke, font: MarkFont) -> str:
    match stroke:
        case Line():
            return f"{numbers(stroke.x0, stroke.y0)} m {numbers(stroke.x1, stroke.y1)} l S"
        case Ring():
            return _circle(stroke) + (" f" if stroke.filled else " S")
        case Block():
            (x, y), *rest = stroke.points
            return f"{numbers(x, y)} m " + " ".join(f"{numbers(*point)} l" for point in rest) + " h f"
        case Cells():
            return " ".join(f"{numbers(b.x0, b.y0, b.width, b.height)} re" for b in stroke.boxes) + " f"
        case Words():
            cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[stroke.turns % 4]
            place = numbers(cos, sin, -sin, cos, stroke.x, stroke.y)
            return f"BT /F {number(stroke.size_pt)} Tf {place} Tm <{font.codes(stroke.text)}> Tj ET"


def _circle(ring: Ring) -> str:
    x, y, r, h = ring.x, ring.y, ring.radius_pt, ring.radius_pt * _ARC
    return (
        f"{numbers(x + r, y)} m "
        f"{numbers(x + r, y + h, x + h, y + r, x, y + r)} c {numbers(x - h, y + r, x - r, y + h, x - r, y)} c "
        f"{numbers(x - r, y - h, x - h, y - r, x, y - r)} c {numbers(x + h, y - r, x + r, y - h, x + r, y)} c h"
    )
