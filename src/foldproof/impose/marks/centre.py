# SPDX-License-Identifier: AGPL-3.0-or-later
"""Centre marks: the middle of each edge of the sheet, the same points of the paper on both sides.

A rule from the edge of the printable paper inwards, closed by a short bar: fold marks are dashed, trim marks have no
bar.  Held against the light, the marks of front and back cover one another (common practice, no source).
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.room import GAP_PT, Room
from foldproof.impose.marks.view import SheetView
from foldproof.makeup.plan import Side
from foldproof.pdf.sheets_drawing import Line
from foldproof.units import mm_to_pt

_LENGTHS_PT = tuple(mm_to_pt(length) for length in (5, 4, 3, 2, 1.5))
#: of the margin at that place, so that a fold mark on the same line keeps its room
_PART = 0.35
_BAR_PT = mm_to_pt(1)  #: half the bar
_WIDTH_PT = 0.25


def draw(sheet: SheetView) -> None:
    """Draw the marks of the printed sides, each edge for itself."""
    paper = sheet.front.room.printable
    x, y = sheet.width_pt / 2, sheet.height_pt / 2
    for (px, py), (dx, dy) in (
        ((x, paper.y0), (0, 1)),
        ((x, paper.y1), (0, -1)),
        ((paper.x0, y), (1, 0)),
        ((paper.x1, y), (-1, 0)),
    ):
        _edge(sheet, px, py, dx, dy)


def _edge(sheet: SheetView, x: float, y: float, dx: int, dy: int) -> None:
    """One edge: the longest mark that is free on every printed side."""
    for length_pt in _LENGTHS_PT:
        start, end = _WIDTH_PT / 2, length_pt - _WIDTH_PT / 2
        box = Rect.from_corners(
            x - abs(dy) * _BAR_PT, y - abs(dx) * _BAR_PT,
            x + dx * length_pt + abs(dy) * _BAR_PT, y + dy * length_pt + abs(dx) * _BAR_PT,
        )  # fmt: skip
        boxes = {which: _on(sheet, which, box) for which in Side}
        if not all(
            sheet.seen_on(which).room.free(boxes[which])
            and _margin(sheet.seen_on(which).room, boxes[which]) >= length_pt / _PART
            for which in _printed(sheet)
        ):
            continue
        foot, top = (x + dx * start, y + dy * start), (x + dx * end, y + dy * end)
        across = abs(dy) * _BAR_PT, abs(dx) * _BAR_PT
        bar = (top[0] - across[0], top[1] - across[1]), (top[0] + across[0], top[1] + across[1])
        for which in _printed(sheet):
            side = sheet.seen_on(which)
            if any(boxes[which].grown(-_WIDTH_PT).meets(other) for other in side.room.taken):
                continue  # one plate prints both sides: the mark is its own mate
            side.room.take(boxes[which])
            side.draw(*(
                Line(*sheet.on(which, *a), *sheet.on(which, *b), _WIDTH_PT) for a, b in ((foot, top), bar)
            ))  # fmt: skip
        return


def _printed(sheet: SheetView) -> list[Side]:
    return [which for which in Side if sheet.seen_on(which).inks != ()]


def _on(sheet: SheetView, which: Side, box: Rect) -> Rect:
    return Rect.from_corners(*sheet.on(which, box.x0, box.y0), *sheet.on(which, box.x1, box.y1))


def _margin(room: Room, box: Rect) -> float:
    """How far it is from the outer edge of a mark at the paper's edge to the pages' matter."""
    matter, paper = room.matter, room.printable
    if matter is None:
        return paper.width
    if abs(box.y0 - paper.y0) < 1e-6:
        return matter.y0 - GAP_PT - box.y0
    if abs(box.y1 - paper.y1) < 1e-6:
        return box.y1 - matter.y1 - GAP_PT
    if abs(box.x0 - paper.x0) < 1e-6:
        return matter.x0 - GAP_PT - box.x0
    return box.x1 - matter.x1 - GAP_PT
