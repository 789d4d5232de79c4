# SPDX-License-Identifier: AGPL-3.0-or-later
"""Mended copies of a manuscript, written with pikepdf; the file as received is never touched."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from pathlib import Path

import pikepdf

from foldproof.errors import Unreadable
from foldproof.files import patient, placed
from foldproof.geometry import Rect
from foldproof.pdf.bounds import hold_qpdf
from foldproof.pdf.structure_objects import plain

#: markup annotations (ISO 32000-1, table 169, "markup: yes") and the popup that goes with them
MARKUP = frozenset(
    {
        "Text",
        "FreeText",
        "Line",
        "Square",
        "Circle",
        "Polygon",
        "PolyLine",
        "Highlight",
        "Underline",
        "Squiggly",
        "StrikeOut",
        "Stamp",
        "Caret",
        "Ink",
        "FileAttachment",
        "Sound",
        "Popup",
    }
)


def _mended_copy(source: Path, target: Path, alter: Callable[[pikepdf.Pdf], None]) -> None:
    """Write ``source`` as altered by ``alter`` to ``target``, whole or not at all."""
    hold_qpdf()
    try:
        with pikepdf.open(source, suppress_warnings=True) as pdf, placed(target) as beside:
            alter(pdf)
            with patient(beside) as stream, warnings.catch_warnings():
                # about fields that stand in no form, as they did before
                warnings.simplefilter("ignore")
                # its metadata stay as they are; they may be broken
                pdf.save(stream, deterministic_id=True, encryption=False, fix_metadata_version=False)
    except (pikepdf.PdfError, pikepdf.PasswordError) as odd:
        said = plain(str(odd)).rstrip(".")
        raise Unreadable(
            f"{source.name} cannot be mended ({said}); leave the repairs out, or ask for a fresh export."
        ) from odd


def drop_markup(source: Path, target: Path) -> dict[int, int]:
    """Copy without markup annotations; answers how many went, by 0-based page."""
    dropped: dict[int, int] = {}

    def alter(pdf: pikepdf.Pdf) -> None:
        for index, page in enumerate(pdf.pages):
            annots = page.obj.get("/Annots")
            if not isinstance(annots, pikepdf.Array):
                continue
            kept = [a for a in annots.as_list() if not _is_markup(a)]
            if len(kept) != len(annots):
                dropped[index] = len(annots) - len(kept)
                page.obj.Annots = pikepdf.Array(kept)

    _mended_copy(source, target, alter)
    return dropped


def _is_markup(annotation: pikepdf.Object) -> bool:
    if not isinstance(annotation, pikepdf.Dictionary):
        return False
    return str(annotation.get("/Subtype", ""))[1:] in MARKUP


def state_boxes(source: Path, target: Path, trims: dict[int, Rect]) -> None:
    """Copy in which the pages named (0-based) have the TrimBox given (media frame, PDF units)."""

    def alter(pdf: pikepdf.Pdf) -> None:
        for index, trim in trims.items():
            pdf.pages[index].obj.TrimBox = pikepdf.Array([round(v, 4) for v in (trim.x0, trim.y0, trim.x1, trim.y1)])

    _mended_copy(source, target, alter)
