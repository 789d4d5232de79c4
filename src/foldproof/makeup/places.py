# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every page's place on its side, and the collation bars, from a chosen layout.  Pure.

Frames: *scheme* as in :mod:`foldproof.makeup.shapes`, *front* and *behind* as in :mod:`foldproof.makeup.layout`;
*side*: as its plate prints it, gripper edge at the bottom: of the front the frame of the front, of the back the frame
behind, turned half round on a sheet that turns head to tail.  *leaf*: the upright panel, lower left at the origin.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

from attrs import frozen

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.binding import GLUED, SEWN, Panel
from foldproof.makeup.folding import LEFT_TO_RIGHT, Leaf, fold, read
from foldproof.makeup.instructions import Collation
from foldproof.makeup.layout import HEAD_TO_TAIL, LaidSheet, Placed
from foldproof.makeup.plan import CollationBar, PagePlace, Side
from foldproof.makeup.shapes import Shape
from foldproof.makeup.signatures import piece_letter
from foldproof.units import PT_PER_MM

#: the collation mark of a sewn spine reaches so far on each side of the outermost crease: nothing else hides it
SEWN_MARK_MM = 1.0
#: paper left between a mark in the grind-off and the ground edge
_GRIND_CLEAR_MM = 0.5
#: what can be told apart on a spine: parts of a mark, the gaps between them, steps, rows (common practice, no source)
_LEAST_PART_MM, _LEAST_GAP_MM, _LEAST_PITCH_MM, _MOST_ROWS = 0.75, 0.5, 1.0, 4
SCALE = "scale"
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
    """What the places on one sheet rest on besides the layout."""

    sheet_w_mm: float
    sheet_h_mm: float
    turn: str  #: how the sheet turns between its sides
    bleed_mm: float
    caliper_mm: float
    creep_factor: float
    creep_by: str = "shift"
    bottling_mm: float = 0.0
    cut_before: bool = False  #: a leaflet: cut before folding, so its outer edges bleed


@frozen
class Round:
    """What lies round a piece at the spine: the outer pieces of its section."""

    leaves: int = 0  #: on one side of its crease
    thick_mm: float = 0.0  #: of these leaves


@lru_cache(maxsize=4096)
def spots(shape: Shape, x_mm: float, y_mm: float, over: bool, outside: Round, paper: Paper) -> tuple[Spot, ...]:
    """Both pages of every leaf of a piece, ``outside`` lying round it at the spine.

    ``x_mm``, ``y_mm``: lower left corner of the piece, in the frame behind when it is turned over, else of the front.
    """
    to_sheet = shape.to_block(x_mm, y_mm)
    bottles = bottling_of(shape, paper)
    halves = shape.scheme.panels / 2
    made = []
    for leaf in read(shape.scheme, shape.reading):
        seen = to_sheet.rect(shape.panel_rect(leaf))
        creep = (outside.thick_mm + leaf.depth * paper.caliper_mm) * paper.creep_factor
        lean = bottles * max(0.0, halves - leaf.depth) / halves
        for up in (True, False):
            made.append(_spot(shape, leaf, seen, up, over, leaf.depth + outside.leaves, creep, lean, paper))
    return tuple(made)


def bottling_of(shape: Shape, paper: Paper) -> float:
    """How far the outermost head leans: only three folds or more that cross one another press paper askew."""
    lines = fold(shape.scheme).lines
    crossing = sum(one.upright != other.upright for one, other in pairwise(lines))
    return paper.bottling_mm if len(lines) >= 3 and crossing >= 2 else 0.0


def _spot(
    shape: Shape, leaf: Leaf, seen: Rect, up: bool, over: bool, depth: int, creep: float, lean: float, paper: Paper
) -> Spot:
    """``seen``: the panel from the side of the piece that lies up when it is folded; ``up``: the page is on it."""
    page = leaf.front_page if up else leaf.back_page
    side = Side.FRONT if up != over else Side.BACK
    panel = seen if up else mirrored(seen, paper.sheet_w_mm)
    turns = (leaf.head_turns if up else -leaf.head_turns) + (shape.turned if up else -shape.turned)
    width = shape.leaf_width_mm(leaf)
    to_side = _upright_to(panel, turns, width, shape.panel.height_mm)
    if side is Side.BACK and paper.turn == HEAD_TO_TAIL:
        # as its plate prints it: what was told from behind, turned half round about the middle of the sheet
        half = Matrix.quarter_turns(2).then(Matrix.translation(paper.sheet_w_mm, paper.sheet_h_mm))
        to_side, panel = to_side.then(half), half.rect(panel)
    spine_left = (page % 2 == 0) == (shape.reading == LEFT_TO_RIGHT)
    trim, placed = _trim_in_leaf(shape.panel, width, shape.inset_mm(leaf), spine_left, creep, lean, paper)
    trim_mm = to_side.rect(trim)
    clip = trim_mm.grown(paper.bleed_mm).common(_inked(shape, leaf, panel, up, over, paper))
    if clip is None:  # pragma: no cover - a trim always lies in its panel
        raise AssertionError("the trim lies outside its panel")
    to_it = placed.then(to_side)
    matrix = Matrix(to_it.a, to_it.b, to_it.c, to_it.d, to_it.e * PT_PER_MM, to_it.f * PT_PER_MM)
    return Spot(page, side, leaf.order, depth, creep, matrix, clip.scaled(PT_PER_MM), trim_mm.scaled(PT_PER_MM))


def _inked(shape: Shape, leaf: Leaf, panel: Rect, up: bool, over: bool, paper: Paper) -> Rect:
    """Where a page may print, side frame: its panel; of a leaflet also beyond the edges at which no panel adjoins."""
    if not paper.cut_before:
        return panel
    columns, rows = shape.scheme.columns, shape.scheme.rows
    open_edges = [leaf.row == 0, leaf.column == 0, leaf.row == rows - 1, leaf.column == columns - 1]  # top, left ...
    turned = shape.turned % 4
    ways = [open_edges[(nth - turned) % 4] for nth in range(4)]  # as it lies: top, left, bottom, right
    if not up:
        ways[1], ways[3] = ways[3], ways[1]
    if (up == over) and paper.turn == HEAD_TO_TAIL:
        ways = [ways[2], ways[3], ways[0], ways[1]]
    more = [paper.bleed_mm if open_ else 0.0 for open_ in ways]
    return Rect(panel.x0 - more[1], panel.y0 - more[2], panel.x1 + more[3], panel.y1 + more[0])


def mirrored(rect: Rect, width_mm: float) -> Rect:
    return Rect(width_mm - rect.x1, rect.y0, width_mm - rect.x0, rect.y1)


def _upright_to(panel: Rect, turns: int, width_mm: float, height_mm: float) -> Matrix:
    """Upright leaf (mm), lower left at the origin, to where its panel lies (mm)."""
    turn = Matrix.quarter_turns(turns)
    box = turn.rect(Rect(0.0, 0.0, width_mm, height_mm))
    return turn.then(Matrix.translation(panel.x0 - box.x0, panel.y0 - box.y0))


def _trim_in_leaf(
    panel: Panel, leaf_w_mm: float, inset_mm: float, spine_left: bool, creep: float, lean: float, paper: Paper
) -> tuple[Rect, Matrix]:
    """Leaf frame: what the knives leave of the leaf, and the map of the page from the centre of its own trim.

    A leaf pushed out by ``creep`` is cut nearer to its crease.  By shift the whole page moves towards the spine; by
    scale its spine edge stays and it is narrowed as far as the cut.  ``lean``: how far its head leans from the spine.
    Of a leaflet the leaf may begin ``inset_mm`` from the spine and be narrower than the page, which keeps its place.
    """
    wide, high = panel.trim_w_mm, panel.trim_h_mm
    scales = paper.creep_by == SCALE
    near = panel.spine_trim_mm - (0.0 if scales else creep) - inset_mm
    far = panel.spine_trim_mm + wide - creep - inset_mm
    x0, x1 = (near, far) if spine_left else (leaf_w_mm - far, leaf_w_mm - near)
    trim = Rect(x0, panel.foot_mm, x1, panel.foot_mm + high)
    to_leaf = Matrix.scaling((far - near) / wide, 1.0) if scales and creep else Matrix()
    to_leaf = to_leaf.then(Matrix.translation(*trim.centre))
    if lean:
        angle = -math.atan2(lean, high) if spine_left else math.atan2(lean, high)
        corner = (x0 if spine_left else x1), trim.y0
        cos, sin = math.cos(angle), math.sin(angle)
        about = Matrix.translation(-corner[0], -corner[1]).then(Matrix(cos, sin, -sin, cos))
        to_leaf = to_leaf.then(about).then(Matrix.translation(*corner))
    if paper.cut_before:
        trim = Rect(max(trim.x0, 0.0), trim.y0, min(trim.x1, leaf_w_mm), trim.y1)
    return trim, to_leaf


def unit_leaf(order: int, leaves: int, outside: int, unit_leaves: int) -> int:
    """Place of a leaf in its gathered section: half of a nested piece before what lies in it, the rest after."""
    if outside == 0 and leaves == unit_leaves:
        return order
    return outside + order if order < leaves / 2 else unit_leaves - outside - (leaves - order)


def places_of(
    sheets: Sequence[LaidSheet],
    papers: Sequence[Paper],
    units: Sequence[Nest],
    signatures: Sequence[str],
    pages: int,
    blanks_front: int,
) -> tuple[tuple[PagePlace, ...], tuple[PagePlace, ...]]:
    """All pages in order of position; and those that stand on a sheet once more, for other copies of the book."""
    first = _firsts(units)
    found: list[PagePlace] = []
    again: list[PagePlace] = []
    for number, (sheet, paper) in enumerate(zip(sheets, papers, strict=True), start=1):
        for nth, placed in enumerate(sheet.placed):
            unit = units[placed.unit]
            outside, leaves, whole = unit.round(placed.nth), placed.shape.scheme.panels, unit.pages // 2
            name = f"{number}{piece_letter(nth)}"
            for spot in spots(placed.shape, placed.x_mm, placed.y_mm, placed.over, outside, paper):
                leaf = unit_leaf(spot.leaf, leaves, outside.leaves, whole)
                position = first[placed.unit] + 2 * leaf + spot.page % 2
                page = position - blanks_front
                (again if placed.copy else found).append(
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
                        signature=signatures[placed.unit],
                    )
                )
    return (
        tuple(sorted(found, key=lambda place: place.position)),
        tuple(sorted(again, key=lambda place: (place.position, place.sheet, place.section))),
    )


@frozen
class Nest:
    """A gathered section as its pieces are set one in another, the outermost first."""

    leaves: tuple[int, ...]  #: of each piece
    caliper_mm: tuple[float, ...]  #: thickness of a leaf of each

    @property
    def pages(self) -> int:
        return 2 * sum(self.leaves)

    def round(self, nth: int) -> Round:
        """What lies round the ``nth`` piece: half of the leaves of every outer one, on one side of its crease."""
        outer = [(count // 2, thick) for count, thick in zip(self.leaves[:nth], self.caliper_mm[:nth], strict=True)]
        return Round(sum(count for count, _ in outer), sum(count * thick for count, thick in outer))


def _firsts(units: Sequence[Nest]) -> list[int]:
    firsts, at = [], 0
    for unit in units:
        firsts.append(at)
        at += unit.pages
    return firsts


# --- collation --------------------------------------------------------------------------------------------------------


def collation_for(binding: str, panel: Panel, outermost: Iterable[Shape], sections: int) -> Collation | None:
    """The stepping mark on the spine: inside the grind-off, 1 mm each side of the crease when sewn, none when stitched.

    The pitch is as long as the sections leave room for, up to twice the mark's own length; a book of more sections than
    fit steps on in further rows, as many as can be told apart; of still more the pitch is shorter than the mark.  None
    where a section shows no single crease on its outside (a concertina ends in a free edge), or where no pitch goes.
    """
    if binding not in (SEWN, GLUED) or not all(_wrapped(shape) for shape in outermost):
        return None
    half = SEWN_MARK_MM
    if binding == GLUED and panel.spine_trim_mm > SEWN_MARK_MM + _GRIND_CLEAR_MM:
        half = panel.spine_trim_mm - _GRIND_CLEAR_MM
    length = min(_MARK_LENGTH_MM, panel.trim_h_mm / 10)
    margin = min(15.0, panel.trim_h_mm / 10)
    room = panel.trim_h_mm - 2 * margin
    gap = min(1.0, max(_LEAST_GAP_MM, length / 8))
    rows = max(1, min(_MOST_ROWS, int((length + gap) / (_LEAST_PART_MM + gap))))
    pitch = min(2 * length, max(length, room / max(1, sections)))
    steps = max(1, int((room - length + 1e-6) // pitch) + 1)
    if sections > rows * steps:
        steps = -(-sections // rows)
        pitch = (room - length) / (steps - 1)
        if pitch < _LEAST_PITCH_MM:
            return None
    return Collation(margin, pitch, steps, length, 2 * half, gap)


def _wrapped(shape: Shape) -> bool:
    leaves = read(shape.scheme, shape.reading)
    return leaves[0].mate == len(leaves) - 1


def bars_of(
    sheets: Sequence[LaidSheet], papers: Sequence[Paper], collation: Collation | None
) -> tuple[CollationBar, ...]:
    """The bar of every gathered section, on the outside of its outermost piece, across the outermost spine crease.

    In a later row it is parted: one :class:`CollationBar` for each part.  Copies on the sheet have theirs.
    """
    if collation is None:
        return ()
    bars = []
    for number, (sheet, paper) in enumerate(zip(sheets, papers, strict=True), start=1):
        for placed in sheet.placed:
            if placed.nth == 0:
                bars += _bars(number, placed, collation, paper)
    return tuple(sorted(bars, key=lambda bar: bar.unit))


def _bars(number: int, placed: Placed, collation: Collation, paper: Paper) -> list[CollationBar]:
    shape, unit = placed.shape, placed.unit
    leaf = read(shape.scheme, shape.reading)[0]
    # the last leaf is its other half; both show their outside where the first has its recto
    up = leaf.recto_on_front
    side = Side.FRONT if up != placed.over else Side.BACK
    seen = shape.to_block(placed.x_mm, placed.y_mm).rect(shape.panel_rect(leaf))
    panel = seen if up else mirrored(seen, paper.sheet_w_mm)
    turns = leaf.head_turns + shape.turned
    width = shape.leaf_width_mm(leaf)
    to_side = _upright_to(panel, turns if up else -turns, width, shape.panel.height_mm)
    if side is Side.BACK and paper.turn == HEAD_TO_TAIL:
        to_side = to_side.then(Matrix.quarter_turns(2).then(Matrix.translation(paper.sheet_w_mm, paper.sheet_h_mm)))
    crease = 0.0 if shape.reading == LEFT_TO_RIGHT else width
    row, step = divmod(unit, collation.steps)
    top = shape.panel.foot_mm + shape.panel.trim_h_mm - collation.first_mm - step * collation.step_mm
    half, parts = collation.width_mm / 2, row + 1
    long = (collation.length_mm - row * collation.gap_mm) / parts
    made = []
    for part in range(parts):
        head = top - part * (long + collation.gap_mm)
        made.append(
            CollationBar(number, side, unit, to_side.rect(Rect(crease - half, head - long, crease + half, head)))
        )
    return made
