# SPDX-License-Identifier: AGPL-3.0-or-later
"""A chosen layout as the bindery is told of it: cuts, folds, trims, and nothing of pages.  Pure; millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from foldproof.geometry import Matrix
from foldproof.makeup.folding import fold
from foldproof.makeup.instructions import Fold, Section, Sheet
from foldproof.makeup.layout import LaidSheet, Placed
from foldproof.makeup.places import Paper, bottling_of
from foldproof.makeup.shapes import Shape
from foldproof.makeup.signatures import piece_letter


def sheets_told(sheets: Sequence[LaidSheet], papers: Sequence[Paper], stocks: Sequence[str]) -> tuple[Sheet, ...]:
    """The sheets as the bindery is told of them; ``stocks``: name of the stock of each."""
    return tuple(
        Sheet(
            number=number,
            width_mm=paper.sheet_w_mm,
            height_mm=paper.sheet_h_mm,
            turn=paper.turn,
            slits_mm=sheet.slits,
            sections=_sections(number, sheet, paper),
            caliper_mm=paper.caliper_mm,
            stock=stock,
        )
        for number, (sheet, paper, stock) in enumerate(zip(sheets, papers, stocks, strict=True), start=1)
    )


def names_of(sheets: Sequence[LaidSheet]) -> dict[tuple[int, int], str]:
    """Id of the first copy of every piece, by unit and place in it."""
    return {
        (placed.unit, placed.nth): f"{number}{piece_letter(nth)}"
        for number, sheet in enumerate(sheets, start=1)
        for nth, placed in enumerate(sheet.placed)
        if placed.copy == 0
    }


def _sections(number: int, sheet: LaidSheet, paper: Paper) -> tuple[Section, ...]:
    first = names_of([sheet])
    return tuple(
        _section(
            f"{number}{piece_letter(nth)}",
            placed,
            paper,
            f"{number}{first[placed.unit, placed.nth][1:]}" if placed.copy else None,
        )
        for nth, placed in enumerate(sheet.placed)
    )


def _section(name: str, placed: Placed, paper: Paper, copy_of: str | None) -> Section:
    shape, rect = placed.shape, placed.rect
    return Section(
        id=name,
        rect_mm=(rect.x0, rect.y0, rect.x1, rect.y1),
        turned=shape.turned * 90,
        columns=shape.scheme.columns,
        rows=shape.scheme.rows,
        column_mm=shape.column_mm,
        row_mm=shape.row_mm,
        folds=_folds(shape, placed.x_mm, placed.y_mm, paper.sheet_w_mm if placed.over else None),
        head=shape.scheme.head,
        head_trim_mm=shape.panel.head_mm,
        foot_trim_mm=shape.panel.foot_mm,
        spine_trim_mm=shape.panel.spine_trim_mm,
        turned_over=placed.over,
        copy_of=copy_of,
        bottling_mm=bottling_of(shape, paper),
    )


@lru_cache(maxsize=4096)
def _folds(shape: Shape, x_mm: float, y_mm: float, behind_mm: float | None) -> tuple[Fold, ...]:
    """``behind_mm``: width of the sheet, where the piece is turned over; the lines are told from the front."""
    high = sum(shape.row_mm)
    to_sheet = shape.to_block(x_mm, y_mm)
    if behind_mm is not None:
        to_sheet = to_sheet.then(Matrix(-1.0, 0.0, 0.0, 1.0, behind_mm, 0.0))
    told = []
    for line in fold(shape.scheme).lines:
        if line.upright:
            x = _boundary(shape.column_mm, line.at)
            ends = ((x, high - _boundary(shape.row_mm, line.end)), (x, high - _boundary(shape.row_mm, line.start)))
        else:
            y = high - _boundary(shape.row_mm, line.at)
            ends = ((_boundary(shape.column_mm, line.start), y), (_boundary(shape.column_mm, line.end), y))
        told.append(Fold(line.words, (to_sheet.point(*ends[0]), to_sheet.point(*ends[1]))))
    return tuple(told)


def _boundary(sizes_mm: tuple[float, ...], panels: int) -> float:
    """How far the ``panels``-th boundary lies; a pile folded past the edge of the sheet goes on in equal steps."""
    if 0 <= panels <= len(sizes_mm):
        return sum(sizes_mm[:panels])
    return panels * sizes_mm[0]
