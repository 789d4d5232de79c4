# SPDX-License-Identifier: AGPL-3.0-or-later
"""What one side of a written sheet puts on its plates: by ink and by zone across the sheet, and where it is darkest.

The side is drawn once, as the ink pass draws pages (:mod:`foldproof.pdf.ink_raster`): native numbers, a plate for every
spot, overprint and transparency reckoned, smooth edges, so that means hold at a resolution far below the plate's.
Everything is in the *side* frame in mm: lower left of the sheet, y up, as the plate prints it.

Nothing here is safe against a page that never ends: it runs in a process that may be killed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from foldproof.errors import Unreadable
from foldproof.geometry import Matrix
from foldproof.pdf.ink_raster import Plates, Samples, drawn, native
from foldproof.pdf.interpreter import Book, Turn, opened_page, quiet, to_trim
from foldproof.units import PT_PER_MM, mm_to_pt

#: by row, column, plate; and by column and plate
Sums = NDArray[np.uint16]
Columns = NDArray[np.float64]
Cells = NDArray[np.uint32]
Box = tuple[float, float, float, float]

#: pixels a millimetre: 72 to the inch
_PX_PER_MM = PT_PER_MM
#: samples of a raster at most, all plates together: four plates of a sheet of 1620 x 1220 mm are drawn at 51 to the
#: inch, five times as many plates at 23
_MOST_SAMPLES = 32_000_000
#: side of the square over which the darkest place is averaged: what an eye, or a densitometer's operator, takes for one
#: place; common practice, no source
DARKEST_MM = 10.0
#: it is moved by a quarter of itself
_CELLS = 4
#: edges nearer to one another than this are one, mm
_SAME_MM = 0.01
_FULL = 255


@frozen
class SideJob:
    """One side to measure."""

    book: Book  #: the file of the sheets
    index: int  #: 0-based page in it
    size_mm: tuple[float, float]
    inks: tuple[str, ...]  #: its plates; what would print in another colorant is left out
    #: edges of the zones from the left of the side, mm; the outer ones may lie beyond the paper
    zones_mm: tuple[float, ...]
    #: what is matter of pages, mm: the darkest place is looked for there, not among the marks
    matter_mm: tuple[Box, ...]


@frozen
class SideCover:
    """What was measured on one side; parts, 0 to 1."""

    index: int
    #: by ink in the order of the job: mean of every zone over its whole width and the height of the sheet
    zones: tuple[tuple[float, ...], ...] = ()
    means: tuple[float, ...] = ()  #: by ink, of the whole side
    darkest_mm: tuple[float, float] = (0.0, 0.0)  #: middle of the square
    darkest: float = 0.0  #: sum of all inks there; 0 where the pages of the side are bare
    lost: str | None = None  #: why it could not be drawn, a clause


def measure(job: SideJob) -> SideCover:
    """Draw a side and add it up.  The whole job of a worker."""
    quiet()
    width, height = (mm_to_pt(length) for length in job.size_mm)
    turn = Turn(job.index, Matrix(1.0, 0.0, 0.0, 1.0, 0.0, 0.0), (width, height), (0.0, 0.0, width, height))
    try:
        with opened_page(job.book, turn) as page, native():
            plates = Plates(page, job.inks)
            grid = _Grid.on(job.size_mm, len(plates.names))
            window = (0, 0, grid.across_px, grid.down_px)
            raster = drawn(page, plates, to_trim(page, turn).then(grid.matrix), window, keep=True, fair=True)
            return _added_up(job, raster.samples, plates.names, grid)
    except Unreadable as failure:
        return SideCover(job.index, lost=str(failure).rstrip("."))


@frozen
class _Grid:
    """Whole pixels laid on a side."""

    across_px: int
    down_px: int
    #: pixels a millimetre, across and down
    sx: float
    sy: float

    @classmethod
    def on(cls, size_mm: tuple[float, float], plates: int) -> _Grid:
        width, height = size_mm
        fine = min(_PX_PER_MM, math.sqrt(_MOST_SAMPLES / (plates * width * height)))
        across, down = max(1, round(width * fine)), max(1, round(height * fine))
        return cls(across, down, across / width, down / height)

    @property
    def matrix(self) -> Matrix:
        """Side frame (points, y up) to pixels (y down)."""
        return Matrix(self.sx / PT_PER_MM, 0.0, 0.0, -self.sy / PT_PER_MM, 0.0, float(self.down_px))


def _added_up(job: SideJob, samples: Samples, names: Sequence[str], grid: _Grid) -> SideCover:
    cell = max(1, min(_FULL, round(DARKEST_MM / _CELLS * grid.sx)))
    columns, strips = _summed(samples, cell)
    columns -= _beyond_clips(job, samples, grid)
    spot, darkest = _darkest(job, _cells(strips, [name in job.inks for name in names], cell), cell, grid)
    # a colorant may have been found under its own name and as a process ink
    inks = [np.sum([columns[:, n] for n, name in enumerate(names) if name == ink], axis=0) for ink in job.inks]
    return SideCover(
        job.index,
        zones=tuple(_zones(column, job.zones_mm, grid) for column in inks),
        means=tuple(round(float(column.sum()) / (_FULL * grid.across_px * grid.down_px), 6) for column in inks),
        darkest_mm=spot,
        darkest=darkest,
    )


def _summed(samples: Samples, cell: int) -> tuple[Columns, Sums]:
    """Sums of every column and plate over the whole height; and over every ``cell`` rows, as far as these are whole."""
    rows, across, plates = samples.shape
    whole = rows // cell
    flat = samples[: whole * cell].reshape(whole, cell, across * plates)
    sums = np.zeros((whole, across * plates), dtype=np.uint16)
    for row in range(cell):  # at most 255 of 255 each
        sums += flat[:, row]
    columns = sums.sum(axis=0, dtype=np.uint32) + samples[whole * cell :].reshape(-1, across * plates).sum(axis=0)
    return columns.reshape(across, plates).astype(np.float64), sums.reshape(whole, across, plates)


def _beyond_clips(job: SideJob, samples: Samples, grid: _Grid) -> Columns:
    """What the raster shows too much along the edges of the pages' clips, column by column and plate by plate.

    MuPDF cuts at upright clips by whole pixels, outwards.  A pixel that lies within by a part counts for that part;
    where another page begins at the same edge the pixel is full of one or the other.
    """
    rows, across, plates = samples.shape
    too_much: Columns = np.zeros((across, plates))
    height = job.size_mm[1]
    for x0, y0, x1, y1 in job.matter_mm:
        left, right, top, bottom = x0 * grid.sx, x1 * grid.sx, (height - y1) * grid.sy, (height - y0) * grid.sy
        box = (
            slice(max(0, math.floor(top)), min(rows, math.ceil(bottom))),
            slice(max(0, math.floor(left)), min(across, math.ceil(right))),
        )
        if box[0].start >= box[0].stop or box[1].start >= box[1].stop:
            continue
        for edge, column, part in (
            ((0, x0), box[1].start, left - math.floor(left)),
            ((2, x1), box[1].stop - 1, math.ceil(right) - right),
        ):
            if part and not _goes_on(job.matter_mm, edge, (y0, y1)):
                too_much[column] += part * samples[box[0], column].sum(axis=0, dtype=np.int64)
        for edge, row, part in (
            ((3, y1), box[0].start, top - math.floor(top)),
            ((1, y0), box[0].stop - 1, math.ceil(bottom) - bottom),
        ):
            if part and not _goes_on(job.matter_mm, edge, (x0, x1)):
                too_much[box[1]] += part * samples[row, box[1]]
    return too_much


def _goes_on(boxes: Sequence[Box], edge: tuple[int, float], along: tuple[float, float]) -> bool:
    """Whether another box begins where one ends: at an edge (number of the coordinate, its value), beside it."""
    number, at = edge
    low = 1 - number % 2
    return any(
        abs(box[(number + 2) % 4] - at) < _SAME_MM and box[low] < along[1] and along[0] < box[low + 2] for box in boxes
    )


def _zones(column: Columns, edges_mm: Sequence[float], grid: _Grid) -> tuple[float, ...]:
    """Means over the zones; a pixel that two share goes to each by its part."""
    upto = np.concatenate([[0.0], np.cumsum(column)])
    at = np.interp(np.clip(np.array(edges_mm) * grid.sx, 0, grid.across_px), np.arange(upto.size), upto)
    wide = np.diff(np.array(edges_mm)) * grid.sx
    means = np.diff(at) / (_FULL * grid.down_px * wide)
    return tuple(round(float(mean), 6) for mean in means)


def _cells(strips: Sums, wanted: Sequence[bool], cell: int) -> Cells:
    """Sums of the plates that are wanted in squares of ``cell`` pixels, as far as these are whole."""
    down, across = strips.shape[0], strips.shape[1] // cell
    cells: Cells = np.zeros((down, across), dtype=np.uint32)
    for plate in np.flatnonzero(wanted):
        for column in range(cell):
            cells += strips[:, column : across * cell : cell, plate]
    return cells


def _darkest(job: SideJob, cells: Cells, cell: int, grid: _Grid) -> tuple[tuple[float, float], float]:
    """Middle of the square that carries most ink, and the mean sum there.

    Only cells that lie wholly in the matter of a page count; of squares alike the first, from the tail and the left.
    """
    if min(cells.shape) < _CELLS:
        return (0.0, 0.0), 0.0
    inside = np.zeros(cells.shape, dtype=bool)
    height = job.size_mm[1]
    for x0, y0, x1, y1 in job.matter_mm:
        left, right = math.ceil(x0 * grid.sx / cell), math.floor(x1 * grid.sx / cell)
        top, bottom = math.ceil((height - y1) * grid.sy / cell), math.floor((height - y0) * grid.sy / cell)
        inside[max(0, top) : max(0, bottom), max(0, left) : max(0, right)] = True
    cells[~inside] = 0
    squares = _sliding(_sliding(cells).T).T
    row, column = divmod(int(squares.argmax()), squares.shape[1])
    best = int(squares[row, column])
    if not best:
        return (0.0, 0.0), 0.0
    half = _CELLS / 2
    x, y = (column + half) * cell / grid.sx, height - (row + half) * cell / grid.sy
    return (round(x, 1), round(y, 1)), round(best / (_FULL * (_CELLS * cell) ** 2), 4)


def _sliding(cells: Cells) -> Cells:
    """Sums of so many rows as a square has, one for each first row."""
    last = cells.shape[0] - _CELLS + 1
    return np.asarray(np.sum([cells[row : row + last] for row in range(_CELLS)], axis=0, dtype=np.uint32))
