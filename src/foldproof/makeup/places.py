# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every page's place on its side, the collation bars and the folding instructions, from a chosen layout.  Pure.

Frames: *scheme* and *sheet* as in :mod:`foldproof.makeup.layout`; *side*: as its plate prints it, gripper edge at the
bottom; the front's is the sheet frame, the back's is seen from the back, the sheet turned side to side: x runs from
the other end.  *leaf*: the upright panel, lower left at the origin.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from attrs import frozen

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.binding import GLUED, SEWN, Panel, creep_mm
from foldproof.makeup.folding import LEFT_TO_RIGHT, Leaf, fold, read
from foldproof.makeup.instructions import Collation, Fold, Section, Sheet
from foldproof.makeup.layout import LaidSheet, Placed, Shape
from foldproof.makeup.plan import CollationBar, PagePlace, Side
from foldproof.makeup.sections import Unit
from foldproof.units import PT_PER_MM

#: the collation mark of a sewn spine reaches so far on each side of the outermost crease: nothing else hides it
SEWN_MARK_MM = 1.0
#: paper left between a mark in the grind-off and the ground edge
_GRIND_CLEAR_MM = 0.5
_MARK_LENGTH_MM = 6.0


@frozen
class Spot:
    """Where one page stands on a side, without its name: shared by all sections that lie alike."""

    page: int  #: 0-based in the piece
    side: Side
    leaf: int  #: 0-based in the piece
    depth: int
    creep_mm: float
    matrix: Matrix  #: points
    clip_pt: Rect
    trim_pt: Rect


@frozen
class Paper:
    """What the places rest on besides the layout."""

    sheet_w_mm: float
    bleed_mm: float
    caliper_mm: float
    creep_factor: float


def piece_letter(nth: int) -> str:
    """A, B … Z, AA, AB …"""
    letters = ""
    nth += 1
    while nth:
        nth, rest = divmod(nth - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


@lru_cache(maxsize=4096)
def spots(shape: Shape, x_mm: float, y_mm: float, outside: int, paper: Paper) -> tuple[Spot, ...]:
    """Both pages of every leaf of a piece, ``outside`` leaves of outer pieces lying round it at the spine."""
    to_sheet = shape.to_sheet(x_mm, y_mm)
    made = []
    for leaf in read(shape.scheme, shape.reading):
        on_sheet = to_sheet.rect(shape.panel_rect(leaf))
        depth = leaf.depth + outside
        creep = creep_mm(depth, paper.caliper_mm, paper.creep_factor)
        for side in Side:
            made.append(_spot(shape, leaf, on_sheet, side, depth, creep, paper))
    return tuple(made)


def _spot(shape: Shape, leaf: Leaf, on_sheet: Rect, side: Side, depth: int, creep: float, paper: Paper) -> Spot:
    front = side is Side.FRONT
    page = leaf.front_page if front else leaf.back_page
    to_side = _leaf_to_side(shape, leaf, on_sheet, side, paper.sheet_w_mm)
    spine_left = (page % 2 == 0) == (shape.reading == LEFT_TO_RIGHT)
    trim = _trim_in_leaf(shape.panel, spine_left, creep)
    panel = on_sheet if front else _mirrored(on_sheet, paper.sheet_w_mm)
    trim_mm = to_side.rect(trim)
    clip = trim_mm.grown(paper.bleed_mm).common(panel)
    if clip is None:  # pragma: no cover - a trim always lies in its panel
        raise AssertionError("the trim lies outside its panel")
    centre = Matrix.translation(*trim.centre).then(to_side)
    matrix = Matrix(centre.a, centre.b, centre.c, centre.d, centre.e * PT_PER_MM, centre.f * PT_PER_MM)
    return Spot(page, side, leaf.order, depth, creep, matrix, clip.scaled(PT_PER_MM), trim_mm.scaled(PT_PER_MM))


def _mirrored(rect: Rect, width_mm: float) -> Rect:
    return Rect(width_mm - rect.x1, rect.y0, width_mm - rect.x0, rect.y1)


def _leaf_to_side(shape: Shape, leaf: Leaf, on_sheet: Rect, side: Side, sheet_w_mm: float) -> Matrix:
    """Upright leaf (mm) to side frame (mm)."""
    turns = leaf.head_turns + shape.turned
    panel = on_sheet
    if side is Side.BACK:
        turns, panel = -turns, _mirrored(on_sheet, sheet_w_mm)
    turn = Matrix.quarter_turns(turns)
    box = turn.rect(Rect(0.0, 0.0, shape.panel.width_mm, shape.panel.height_mm))
    return turn.then(Matrix.translation(panel.x0 - box.x0, panel.y0 - box.y0))


def _trim_in_leaf(panel: Panel, spine_left: bool, creep: float) -> Rect:
    """Leaf frame: the trim, moved towards the spine by the creep."""
    near = panel.spine_trim_mm - creep
    left = near if spine_left else panel.width_mm - near - panel.trim_w_mm
    return Rect(left, panel.foot_mm, left + panel.trim_w_mm, panel.foot_mm + panel.trim_h_mm)


def unit_leaf(order: int, leaves: int, outside: int, unit_leaves: int) -> int:
    """Place of a leaf in its gathered section: half of a nested piece before what lies in it, the rest after."""
    if outside == 0 and leaves == unit_leaves:
        return order
    return outside + order if order < leaves / 2 else unit_leaves - outside - (leaves - order)


def places_of(
    sheets: Sequence[LaidSheet],
    units: Sequence[Unit],
    signatures: Sequence[str],
    paper: Paper,
    pages: int,
    blanks_front: int,
) -> tuple[PagePlace, ...]:
    """All pages, in order of position."""
    first = _firsts(units)
    found: list[PagePlace] = []
    for number, sheet in enumerate(sheets, start=1):
        for nth, placed in enumerate(sheet.placed):
            piece = placed.piece
            unit = units[piece.unit]
            outside, leaves, whole = outside_leaves(unit, piece.nth), piece.shape.scheme.panels, unit.pages // 2
            name = f"{number}{piece_letter(nth)}"
            for spot in spots(piece.shape, placed.x_mm, placed.y_mm, outside, paper):
                leaf = unit_leaf(spot.leaf, leaves, outside, whole)
                position = first[piece.unit] + 2 * leaf + spot.page % 2
                page = position - blanks_front
                found.append(
                    PagePlace(
                        page=page if 0 <= page < pages else None,
                        position=position,
                        sheet=number,
                        side=spot.side,
                        section=name,
                        leaf=leaf,
                        depth=spot.depth,
                        creep_mm=spot.creep_mm,
                        matrix=spot.matrix,
                        clip_pt=spot.clip_pt,
                        trim_pt=spot.trim_pt,
                        signature=signatures[piece.unit],
                    )
                )
    return tuple(sorted(found, key=lambda place: place.position))


def outside_leaves(unit: Unit, nth: int) -> int:
    """Leaves of the outer pieces that lie round the ``nth`` piece at the spine, on one side of its crease."""
    return sum(unit.pieces[:nth]) // 4


def _firsts(units: Sequence[Unit]) -> list[int]:
    firsts, at = [], 0
    for unit in units:
        firsts.append(at)
        at += unit.pages
    return firsts


# --- collation --------------------------------------------------------------------------------------------------------


def collation_for(binding: str, panel: Panel, outermost: Iterable[Shape]) -> Collation | None:
    """The stepping mark on the spine: inside the grind-off, 1 mm each side of the crease when sewn, none when stitched.

    None either where a section shows no single crease on its outside (a concertina ends in a free edge).
    """
    if binding not in (SEWN, GLUED) or not all(_wrapped(shape) for shape in outermost):
        return None
    half = SEWN_MARK_MM
    if binding == GLUED and panel.spine_trim_mm > SEWN_MARK_MM + _GRIND_CLEAR_MM:
        half = panel.spine_trim_mm - _GRIND_CLEAR_MM
    length = min(_MARK_LENGTH_MM, panel.trim_h_mm / 10)
    margin = min(15.0, panel.trim_h_mm / 10)
    steps = max(1, int((panel.trim_h_mm - 2 * margin + 1e-6) // length))
    return Collation(first_mm=margin, step_mm=length, steps=steps, length_mm=length, width_mm=2 * half)


def _wrapped(shape: Shape) -> bool:
    leaves = read(shape.scheme, shape.reading)
    return leaves[0].mate == len(leaves) - 1


def bars_of(sheets: Sequence[LaidSheet], collation: Collation | None, sheet_w_mm: float) -> tuple[CollationBar, ...]:
    """The bar of every gathered section, on the outside of its outermost piece, across the outermost spine crease."""
    if collation is None:
        return ()
    bars = []
    for number, sheet in enumerate(sheets, start=1):
        for placed in sheet.placed:
            if placed.piece.nth == 0:
                bars.append(_bar(number, placed, collation, sheet_w_mm))
    return tuple(sorted(bars, key=lambda bar: bar.unit))


def _bar(number: int, placed: Placed, collation: Collation, sheet_w_mm: float) -> CollationBar:
    shape, unit = placed.piece.shape, placed.piece.unit
    leaves = read(shape.scheme, shape.reading)
    leaf = leaves[0]  # the last leaf is its other half; both show their outside where the first has its recto
    side = Side.FRONT if leaf.recto_on_front else Side.BACK
    on_sheet = shape.to_sheet(placed.x_mm, placed.y_mm).rect(shape.panel_rect(leaf))
    to_side = _leaf_to_side(shape, leaf, on_sheet, side, sheet_w_mm)
    crease = 0.0 if shape.reading == LEFT_TO_RIGHT else shape.panel.width_mm
    head = shape.panel.foot_mm + shape.panel.trim_h_mm
    top = head - collation.first_mm - (unit % collation.steps) * collation.step_mm
    half = collation.width_mm / 2
    bar = Rect(crease - half, top - collation.length_mm, crease + half, top)
    return CollationBar(number, side, unit, to_side.rect(bar))


# --- folding instructions ---------------------------------------------------------------------------------------------


def sheets_told(sheets: Sequence[LaidSheet], width_mm: float, height_mm: float) -> tuple[Sheet, ...]:
    """The sheets as the bindery is told of them."""
    return tuple(
        Sheet(
            number=number,
            width_mm=width_mm,
            height_mm=height_mm,
            turn="side to side",
            slits_mm=sheet.slits,
            sections=tuple(_section(f"{number}{piece_letter(nth)}", placed) for nth, placed in enumerate(sheet.placed)),
        )
        for number, sheet in enumerate(sheets, start=1)
    )


def _section(name: str, placed: Placed) -> Section:
    shape, rect = placed.piece.shape, placed.rect
    return Section(
        id=name,
        rect_mm=(rect.x0, rect.y0, rect.x1, rect.y1),
        turned=shape.turned * 90,
        columns=shape.scheme.columns,
        rows=shape.scheme.rows,
        column_mm=shape.column_mm,
        row_mm=shape.row_mm,
        folds=_folds(shape, placed.x_mm, placed.y_mm),
        head=shape.scheme.head,
        head_trim_mm=shape.panel.head_mm,
        foot_trim_mm=shape.panel.foot_mm,
        spine_trim_mm=shape.panel.spine_trim_mm,
    )


@lru_cache(maxsize=4096)
def _folds(shape: Shape, x_mm: float, y_mm: float) -> tuple[Fold, ...]:
    high = sum(shape.row_mm)
    to_sheet = shape.to_sheet(x_mm, y_mm)
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
