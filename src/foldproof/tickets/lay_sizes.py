# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sizes from the lay: where every slit, cut, fold and trim of a sheet lies, in mm from one corner of the paper.  Pure.

The *lay corner* is the corner where the gripper edge of the front and the side lay meet.  Press, knife and folder all
push the sheet against these two edges of the paper, whatever side lies up: sizes taken from the same corner keep
register though sheets differ by a millimetre.  A piece that has been slit off has a corner of its own, the one that
lay nearest to the sheet's; folds are given from both.

Frame of what goes in: *sheet*, seen from the front.  What comes out are distances: ``across_mm`` from the side lay
edge, ``up_mm`` from the gripper edge of the front.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.makeup.instructions import Section, Sheet
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.units import pt_to_mm

Point = tuple[float, float]
Segment = tuple[Point, Point]

#: lines nearer to each other than this are one
_SAME_MM = 1e-3


@frozen
class LaySize:
    """One line of a sheet.  A line up the sheet has a distance across, a line across it a distance up."""

    what: str  #: ``"slit"``, ``"cut"`` (to size before folding), ``"fold"`` or ``"trim"``
    number: int  #: 1-based: in the order in which the sheet is slit, in its section in that of the folds or cuts
    words: str
    section: str | None  #: id, ``None`` for a slit
    across_mm: float | None = None  #: from the side lay edge of the sheet
    up_mm: float | None = None  #: from the gripper edge of the front
    #: the same from the piece's own lay corner; ``None`` for a slit
    piece_across_mm: float | None = None
    piece_up_mm: float | None = None


def lay_sizes(plan: Plan, number: int) -> tuple[LaySize, ...]:
    """Every slit, cut, fold and trim of the sheet ``number`` (1-based).

    Slits come first in the order of the instructions, then section by section its cuts (a leaflet is cut to size before
    it is folded), its folds in order, and what the knives of the trimmer leave of its first page.
    """
    sheet = next(sheet for sheet in plan.instructions.sheets if sheet.number == number)
    corner = _Corner(sheet, lay_of(plan, number), plan.reading)
    found = [corner.size("slit", nth, _slit_words(sheet, slit), slit) for nth, slit in enumerate(sheet.slits_mm, 1)]
    places = [place for place in (*plan.places, *plan.again) if place.sheet == number]
    for section in sheet.sections:
        own = [place for place in places if place.section == section.id]
        if plan.instructions.binding == "leaflet":
            found += _cuts(corner, section, [_on_front(place, sheet) for place in own])
        for nth, fold in enumerate(section.folds, 1):
            found.append(corner.size("fold", nth, fold.words, fold.line_mm, section))
        if own and plan.instructions.binding != "leaflet":
            first = min(own, key=lambda place: place.position)
            found += _trims(corner, section, first, _on_front(first, sheet))
    return tuple(found)


def lay_of(plan: Plan, number: int) -> str:
    """``"left"`` or ``"right"``: the side of the front, seen as printed, that runs against the side lay."""
    return (plan.run_of(number).press if plan.runs else plan.press).lay


@frozen
class _Corner:
    """The lay corner of one sheet."""

    sheet: Sheet
    lay: str
    reading: str

    def size(self, what: str, number: int, words: str, line: Segment, section: Section | None = None) -> LaySize:
        (ax, ay), (bx, by) = line
        upright = abs(bx - ax) < abs(by - ay)
        left = self.lay == "left"
        rect = None if section is None else section.rect_mm
        across = up = piece_across = piece_up = None
        if upright:
            across = ax if left else self.sheet.width_mm - ax
            if rect is not None:
                piece_across = ax - rect[0] if left else rect[2] - ax
        else:
            up = ay
            if rect is not None:
                piece_up = ay - rect[1]
        name = None if section is None else section.id
        return LaySize(what, number, words, name, across, up, piece_across, piece_up)


def _slit_words(sheet: Sheet, slit: Segment) -> str:
    """What a slit does: what it takes off, or which pieces it parts."""
    (ax, ay), (bx, by) = slit
    upright = abs(bx - ax) < abs(by - ay)
    axis, at = (0, ax) if upright else (1, ay)
    low, high = sorted((ay, by) if upright else (ax, bx))
    before: list[Section] = []
    after: list[Section] = []
    for section in sheet.sections:
        rect = section.rect_mm
        if min(rect[3 - axis], high) - max(rect[1 - axis], low) > _SAME_MM:  # the slit passes beside it
            (before if (rect[axis] + rect[axis + 2]) / 2 < at else after).append(section)
    if not before or not after:
        end = ("left", "gripper")[axis] if not before else ("right", "tail")[axis]
        return f"takes off the {end} margin"
    near = [s.id for s in before if abs(s.rect_mm[axis + 2] - at) < _SAME_MM] or [s.id for s in before]
    far = [s.id for s in after if abs(s.rect_mm[axis] - at) < _SAME_MM] or [s.id for s in after]
    return f"parts {_listed(near)} from {_listed(far)}"


def _listed(ids: list[str]) -> str:
    return ", ".join(ids) if len(ids) < 4 else f"{ids[0]} to {ids[-1]}"


def _on_front(place: PagePlace, sheet: Sheet) -> Rect:
    """The trim of a page, sheet frame of the front, mm."""
    box = place.trim_pt.scaled(pt_to_mm(1))
    if place.side is Side.FRONT:
        return box
    if sheet.turn == "head to tail":
        return Rect(box.x0, sheet.height_mm - box.y1, box.x1, sheet.height_mm - box.y0)
    return Rect(sheet.width_mm - box.x1, box.y0, sheet.width_mm - box.x0, box.y1)


def _cuts(corner: _Corner, section: Section, trims: Iterable[Rect]) -> list[LaySize]:
    """A leaflet is cut to the outline of all its pages while it lies flat."""
    boxes = list(trims)
    if not boxes:
        return []
    x0, y0 = min(box.x0 for box in boxes), min(box.y0 for box in boxes)
    x1, y1 = max(box.x1 for box in boxes), max(box.y1 for box in boxes)
    lines = {
        "left edge": ((x0, y0), (x0, y1)),
        "right edge": ((x1, y0), (x1, y1)),
        "gripper edge": ((x0, y0), (x1, y0)),
        "tail edge": ((x0, y1), (x1, y1)),
    }
    return [corner.size("cut", nth, words, line, section) for nth, (words, line) in enumerate(lines.items(), 1)]


def _trims(corner: _Corner, section: Section, first: PagePlace, box: Rect) -> list[LaySize]:
    """The edges that the knives give the first page of a section, on the flat sheet.

    The spine is one only where it is ground off: else the page ends at a fold.
    """
    left_to_right = corner.reading == "left to right"
    spine_left = (first.position % 2 == 0) == left_to_right
    # the page's own right and head, turned with it on its side; from the back they are seen the other way round
    over = first.matrix.a, first.matrix.b
    head = first.matrix.c, first.matrix.d
    if first.side is Side.BACK:
        level, upright = (1.0, -1.0) if corner.sheet.turn == "head to tail" else (-1.0, 1.0)
        over, head = (over[0] * level, over[1] * upright), (head[0] * level, head[1] * upright)
    spine = (-over[0], -over[1]) if spine_left else over
    wanted = {"head": head, "foot": (-head[0], -head[1]), "fore-edge": (-spine[0], -spine[1])}
    if section.spine_trim_mm > 0:
        wanted["spine"] = spine
    return [
        corner.size("trim", nth, f"{edge} of the first page", _edge(box, towards), section)
        for nth, (edge, towards) in enumerate(wanted.items(), 1)
    ]


def _edge(box: Rect, towards: Point) -> Segment:
    """The edge of a box that lies in a direction."""
    if abs(towards[0]) > abs(towards[1]):
        x = box.x1 if towards[0] > 0 else box.x0
        return (x, box.y0), (x, box.y1)
    y = box.y1 if towards[1] > 0 else box.y0
    return (box.x0, y), (box.x1, y)
