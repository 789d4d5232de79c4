# SPDX-License-Identifier: AGPL-3.0-or-later
"""A sheet as the makers of marks see it: two sides, the folds, the press.  All in points.

The front's side frame is the sheet frame.  The back's is the sheet seen from behind: turned about its upright axis
(``"side to side"``) a point ``(x, y)`` of the sheet comes to ``(width - x, y)``, about its level axis (``"head to
tail"``) to ``(x, height - y)``.
"""

from __future__ import annotations

from itertools import pairwise

from attrs import define, field, frozen

from foldproof.geometry import Rect
from foldproof.impose.marks.room import Room
from foldproof.makeup.instructions import Sheet
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.pdf.sheets_drawing import Stroke
from foldproof.units import mm_to_pt

#: paper at the edges that marks leave free, so that nothing is cut by the edge of the plate image
EDGE_PT = mm_to_pt(1.5)
_NOISE_PT = 1e-3


@frozen
class SheetLine:
    """One crease of one section from edge to edge of it, or one cut from end to end; sheet frame."""

    order: int  #: of the fold that makes it, or of the cut, 1-based
    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def upright(self) -> bool:
        return abs(self.x1 - self.x0) < abs(self.y1 - self.y0)


@define
class SideView:
    """One side: its pages, what is free, and the strokes drawn so far."""

    side: Side
    places: tuple[PagePlace, ...]
    room: Room
    inks: tuple[str, ...] | None  #: ``None`` where the plan does not say
    marks: list[tuple[Stroke, ...]] = field(factory=list)

    def draw(self, *strokes: Stroke) -> None:
        """Draw one mark."""
        self.marks.append(strokes)


@frozen
class SheetView:
    """Both sides of a sheet."""

    number: int
    width_pt: float
    height_pt: float
    gripper_pt: float
    head_to_tail: bool
    ground: bool  #: glued: the spine is ground off
    lay: str  #: side of the front that runs against the side lay, ``"left"`` or ``"right"``
    folds: tuple[SheetLine, ...]
    slits: tuple[SheetLine, ...]
    front: SideView
    back: SideView  #: the front itself where one set of plates prints both sides

    @property
    def one_set(self) -> bool:
        """Whether the same plates print both sides."""
        return self.back is self.front

    @property
    def sides(self) -> tuple[SideView, ...]:
        """What plates are made for: both sides, one for both, or the one that is printed."""
        both = (self.front,) if self.one_set else (self.front, self.back)
        return tuple(side for side in both if side.inks != ())

    def seen_on(self, side: Side) -> SideView:
        return self.front if side is Side.FRONT else self.back

    def on(self, side: Side, x: float, y: float) -> tuple[float, float]:
        """A point of the sheet, seen on one side."""
        if side is Side.FRONT:
            return x, y
        return (x, self.height_pt - y) if self.head_to_tail else (self.width_pt - x, y)


def view(plan: Plan, sheet: Sheet, places: tuple[PagePlace, ...]) -> SheetView:
    """The view of one sheet, nothing drawn yet.

    Args:
        places: all that stand on the sheet, those of further copies of the book too.
    """
    run = plan.run_of(sheet.number) if plan.runs else None
    press = run.press if run else plan.press
    width_pt, height_pt = mm_to_pt(sheet.width_mm), mm_to_pt(sheet.height_mm)
    gripper_pt = mm_to_pt(press.gripper_mm)
    head_to_tail = sheet.turn == "head to tail"
    # Turned head to tail the tail is gripped in its turn: then no wet ink at either end.
    tail_pt = gripper_pt if head_to_tail else EDGE_PT
    printable = Rect(EDGE_PT, gripper_pt, width_pt - EDGE_PT, height_pt - tail_pt)

    def side(which: Side) -> SideView:
        own = tuple(place for place in places if place.side is which)
        # the plate of both sides keeps clear of the pages of both, which are the same
        clips = dict.fromkeys(place.clip_pt for place in (places if run and run.one_set else own))
        return SideView(which, own, Room(printable, tuple(clips)), run.inks[which is Side.BACK] if run else None)

    front = side(Side.FRONT)
    return SheetView(
        number=sheet.number, width_pt=width_pt, height_pt=height_pt, gripper_pt=gripper_pt, head_to_tail=head_to_tail,
        ground=plan.binding == "glued", lay=press.lay, folds=_folds(sheet), slits=_slits(sheet), front=front,
        back=front if run and run.one_set else side(Side.BACK),
    )  # fmt: skip


def _slits(sheet: Sheet) -> tuple[SheetLine, ...]:
    """The cuts in the order in which they are made."""
    return tuple(
        SheetLine(order, *(mm_to_pt(v) for point in cut for v in point))
        for order, cut in enumerate(sheet.slits_mm, start=1)
    )


def _folds(sheet: Sheet) -> tuple[SheetLine, ...]:
    """The folds as creases through the whole section, every crease that a fold makes.

    A fold is made along the part that stays.  The paper that lies under or over it there is creased with it: along the
    same line where it was folded across, and along the line's mirror image where it was folded along.
    """
    out: list[SheetLine] = []
    for section in sheet.sections:
        x0, y0, x1, y1 = (mm_to_pt(v) for v in section.rect_mm)
        upright: list[tuple[int, float]] = []
        level: list[tuple[int, float]] = []
        for order, fold in enumerate(section.folds, start=1):
            (ax, ay), (bx, by) = ((mm_to_pt(x), mm_to_pt(y)) for x, y in fold.line_mm)
            if abs(ax - bx) < abs(ay - by):
                upright.append((order, (ax + bx) / 2))
            else:
                level.append((order, (ay + by) / 2))
        out += [SheetLine(order, at, y0, at, y1) for order, at in creases(upright, x0, x1)]
        out += [SheetLine(order, x0, at, x1, at) for order, at in creases(level, y0, y1)]
    return tuple(sorted(out, key=lambda line: line.order))


def creases(folds: list[tuple[int, float]], low: float, high: float) -> list[tuple[int, float]]:
    """Where parallel folds crease the flat section: order and place of every crease.

    Args:
        folds: order and place of each fold on the part that stays, in the order in which they are made.
        low, high: the edges of the section across the folds.

    A later fold lies on the part that stayed, which tells the side that was moved; the last one moves nothing that is
    folded again.
    """
    piles = [(low, high)]
    for (_, at), (_, later) in pairwise(folds):
        a, b = piles[-1]
        piles.append((at, max(b, 2 * at - a)) if later > at else (min(a, 2 * at - b), at))
    out: list[tuple[int, float]] = []
    for index, (order, at) in enumerate(folds):
        found = [at]
        for (_, axis), (a, b) in reversed(list(zip(folds[:index], piles[:index], strict=True))):
            mirrored = [2 * axis - place for place in found]
            # where the flap ends just there it is not creased: sums of points come out a hair off
            found += [place for place in mirrored if a + _NOISE_PT < place < b - _NOISE_PT]
        out += [(order, place) for place in sorted(found)]
    return out
