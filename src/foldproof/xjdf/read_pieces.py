# SPDX-License-Identifier: AGPL-3.0-or-later
"""The pieces of a job ticket and the pages on its sheets, read back."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from attrs import evolve, frozen

from foldproof.geometry import Matrix
from foldproof.units import mm_to_pt
from foldproof.xjdf.bindery import HALF_FOLD
from foldproof.xjdf.held import in_order
from foldproof.xjdf.model import HeldCell, HeldFold, HeldPiece, HeldPlace
from foldproof.xjdf.source import Odd, beyond, children, resources, told
from foldproof.xjdf.terms import HEADS, SIDES, bound, finite, lies
from foldproof.xjdf.values import box, count, floats, in_mm, mm, pair, sheet_number

_SIDES = {name: side for side, name in SIDES.items()}
_EDGES = {"Left": "left", "Front": "front"}
#: panels of a piece one way: more than any is a slip, and would be reckoned for hours
_MOST_PANELS = 64


def pieces_and_places(
    root: ET.Element, reading: str, trim_mm: tuple[float, float], runs: tuple[int, int, int], sheets: set[int]
) -> tuple[tuple[HeldPiece, ...], tuple[HeldPlace, ...]]:
    signatures = _signatures(root, reading)
    pieces: dict[str, HeldPiece] = {}
    placed = []
    for _, layout, parts in resources(root, "Layout"):
        for part in parts:
            sheet, side = sheet_number(part["SheetName"]), _SIDES[part["Side"]]
            if sheet not in sheets:
                raise Odd(f"sheet {sheet} has a back and no front")
            for position in children(layout, "Position"):
                id_, first = told(position, "BlockName"), told(position, "BinderySignatureID")
                if id_ in pieces:
                    raise Odd(f"piece {id_[:20]!r} stands in two places")
                turned, over = lies(told(position, "Orientation"))
                pieces[id_] = evolve(
                    signatures[first], id=id_, sheet=sheet, copy_of=None if first == id_ else first,
                    rect_mm=box(position, "AbsoluteBox"), turned=turned, turned_over=over,
                )  # fmt: skip
            placed += [(sheet, side, one) for one in children(layout, "PlacedObject")]
    places = [_place(sheet, side, one, trim_mm, runs, pieces) for sheet, side, one in placed]
    return tuple(pieces.values()), in_order(places)


def _place(
    sheet: int,
    side: str,
    one: ET.Element,
    trim_mm: tuple[float, float],
    runs: tuple[int, int, int],
    pieces: dict[str, HeldPiece],
) -> HeldPlace:
    wide, high = map(mm_to_pt, trim_mm)
    to_side = Matrix.translation(wide / 2, high / 2).then(Matrix(*floats(one, "CTM", 6)))
    position = count(told(one, "Ord"))
    piece = told(one, "PositionRef").removeprefix("P")
    if pieces[piece].sheet != sheet:
        raise Odd(f"a page of sheet {sheet} belongs to a piece of another")
    if position >= sum(runs):
        raise Odd(f"place {position} of the book is beyond its run list")
    page = position - runs[0]
    return HeldPlace(
        sheet=sheet,
        side=side,
        piece=piece,
        position=position,
        page=page if 0 <= page < runs[1] else None,
        matrix=(to_side.a, to_side.b, to_side.c, to_side.d, in_mm(to_side.e), in_mm(to_side.f)),
        clip_mm=box(one, "ClipBox"),
    )


def _signatures(root: ET.Element, reading: str) -> dict[str, HeldPiece]:
    """By its id what is folded, wherever it lies."""
    folds = {
        part.get("BinderySignatureID"): tuple(_fold(fold) for fold in children(folding, "Fold"))
        for _, folding, parts in resources(root, "FoldingParams")
        for part in parts
    }
    ground = {
        part.get("BinderySignatureID"): mm(spine, "MillingDepth")
        for _, spine, parts in resources(root, "SpinePreparationParams")
        for part in parts
    }
    found = {}
    for resource, signature, parts in resources(root, "BinderySignature"):
        lean = in_mm(finite(beyond(resource).get("BottlingLean", "0")))
        head, spine = bound(told(signature, "BindingOrientation"), reading)
        grids: dict[float, _Grid] = {}
        for part in parts:
            id_ = part["BinderySignatureID"]
            ground_mm = ground.get(id_, 0.0)
            if ground_mm not in grids:
                grids[ground_mm] = _grid(signature, ground_mm)
            grid = grids[ground_mm]
            found[id_] = HeldPiece(
                id=id_, sheet=0, copy_of=None, rect_mm=(0.0, 0.0, 0.0, 0.0), turned=0, turned_over=False,
                columns=len(grid.column_mm), rows=len(grid.row_mm), column_mm=grid.column_mm, row_mm=grid.row_mm,
                cells=grid.cells, folds=folds[id_], head=head, spine=spine, head_trim_mm=grid.head_mm,
                foot_trim_mm=grid.foot_mm, spine_trim_mm=ground_mm, bottling_mm=lean,
            )  # fmt: skip
    return found


def _fold(fold: ET.Element) -> HeldFold:
    return HeldFold(
        edge=_EDGES[told(fold, "From")],
        up={"Up": True, "Down": False}[told(fold, "To")],
        travel_mm=mm(fold, "Travel"),
    )


@frozen
class _Grid:
    column_mm: tuple[float, ...]
    row_mm: tuple[float, ...]
    cells: tuple[HeldCell, ...]
    head_mm: float
    foot_mm: float


def _grid(signature: ET.Element, ground_mm: float) -> _Grid:
    """Columns and rows from the cells: what a leaf measures along its head, and along its spine."""
    if signature.get("FoldCatalog") == HALF_FOLD:
        columns, rows = 2, 1
    else:
        columns, rows = (count(word) for word in told(signature, "NumberUp").split())
    cells = children(signature, "SignatureCell")
    if not (0 < columns <= _MOST_PANELS and 0 < rows <= _MOST_PANELS) or len(cells) != columns * rows:
        raise Odd(f"a piece of {columns} x {rows} panels has {len(cells)} cells")
    column_mm, row_mm, made = [0.0] * columns, [0.0] * rows, []
    head = foot = 0.0
    for nth, cell in enumerate(cells):
        column, row = nth % columns, rows - 1 - nth // columns
        turns = HEADS.index(told(cell, "Orientation"))
        head, foot = mm(cell, "TrimHead"), mm(cell, "TrimFoot")
        wide, high = pair(cell, "TrimSize")
        along_head, along_spine = wide + mm(cell, "TrimFace") + ground_mm, high + head + foot
        if turns % 2:
            along_head, along_spine = along_spine, along_head
        column_mm[column], row_mm[row] = along_head, along_spine
        made.append(HeldCell(count(told(cell, "FrontPages")), count(told(cell, "BackPages")), turns))
    return _Grid(tuple(column_mm), tuple(row_mm), tuple(made), head, foot)
