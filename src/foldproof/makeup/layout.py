# SPDX-License-Identifier: AGPL-3.0-or-later
"""How blocks lie on a press sheet: in equal cells, several copies of them, turned over where that is wanted, slit
before folding.  Pure; millimetres.

Frames: *front*: lower left of the sheet, y up, seen from the front, gripper edge at the bottom; *behind*: the same seen
from the back, the sheet turned side to side (x runs from the other end).  A piece that is turned over before it is
folded has its back of the sheet up: its place is told in the frame *behind*.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

from attrs import evolve, frozen

from foldproof.geometry import Rect
from foldproof.job.model import HousePress
from foldproof.job.model import Way as PrintWay
from foldproof.makeup.shapes import Block, Shape

#: pages on one side of a sheet, at most (a 128-page sheet)
MOST_PAGES_A_SIDE = 64
#: how far above the gripper margin the block may be set to leave marks some air
_AIR_MM = 10.0
_SLACK_MM = 1e-6

TWO_FORMES: PrintWay = "two formes"
WORK_AND_TURN: PrintWay = "work and turn"
WORK_AND_TUMBLE: PrintWay = "work and tumble"
PERFECTING: PrintWay = "perfecting"
ONE_SIDE: PrintWay = "one side"
SIDE_TO_SIDE, HEAD_TO_TAIL = "side to side", "head to tail"


def turn_of(way: str) -> str:
    """How the sheet turns between its two sides."""
    return HEAD_TO_TAIL if way in (WORK_AND_TUMBLE, PERFECTING) else SIDE_TO_SIDE


@frozen
class Use:
    """One block of the book that wants a place on a sheet."""

    unit: int  #: 0-based gathered section
    nth: int  #: 0-based among the unit's pieces: number of the block's first piece
    block: Block
    over: bool = False  #: laid face down, so that its two formes change sides


@frozen
class Placed:
    """A piece on its sheet."""

    unit: int
    nth: int  #: 0-based inside the unit, the outermost first
    shape: Shape
    x_mm: float  #: lower left corner; in the frame behind when turned over, else in that of the front
    y_mm: float
    over: bool
    copy: int  #: 0: for the first book; 1 …: the same section for another copy
    cell: Rect  #: front frame
    sheet_w_mm: float

    @property
    def rect(self) -> Rect:
        """Front frame."""
        width, height = self.shape.size_mm
        x = self.sheet_w_mm - self.x_mm - width if self.over else self.x_mm
        return Rect(x, self.y_mm, x + width, self.y_mm + height)


Segment = tuple[tuple[float, float], tuple[float, float]]


@frozen
class LaidSheet:
    """One sheet full of pieces and the cuts that part them, in an order that a guillotine can make."""

    placed: tuple[Placed, ...]
    slits: tuple[Segment, ...]
    copies_on: int  #: of each of its sections


@frozen
class Grid:
    """Equal cells on a sheet, side by side and stacked; each holds one block or several small ones."""

    across: int
    up: int
    cell_w_mm: float
    cell_h_mm: float

    @property
    def cells(self) -> int:
        return self.across * self.up


@frozen
class Bed:
    """A sheet in a press, printed in one of its ways: what of it takes ink."""

    press: HousePress
    width_mm: float  #: along the gripper edge
    height_mm: float
    way: PrintWay

    @property
    def margins_mm(self) -> tuple[float, float, float]:
        """Side (both), foot, top: a sheet that turns head to tail is gripped at both ends in turn."""
        press = self.press
        top = max(press.gripper, press.tail) if turn_of(self.way) == HEAD_TO_TAIL else press.tail
        side, foot = press.side, press.gripper
        if press.printable is not None:
            side = max(side, (self.width_mm - press.printable[0]) / 2)
            top = max(top, self.height_mm - foot - press.printable[1])
        return side, foot, top

    @property
    def image_mm(self) -> tuple[float, float]:
        """Width and height that take ink."""
        side, foot, top = self.margins_mm
        return self.width_mm - 2 * side, self.height_mm - foot - top

    def grid(self, cell_mm: tuple[float, float], panels: int) -> Grid | None:
        """As many cells as the image takes, up to 64 pages a side; ``None`` when not one fits.

        Work and turn wants the same cells on either side of the upright middle, work and tumble on either side of the
        level one: then the grid is of one half.
        """
        wide, high = self.image_mm
        if self.way == WORK_AND_TURN:
            wide /= 2
        if self.way == WORK_AND_TUMBLE:
            # about the middle of the sheet, so the broader of the two margins counts at both ends
            high = (self.height_mm - 2 * max(self.margins_mm[1:])) / 2
        across = math.floor((wide + _SLACK_MM) / cell_mm[0])
        up = math.floor((high + _SLACK_MM) / cell_mm[1])
        most = MOST_PAGES_A_SIDE // panels // (2 if self.halved else 1)
        if across < 1 or up < 1 or most < 1:
            return None
        if across * up > most:
            ways = [(broad, min(up, most // broad)) for broad in range(1, min(across, most) + 1)]
            across, up = max(ways, key=lambda way: (way[0] * way[1], way))
        return Grid(across, up, *cell_mm)

    @property
    def halved(self) -> bool:
        """Whether one set of plates prints both sides, so that all stands on the sheet twice."""
        return self.way in (WORK_AND_TURN, WORK_AND_TUMBLE)


def goes_into(block: Block, cell_mm: tuple[float, float]) -> bool:
    (w, h), (cw, ch) = block.size_mm, cell_mm
    return w <= cw + _SLACK_MM and h <= ch + _SLACK_MM


def cells_for(sizes: Iterable[tuple[float, float]], cell_w_mm: float) -> list[list[int]]:
    """Which blocks share a cell: each goes beside the one before while there is width, else into a new cell."""
    return _cells_for([wide for wide, _ in sizes], cell_w_mm)


def _cells_for(widths_mm: Iterable[float], cell_w_mm: float) -> list[list[int]]:
    cells: list[list[int]] = []
    used = math.inf
    for index, wide in enumerate(widths_mm):
        if used + wide > cell_w_mm + _SLACK_MM:
            cells.append([])
            used = 0.0
        cells[-1].append(index)
        used += wide
    return cells


def copies_that_go(sizes: Sequence[tuple[float, float]], grid: Grid, most: int | None = None) -> int:
    """How many times all of the blocks go into the grid, up to ``most``; the copies of a block lie side by side."""
    return _copies_that_go(tuple(wide for wide, _ in sizes), grid.cells, grid.cell_w_mm, most)


# The search asks for thousands of contents of a sheet, which differ in inks but seldom in widths.
@lru_cache(maxsize=65536)
def _copies_that_go(widths_mm: tuple[float, ...], cells: int, cell_w_mm: float, most: int | None) -> int:
    top = int(cells * cell_w_mm / sum(widths_mm) + _SLACK_MM)
    for copies in range(min(top, most or top), 0, -1):
        if len(_cells_for([wide for wide in widths_mm for _ in range(copies)], cell_w_mm)) <= cells:
            return copies
    return 0


def lay(uses: Sequence[Use], copies: int, grid: Grid, bed: Bed) -> LaidSheet:
    """Blocks, each ``copies`` times, into the cells of a sheet; on a halved sheet once more on the other half.

    Raises:
        AssertionError: they do not go in.
    """
    all_of_them = [(use, copy) for use in uses for copy in range(copies)]
    cells = cells_for([use.block.size_mm for use, _ in all_of_them], grid.cell_w_mm)
    if len(cells) > grid.cells:  # pragma: no cover - whoever calls has counted
        raise AssertionError("more blocks than the sheet has room for")
    across = min(grid.across, len(cells))
    grid = Grid(across, math.ceil(len(cells) / across), grid.cell_w_mm, grid.cell_h_mm)
    x0, y0 = _corner(grid, bed)
    placed: list[Placed] = []
    for number, cell in enumerate(cells):
        x, y = x0 + (number % grid.across) * grid.cell_w_mm, y0 + (number // grid.across) * grid.cell_h_mm
        box = Rect(x, y, x + grid.cell_w_mm, y + grid.cell_h_mm)
        for index in cell:
            use, copy = all_of_them[index]
            placed.extend(_pieces(use, copy, x, y, box, bed))
            x += use.block.size_mm[0]
    if bed.halved:
        placed += [_other_half(one, copies, bed) for one in placed]
    total = copies * (2 if bed.halved else 1)
    return LaidSheet(tuple(placed), _slits(placed, bed.width_mm, bed.height_mm), total)


def _pieces(use: Use, copy: int, x: float, y: float, cell: Rect, bed: Bed) -> Iterable[Placed]:
    block = use.block
    for inside, (shape, (dx, dy)) in enumerate(zip(block.shapes, block.at_mm, strict=True)):
        left = x + dx
        if use.over:
            # the block as a whole is mirrored inside its own width
            left = bed.width_mm - x - block.size_mm[0] + dx
        yield Placed(use.unit, use.nth + inside, shape, left, y + dy, use.over, copy, cell, bed.width_mm)


def _other_half(one: Placed, copies: int, bed: Bed) -> Placed:
    """Where the same plate puts a piece on the second pass, on the side that then lies down."""
    again = evolve(one, over=not one.over, copy=one.copy + copies)
    if bed.way == WORK_AND_TURN:
        cell = Rect(bed.width_mm - one.cell.x1, one.cell.y0, bed.width_mm - one.cell.x0, one.cell.y1)
        return evolve(again, cell=cell)
    # The plate's own frame on the back is the frame behind turned half round.
    width, height = one.shape.size_mm
    cell = Rect(one.cell.x0, bed.height_mm - one.cell.y1, one.cell.x1, bed.height_mm - one.cell.y0)
    return evolve(
        again,
        shape=evolve(one.shape, turned=(one.shape.turned + 2) % 4),
        x_mm=bed.width_mm - one.x_mm - width,
        y_mm=bed.height_mm - one.y_mm - height,
        cell=cell,
    )


def _corner(grid: Grid, bed: Bed) -> tuple[float, float]:
    """Lower left of the cells: in the middle between the side lays, low at the gripper; of a half, at the middle."""
    wide, high = grid.across * grid.cell_w_mm, grid.up * grid.cell_h_mm
    _, foot, top = bed.margins_mm
    if bed.way == WORK_AND_TURN:
        return bed.width_mm / 2 - wide, foot + max(0.0, min((bed.height_mm - foot - top - high) / 2, _AIR_MM))
    if bed.way == WORK_AND_TUMBLE:
        return (bed.width_mm - wide) / 2, bed.height_mm / 2 - high
    spare = bed.height_mm - foot - top - high
    return (bed.width_mm - wide) / 2, foot + max(0.0, min(spare / 2, _AIR_MM))


def _slits(placed: Sequence[Placed], width_mm: float, height_mm: float) -> tuple[Segment, ...]:
    """First the cuts through the whole sheet round and between the cells, then those inside a cell."""
    xs = _distinct(x for p in placed for x in (p.cell.x0, p.cell.x1))
    ys = _distinct(y for p in placed for y in (p.cell.y0, p.cell.y1))
    cuts: list[Segment] = [((x, 0.0), (x, height_mm)) for x in xs if _SLACK_MM < x < width_mm - _SLACK_MM]
    cuts += [((0.0, y), (width_mm, y)) for y in ys if _SLACK_MM < y < height_mm - _SLACK_MM]
    for cell in dict.fromkeys(p.cell for p in placed):
        inside = [p.rect for p in placed if p.cell == cell]
        cuts += _within(cell, inside)
    return tuple(dict.fromkeys(cuts))


def _within(part: Rect, pieces: Sequence[Rect]) -> list[Segment]:
    """Cuts that part the pieces of a part and take off what is left, each from edge to edge of what is still in one."""
    if len(pieces) == 1 and pieces[0].holds(part, _SLACK_MM):
        return []
    for at in _distinct(x for p in pieces for x in (p.x0, p.x1)):
        if part.x0 + _SLACK_MM < at < part.x1 - _SLACK_MM and not any(_through(p.x0, at, p.x1) for p in pieces):
            left, right = Rect(part.x0, part.y0, at, part.y1), Rect(at, part.y0, part.x1, part.y1)
            return [((at, part.y0), (at, part.y1)), *_both(left, right, pieces)]
    for at in _distinct(y for p in pieces for y in (p.y0, p.y1)):
        if part.y0 + _SLACK_MM < at < part.y1 - _SLACK_MM and not any(_through(p.y0, at, p.y1) for p in pieces):
            low, high = Rect(part.x0, part.y0, part.x1, at), Rect(part.x0, at, part.x1, part.y1)
            return [((part.x0, at), (part.x1, at)), *_both(low, high, pieces)]
    return []


def _both(one: Rect, other: Rect, pieces: Sequence[Rect]) -> list[Segment]:
    chosen = [p for p in pieces if one.holds(p, _SLACK_MM)]
    rest = [p for p in pieces if not one.holds(p, _SLACK_MM)]
    return [*(_within(one, chosen) if chosen else []), *(_within(other, rest) if rest else [])]


def _through(low: float, at: float, high: float) -> bool:
    return low + _SLACK_MM < at < high - _SLACK_MM


def _distinct(values: Iterable[float]) -> list[float]:
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > _SLACK_MM:
            kept.append(value)
    return kept
