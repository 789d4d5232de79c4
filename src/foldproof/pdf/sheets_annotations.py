# SPDX-License-Identifier: AGPL-3.0-or-later
"""Annotations that print, as form XObjects to be drawn after their page.

A sheet has no annotations, so what a printer would put on paper has to become matter of the sheet: appearance stream
and place by the algorithm of ISO 32000-1, 12.5.5.
"""

from __future__ import annotations

import pikepdf
from attrs import frozen
from pikepdf import Dictionary, Name

from foldproof.geometry import Matrix, Rect

# ISO 32000-1, table 165 (bit positions count from 1)
_HIDDEN = 1 << 1
_PRINT = 1 << 2
_NO_ROTATE = 1 << 4


@frozen
class Appearance:
    """What an annotation puts on paper."""

    form: pikepdf.Object
    matrix: Matrix  #: the appearance's own space (its /Matrix already applied) → media frame
    layer: pikepdf.Object | None  #: optional content group or membership dictionary


def appearances(pdf: pikepdf.Pdf, page: pikepdf.Object, rotate: int) -> list[Appearance]:
    """The annotations of a page that print, in their order; damaged ones are left out, as readers do."""
    annotations = page.get("/Annots")
    if not isinstance(annotations, pikepdf.Array):
        return []
    out: list[Appearance] = []
    listed: set[tuple[int, int]] = set()
    for annotation in annotations.as_list():
        if not isinstance(annotation, Dictionary):
            continue
        # one that is listed again, which it must not be (12.5.2), is drawn once
        if annotation.is_indirect:
            if annotation.objgen in listed:
                continue
            listed.add(annotation.objgen)
        try:
            found = _appearance(pdf, annotation, rotate)
        except (ValueError, TypeError, ZeroDivisionError, pikepdf.PdfError):
            continue
        if found is not None:
            out.append(found)
    return out


def _appearance(pdf: pikepdf.Pdf, annotation: pikepdf.Object, rotate: int) -> Appearance | None:
    flags = int(annotation.get("/F", 0))
    if not flags & _PRINT or flags & _HIDDEN or annotation.get("/Subtype") == Name.Popup:
        return None
    stream = _normal(annotation)
    if stream is None or "/BBox" not in stream:
        return None
    box = Rect.from_corners(*_numbers(stream["/BBox"], 4))
    matrix = Matrix(*_numbers(stream["/Matrix"], 6)) if "/Matrix" in stream else Matrix()
    rect = Rect.from_corners(*_numbers(annotation["/Rect"], 4))
    shown = matrix.rect(box)
    if shown.is_empty or rect.is_empty:
        return None
    # a) the box round the turned BBox; b) A scales and moves it onto Rect; c) the form applies its own Matrix first
    sx, sy = rect.width / shown.width, rect.height / shown.height
    fit = Matrix(sx, 0.0, 0.0, sy, rect.x0 - sx * shown.x0, rect.y0 - sy * shown.y0)
    if flags & _NO_ROTATE and rotate:
        # upright on a turned page: the upper left corner of Rect stays where it is (ISO 32000-1, 12.5.3)
        turn = Matrix.quarter_turns(rotate // 90)
        fit = fit.then(Matrix.translation(-rect.x0, -rect.y1)).then(turn).then(Matrix.translation(rect.x0, rect.y1))
    layer = annotation.get("/OC")
    if isinstance(layer, Dictionary) and not layer.is_indirect:
        layer = pdf.make_indirect(layer)
    return Appearance(_as_form(pdf, stream), fit, layer if isinstance(layer, Dictionary) else None)


def _normal(annotation: pikepdf.Object) -> pikepdf.Object | None:
    """The normal appearance, by its state where there are several (ISO 32000-1, 12.5.5)."""
    states = annotation.get("/AP")
    normal = states.get("/N") if isinstance(states, Dictionary) else None
    if isinstance(normal, pikepdf.Stream):
        return normal
    if isinstance(normal, Dictionary):
        state = annotation.get("/AS")
        chosen = normal.get(str(state)) if isinstance(state, Name) else None
        return chosen if isinstance(chosen, pikepdf.Stream) else None
    return None


def _as_form(pdf: pikepdf.Pdf, stream: pikepdf.Object) -> pikepdf.Object:
    """The appearance stream as a form of its own; fields may lean on the form's default resources."""
    if stream.get("/Subtype") != Name.Form:
        stream["/Subtype"] = Name.Form
    if "/Resources" not in stream:
        fields = pdf.Root.get("/AcroForm")
        usual = fields.get("/DR") if isinstance(fields, Dictionary) else None
        stream["/Resources"] = usual if isinstance(usual, Dictionary) else Dictionary()
    return stream


def _numbers(array: pikepdf.Object, count: int) -> list[float]:
    values = [float(value) for value in array.as_list()]
    if len(values) != count:
        raise ValueError(f"{count} numbers wanted")
    return values
