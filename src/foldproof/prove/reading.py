# SPDX-License-Identifier: AGPL-3.0-or-later
"""The folded pile turned and read: spine, head, leaves from the top, and what the knives leave of them.

*leaf* frame, one for each face of each leaf: mm, upright as a reader of that face sees it, origin on the leaf's own
crease (or spine edge) at the foot edge of the pile's outermost leaf.  A face lies at the right of its spine
(``outward`` = 1) or at the left of it (``outward`` = -1).
"""

from __future__ import annotations

from attrs import frozen

from foldproof.makeup.instructions import FoldingInstructions, Section, Sheet
from foldproof.pdf.proof_affine import (
    IDENTITY,
    Box,
    Map,
    at,
    back,
    box_round,
    common,
    determinant,
    mirror_x,
    mirror_y,
    quarter,
    shift,
    then,
)
from foldproof.prove.folding import AGREE_MM, CannotFold, Crease, Piece, Pile, fold

#: a bolt nearer to the knife than this would not be opened by it
BOLT_MM = 0.5
#: how far the trims may be from adding up to the leaf
TRIM_MM = 0.05

_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
_QUARTERS_TO_TOP = {"top": 0, "right": 1, "bottom": 2, "left": 3}
_AFTER_QUARTER = {"top": "left", "left": "bottom", "bottom": "right", "right": "top"}


@frozen
class Face:
    """One side of one leaf of a folded section."""

    side: str  #: ``"front"`` or ``"back"`` of the sheet
    outward: int
    to_side: Map  #: leaf frame, mm → side frame, mm
    panel: Box  #: the leaf's paper, leaf frame, before any knife


@frozen
class Leaf:
    """One leaf: what lies up, what lies down, and how it hangs in the spine."""

    recto: Face
    verso: Face
    partner: int | None  #: the leaf at the other end of its sheet, across the spine crease
    outside: int  #: leaves that lie round it at the spine fold


@frozen
class Folded:
    """A section folded and read, from its first leaf to its last."""

    section: Section
    sheet: int
    leaves: tuple[Leaf, ...]
    foot_mm: float  #: where the knives cut, leaf frame
    head_mm: float
    caliper_mm: float  #: thickness of one of its leaves
    faults: tuple[str, ...]  #: clauses: what a binding or a knife would not take


def read(section: Section, sheet: Sheet, told: FoldingInstructions) -> Folded:
    """Fold a section, find spine and head, turn the pile, and read it from the top.

    Raises:
        CannotFold: the words cannot be followed or the pile has no spine or no head.
    """
    pile, said = fold(section)
    spine, head = _spine_and_head(pile)
    edge = spine.edge
    turn = quarter(_QUARTERS_TO_TOP[head])
    for _ in range(_QUARTERS_TO_TOP[head]):
        edge = _AFTER_QUARTER[edge]
    if edge not in ("left", "right"):
        raise CannotFold(f"its head ({head}) and its spine ({spine.edge}) do not stand square to each other")
    over = edge != ("left" if told.reading == "left to right" else "right")
    if over:
        turn = then(turn, mirror_x(0.0))
    pieces = tuple(reversed(pile.pieces)) if not over else pile.pieces  # from the top, as it lies after turning
    outer = box_round(turn, pieces[0].place)
    upright = spine.edge in ("left", "right")
    spine_x = at(turn, spine.at_mm if upright else 0.0, 0.0 if upright else spine.at_mm)[0]
    turn = then(turn, shift(-spine_x, -outer[1]))
    height = outer[3] - outer[1]
    pieces = tuple(Piece(p.paper, then(p.table, turn)) for p in pieces)
    partners = _partners(pieces)
    leaves = tuple(
        Leaf(
            recto=_face(piece, sheet, told, lies_up=True),
            verso=_face(piece, sheet, told, lies_up=False),
            partner=partners[i],
            outside=sum(1 for j, k in enumerate(partners) if k is not None and j < i < k),
        )
        for i, piece in enumerate(pieces)
    )
    foot_mm, head_mm = section.foot_trim_mm, height - section.head_trim_mm
    caliper_mm = told.caliper_mm if sheet.caliper_mm is None else sheet.caliper_mm
    faults = [*said]
    if abs(head_mm - foot_mm - told.trim_mm[1]) > TRIM_MM:
        faults.append(
            f"head and foot trim leave {head_mm - foot_mm:.2f} mm of a leaf {height:.2f} mm high; "
            f"the book is {told.trim_mm[1]:.2f} mm"
        )
    if told.binding == "leaflet":
        faults += _cut_before(leaves, section, told)
    else:
        faults += _hangs(leaves, pieces, section, told.binding)
        faults += _bolts(pieces, leaves, section, told, caliper_mm, (foot_mm, head_mm))
    return Folded(section, sheet.number, leaves, foot_mm, head_mm, caliper_mm, tuple(faults))


def _spine_and_head(pile: Pile) -> tuple[Crease, str]:
    head = pile.section.head
    if not pile.creases:
        raise CannotFold("it has no fold, so it has no spine")
    if head is not None:
        if head not in _OPPOSITE:
            raise CannotFold(f'its head is said to be "{head}", which is no edge')
        across = ("left", "right") if head in ("top", "bottom") else ("top", "bottom")
        for crease in reversed(pile.creases):
            if crease.edge in across:
                return crease, head
        raise CannotFold(f"no fold closes a spine square to its head ({head})")
    spine = pile.creases[-1]
    across = ("top", "bottom") if spine.edge in ("left", "right") else ("left", "right")
    for crease in reversed(pile.creases[:-1]):
        if crease.edge in across:
            return spine, crease.edge
    if spine.edge in ("top", "bottom"):
        raise CannotFold("its only folds are level, so the sheet's own top cannot be its head, and none is named")
    return spine, "top"


def _face(piece: Piece, sheet: Sheet, told: FoldingInstructions, *, lies_up: bool) -> Face:
    """One side of a leaf, seen from that side."""
    seen = piece.table if lies_up else then(piece.table, mirror_x(0.0))
    front = determinant(seen) > 0
    if front:
        plate = IDENTITY
    elif sheet.turn == "side to side":
        plate = mirror_x(sheet.width_mm / 2)
    elif sheet.turn == "head to tail":
        plate = mirror_y(sheet.height_mm / 2)
    else:
        raise CannotFold(f'the sheet is said to turn "{sheet.turn}", which is neither side to side nor head to tail')
    right = (told.reading == "left to right") == lies_up
    return Face(
        side="front" if front else "back",
        outward=1 if right else -1,
        to_side=then(back(seen), plate),
        panel=box_round(seen, piece.paper),
    )


def _partners(pieces: tuple[Piece, ...]) -> list[int | None]:
    """For every leaf the one that it hangs together with across the spine (x = 0)."""
    at_spine: dict[tuple[int, int, int, int], int] = {}
    partners: list[int | None] = [None] * len(pieces)
    for index, piece in enumerate(pieces):
        for edge, outer in _edges(piece):
            if abs(outer[0]) > AGREE_MM or abs(outer[2]) > AGREE_MM:
                continue
            key = _key(edge)
            if key in at_spine:
                other = at_spine.pop(key)
                partners[index], partners[other] = other, index
            else:
                at_spine[key] = index
    return partners


def _edges(piece: Piece) -> list[tuple[Box, Box]]:
    """The four edges of a leaf: on the paper, and on the pile."""
    x0, y0, x1, y1 = piece.paper
    on_paper = [(x0, y0, x1, y0), (x0, y1, x1, y1), (x0, y0, x0, y1), (x1, y0, x1, y1)]
    return [(edge, box_round(piece.table, edge)) for edge in on_paper]


def _key(edge: Box) -> tuple[int, int, int, int]:
    # The odd offset keeps edges that were cut at round figures away from the steps of the rounding.
    a, b, c, d = (round(v * 50 + 0.137) for v in edge)
    return a, b, c, d


def _hangs(leaves: tuple[Leaf, ...], pieces: tuple[Piece, ...], section: Section, binding: str) -> list[str]:
    """What the binding asks of every leaf."""
    out = []
    half = len(leaves) / 2
    for number, (leaf, piece) in enumerate(zip(leaves, pieces, strict=True), 1):
        if binding in ("sewn", "stitched"):
            if leaf.partner is None:
                out.append(
                    f"leaf {number} has no other half across the spine: "
                    "thread and wire do not hold it, and it falls out"
                )
            elif (number - 1 < half) == (leaf.partner < half):
                out.append(f"leaf {number} and its other half lie on the same side of the middle of the section")
        else:
            gap = min(abs(piece.place[0]), abs(piece.place[2]))
            if gap > section.spine_trim_mm + AGREE_MM:
                out.append(f"leaf {number} ends {gap:.2f} mm from the spine, so the glue does not reach it")
    return out


def _cut_before(leaves: tuple[Leaf, ...], section: Section, told: FoldingInstructions) -> list[str]:
    """What is cut before it is folded: no knife comes after, so every leaf is its panel, the widest as wide as told."""
    out = []
    if max(section.head_trim_mm, section.foot_trim_mm, section.spine_trim_mm) > 0:
        out.append("it is to be trimmed after folding, but a leaflet is cut before")
    widest = max(leaf.recto.panel[2] - leaf.recto.panel[0] for leaf in leaves)
    if abs(widest - told.trim_mm[0]) > TRIM_MM:
        out.append(f"its widest leaf is {widest:.2f} mm wide; the leaflet is {told.trim_mm[0]:.2f} mm")
    for number, leaf in enumerate(leaves, 1):
        high = leaf.recto.panel[3] - leaf.recto.panel[1]
        if abs(high - told.trim_mm[1]) > TRIM_MM:
            out.append(f"leaf {number} is {high:.2f} mm high; the leaflet is {told.trim_mm[1]:.2f} mm")
    return out


def _bolts(
    pieces: tuple[Piece, ...],
    leaves: tuple[Leaf, ...],
    section: Section,
    told: FoldingInstructions,
    caliper_mm: float,
    knives: tuple[float, float],
) -> list[str]:
    """Creases that would stay closed, and leaves that do not fill the trim."""
    out = []
    shared: dict[tuple[int, int, int, int], int] = {}
    fore_edge = section.spine_trim_mm + told.trim_mm[0]
    width = told.trim_mm[0]
    for number, (piece, leaf) in enumerate(zip(pieces, leaves, strict=True), 1):
        push = leaf.outside * caliper_mm * told.creep_factor
        x0, y0, x1, y1 = piece.place
        far = max(abs(x0), abs(x1)) + push
        if far < fore_edge - TRIM_MM or y0 > knives[0] + TRIM_MM or y1 < knives[1] - TRIM_MM:
            out.append(f"leaf {number} is smaller than the trim of {width:g} x {told.trim_mm[1]:g} mm")
        for edge, lies in _edges(piece):
            key = _key(edge)
            if key not in shared:
                shared[key] = number
                continue
            at_spine = abs(lies[0]) <= AGREE_MM and abs(lies[2]) <= AGREE_MM
            if at_spine:
                continue
            if lies[2] - lies[0] > AGREE_MM:  # a level crease: head or foot
                name = "head" if lies[1] > sum(knives) / 2 else "foot"
                beyond = lies[1] - knives[1] if name == "head" else knives[0] - lies[1]
            else:
                name = "fore-edge"
                beyond = max(abs(lies[0]), abs(lies[2])) + push - fore_edge
                if abs(lies[0]) < fore_edge / 2:  # closed near the spine, but not on the spine fold
                    name, beyond = "spine", section.spine_trim_mm - abs(lies[0])
            if beyond < BOLT_MM:
                out.append(
                    f"the bolt at the {name} between leaves {shared[key]} and {number} would not be cut open "
                    f"({beyond:.2f} mm beyond the knife)"
                )
    return out


def trim_box(folded: Folded, face: Face, push_mm: float, told: FoldingInstructions) -> Box:
    """The trimmed page on its own leaf, leaf frame: a leaf pushed out is trimmed nearer to its crease."""
    near = folded.section.spine_trim_mm - push_mm
    far = near + told.trim_mm[0]
    low, high = (near, far) if face.outward > 0 else (-far, -near)
    return low, folded.foot_mm, high, folded.foot_mm + told.trim_mm[1]


def beyond_spine(outward: int, box: Box) -> Box:
    """What of a box lies on the leaf's own side of its crease (x = 0)."""
    half = (0.0, -1e9, 1e9, 1e9) if outward > 0 else (-1e9, -1e9, 0.0, 1e9)
    return common(box, half)
