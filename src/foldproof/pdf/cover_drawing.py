# SPDX-License-Identifier: AGPL-3.0-or-later
"""A drawing in layers becomes a PDF of one page at full size: vectors, one embedded face, nothing else.

The page's TrimBox is the trim of what is drawn: placed by it, the drawing lies under the artwork.
"""

from __future__ import annotations

from pathlib import Path

import pikepdf
from attrs import frozen
from pikepdf import Dictionary

from foldproof.files import patient
from foldproof.geometry import Rect
from foldproof.pdf.layered_page import add_layered_page
from foldproof.pdf.sheets_drawing import Spot, Stroke, Words, operators, spots
from foldproof.pdf.sheets_font import mark_font


@frozen
class Layer:
    """Strokes that are shown or hidden together."""

    name: str
    strokes: tuple[Stroke, ...]


@frozen
class LayeredDrawing:
    """One page; points, lower left of the page, y up."""

    title: str
    page_pt: tuple[float, float]
    trim_pt: Rect
    bleed_pt: Rect
    layers: tuple[Layer, ...]


def write_layers(drawing: LayeredDrawing, target: Path) -> None:
    """Write a drawing to ``target`` (a path that may be overwritten); the same drawing gives the same bytes.

    Raises:
        OSError: the disk did not take it.
    """
    font = mark_font()
    with pikepdf.new() as pdf:
        strokes = tuple(stroke for layer in drawing.layers for stroke in layer.strokes)
        letters = {letter for stroke in strokes if isinstance(stroke, Words) for letter in stroke.text}
        assert not any(isinstance(stroke.ink, Spot) for stroke in strokes) and not spots(strokes)
        add_layered_page(
            pdf,
            drawing.title,
            drawing.page_pt,
            [(layer.name, operators(layer.strokes, font)) for layer in drawing.layers],
            {"/Font": Dictionary(F=font.embed(pdf, letters))},
            {"/TrimBox": drawing.trim_pt, "/BleedBox": drawing.bleed_pt},
        )
        with patient(target) as stream:
            pdf.save(stream, min_version="1.6", deterministic_id=True, fix_metadata_version=False)
