# SPDX-License-Identifier: AGPL-3.0-or-later
"""A drawing in layers becomes a PDF of one page at full size: vectors, one embedded face, nothing else.

Each layer is an optional content group (ISO 32000-1, 8.11), so that a designer or a bench shows what is wanted.  The
page's TrimBox is the trim of what is drawn: placed by it, the drawing lies under the artwork.
"""

from __future__ import annotations

from pathlib import Path

import pikepdf
from attrs import frozen
from pikepdf import Array, Dictionary, Name, String

from foldproof.files import patient
from foldproof.geometry import Rect
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
        groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(layer.name))) for layer in drawing.layers]
        strokes = tuple(stroke for layer in drawing.layers for stroke in layer.strokes)
        letters = {letter for stroke in strokes if isinstance(stroke, Words) for letter in stroke.text}
        content = b"\n".join(
            b"/OC /L%d BDC q\n%s\nQ EMC" % (nth, operators(layer.strokes, font))
            for nth, layer in enumerate(drawing.layers, start=1)
        )
        resources = Dictionary(
            Font=Dictionary(F=font.embed(pdf, letters)),
            Properties=Dictionary({f"/L{nth}": group for nth, group in enumerate(groups, start=1)}),
        )
        assert not any(isinstance(stroke.ink, Spot) for stroke in strokes) and not spots(strokes)
        page = Dictionary(
            Type=Name.Page,
            MediaBox=Array([0, 0, *drawing.page_pt]),
            TrimBox=_corners(drawing.trim_pt),
            BleedBox=_corners(drawing.bleed_pt),
            Resources=resources,
            Contents=pdf.make_stream(content),
        )
        pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
        shown = Dictionary(Order=Array(groups), ON=Array(groups), BaseState=Name.ON)
        pdf.Root["/OCProperties"] = Dictionary(OCGs=Array(groups), D=shown)
        # a print that is scaled to its paper would measure wrong (ISO 32000-1, table 150)
        pdf.Root["/ViewerPreferences"] = Dictionary(PrintScaling=Name("/None"))
        pdf.docinfo["/Title"] = String(drawing.title)
        with patient(target) as stream:
            pdf.save(stream, min_version="1.6", deterministic_id=True, fix_metadata_version=False)


def _corners(box: Rect) -> Array:
    return Array([box.x0, box.y0, box.x1, box.y1])
