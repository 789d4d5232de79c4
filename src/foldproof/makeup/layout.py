# SPDX-License-Identifier: AGPL-3.0-or-later
"""How folded pieces lie on a press sheet: turned, side by side and stacked, slit before folding.  Pure; millimetres.

Frames: *scheme*: a piece before it is turned, lower left at the origin, y up; *sheet*: lower left of the sheet, y up,
seen from the front, gripper edge at the bottom.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

from attrs import field, frozen

from foldproof.geometry import Matrix, Rect
from foldproof.job.model import HousePress
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import Leaf, Scheme, fold, read

#: pages on one side of a sheet, at most (a 128-page sheet)
MOST_PAGES_A_SIDE = 64
#: how far above the gripper margin the block may be set to leave marks some air
_AIR_MM = 10.0
_SLACK_MM = 1e-6


@frozen
class Shape:
    """A scheme with its panel, turned as it lies on the sheet."""

    scheme: Scheme
    reading: str
    panel: Panel
    turned: int  #: quarter turns counter-clockwise
    column_mm: tuple[float, ...] = field(init=False, eq=False)  #: scheme frame, from the left
    row_mm: tuple[float, ...] = field(init=False, eq=False)  #: scheme frame, from the top
    size_mm: tuple[float, float] = field(init=False, eq=False)  #: width and height as it lies on the sheet

    @column_mm.default
    def _columns(self) -> tuple[float, ...]:
        upright = fold(self.scheme).spine_upright
        return (self.panel.width_mm if upright else self.panel.height_mm,) * self.scheme.columns

    @row_mm.default
    def _rows(self) -> tuple[float, ...]:
        upright = fold(self.scheme).spine_upright
        return (self.panel.height_mm if upright else self.panel.width_mm,) * self.scheme.rows

    @size_mm.default
    def _size(self) -> tuple[float, float]:
        width, height = sum(self.column_mm), sum(self.row_mm)
        return (height, width) if self.turned % 2 else (width, height)

    def to_sheet(self, x_mm: float, y_mm: float) -> Matrix:
        """Scheme frame to sheet frame for a piece whose lower left corner lies at ``x_mm``, ``y_mm``."""
        turn = Matrix.quarter_turns(self.turned)
        box = turn.rect(Rect(0.0, 0.0, sum(self.column_mm), sum(self.row_mm)))
        return turn.then(Matrix.translation(x_mm - box.x0, y_mm - box.y0))

    def panel_rect(self, leaf: Leaf) -> Rect:
        """Scheme frame."""
        columns, rows = self.column_mm, self.row_mm
        left, top = sum(columns[: leaf.column]), sum(rows) - sum(rows[: leaf.row])
        return Rect(left, top - rows[leaf.row], left + columns[leaf.column], top)


@lru_cache(maxsize=1024)
def laid(scheme: Scheme, reading: str, panel: Panel, spine_upright: bool) -> Shape:
    """The scheme turned so that its spine runs up the sheet, or across it.

    Of the two ways left, the lowest folio of the front stands next to the gripper edge (handbook imp-gripper-low).
    """
    first = 0 if fold(scheme).spine_upright == spine_upright else 1
    lowest = min(read(scheme, reading), key=lambda leaf: leaf.front_page)
    across = lowest.column + 0.5 - scheme.columns / 2
    up = scheme.rows / 2 - lowest.row - 0.5
    turned = min((first, first + 2), key=lambda turns: (Matrix.quarter_turns(turns).point(across, up)[1], turns))
    return Shape(scheme, reading, panel, turned)


@frozen
class Piece:
    """One folded piece of the book before it has a place on a sheet."""

    unit: int  #: 0-based gathered section
    nth: int  #: 0-based inside the unit, the outermost first
    shape: Shape


@frozen
class Placed:
    """A piece on its sheet: lower left corner in the sheet frame."""

    piece: Piece
    x_mm: float
    y_mm: float
    cell: Rect

    @property
    def rect(self) -> Rect:
        width, height = self.piece.shape.size_mm
        return Rect(self.x_mm, self.y_mm, self.x_mm + width, self.y_mm + height)


Segment = tuple[tuple[float, float], tuple[float, float]]


@frozen
class LaidSheet:
    """One sheet full of pieces and the cuts that part them, in an order that a guillotine can make."""

    placed: tuple[Placed, ...]
    slits: tuple[Segment, ...]


@frozen
class Grid:
    """Equal cells on a sheet, side by side and stacked; each holds one ordinary piece or several short ones."""

    across: int
    up: int
    cell_w_mm: float
    cell_h_mm: float

    @property
    def cells(self) -> int:
        return self.across * self.up


def grid_for(
    press: HousePress, width_mm: float, height_mm: float, cell_mm: tuple[float, float], panels: int
) -> Grid | None:
    """As many cells as the printable area takes, up to 64 pages a side; ``None`` when not one fits."""
    across = math.floor((width_mm - 2 * press.side + _SLACK_MM) / cell_mm[0])
    up = math.floor((height_mm - press.gripper - press.tail + _SLACK_MM) / cell_mm[1])
    most = MOST_PAGES_A_SIDE // panels
    if across < 1 or up < 1 or most < 1:
        return None
    if across * up > most:
        ways = [(wide, min(up, most // wide)) for wide in range(1, min(across, most) + 1)]
        across, up = max(ways, key=lambda way: (way[0] * way[1], way))
    return Grid(across, up, *cell_mm)


def fill(
    pieces: Sequence[Piece], grid: Grid, press: HousePress, width_mm: float, height_mm: float
) -> tuple[LaidSheet, ...]:
    """Pieces into cells in the order of the gathering; short pieces share a cell where they fit side by side."""
    cells: list[list[tuple[Piece, float]]] = []
    used = math.inf
    for piece in pieces:
        wide = piece.shape.size_mm[0]
        if used + wide > grid.cell_w_mm + _SLACK_MM:
            cells.append([])
            used = 0.0
        cells[-1].append((piece, used))
        used += wide
    if len(cells) < grid.cells:
        up = math.ceil(len(cells) / grid.across)
        grid = Grid(min(grid.across, len(cells)), up, grid.cell_w_mm, grid.cell_h_mm)
    x0, y0 = _corner(grid, press, width_mm, height_mm)
    sheets = []
    for start in range(0, len(cells), grid.cells):
        placed: list[Placed] = []
        for nth, cell in enumerate(cells[start : start + grid.cells]):
            x, y = x0 + (nth % grid.across) * grid.cell_w_mm, y0 + (nth // grid.across) * grid.cell_h_mm
            box = Rect(x, y, x + grid.cell_w_mm, y + grid.cell_h_mm)
            placed.extend(Placed(piece, x + beside, y, box) for piece, beside in cell)
        sheets.append(LaidSheet(tuple(placed), _slits(placed, width_mm, height_mm)))
    return tuple(sheets)


def _corner(grid: Grid, press: HousePress, width_mm: float, height_mm: float) -> tuple[float, float]:
    """Lower left of the cells: in the middle between the side lays, low at the gripper."""
    spare = height_mm - press.gripper - press.tail - grid.up * grid.cell_h_mm
    return (
        (width_mm - grid.across * grid.cell_w_mm) / 2,
        press.gripper + max(0.0, min(spare / 2, _AIR_MM)),
    )


def _slits(placed: Sequence[Placed], width_mm: float, height_mm: float) -> tuple[Segment, ...]:
    """First the cuts through the whole sheet round and between the cells, then those inside a cell."""
    xs = _distinct(x for p in placed for x in (p.cell.x0, p.cell.x1))
    ys = _distinct(y for p in placed for y in (p.cell.y0, p.cell.y1))
    cuts: list[Segment] = [((x, 0.0), (x, height_mm)) for x in xs if _SLACK_MM < x < width_mm - _SLACK_MM]
    cuts += [((0.0, y), (width_mm, y)) for y in ys if _SLACK_MM < y < height_mm - _SLACK_MM]
    for one in placed:
        rect, cell = one.rect, one.cell
        if rect.x1 < cell.x1 - _SLACK_MM:
            cuts.append(((rect.x1, cell.y0), (rect.x1, cell.y1)))
    for one in placed:
        rect, cell = one.rect, one.cell
        if rect.y1 < cell.y1 - _SLACK_MM:
            cuts.append(((rect.x0, rect.y1), (rect.x1, rect.y1)))
    return tuple(cuts)


def _distinct(values: Iterable[float]) -> list[float]:
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > _SLACK_MM:
            kept.append(value)
    return kept
