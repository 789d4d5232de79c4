# SPDX-License-Identifier: AGPL-3.0-or-later
"""The knife before folding: the sheet slit, and whether every section comes out by itself."""

from __future__ import annotations

from foldproof.makeup.instructions import Sheet
from foldproof.pdf.proof_affine import Box, Point, middle
from foldproof.prove.book import Trouble

#: how far an edge may be from the edge that it should lie on
EDGE_MM = 0.05


def cutting(sheet: Sheet, binding: str) -> list[Trouble]:
    """Slit the sheet and see whether every section comes out by itself."""
    out: list[Trouble] = []
    whole: Box = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    boxes = {s.id: s.rect_mm for s in sheet.sections}
    for section in sheet.sections:
        x0, y0, x1, y1 = section.rect_mm
        if x0 >= x1 or y0 >= y1 or min(x0, y0) < -EDGE_MM or x1 > whole[2] + EDGE_MM or y1 > whole[3] + EDGE_MM:
            out.append(
                Trouble(f"Section {section.id} does not lie inside sheet {sheet.number}.", sheet.number, section.id)
            )
    for slit in sheet.slits_mm:
        (ax, ay), (bx, by) = slit
        level, upright = abs(ay - by) < EDGE_MM, abs(ax - bx) < EDGE_MM
        if level == upright:
            out.append(Trouble(f"A slit of sheet {sheet.number} is neither level nor upright.", sheet.number))
            continue
        for section in sheet.sections:
            if _crosses(slit, boxes[section.id], upright):
                out.append(
                    Trouble(
                        f"A slit of sheet {sheet.number} cuts through piece {section.id}.", sheet.number, section.id
                    )
                )
    parts = _slit([whole], sheet)
    names = list(boxes)
    for name in names:
        out += _beside(name, boxes[name], parts, sheet, before=binding == "leaflet")
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            a, b = boxes[one], boxes[other]
            if a[0] < b[2] - EDGE_MM and b[0] < a[2] - EDGE_MM and a[1] < b[3] - EDGE_MM and b[1] < a[3] - EDGE_MM:
                out.append(Trouble(f"Sections {one} and {other} overlap on sheet {sheet.number}.", sheet.number, one))
            elif _part_of(parts, a) == _part_of(parts, b):
                out.append(
                    Trouble(f"No slit parts sections {one} and {other} on sheet {sheet.number}.", sheet.number, one)
                )
    return out


def _beside(name: str, box: Box, parts: list[Box], sheet: Sheet, *, before: bool) -> list[Trouble]:
    """A slit that leaves more on a section than its folds reckon with.

    What no slit cuts is the sheet's own edge, and goes with the bolts; but what is cut ``before`` folding is never cut
    again, so that there no edge of the sheet may be left.
    """
    part = _part_of(parts, box)
    if part < 0:
        return []
    edges = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    left = [
        (abs(lies - asked), abs(lies - edge) <= EDGE_MM)
        for lies, asked, edge, way in zip(parts[part], box, edges, (-1, -1, 1, 1), strict=True)
        if (lies - asked) * way > 0
    ]
    out = []
    more = max((much for much, own in left if not own), default=0.0)
    if more > EDGE_MM:
        says = f"A slit of sheet {sheet.number} leaves {more:.2f} mm more on piece {name} than belongs to it."
        out.append(Trouble(says, sheet.number, name))
    uncut = max((much for much, own in left if own), default=0.0)
    if before and uncut > EDGE_MM:
        says = (
            f"No slit of sheet {sheet.number} cuts {uncut:.2f} mm of its edge off piece {name}, "
            "which is cut before it is folded and never again."
        )
        out.append(Trouble(says, sheet.number, name))
    return out


def _crosses(slit: tuple[Point, Point], box: Box, upright: bool) -> bool:
    axis = 0 if upright else 1
    at = slit[0][axis]
    low, high = sorted((slit[0][1 - axis], slit[1][1 - axis]))
    inside = box[axis] + EDGE_MM < at < box[axis + 2] - EDGE_MM
    return inside and low < box[3 - axis] - EDGE_MM and high > box[1 - axis] + EDGE_MM


def _slit(parts: list[Box], sheet: Sheet) -> list[Box]:
    """Cut along every slit that runs right through a part, until none does."""
    changed = True
    while changed:
        changed = False
        for slit in sheet.slits_mm:
            axis = 0 if abs(slit[0][0] - slit[1][0]) < EDGE_MM else 1
            at = slit[0][axis]
            low, high = sorted((slit[0][1 - axis], slit[1][1 - axis]))
            for index, part in enumerate(parts):
                through = low <= part[1 - axis] + EDGE_MM and high >= part[3 - axis] - EDGE_MM
                if through and part[axis] + EDGE_MM < at < part[axis + 2] - EDGE_MM:
                    one, other = list(part), list(part)
                    one[axis + 2] = other[axis] = at
                    parts[index : index + 1] = [(*one,), (*other,)]  # type: ignore[list-item]
                    changed = True
                    break
    return parts


def _part_of(parts: list[Box], box: Box) -> int:
    x, y = middle(box)
    for index, part in enumerate(parts):
        if part[0] <= x <= part[2] and part[1] <= y <= part[3]:
            return index
    return -1
