# SPDX-License-Identifier: AGPL-3.0-or-later
"""The written sheets read by MuPDF, and folded by brute force: neither make-up nor the proof has a part in it.

Each page of the manuscript shows its number alone in large figures.  Where on a side such a figure stands and which way
it is up is read off; the sheet's turn, the rectangle of each piece and the words of its folds are taken from what the
bindery is told.  Lengths are mm; *front*: frame of the front; *behind*: the sheet turned side to side.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import numpy as np
import pymupdf
from attrs import frozen

from foldproof.makeup.instructions import FoldingInstructions, Section, Sheet
from tests.makeup import brute_folding
from tests.makeup.turned_formes import Grid
from tests.matrix.cases import one_in_another
from tests.matrix.pages import SIZE_PT

MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: 1/72 in
_UP = {(1, 0): 0, (0, -1): 1, (-1, 0): 2, (0, 1): 3}  # direction of a line, y down: quarter turns counter-clockwise


@frozen
class Figure:
    """One page number as printed, side frame, mm, y up."""

    page: int
    x: float
    y: float
    turns: int  #: quarter turns counter-clockwise from up


def figures(path: Path) -> list[list[Figure]]:
    """All large figures, side after side."""
    with pymupdf.open(path) as document:
        return [_on(page) for page in document]


def _on(page: pymupdf.Page) -> list[Figure]:
    found = []
    for span in page.get_texttrace():
        if span["size"] < 0.9 * SIZE_PT:
            continue
        x0, y0, x1, y1 = span["bbox"]
        turns = _UP[round(span["dir"][0]), round(span["dir"][1])]
        text = "".join(chr(char[0]) for char in span["chars"])
        found.append(Figure(int(text), (x0 + x1) / 2 * MM, (page.rect.height - (y0 + y1) / 2) * MM, turns))
    return found


class AmissError(AssertionError):
    """The sheets do not fold into what is told."""


def folded(path: Path, told: FoldingInstructions) -> tuple[list[int | None], dict[str, list[int | None]]]:
    """The pages of the book in order, and those of every piece, copies too; ``None``: bare paper.

    Raises:
        AmissError: a page stands off every leaf, or not upright in the folded pile.
    """
    sides = figures(path)
    pieces: dict[str, list[int | None]] = {}
    for sheet in told.sheets:
        faces = _faces(sheet, sides[2 * sheet.number - 2], sides[2 * sheet.number - 1])
        for section in sheet.sections:
            pieces[section.id] = _leafed(section, faces.pop(section.id, {}), told.reading == "left to right")
    book = [page for unit in told.gathering for page in one_in_another([pieces[name] for name in unit])]
    return book, pieces


#: column, row, printed on the side that lies up when the piece is folded -> page, turns of its head seen from above
_Faces = dict[tuple[int, int, bool], tuple[int, int]]


def _faces(sheet: Sheet, front: list[Figure], back: list[Figure]) -> dict[str, _Faces]:
    out: dict[str, _Faces] = defaultdict(dict)
    for is_front, figure in [(True, one) for one in front] + [(False, one) for one in back]:
        x, y, turns = figure.x, figure.y, figure.turns
        if not is_front and sheet.turn == "head to tail":  # as seen when turned side to side
            x, y, turns = sheet.width_mm - x, sheet.height_mm - y, turns + 2
        at_front = x if is_front else sheet.width_mm - x
        home = [s for s in sheet.sections if _inside(s, at_front, y)]
        if len(home) != 1:
            raise AmissError(f"page {figure.page} on sheet {sheet.number} stands on {len(home)} pieces")
        (section,) = home
        up = is_front != section.turned_over
        column, row = _panel(section, at_front, y)
        # the head as its own side shows it; the piece lies turned, and its under side turned the other way
        quarter = section.turned // 90
        head = (turns - quarter) % 4 if up else (turns + quarter) % 4
        if (column, row, up) in out[section.id]:
            raise AmissError(f"page {figure.page} on sheet {sheet.number} stands where another does")
        out[section.id][column, row, up] = figure.page, head
    return out


def _inside(section: Section, x: float, y: float) -> bool:
    x0, y0, x1, y1 = section.rect_mm
    return x0 < x < x1 and y0 < y < y1


def _panel(section: Section, x: float, y: float) -> tuple[int, int]:
    """Column and row of the scheme, seen from the side that lies up."""
    x0, y0, x1, y1 = section.rect_mm
    wide, high = x1 - x0, y1 - y0
    u, v = x - x0, y - y0
    if section.turned_over:
        u = wide - u
    u, v = ((u, v), (v, wide - u), (wide - u, high - v), (high - v, u))[section.turned // 90]
    across, down = np.cumsum(section.column_mm), np.cumsum(section.row_mm)
    return int(np.searchsorted(across, u)), int(np.searchsorted(down, down[-1] - v))


def fold_of(section: Section, spine_left: bool) -> brute_folding.Folded:
    words = tuple(one.words for one in section.folds)
    return brute_folding.fold(section.columns, section.rows, words, section.head, spine_left=spine_left)


def _leafed(section: Section, faces: _Faces, spine_left: bool) -> list[int | None]:
    """Leaf through a folded piece."""
    pages: list[int | None] = []
    for leaf in fold_of(section, spine_left).leaves:
        for recto in (True, False):
            up = leaf.recto_on_front == recto
            page, head = faces.pop((*leaf.panel, up), (None, None))
            if head is not None and head != (leaf.head_turns if up else -leaf.head_turns % 4):
                raise AmissError(f"page {page} in piece {section.id} does not stand upright")
            pages.append(page)
    if faces:
        raise AmissError(f"piece {section.id} has pages on no leaf")
    return pages


# --- one plate for both sides -----------------------------------------------------------------------------------------


def plate(side: list[Figure]) -> Grid:
    """One side as a grid as printed: rows from the top, page and turns of its head."""
    rows: dict[int, list[Figure]] = defaultdict(list)
    for figure in side:
        rows[round(figure.y)].append(figure)
    # figures of one row may differ by a hair
    merged: list[list[Figure]] = []
    last = None
    for y in sorted(rows, reverse=True):
        if last is not None and last - y < 20:
            merged[-1] += rows[y]
        else:
            merged.append(list(rows[y]))
        last = y
    return tuple(tuple((f.page, f.turns) for f in sorted(row, key=lambda f: f.x)) for row in merged)


def as_it_lies(grid: Grid, quarters: int) -> Grid:
    """A table turned counter-clockwise by quarter turns, heads with it."""
    for _ in range(quarters % 4):
        grid = tuple(
            tuple((page, (head + 1) % 4) for page, head in column) for column in list(zip(*grid, strict=True))[::-1]
        )
    return grid
