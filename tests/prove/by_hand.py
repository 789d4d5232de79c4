# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets laid down by hand from a printed table: no make-up, no imposition, nothing of the project but the type of the
folding instructions.  The table is the source of truth, the proof is what is tested.

A table is read as the handbook prints it: rows from the top, as printed; the inner forme is the face seen when the
outer one is turned side to side; ``^`` head up, ``v`` head down.  Its folds are spoken with the inner face up
("V2 right part over left": along the second upright line from the left); here the outer face lies up, so right becomes
left and over becomes under.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.makeup.instructions import Collation, Fold, FoldingInstructions, Section, Sheet
from foldproof.prove.model import Proof
from foldproof.prove.prove import prove

PT = 72 / 25.4  # points in a millimetre (ISO 32000-1, 8.3.2.3: 1/72 in)
TRIM_MM = (100.0, 150.0)
HEAD_MM, FOOT_MM, FORE_MM = 5.0, 6.0, 4.0
PANEL_MM = (TRIM_MM[0] + FORE_MM, TRIM_MM[1] + HEAD_MM + FOOT_MM)
EDGE_MM = 15.0  # of the sheet round the section

_SPOKEN = re.compile(r"([VH])(\d) (right|left|top|bottom) part (?:down |up )?over")

Grid = Sequence[Sequence[int]]


class Inline:
    """Stands in for the worker processes: one job after the other, here."""

    def map(self, function: Any, jobs: Sequence[Any], *, seconds: float) -> Iterator[tuple[int, Any]]:
        for index, job in enumerate(jobs):
            yield index, function(job)


def proved(sheets: Path, told: FoldingInstructions, manuscript: Path | None, **more: Any) -> Proof:
    return prove(sheets, told, manuscript, workers=Inline(), advance=lambda done: None, **more)  # type: ignore[arg-type]


def folds_of(spoken: Sequence[str], columns: int, rows: int) -> tuple[Fold, ...]:
    """The handbook's folds (inner face up) in the project's words, with their lines on the sheet of the front."""
    wide, high = columns * PANEL_MM[0], rows * PANEL_MM[1]
    out = []
    left, right, low, high_y = 0.0, wide, 0.0, high  # what of the sheet the pile covers, outer face up
    for words in spoken:
        found = _SPOKEN.match(words)
        assert found, words
        kind, number, side = found[1], int(found[2]), found[3]
        if kind == "V":
            x = wide - number * PANEL_MM[0]  # counted from the left with the inner face up
            moves = "left" if side == "right" else "right"
            count = round(((x - left) if moves == "left" else (right - x)) / PANEL_MM[0])
            line = ((x, low), (x, high_y))
            left, right = (x, right) if moves == "left" else (left, x)
        else:
            y = high - number * PANEL_MM[1]  # counted from the top
            moves = side
            count = round(((y - low) if moves == "bottom" else (high_y - y)) / PANEL_MM[1])
            line = ((left, y), (right, y))
            low, high_y = (y, high_y) if moves == "bottom" else (low, y)
        placed = tuple((px + EDGE_MM, py + EDGE_MM) for px, py in line)
        out.append(Fold(f"{moves} {count} under", (placed[0], placed[1])))
    return tuple(out)


def told(
    columns: int,
    rows: int,
    folds: tuple[Fold, ...],
    *,
    head: str | None = None,
    sheets: int = 1,
    gathering: tuple[tuple[str, ...], ...] | None = None,
    caliper_mm: float = 0.0,
    binding: str = "sewn",
    collation: Collation | None = None,
) -> FoldingInstructions:
    """One section a sheet, square in the middle of it."""
    wide, high = columns * PANEL_MM[0], rows * PANEL_MM[1]
    made = []
    for number in range(1, sheets + 1):
        section = Section(
            id=f"{number}A", rect_mm=(EDGE_MM, EDGE_MM, EDGE_MM + wide, EDGE_MM + high), turned=0,
            columns=columns, rows=rows, column_mm=(PANEL_MM[0],) * columns, row_mm=(PANEL_MM[1],) * rows,
            folds=folds, head=head,
            head_trim_mm=HEAD_MM, foot_trim_mm=FOOT_MM, spine_trim_mm=0.0,
        )  # fmt: skip
        made.append(Sheet(number, wide + 2 * EDGE_MM, high + 2 * EDGE_MM, "side to side", (), (section,)))
    return FoldingInstructions(
        reading="left to right", binding=binding, trim_mm=TRIM_MM, bleed_mm=0.0, caliper_mm=caliper_mm,
        creep_factor=1.0, sheets=tuple(made),
        gathering=gathering or tuple((s.sections[0].id,) for s in made), collation=collation,
    )  # fmt: skip


def lay(
    target: Path,
    manuscript: Path,
    formes: Sequence[tuple[Grid, Sequence[str]]],
    *,
    push_mm: dict[int, float] | None = None,
) -> Path:
    """Write sides one after the other (outer, inner, outer …): at every cell the page of the table, upright or turned.

    The book is sewn, so a page touches the spine: an odd page's spine is at its left, an even page's at its right.
    ``push_mm`` moves a page towards its spine.
    """
    with pikepdf.open(manuscript) as book, pikepdf.new() as out:
        for grid, heads in formes:
            rows, columns = len(grid), len(grid[0])
            high = rows * PANEL_MM[1] + 2 * EDGE_MM
            wide = columns * PANEL_MM[0] + 2 * EDGE_MM
            forms: dict[str, Any] = {}
            parts = []
            for row, line in enumerate(grid):
                for column, number in enumerate(line):
                    up = heads[row][column] == "^"
                    forms[f"/P{number}"] = form_of(out, book.pages[number - 1])
                    parts.append(_placed(number, row, column, rows, up, (push_mm or {}).get(number, 0.0)))
            made = Dictionary(
                Type=Name.Page, MediaBox=Array([0, 0, round(wide * PT, 4), round(high * PT, 4)]),
                Contents=out.make_indirect(Stream(out, "\n".join(parts).encode())),
                Resources=Dictionary(XObject=Dictionary(forms)),
            )  # fmt: skip
            out.pages.append(pikepdf.Page(out.make_indirect(made)))
        out.save(target, static_id=True)
    return target


def form_of(out: pikepdf.Pdf, page: pikepdf.Page) -> pikepdf.Object:
    form = Stream(out, page.Contents.read_bytes())
    form.Type, form.Subtype = Name.XObject, Name.Form
    form.BBox = Array(list(page.MediaBox))
    holder = pikepdf.Pdf.new()
    holder.pages.append(page)
    form.Resources = out.copy_foreign(holder.make_indirect(holder.pages[0].Resources))
    return out.make_indirect(form)


def _placed(number: int, row: int, column: int, rows: int, up: bool, push_mm: float) -> str:
    spine_left = (number % 2 == 1) == up  # as it lies on the sheet
    x0 = EDGE_MM + column * PANEL_MM[0]
    spine_x = x0 if spine_left else x0 + PANEL_MM[0]
    centre_x = spine_x + (TRIM_MM[0] / 2 - push_mm) * (1 if spine_left else -1)
    foot_y = EDGE_MM + (rows - 1 - row) * PANEL_MM[1]
    centre_y = foot_y + FOOT_MM + TRIM_MM[1] / 2 if up else foot_y + PANEL_MM[1] - FOOT_MM - TRIM_MM[1] / 2
    left, low = (centre_x - TRIM_MM[0] / 2) * PT, (centre_y - TRIM_MM[1] / 2) * PT
    wide, high = TRIM_MM[0] * PT, TRIM_MM[1] * PT
    # the trim's lower left corner is the page's own origin, so a turned page hangs from its upper right one
    matrix = f"1 0 0 1 {left:.5f} {low:.5f}" if up else f"-1 0 0 -1 {left + wide:.5f} {low + high:.5f}"
    clip_x0, clip_x1 = (max(left, spine_x * PT), left + wide) if spine_left else (left, min(left + wide, spine_x * PT))
    return f"q {clip_x0:.5f} {low:.5f} {clip_x1 - clip_x0:.5f} {high:.5f} re W n {matrix} cm /P{number} Do Q"
