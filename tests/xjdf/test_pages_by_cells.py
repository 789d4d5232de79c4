# SPDX-License-Identifier: AGPL-3.0-or-later
"""Two accounts of every page in one file agree: the cells of the folded pieces, and the pages placed on the sheets.

A cell says which page of its piece stands on it; the place of the piece and the assembly say where that is on the sheet
and in the book.  Each placed page says its place in the book and where it stands.  Both are read by lxml and reckoned
here anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.handbook.facts import told
from tests.matrix.cases import BASE, LIPS_AND_TRIMS, ONE_IN_ANOTHER, Case, one_in_another
from tests.xjdf.elements import all_of, millimetres, numbers, one_of, parts, root_of
from tests.xjdf.jobs import planned, written

CASES = (*BASE[5::60], *ONE_IN_ANOTHER[4::13], *LIPS_AND_TRIMS[6::30])
#: quarter turns counter-clockwise
TURNS = {"as shown": 0, "90ccw": 1, "180": 2, "90cw": 3}
HEADS = {"Up": 0, "Left": 1, "Down": 2, "Right": 3}
#: where the head of an upright page points after so many quarter turns counter-clockwise
POINTS = ((0, 1), (-1, 0), (0, -1), (1, 0))


def turned(x: float, y: float, turns: int) -> tuple[float, float]:
    for _ in range(turns % 4):
        x, y = -y, x
    return x, y


def gathered(root: etree._Element) -> list[list[str]]:
    """Pieces of every section of the assembly, the outermost first."""
    assembly = one_of(root, "Assembly")
    order = assembly.get("Order")
    if order != "List":
        ids = assembly.get("BinderySignatureIDs").split()
        return [ids] if order == "Collecting" else [[one] for one in ids]
    units = []
    for section in assembly:
        unit = []
        while section is not None:
            unit.append(section.get("BinderySignatureID"))
            section = next(iter(section), None)
        units.append(unit)
    return units


def positions(root: etree._Element) -> dict[tuple[str, int], int]:
    """By piece and page within it the place in the book: folios follow from the assembly (jdf-pagination-meaning)."""
    assert told("jdf-pagination-meaning") == {"counted_within": "one booklet", "folios_from": "the assembly"}
    counts: dict[str, int] = {}
    for signature in all_of(root, "BinderySignature"):
        cells = signature.findall("{*}SignatureCell")
        pages = [int(cell.get(face)) for cell in cells for face in ("FrontPages", "BackPages")]
        assert sorted(pages) == list(range(2 * len(cells))), "one booklet, counted from its first page"
        for part in parts(signature):
            counts[part["BinderySignatureID"]] = len(pages)
    book = [
        page
        for unit in gathered(root)
        for page in one_in_another([[(one, n) for n in range(counts[one])] for one in unit])
    ]
    return {page: nth for nth, page in enumerate(book)}


def by_cells(root: etree._Element) -> Iterator[tuple[str, str, int, tuple[float, float], int, float]]:
    """Sheet, side, place in the book, middle of the cell and turn of its head on the side as printed, room round it."""
    where = positions(root)
    signatures = {part["BinderySignatureID"]: one for one in all_of(root, "BinderySignature") for part in parts(one)}
    for position in all_of(root, "Layout/Position"):
        layout = position.getparent()
        (part,) = parts(layout)
        *_, wide, high = millimetres(layout, "SurfaceContentsBox")
        id_ = position.get("BinderySignatureID")
        signature = signatures[id_]
        half = signature.get("FoldCatalog") == "F4-1"
        columns, rows = (2, 1) if half else map(int, signature.get("NumberUp").split())
        name = position.get("Orientation")
        turns = TURNS[told("jdf-pagination-transform")[name][0]]
        flipped = name.startswith("Flip")
        size = millimetres(signature, "BinderySignatureSize")
        x0, y0, x1, y1 = millimetres(position, "AbsoluteBox")
        ways = [column_and_row(signature, columns, rows, nth) for nth in range(columns * rows)]
        for cell, (left, low, column_mm, row_mm) in zip(signature.findall("{*}SignatureCell"), ways, strict=True):
            x, y = left + column_mm / 2 - size[0] / 2, low + row_mm / 2 - size[1] / 2
            head = POINTS[HEADS[cell.get("Orientation")]]
            if flipped:  # turned over side to side, then as far as the catalogue says, seen from the front
                x, head = -x, (-head[0], head[1])
            x, y = turned(x, y, turns)
            head = turned(*head, turns)
            x, y = x + (x0 + x1) / 2, y + (y0 + y1) / 2
            for face, side in (("FrontPages", "Front"), ("BackPages", "Back")):
                if flipped:
                    side = {"Front": "Back", "Back": "Front"}[side]
                at, points = (x, y), head
                if side == "Back" and layout.get("WorkStyle") in ("Perfecting", "WorkAndTumble"):
                    at, points = (x, high - y), (head[0], -head[1])  # turned head to tail
                elif side == "Back":
                    at, points = (wide - x, y), (-head[0], head[1])  # turned side to side
                page = where[id_, int(cell.get(face))]
                yield part["SheetName"], side, page, at, POINTS.index(points), min(column_mm, row_mm) / 2


def column_and_row(signature: Any, columns: int, rows: int, nth: int) -> tuple[float, float, float, float]:
    """Left, lower edge, width and height of a cell; columns may be of several widths."""
    cells = signature.findall("{*}SignatureCell")
    sizes = []
    for cell in cells:
        wide = sum(millimetres(cell, "TrimSize")[:1] + millimetres(cell, "TrimFace"))
        high = sum([millimetres(cell, "TrimSize")[1], *millimetres(cell, "TrimHead"), *millimetres(cell, "TrimFoot")])
        sizes.append((high, wide) if cell.get("Orientation") in ("Left", "Right") else (wide, high))
    # what is ground off at the spine is stated apart; here it is what is left of the piece
    whole = millimetres(signature, "BinderySignatureSize")
    spare = [
        (whole[0] - sum(sizes[n][0] for n in range(columns))) / columns,
        (whole[1] - sum(sizes[n * columns][1] for n in range(rows))) / rows,
    ]
    sizes = [(wide + spare[0], high + spare[1]) for wide, high in sizes]
    column, row = nth % columns, nth // columns
    left, low = sum(sizes[n][0] for n in range(column)), sum(sizes[n * columns][1] for n in range(row))
    return left, low, *sizes[nth]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_cells_and_placed_pages_tell_of_the_same_book(tmp_path: Path, case: Case) -> None:
    root = root_of(written(tmp_path, planned(case.pages, case.job, case.trim_mm, case.house, inks=case.inks)))
    placed: dict[tuple[str, str], list[tuple[int, float, float, int]]] = {}
    for one in all_of(root, "Layout/PlacedObject"):
        (part,) = parts(one.getparent())
        a, b, c, d, e, f = numbers(one, "CTM")
        wide, high = numbers(one, "TrimSize")
        x, y = (a * wide + c * high) / 2 + e, (b * wide + d * high) / 2 + f
        head = POINTS.index((round(c), round(d)))
        placed.setdefault((part["SheetName"], part["Side"]), []).append(
            (int(one.get("Ord")), x * 25.4 / 72, y * 25.4 / 72, head)
        )
    met = 0
    for sheet, side, page, (x, y), head, room in by_cells(root):
        here = [one for one in placed[sheet, side] if abs(one[1] - x) < room and abs(one[2] - y) < room]
        assert [(one[0], one[3]) for one in here] == [(page, head)], (sheet, side, page)
        met += 1
    assert met == sum(map(len, placed.values()))
