# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a person at the folder sees: after every fold the pages that lie on top and below, and of the folded section its
first page, its last page and the opening in its middle.

All of it comes from the proof: the paper is folded by reflection, as the instructions say, and what stands on it is
what was read from the written file.  Nothing is taken from the plan's places of pages.

*view* frame: mm, lower left corner of the pile, y up, as the pile lies on the table; of what lies below, as it is seen
when the pile is turned over side to side.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

from attrs import frozen

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import FoldingInstructions, Section, Sheet
from foldproof.pdf.proof_affine import IDENTITY, Box, Map, Point, at, box_round, middle, mirror_x, mirror_y, shift, then
from foldproof.prove.folding import CannotFold, Piece, fold
from foldproof.prove.model import PageProof, Proof
from foldproof.prove.reading import Face, read

#: a panel of which less than this part is covered still shows its page (a lip, a leaf that is a little narrower)
_SEEN = 0.5


@frozen
class PageSeen:
    """One page that shows on a pile."""

    page: int | None  #: 1-based page of the PDF that the proof found there; ``None``: nothing is printed
    position: int  #: 0-based place in the book
    box_mm: Box  #: its panel, view frame
    turn: int  #: how far it is turned counter-clockwise, degrees; 0: its head is up


@frozen
class PileSeen:
    """A section before its first fold, or after one of them."""

    fold: int  #: 0 before the first
    words: str  #: of that fold; ``""`` before the first
    size_mm: tuple[float, float]
    top: tuple[PageSeen, ...]  #: as it lies, row by row from the head, from the left
    under: tuple[PageSeen, ...]  #: turned over side to side
    #: the edge that this fold closed, view frame as it lies; ``None`` before the first
    closed_mm: tuple[Point, Point] | None
    #: the line of the next fold, view frame as it lies; ``None`` after the last
    next_mm: tuple[Point, Point] | None


@frozen
class CornerSeen:
    """A page of the folded section, and the corner of it that lies away from spine and head."""

    page: int | None  #: as :attr:`PageSeen.page`
    position: int
    corner: str  #: ``"lower right"`` or ``"lower left"``


@frozen
class SectionSeen:
    """One folded piece of a sheet."""

    id: str
    sheet: int
    piles: tuple[PileSeen, ...]  #: before the first fold, after the first, after the second ...
    front: CornerSeen  #: its first page
    back: CornerSeen  #: its last page
    middle: tuple[CornerSeen, CornerSeen]  #: the two pages that face each other where it opens in its middle


def sections_seen(
    told: FoldingInstructions, proof: Proof, wanted: Collection[str] | None = None
) -> tuple[SectionSeen, ...]:
    """The sections in the order of the sheets.

    Args:
        told: what was folded.
        proof: what was found when it was folded.
        wanted: ids; all when ``None``.

    Raises:
        AskedWrong: the proof is not one of these sheets.
    """
    found: dict[tuple[int, str], list[PageProof]] = defaultdict(list)
    for page in (*proof.pages, *proof.copies):
        found[page.sheet, page.section].append(page)
    return tuple(
        _section(section, sheet, told, sorted(found[sheet.number, section.id], key=lambda page: page.position))
        for sheet in told.sheets
        for section in sheet.sections
        if wanted is None or section.id in wanted
    )


@frozen
class _Panel:
    """One leaf of the flat sheet and what stands on its two sides."""

    paper: Box
    front: tuple[PageProof, Map]  #: page, and its leaf frame → paper frame
    back: tuple[PageProof, Map]


def _section(section: Section, sheet: Sheet, told: FoldingInstructions, pages: Sequence[PageProof]) -> SectionSeen:
    try:
        pile, _ = fold(section)
        leaves = read(section, sheet, told).leaves
    except CannotFold as stuck:
        raise AskedWrong(f"Section {section.id} on sheet {sheet.number} cannot be folded: {stuck}.") from stuck
    faces = [face for leaf in leaves for face in (leaf.recto, leaf.verso)]
    if len(faces) != len(pages):
        raise AskedWrong(
            f"The proof tells of {len(pages)} pages of section {section.id} on sheet {sheet.number}, which has"
            f" {len(faces)}; prove these sheets again."
        )
    panels = _panels([piece.paper for piece in pile.pieces], faces, pages, sheet)
    piles = []
    for number, state in enumerate(pile.states):
        made = pile.creases[number - 1] if number else None
        coming = pile.creases[number] if number < len(pile.creases) else None
        outer = _round(state)
        piles.append(
            PileSeen(
                fold=number,
                words=section.folds[number - 1].words if number else "",
                size_mm=(outer[2] - outer[0], outer[3] - outer[1]),
                top=_visible(state, panels, outer, above=True),
                under=_visible(state, panels, outer, above=False),
                closed_mm=_line(made.edge, made.at_mm, outer) if made else None,
                next_mm=_line(coming.edge, coming.at_mm, outer) if coming else None,
            )
        )
    opening = 2 * ((len(leaves) - 1) // 2) + 1
    corners = [_corner(face, page) for face, page in zip(faces, pages, strict=True)]
    return SectionSeen(
        section.id, sheet.number, tuple(piles), corners[0], corners[-1], (corners[opening], corners[opening + 1])
    )


def _corner(face: Face, page: PageProof) -> CornerSeen:
    """A page at the right of its spine has its outer corner at the right."""
    return CornerSeen(page.found, page.position, "lower right" if face.outward > 0 else "lower left")


def _panels(
    papers: Sequence[Box], faces: Sequence[Face], pages: Sequence[PageProof], sheet: Sheet
) -> tuple[_Panel, ...]:
    """What stands on the two sides of every leaf of the flat sheet (paper frame)."""
    on: dict[tuple[int, str], tuple[PageProof, Map]] = {}
    for face, page in zip(faces, pages, strict=True):
        to_paper = then(face.to_side, _plate(face, sheet))
        x, y = at(to_paper, *middle(face.panel))
        nearest = min(range(len(papers)), key=lambda n: _far(middle(papers[n]), (x, y)))
        on[nearest, face.side] = page, to_paper
    return tuple(_Panel(paper, on[n, "front"], on[n, "back"]) for n, paper in enumerate(papers))


def _plate(face: Face, sheet: Sheet) -> Map:
    """Side frame → paper frame: the back is drawn as its plate prints it."""
    if face.side == "front":
        return IDENTITY
    return mirror_x(sheet.width_mm / 2) if sheet.turn == "side to side" else mirror_y(sheet.height_mm / 2)


def _far(one: Point, other: Point) -> float:
    return (one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2


def _round(state: Sequence[Piece]) -> Box:
    places = [piece.place for piece in state]
    return (
        min(place[0] for place in places),
        min(place[1] for place in places),
        max(place[2] for place in places),
        max(place[3] for place in places),
    )


def _visible(state: Sequence[Piece], panels: Sequence[_Panel], outer: Box, *, above: bool) -> tuple[PageSeen, ...]:
    """The pages that lie uppermost, seen from above, or lowermost, seen from below."""
    view = shift(-outer[0], -outer[1])
    if not above:
        view = then(view, mirror_x((outer[2] - outer[0]) / 2))
    seen: list[PageSeen] = []
    for piece in reversed(state) if above else state:
        table = then(piece.table, view)
        for panel in panels:
            x, y = middle(panel.paper)
            if not (piece.paper[0] < x < piece.paper[2] and piece.paper[1] < y < piece.paper[3]):
                continue
            box = box_round(table, panel.paper)
            if any(_covered(box, other.box_mm) > _SEEN for other in seen):
                continue
            page, to_paper = panel.front if piece.front_up is above else panel.back
            seen.append(PageSeen(page.found, page.position, box, _turn(then(to_paper, table))))
    return tuple(sorted(seen, key=lambda one: (-round(one.box_mm[3], 1), round(one.box_mm[0], 1))))


def _covered(box: Box, by: Box) -> float:
    """Which part of a box another one covers."""
    wide = min(box[2], by[2]) - max(box[0], by[0])
    high = min(box[3], by[3]) - max(box[1], by[1])
    return max(wide, 0.0) * max(high, 0.0) / ((box[2] - box[0]) * (box[3] - box[1]))


def _turn(to_view: Map) -> int:
    """Where the head of a page points, by quarters counter-clockwise from up."""
    right, up = to_view[2], to_view[3]
    if abs(up) >= abs(right):
        return 0 if up > 0 else 180
    return 90 if right < 0 else 270


def _line(edge: str, at_mm: float, outer: Box) -> tuple[Point, Point]:
    """A crease right across the pile, view frame."""
    wide, high = outer[2] - outer[0], outer[3] - outer[1]
    if edge in ("left", "right"):
        x = at_mm - outer[0]
        return (x, 0.0), (x, high)
    y = at_mm - outer[1]
    return (0.0, y), (wide, y)
