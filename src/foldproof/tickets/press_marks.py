# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where the marks of a sheet stand, and what a printer looks for in each.

The marks are those that the writer of the sheets drew, asked for once more from the same maker.  Places are told as
the sheet lies on the delivery: across from the edge that ran against the side lay, up from the gripper edge.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.impose.marks.sheet import MarkMaker, SideMarks
from foldproof.job.model import Job
from foldproof.makeup.plan import Plan, Side
from foldproof.pdf.sheets_drawing import Block, Cells, Line, Ring, Stroke, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import pt_to_mm

#: name and what to look for, in the order in which one looks; customary, common practice, no source
LOOKED_AT: dict[str, tuple[str, str]] = {
    "lay": (
        "gripper arrow, side lay",
        "the arrow points at the gripper edge; the bar is cut by the edge of the paper, alike on every sheet pulled",
    ),
    "job_line": ("job line", "book, sheet, side and inks are those on the plates’ labels and on this ticket"),
    "code": ("code", "scans, and names this sheet and side"),
    "register": ("register targets", "all inks on one cross under the glass, near the lay and far from it"),
    "backup": ("back-up crosses", "a needle through the cross of the front comes out at that of the back"),
    "centre": ("centre marks", "in the middle of each edge; front and back cover one another against the light"),
    "colour_strip": (
        "colour strip",
        "solids even from side to side, tints open, grey neutral; then zone by zone with the plates ticket",
    ),
    "collation": ("collation marks", "a whole black bar on the spine fold, a step further down on each section"),
    "signature": ("signature marks", "the sections are those of this sheet"),
    "fold": ("fold marks", "there and whole, at both ends of every fold"),
    "slit": ("slit marks", "there and whole, at both ends of every cut"),
    "trim": ("trim marks", "there and whole; no page’s matter ends short of its bleed"),
}
#: what is longer is told from end to end
_LONG_MM = 25.0
#: so many places of one mark are told one by one
_TOLD = 4


@frozen
class MarkPlace:
    """One mark on one side: the box round it, side frame, mm."""

    name: str
    box_mm: Rect


def mark_places(plan: Plan, job: Job, date: str, numbers: Collection[int]) -> dict[tuple[int, Side], list[MarkPlace]]:
    """The marks of both sides of some sheets (by number).

    Args:
        date: as it is printed on the sheets: how long the job line is settles where other marks find room.
    """
    last = max(numbers, default=0)
    made = MarkMaker(plan, job.marks, plan.title, date, job.sections.signed_leaves).sides()
    found = {}
    for number in range(1, last + 1):
        for side in Side:
            marks = next(made)
            if number in numbers:
                found[number, side] = _places(marks)
    return found


def where(boxes: Sequence[Rect], lay: str, width_mm: float) -> str:
    """Places in words: ``"310 / 9; 6 / 240"``, across from the side lay and up from the gripper edge; mm."""
    told = []
    for box in boxes[:_TOLD]:
        x0, x1 = (box.x0, box.x1) if lay == "left" else (width_mm - box.x1, width_mm - box.x0)
        told.append(f"{_from_to(x0, x1)}\u00a0/\u00a0{_from_to(box.y0, box.y1)}")
    if len(boxes) > _TOLD:
        return f"{len(boxes)}, the first at {told[0]}"
    return "; ".join(told) or "none"


def _from_to(low: float, high: float) -> str:
    return f"{low:.0f} to {high:.0f}" if high - low > _LONG_MM else f"{(low + high) / 2:.0f}"


def _places(marks: SideMarks) -> list[MarkPlace]:
    """Marks of one kind in the order in which they were drawn; the patches of a strip are one mark, as are arrow and
    word of a sign."""
    found = []
    strips: list[Rect] = []
    for name, strokes in zip(marks.names, marks.marks, strict=True):
        box = _round(_box(stroke) for stroke in strokes)
        if name == "colour_strip":
            strips.append(box)
        elif not (name == "lay" and all(isinstance(stroke, Words) for stroke in strokes)):
            found.append(MarkPlace(name, box.scaled(pt_to_mm(1))))
    if strips:
        found.append(MarkPlace("colour_strip", _round(strips).scaled(pt_to_mm(1))))
    return found


def _round(boxes: Iterable[Rect]) -> Rect:
    each = list(boxes)
    return Rect(
        min(box.x0 for box in each),
        min(box.y0 for box in each),
        max(box.x1 for box in each),
        max(box.y1 for box in each),
    )


def _box(stroke: Stroke) -> Rect:
    match stroke:
        case Line():
            return Rect.from_corners(stroke.x0, stroke.y0, stroke.x1, stroke.y1)
        case Ring():
            return Rect(stroke.x, stroke.y, stroke.x, stroke.y).grown(stroke.radius_pt)
        case Block():
            xs, ys = [x for x, _ in stroke.points], [y for _, y in stroke.points]
            return Rect(min(xs), min(ys), max(xs), max(ys))
        case Cells():
            return _round(stroke.boxes)
        case Words():
            long, high = mark_font().width_pt(stroke.text, stroke.size_pt), CAP_HEIGHT * stroke.size_pt
            along = ((1, 0), (0, 1), (-1, 0), (0, -1))[stroke.turns % 4]
            return Rect.from_corners(
                stroke.x,
                stroke.y,
                stroke.x + along[0] * long - along[1] * high,
                stroke.y + along[1] * long + along[0] * high,
            )
