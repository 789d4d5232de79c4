# SPDX-License-Identifier: AGPL-3.0-or-later
"""One printed side as the drawing in sheet.typ wants it: plain data, side frame, mm."""

from __future__ import annotations

from typing import Any

from foldproof.geometry import Rect
from foldproof.tickets.diagram import SideDrawing


def side_data(side: SideDrawing, caption: str = "") -> dict[str, Any]:
    """Pages, pieces, folds and slits of a side, and the words under it."""
    return {
        "side": side.side.value,
        "caption": caption,
        "width_mm": side.width_mm,
        "height_mm": side.height_mm,
        "gripper_mm": side.gripper_mm,
        "lay": side.lay,
        "pages": [
            {"page": p.page, "rect_mm": _corners(p.rect_mm), "turn": p.turn, "folio": p.folio} for p in side.pages
        ],
        "pieces": [{"id": p.id, "rect_mm": _corners(p.rect_mm)} for p in side.pieces],
        "folds": [
            {
                "number": f.number,
                "words": f.words,
                "start_mm": f.start_mm,
                "end_mm": f.end_mm,
                "label_mm": f.label_mm,
            }
            for f in side.folds
        ],
        "slits_mm": side.slits_mm,
    }


def _corners(rect: Rect) -> tuple[float, float, float, float]:
    return rect.x0, rect.y0, rect.x1, rect.y1
