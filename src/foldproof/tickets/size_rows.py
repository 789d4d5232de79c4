# SPDX-License-Identifier: AGPL-3.0-or-later
"""The table of sizes from the lay, as words for the ticket."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from foldproof.tickets.lay_sizes import LaySize


def size_rows(sizes: Sequence[LaySize]) -> tuple[list[list[str]], list[list[str]]]:
    """Rows of the slits, and rows of everything else.

    A slit: what it is, what it does, across, up.  Else: section, what, across and up from the sheet's corner, across
    and up from the piece's own.  The edges of a cut or of a trimmed page share one row.
    """
    slits = [
        [f"slit {size.number}", size.words, _number(size.across_mm), _number(size.up_mm)]
        for size in sizes
        if size.what == "slit"
    ]
    rows = []
    boxes: dict[tuple[str, str], list[LaySize]] = {}
    for size in sizes:
        name = size.section or ""
        if size.what == "fold":
            rows.append(
                [
                    name,
                    f"fold {size.number}, {size.words}",
                    _number(size.across_mm),
                    _number(size.up_mm),
                    _number(size.piece_across_mm),
                    _number(size.piece_up_mm),
                ]
            )
        elif size.what != "slit":
            if (size.what, name) not in boxes:
                rows.append([name, size.what, "", "", "", ""])
            boxes.setdefault((size.what, name), []).append(size)
    for row in rows:
        edges = boxes.get((row[1], row[0]))
        if edges is None:
            continue
        row[1] = "cut to size" if row[1] == "cut" else "first page, trimmed"
        row[2:] = [
            _range(size.across_mm for size in edges),
            _range(size.up_mm for size in edges),
            _range(size.piece_across_mm for size in edges),
            _range(size.piece_up_mm for size in edges),
        ]
    return slits, rows


def _number(length_mm: float | None) -> str:
    if length_mm is None:
        return ""
    text = f"{length_mm:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _range(lengths_mm: Iterable[float | None]) -> str:
    known = sorted(length for length in lengths_mm if length is not None)
    return ", ".join(_number(length) for length in known)
