# SPDX-License-Identifier: AGPL-3.0-or-later
"""Writing a full-size drawing: one page as large as it needs to be, lines and words in layers, nothing else.

Everything is in the *page* frame in mm: lower left of the page, y up, at full size.
"""

from __future__ import annotations

import io

import pikepdf
from attrs import frozen
from pikepdf import Dictionary

from foldproof.errors import OurFault
from foldproof.pdf.layered_page import add_layered_page
from foldproof.pdf.sheets_drawing import Process, Words, number, numbers, operators
from foldproof.pdf.sheets_font import mark_font
from foldproof.units import mm_to_pt

Point = tuple[float, float]
#: a straight way to a point, or a cubic Bézier curve by two handles to a point
Way = Point | tuple[Point, Point, Point]

BLACK = Process(black=1.0)
#: the longest side of a page, mm: 14,400 units (ISO 32000-1, annex C.2)
LARGEST_MM = 5080.0


@frozen
class Path:
    """Straight and curved lines in one go."""

    start: Point
    ways: tuple[Way, ...]
    ink: Process | None = BLACK  #: of its line; ``None``: no line
    fill: Process | None = None
    closed: bool = False
    width_mm: float = 0.1
    dash_mm: tuple[float, ...] = ()


@frozen
class Lettering:
    """One line of words; ``at`` is the left end of its baseline, which runs ``turns`` quarter turns off the level."""

    at: Point
    text: str
    size_pt: float
    turns: int = 0
    ink: Process = BLACK


@frozen
class Layer:
    """One optional content group."""

    name: str
    items: tuple[Path | Lettering, ...]


@frozen
class Drawing:
    """A page."""

    title: str
    page_mm: Point
    layers: tuple[Layer, ...]  #: the first lies undermost


def drawing_bytes(drawing: Drawing) -> bytes:
    """The drawing as a PDF; the same drawing gives the same bytes.

    Raises:
        OurFault: the page is larger than a PDF can state.
    """
    if max(drawing.page_mm) > LARGEST_MM:
        raise OurFault(f"A drawing {max(drawing.page_mm):.0f} mm long is larger than a page of a PDF can be.")
    with pikepdf.new() as pdf:
        letters = {
            letter
            for layer in drawing.layers
            for item in layer.items
            if isinstance(item, Lettering)
            for letter in item.text
        }
        add_layered_page(
            pdf,
            drawing.title,
            (round(mm_to_pt(drawing.page_mm[0]), 4), round(mm_to_pt(drawing.page_mm[1]), 4)),
            [(layer.name, b"\n".join(map(_operators, layer.items))) for layer in drawing.layers],
            {"/Font": Dictionary(F=mark_font().embed(pdf, letters))} if letters else {},
        )
        held = io.BytesIO()
        pdf.save(held, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return held.getvalue()


def _operators(item: Path | Lettering) -> bytes:
    if isinstance(item, Lettering):
        x, y = map(mm_to_pt, item.at)
        return operators((Words(x, y, item.text, item.size_pt, item.turns, item.ink),), mark_font())
    said = []
    if item.fill is not None:
        said.append(f"{_tints(item.fill)} k")
    if item.ink is not None:
        dash = numbers(*map(mm_to_pt, item.dash_mm))
        said.append(f"{_tints(item.ink)} K {number(mm_to_pt(item.width_mm))} w [{dash}] 0 d")
    said.append(f"{_points(item.start)} m")
    for way in item.ways:
        match way:
            case ((_, _), (_, _), (_, _)):
                said.append(f"{_points(*way)} c")
            case (float() | int(), float() | int()):
                said.append(f"{_points(way)} l")
    paint = {(True, True): "B", (True, False): "S", (False, True): "f"}[item.ink is not None, item.fill is not None]
    return " ".join((*said, f"h {paint}" if item.closed else paint)).encode("ascii")


def _points(*points: Point) -> str:
    return numbers(*(mm_to_pt(value) for point in points for value in point))


def _tints(ink: Process) -> str:
    return numbers(ink.cyan, ink.magenta, ink.yellow, ink.black)
