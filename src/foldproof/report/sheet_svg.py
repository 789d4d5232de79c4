# SPDX-License-Identifier: AGPL-3.0-or-later
"""One side of a sheet as figures for the macro ``sheet`` of the page templates: mm, y down, the gripper edge below.

Round the sheet there is room for the words that name its gripper edge and its side lay.
"""

from __future__ import annotations

from typing import Any

from foldproof.geometry import Rect
from foldproof.report.words import clean
from foldproof.tickets.diagram import PageBox, SideDrawing


def sheet_svg(side: SideDrawing, words: str, data_uri: str = "") -> dict[str, Any]:
    """Everything that the drawing states, as the macro wants it.

    Args:
        words: what stands below the drawing, and what is read aloud in its place.
        data_uri: picture of the side, whole; without one the pages are drawn as boxes.
    """
    wide, height = side.width_mm, side.height_mm
    unit = max(wide, height) / 500
    # small enough to stay clear of the page numbers
    dot = min(9 * unit, *(0.19 * min(p.rect_mm.width, p.rect_mm.height) for p in side.pages), 60)
    room = 19 * unit
    at_left = side.lay == "left"
    return {
        "words": words,
        "data_uri": data_uri,
        "width": _n(wide),
        "height": _n(height),
        "view": f"{_n(-room)} {_n(-4 * unit)} {_n(wide + 2 * room)} {_n(height + 4 * unit + room)}",
        "stroke": round(1.2 * unit, 2),
        "hair": _n(0.7 * unit),
        "dot": round(dot, 2),
        "dash": f"{_n(6 * unit)} {_n(4 * unit)}",
        "long_dash": f"{_n(12 * unit)} {_n(4 * unit)} {_n(2 * unit)} {_n(4 * unit)}",
        "gripper": {"top": _n(height - side.gripper_mm), "deep": _n(side.gripper_mm)},
        "type": _n(11 * unit),
        "edge": {"x": _n(wide / 2), "y": _n(height + 13 * unit), "bar": _n(3 * unit)},
        # a wedge whose tip touches the edge of the paper, a quarter up from the grippers
        "lay": {
            "tip": _n(0 if at_left else wide),
            "base": _n(-9 * unit if at_left else wide + 9 * unit),
            "y": _n(height * 0.82),
            "half": _n(5 * unit),
            "x": _n(-6 * unit if at_left else wide + 6 * unit),
            "word_y": _n(height * 0.82 - 9 * unit),
            "turn": -90 if at_left else 90,
            "anchor": "start" if at_left else "end",
        },
        "pieces": [{**_box(p.rect_mm, height), "id": clean(p.id)} for p in side.pieces],
        "pages": [_page(p, height) for p in side.pages],
        "folds": [
            {
                **_line(f.start_mm, f.end_mm, height),
                "x": round(f.label_mm[0], 2),
                "y": round(height - f.label_mm[1], 2),
                "number": f.number,
            }
            for f in side.folds
        ],
        "slits": [_line(a, b, height) for a, b in side.slits_mm],
    }


def _page(page: PageBox, height: float) -> dict[str, Any]:
    box = page.rect_mm
    wide, high = (box.width, box.height) if page.turn in (0, 180) else (box.height, box.width)
    size = min(wide * 0.3, high * 0.24) * (0.55 if page.page is None else 1.0)
    folio = clean(page.folio)[:16]
    small = min(size * 0.42, wide * 1.5 / max(1, len(folio)))
    return {
        "x": _n(box.centre[0]),
        "y": _n(height - box.centre[1]),
        "turn": -page.turn % 360,
        "left": _n(-wide / 2),
        "top": _n(-high / 2),
        "width": _n(wide),
        "height": _n(high),
        # a thick stroke inside the box along its head
        "head": _n(-high / 2 + 0.012 * high),
        "head_half": _n(wide * 0.22),
        "head_thick": _n(0.024 * high),
        "label": page.label,
        "size": _n(size),
        "halo": _n(size * 0.16),
        "drop": _n(size * 0.34),
        "folio": folio,
        "folio_size": _n(small),
        "folio_halo": _n(small * 0.22),
        "folio_drop": _n(size * 0.62 + small),
        # a rule under the figure says which way up it stands: 6 or 9
        "bar": round(size * 0.3, 2),
        "bar_drop": _n(size * 0.5),
    }


def _line(start: tuple[float, float], end: tuple[float, float], height: float) -> dict[str, str]:
    return {"x1": _n(start[0]), "y1": _n(height - start[1]), "x2": _n(end[0]), "y2": _n(height - end[1])}


def _box(box: Rect, height: float) -> dict[str, str]:
    return {"x": _n(box.x0), "y": _n(height - box.y1), "width": _n(box.width), "height": _n(box.height)}


def _n(value: float) -> str:
    """A coordinate in mm, short: two places."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
