# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ink at the four edges of the trim: what reaches the line, how far it runs on, what stands nearest inside.

Matter that reaches an edge is told from live matter by what hangs together: ink within about a millimetre of other
ink belongs to it.  So the rounded side of a tint that bleeds is not taken for matter too near the trim, nor a speck in
a picture that bleeds.  What stands upon a tint that bleeds cannot be told from the tint here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from enum import StrEnum
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from foldproof.geometry import Rect
from foldproof.manuscript.model import EdgeInk
from foldproof.units import pt_to_mm

if TYPE_CHECKING:
    from foldproof.pdf.ink_grid import Grid

Mask = NDArray[np.bool_]
#: a word a pixel that holds its samples side by side (four), or laid over one another (more)
Stains = NDArray[Any]

#: a sample of 255 below 4 is no ink: 1.6 %, above what conversions of white leave behind.  One of 4 and more has a bit
#: of 0xFC, also when samples are laid over one another
_WET = {4: np.uint32(0xFCFCFCFC), 1: np.uint8(0xFC)}

#: pixels a side of the cells in which ink hangs together, about 1 mm
_CELL_PX = 3
#: pieces of ink nearer to one another than this along an edge are one place, pixels (about 3 mm)
_ONE_PLACE_PX = 8


class Edge(StrEnum):
    """The edges of the trim, in the order of the facts."""

    LEFT = "left"
    RIGHT = "right"
    FOOT = "foot"
    HEAD = "head"

    def facing(self, mask: NDArray[Any]) -> NDArray[Any]:
        """The raster turned so that row 0 lies at this edge and rows run inwards.

        Columns run from the head down for left and right, from the left for foot and head.
        """
        match self:
            case Edge.LEFT:
                return mask.T
            case Edge.RIGHT:
                return mask[:, ::-1].T
            case Edge.FOOT:
                return mask[::-1]
        return mask

    def rect_mm(self, grid: Grid, along0: float, along1: float, deep0_mm: float, deep1_mm: float) -> Rect:
        """A stretch of this edge: along it in pixels, depth from the line in mm, inwards positive; trim frame, mm."""
        width, height = (pt_to_mm(v) for v in grid.trim_pt)
        whole = grid.rect_mm(along0, along0, along1, along1)
        match self:
            case Edge.LEFT:
                box = (deep0_mm, whole.y0, deep1_mm, whole.y1)
            case Edge.RIGHT:
                box = (width - deep1_mm, whole.y0, width - deep0_mm, whole.y1)
            case Edge.FOOT:
                box = (whole.x0, deep0_mm, whole.x1, deep1_mm)
            case Edge.HEAD:
                box = (whole.x0, height - deep1_mm, whole.x1, height - deep0_mm)
        return Rect(*(round(v, 3) for v in box))

    def pixel_mm(self, grid: Grid) -> float:
        """Length of a pixel across this edge."""
        return pt_to_mm(1 / (grid.sx if self in (Edge.LEFT, Edge.RIGHT) else grid.sy))

    def along_mm(self, grid: Grid) -> float:
        """Length of a pixel along this edge."""
        return pt_to_mm(1 / (grid.sy if self in (Edge.LEFT, Edge.RIGHT) else grid.sx))


def wet(stains: Stains) -> Mask:
    """Where there is ink of any colorant."""
    return np.asarray((stains & _WET[stains.dtype.itemsize]) != 0)


@frozen(eq=False)
class Ink:
    """The raster inside the trim, row 0 at the head, and what each row and column holds."""

    stains: Stains
    in_rows: Stains  #: all stains of a row, laid over one another
    rows: Mask  #: rows with ink
    columns: Mask

    @classmethod
    def of(cls, stains: Stains) -> Ink:
        in_rows = np.bitwise_or.reduce(stains, axis=1)
        return cls(stains, in_rows, wet(in_rows), wet(np.bitwise_or.reduce(stains, axis=0)))

    @property
    def blank(self) -> bool:
        return not self.rows.any()


@frozen(eq=False)
class Band:
    """An edge drawn finely: rows of ``pixel_mm`` across it, columns as in the facing raster."""

    #: rows inside the line, about 0.5 mm
    DEEP: ClassVar[int] = 6
    #: ink in so many rows next to the line reaches it: 0.18 mm
    AT_LINE: ClassVar[int] = 2

    pixel_mm: float
    inside: Mask  #: row 0 next to the line, inwards
    beyond: Mask  #: row 0 next to the line, outwards; ends with the raster or the MediaBox


def edge_facts(ink: Ink, grid: Grid, bleed_mm: float, band: Callable[[Edge], Band]) -> tuple[EdgeInk, ...]:
    """What stands at each edge.

    Args:
        ink: inside the trim.
        band: draws an edge finely; asked only for edges with ink in the last row of pixels.
    """
    cells: _Cells | None = None
    facts = []
    for edge in Edge:
        facing = edge.facing(ink.stains)
        rows = {Edge.LEFT: ink.columns, Edge.RIGHT: ink.columns[::-1], Edge.FOOT: ink.rows[::-1], Edge.HEAD: ink.rows}
        fine = band(edge) if rows[edge][0] else None
        touching: Mask | None = None if fine is None else np.asarray(fine.inside[: Band.AT_LINE].any(axis=0))
        if fine is None or touching is None or not touching.any():
            nearest, place = _nearest(rows[edge], facing, edge, grid)
            if fine is not None and nearest is not None:
                deep = np.flatnonzero(fine.inside.any(axis=1))
                nearest = round(float(deep[0]) * fine.pixel_mm, 3) if deep.size else nearest
            facts.append(EdgeInk(edge.value, False, 0.0, None, nearest, place))
            continue
        if cells is None:
            cells = _Cells(wet(ink.stains))
        runs_mm, where = _least_run(fine, touching, bleed_mm, edge, grid)
        inked = wet(facing)
        live = inked & ~cells.hanging_on(edge, np.flatnonzero(touching & inked[0]))
        nearest, place = _nearest(np.asarray(live.any(axis=1)), live, edge, grid)
        facts.append(EdgeInk(edge.value, True, runs_mm, where, nearest, place))
    return tuple(facts)


def _least_run(fine: Band, touching: Mask, bleed_mm: float, edge: Edge, grid: Grid) -> tuple[float, Rect]:
    """How far the matter that reaches the line runs on beyond it at least, mm, and the stretch where that is.

    At each place the farthest ink counts, and the best within the bleed's own width to either side: white specks in a
    picture and the slanting ends of a shape are no lack of bleed.
    """
    depth = fine.beyond.shape[0]
    reach = np.where(fine.beyond.any(axis=0), depth - np.argmax(fine.beyond[::-1], axis=0), 0)
    best = reach.copy()
    for shift in range(1, max(1, math.ceil(bleed_mm / edge.along_mm(grid))) + 1):
        np.maximum(best[shift:], reach[:-shift], out=best[shift:])
        np.maximum(best[:-shift], reach[shift:], out=best[:-shift])
    least = int(best[touching].min())
    short = np.flatnonzero(touching & (best <= least + 1))
    start, end = _first_place(short)
    runs_mm = round(min(least * fine.pixel_mm, bleed_mm + 1.0), 3)
    return runs_mm, edge.rect_mm(grid, start, end + 1, -runs_mm, 1.0)


def _nearest(rows: Mask, facing: NDArray[Any], edge: Edge, grid: Grid) -> tuple[float | None, Rect | None]:
    """Distance of the first row with ink, and the piece of ink that stands there."""
    row = int(np.argmax(rows))
    if not rows[row]:
        return None, None
    strip = facing[row : row + _ONE_PLACE_PX]
    inked = strip if strip.dtype == np.bool_ else wet(strip)
    start, end = _first_place(np.flatnonzero(inked[0]))
    left = max(0, start - _ONE_PLACE_PX)
    columns = np.flatnonzero(inked[:, left : end + 1 + _ONE_PLACE_PX].any(axis=0)) + left
    px_mm = edge.pixel_mm(grid)
    first, last = int(columns[0]), int(columns[-1]) + 1
    return round(row * px_mm, 3), edge.rect_mm(grid, first, last, row * px_mm, (row + inked.shape[0]) * px_mm)


def _first_place(positions: NDArray[np.intp]) -> tuple[int, int]:
    """First and last position of the first piece."""
    gaps = np.flatnonzero(np.diff(positions) > _ONE_PLACE_PX)
    return int(positions[0]), int(positions[gaps[0]] if gaps.size else positions[-1])


class _Cells:
    """Ink in cells of about a millimetre, and which of them hang together (also over a corner)."""

    def __init__(self, trim: Mask) -> None:
        self.shape = trim.shape
        down, across = (math.ceil(n / _CELL_PX) for n in trim.shape)
        padded = np.zeros((down * _CELL_PX, across * _CELL_PX), dtype=np.bool_)
        padded[: trim.shape[0], : trim.shape[1]] = trim
        cells = np.asarray(padded.reshape(down, _CELL_PX, across, _CELL_PX).any(axis=(1, 3)))
        self.labels = _labelled(cells)

    def hanging_on(self, edge: Edge, positions: NDArray[np.intp]) -> Mask:
        """All ink that hangs together with that in the first row of an edge at these positions, facing the edge."""
        pixels = np.repeat(np.repeat(self.labels, _CELL_PX, axis=0), _CELL_PX, axis=1)
        facing: NDArray[Any] = edge.facing(pixels[: self.shape[0], : self.shape[1]])
        wanted = np.unique(facing[0][positions])
        return np.isin(facing, wanted[wanted > 0])


def _labelled(cells: Mask) -> NDArray[np.int32]:
    """Numbers from 1 for the pieces of ink, 0 elsewhere; pieces meet along sides and corners."""
    labels = np.zeros(cells.shape, dtype=np.int32)
    parents = [0]

    def root(number: int) -> int:
        while parents[number] != number:
            parents[number] = parents[parents[number]]
            number = parents[number]
        return number

    above: list[tuple[int, int, int]] = []
    padded = np.zeros((cells.shape[0], cells.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = cells
    steps = np.diff(padded, axis=1)
    for row in range(cells.shape[0]):
        starts, ends = np.flatnonzero(steps[row] == 1).tolist(), np.flatnonzero(steps[row] == -1).tolist()
        current: list[tuple[int, int, int]] = []
        place = 0
        for start, end in zip(starts, ends, strict=True):
            number = 0
            while place < len(above) and above[place][1] < start:
                place += 1
            look = place
            while look < len(above) and above[look][0] <= end:
                other = root(above[look][2])
                if number and other != number:
                    low, high = sorted((number, other))
                    parents[high], number = low, low
                else:
                    number = other
                look += 1
            if not number:
                number = len(parents)
                parents.append(number)
            current.append((start, end, number))
            labels[row, start:end] = number
        above = current
    roots = np.array([root(number) for number in range(len(parents))], dtype=np.int32)
    return roots[labels]
