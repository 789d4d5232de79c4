# SPDX-License-Identifier: AGPL-3.0-or-later
"""The grid of pixels that the ink pass lays on the trim."""

from __future__ import annotations

import math

from attrs import frozen

from foldproof.geometry import Matrix, Rect
from foldproof.units import pt_to_mm

#: larger rasters are drawn coarser: 6 million pixels are a page of 860 x 860 mm at 72 dpi
_MOST_PX = 6_000_000

#: first and last column and row of a raster in pixels of the grid: x0, y0, x1, y1
Window = tuple[int, int, int, int]


@frozen
class Grid:
    """Whole pixels laid on the trim: column 0 begins at its left line, row 0 at its head; y runs down."""

    width_px: int
    height_px: int
    #: pixels a point, across and down
    sx: float
    sy: float
    trim_pt: tuple[float, float]

    @classmethod
    def on(cls, trim_pt: tuple[float, float], margin_pt: float) -> Grid:
        width, height = trim_pt
        area = (width + 2 * margin_pt) * (height + 2 * margin_pt)
        scale = min(1.0, math.sqrt(_MOST_PX / max(area, 1.0)))
        across, down = max(1, round(width * scale)), max(1, round(height * scale))
        return cls(across, down, across / width, down / height, trim_pt)

    @property
    def matrix(self) -> Matrix:
        """Trim frame (points, y up) to pixels."""
        return Matrix(self.sx, 0.0, 0.0, -self.sy, 0.0, float(self.height_px))

    def rect_mm(self, x0: float, y0: float, x1: float, y1: float) -> Rect:
        """Pixel bounds to the trim frame, mm."""
        left, right = x0 / self.sx, x1 / self.sx
        foot, head = self.trim_pt[1] - y1 / self.sy, self.trim_pt[1] - y0 / self.sy
        return Rect(*(round(pt_to_mm(v), 3) for v in (left, foot, right, head)))
