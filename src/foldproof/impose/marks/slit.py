# SPDX-License-Identifier: AGPL-3.0-or-later
"""Slit marks: where the knife parts the sheet before it is folded, at both ends of every cut.

A solid rule on the line of the cut with two ticks across it: nobody takes it for a fold, which is dashed, or for a
trim, which has no ticks.  Beside it "slit" and its order among the cuts, ``s2`` where there is no room for the word.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.impose.marks.lettering import name_beside
from foldproof.impose.marks.view import SheetLine, SheetView, SideView
from foldproof.pdf.sheets_drawing import Line
from foldproof.units import mm_to_pt

_LENGTHS_PT = tuple(mm_to_pt(length) for length in (7, 5, 4, 3, 2, 1.5))
_STEP_PT = mm_to_pt(0.5)
#: how far ticks reach to either side of the cut: less where it runs between two bleeds, to one side alone where it runs
#: along the gripper margin, of which the rule itself then takes half its own width
_HALVES_PT = (mm_to_pt(1.2), mm_to_pt(0.7), mm_to_pt(0.4))
_TICKS_PT = (
    *((half, half) for half in _HALVES_PT),
    *(pair for half in _HALVES_PT[:2] for pair in ((0.0, half), (half, 0.0))),
)
_WIDTH_PT = 0.35
#: white between a slit mark and the centre mark that stands on the same line
_ASIDE_PT = mm_to_pt(1)
#: where along the mark its ticks stand
_TICKS_AT = (0.35, 0.65)


def draw(sheet: SheetView) -> bool:
    """Draw the marks of all cuts on the printed sides; whether every cut has one at least on each of them."""
    whole = True
    for side in sheet.sides:
        for cut in sheet.slits:
            marked = False
            ends = sorted([(cut.x0, cut.y0), (cut.x1, cut.y1)])
            inward = ((0, 1), (0, -1)) if cut.upright else ((1, 0), (-1, 0))
            for (x, y), (dx, dy) in zip(ends, inward, strict=True):
                ax, ay = sheet.on(side.side, x, y)
                bx, by = sheet.on(side.side, x + dx, y + dy)
                long = abs(cut.y1 - cut.y0) if cut.upright else abs(cut.x1 - cut.x0)
                marked |= _end(side, cut, (ax, ay), (round(bx - ax), round(by - ay)), long / 2)
            whole = whole and marked
    return whole


def _end(side: SideView, cut: SheetLine, at: tuple[float, float], inward: tuple[int, int], half_pt: float) -> bool:
    """One end of a cut: the longest mark, and of those the one nearest the end, that is free on printable paper."""
    (x, y), (dx, dy) = at, inward
    paper = side.room.printable
    if dx:
        first = max(0.0, paper.x0 - x if dx > 0 else x - paper.x1)
    else:
        first = max(0.0, paper.y0 - y if dy > 0 else y - paper.y1)
    for ticks in _TICKS_PT:
        for length_pt in _LENGTHS_PT:
            for count in range(int(max(0.0, half_pt - first - length_pt) / _STEP_PT) + 1):
                start = first + count * _STEP_PT
                if count * _STEP_PT > _LENGTHS_PT[0] * 2:
                    break
                if start + length_pt > half_pt:
                    continue
                near, far = ((x + dx * along, y + dy * along) for along in (start, start + length_pt))
                box = Rect(
                    min(near[0], far[0]) - abs(dy) * ticks[0], min(near[1], far[1]) - abs(dx) * ticks[0],
                    max(near[0], far[0]) + abs(dy) * ticks[1], max(near[1], far[1]) + abs(dx) * ticks[1],
                )  # fmt: skip
                if side.room.free(box, _ASIDE_PT):
                    side.room.take(box)
                    _mark(side, near, far, ticks)
                    name_beside(side, (f"slit {cut.order}", f"s{cut.order}"), near, (-dx, -dy), max(ticks) + 1.0)
                    return True
    return False


def _mark(side: SideView, near: tuple[float, float], far: tuple[float, float], ticks: tuple[float, float]) -> None:
    """The rule from one point to the other, and its two ticks."""
    (ax, ay), (bx, by) = near, far
    across = (0.0, 1.0) if abs(bx - ax) > abs(by - ay) else (1.0, 0.0)
    strokes = [Line(ax, ay, bx, by, _WIDTH_PT)]
    for part in _TICKS_AT:
        x, y = ax + part * (bx - ax), ay + part * (by - ay)
        strokes.append(
            Line(
                x - across[0] * ticks[0], y - across[1] * ticks[0], x + across[0] * ticks[1],
                y + across[1] * ticks[1], _WIDTH_PT,
            )
        )  # fmt: skip
    side.draw(*strokes)
