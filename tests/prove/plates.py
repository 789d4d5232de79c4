# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plates laid down cell by cell: where each page stands is reckoned point by point, with no map of the project.

A cell is one panel of a side.  A point of a page is told by how far it lies from the page's own spine edge and from its
foot; the cell tells how far that is from the leaf's crease and from the edge of the panel; so it comes to the side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pikepdf
from attrs import evolve
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.makeup.instructions import Fold, Section
from tests.prove.by_hand import EDGE_MM, FOOT_MM, PANEL_MM, PT, TRIM_MM, Grid, form_of

Heads = Sequence[str]


@dataclass(frozen=True)
class Cell:
    """One page on one panel: the panel's lower left corner on its side, and how the page lies in it."""

    page: int
    corner_mm: tuple[float, float]
    up: bool = True
    panel_mm: tuple[float, float] = PANEL_MM
    spine_mm: float = 0.0  #: what is ground off
    foot_mm: float = FOOT_MM
    push_mm: float = 0.0
    narrowed: bool = False  #: instead of moved
    lean_mm: float = 0.0  #: how far its head leans away from the spine
    aside_mm: float = 0.0  #: how far it stands too far right on its side
    spine_at_right: bool | None = None  #: of an upright page; that of an even page when unsaid
    inset_mm: float = 0.0  #: how far the panel ends before the spine
    bleed_mm: float = 0.0  #: of the page, whose own origin it moves, and as far as the clip goes beyond the trim
    cut_mm: float = 0.0  #: what the clip takes too much at the fore-edge

    def on_side(self, u: float, v: float) -> tuple[float, float]:
        """A point of the page, from the lower left of its own trim, as a point of the side; mm."""
        at_right = self.page % 2 == 0 if self.spine_at_right is None else self.spine_at_right
        from_spine = TRIM_MM[0] - u if at_right else u
        if self.narrowed:
            from_spine *= (TRIM_MM[0] - self.push_mm) / TRIM_MM[0]
        angle = math.atan2(self.lean_mm, TRIM_MM[1])
        along = from_spine * math.cos(angle) + v * math.sin(angle)
        height = v * math.cos(angle) - from_spine * math.sin(angle)
        along += self.spine_mm - (0.0 if self.narrowed else self.push_mm)
        return self.in_panel(along, self.foot_mm + height, at_right)

    def in_panel(self, along: float, height: float, at_right: bool) -> tuple[float, float]:
        """A point so far from the crease and from the foot edge of the panel, on the side; mm."""
        along -= self.inset_mm
        x, y = (self.panel_mm[0] - along if at_right else along), height
        if not self.up:
            x, y = self.panel_mm[0] - x, self.panel_mm[1] - y
        return self.corner_mm[0] + x + self.aside_mm, self.corner_mm[1] + y

    def drawn(self) -> str:
        """Clip, matrix and form."""
        at_right = self.page % 2 == 0 if self.spine_at_right is None else self.spine_at_right
        more = self.bleed_mm
        # the clip stays upright, and goes neither past the crease nor past the panel
        near = max(0.0, self.spine_mm - self.push_mm - more, self.inset_mm)
        far = min(self.spine_mm + TRIM_MM[0] - self.push_mm + more, self.inset_mm + self.panel_mm[0]) - self.cut_mm
        one = self.in_panel(near, self.foot_mm - more, at_right)
        other = self.in_panel(far, self.foot_mm + TRIM_MM[1] + more, at_right)
        (x0, x1), (y0, y1) = sorted((one[0], other[0])), sorted((one[1], other[1]))
        o, right, top = self.on_side(-more, -more), self.on_side(1 - more, -more), self.on_side(-more, 1 - more)
        six = (right[0] - o[0], right[1] - o[1], top[0] - o[0], top[1] - o[1], o[0] * PT, o[1] * PT)
        matrix = " ".join(f"{v:.7f}" for v in six)
        clip = " ".join(f"{v * PT:.5f}" for v in (x0, y0, x1 - x0, y1 - y0))
        return f"q {clip} re W n {matrix} cm /P{self.page} Do Q"


def cells(grid: Grid, heads: Heads, x_mm: float = EDGE_MM, y_mm: float = EDGE_MM) -> list[Cell]:
    """A printed table with its lower left corner there."""
    rows = len(grid)
    return [
        Cell(page, (x_mm + c * PANEL_MM[0], y_mm + (rows - 1 - r) * PANEL_MM[1]), heads[r][c] == "^")
        for r, line in enumerate(grid)
        for c, page in enumerate(line)
    ]


def half_round(grid: Grid, heads: Heads) -> tuple[list[list[int]], list[str]]:
    """A table with the sheet turned half round on the table: last row first, last column first, heads the other way."""
    other = str.maketrans("^v", "v^")
    return [list(reversed(row)) for row in reversed(grid)], [row[::-1].translate(other) for row in reversed(heads)]


def exchanged(plate: Sequence[Cell], one: int, other: int) -> list[Cell]:
    """Two pages changed for one another."""
    swap = {one: other, other: one}
    return [replace(cell, page=swap.get(cell.page, cell.page)) for cell in plate]


def plates(
    target: Path, manuscript: Path, size_mm: tuple[float, float], sides: Sequence[Sequence[Cell]], more: str = ""
) -> Path:
    """Write sides one after the other; ``more``: operators after those of the first side."""
    with pikepdf.open(manuscript) as book, pikepdf.new() as out:
        made: dict[int, pikepdf.Object] = {}
        for number, side in enumerate(sides):
            for cell in side:
                made.setdefault(cell.page, form_of(out, book.pages[cell.page - 1]))
            text = "\n".join(cell.drawn() for cell in side) + ("\n" + more if number == 0 else "")
            page = Dictionary(
                Type=Name.Page, MediaBox=Array([0, 0, *(round(v * PT, 4) for v in size_mm)]),
                Contents=out.make_indirect(Stream(out, text.encode())),
                Resources=Dictionary(XObject=Dictionary({f"/P{cell.page}": made[cell.page] for cell in side})),
            )  # fmt: skip
            out.pages.append(pikepdf.Page(out.make_indirect(page)))
        out.save(target, static_id=True)
    return target


def mirrored(folds: Sequence[Fold], *, x_sum: float | None = None, y_sum: float | None = None) -> tuple[Fold, ...]:
    """Fold lines seen through the paper: x becomes ``x_sum - x``, or y ``y_sum - y``."""

    def seen(point: tuple[float, float]) -> tuple[float, float]:
        x, y = point
        return (x if x_sum is None else x_sum - x), (y if y_sum is None else y_sum - y)

    return tuple(Fold(each.words, (seen(each.line_mm[0]), seen(each.line_mm[1]))) for each in folds)


def moved(section: Section, dx: float, dy: float, **changes: object) -> Section:
    """The same section elsewhere on the sheet."""
    x0, y0, x1, y1 = section.rect_mm
    folds = tuple(
        Fold(each.words, tuple((x + dx, y + dy) for x, y in each.line_mm))  # type: ignore[arg-type]
        for each in section.folds
    )
    return evolve(section, rect_mm=(x0 + dx, y0 + dy, x1 + dx, y1 + dy), folds=folds, **changes)  # type: ignore[arg-type]
