# SPDX-License-Identifier: AGPL-3.0-or-later
"""From sheets to a book block: sheets slit, sections folded, set one in another, gathered, pushed out, trimmed.

The result is the book from its first face to its last, each with the place on its sheet where it was printed.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.makeup.instructions import Collation, FoldingInstructions, Sheet
from foldproof.pdf.proof_affine import Box, Map, Point, box_round, middle
from foldproof.prove.folding import CannotFold
from foldproof.prove.reading import Face, Folded, beyond_spine, read, trim_box

#: how far an edge may be from the edge that it should lie on
EDGE_MM = 0.05


@frozen
class Place:
    """One page of the folded book: where it was printed, and what the knives leave."""

    position: int  #: 0-based
    sheet: int
    side: str  #: ``"front"`` or ``"back"``
    section: str
    unit: int  #: 0-based entry of the gathering
    outward: int
    to_side: Map  #: leaf frame, mm → side frame, mm
    trim: Box  #: leaf frame, mm; may reach past the crease (x = 0) by the push-out
    panel: Box  #: leaf frame, mm: the leaf's own paper
    push_mm: float

    @property
    def centre(self) -> Point:
        """Where the centre of the page belongs, leaf frame."""
        return middle(self.trim)

    @property
    def seen(self) -> Box:
        """The trimmed leaf, as far as it lies on this side of the crease, leaf frame."""
        return beyond_spine(self.outward, self.trim)

    @property
    def on_side(self) -> Box:
        """The same, side frame, mm."""
        return box_round(self.to_side, self.seen)


@frozen
class Bar:
    """Where the collation mark of a gathered unit belongs: on the back of the fold, half on either page."""

    unit: int
    step: int
    sheet: int
    side: str
    position: int  #: the unit's first page, on which half of it lies
    last: int  #: the unit's last page, on which the other half lies
    box: Box  #: leaf frame of the first page, mm


@frozen
class Trouble:
    """A fault of the instructions."""

    says: str
    sheet: int | None = None
    section: str | None = None


@frozen
class Book:
    """The folded book."""

    #: by position; ``None`` where a section could not be folded
    places: tuple[Place | None, ...]
    bars: tuple[Bar, ...]
    troubles: tuple[Trouble, ...]


def bind(told: FoldingInstructions) -> Book:
    """Do what the bindery is told."""
    troubles: list[Trouble] = list(_general(told))
    folded: dict[str, Folded | None] = {}
    sizes: dict[str, int] = {}
    for sheet in told.sheets:
        troubles += _cutting(sheet)
        for section in sheet.sections:
            if section.id in sizes:
                troubles.append(Trouble(f"Two sections are called {section.id}.", sheet.number, section.id))
            sizes[section.id] = section.columns * section.rows
            try:
                done = read(section, sheet, told)
            except CannotFold as stuck:
                folded[section.id] = None
                troubles.append(
                    Trouble(
                        f"Section {section.id} on sheet {sheet.number} cannot be folded: {stuck}.",
                        sheet.number,
                        section.id,
                    )
                )
                continue
            folded[section.id] = done
            if told.binding in ("sewn", "stitched") and section.spine_trim_mm > 0:
                troubles.append(
                    Trouble(
                        f"Section {section.id} on sheet {sheet.number} is to lose {section.spine_trim_mm:.2f} mm at "
                        f"the spine: a {told.binding} book would lose its folds.",
                        sheet.number,
                        section.id,
                    )
                )
            troubles += [
                Trouble(f"Section {section.id} on sheet {sheet.number}: {clause}.", sheet.number, section.id)
                for clause in done.faults
            ]
    troubles += _all_gathered(told, sizes)
    places: list[Place | None] = []
    bars: list[Bar] = []
    for number, unit in enumerate(told.gathering):
        known = [name for name in unit if name in sizes]
        first = len(places)
        if any(folded[name] is None for name in known):
            places += [None] * sum(2 * sizes[name] for name in known)
            continue
        pieces = [piece for name in known if (piece := folded[name]) is not None]
        places += _nested(pieces, number, first, told)
        if told.collation and pieces:
            bar = _bar(places[first], places[-1], number, told.collation, pieces[0])
            if bar:
                bars.append(bar)
    return Book(tuple(places), tuple(bars), tuple(troubles))


def _general(told: FoldingInstructions) -> list[Trouble]:
    out = []
    if told.reading not in ("left to right", "right to left"):
        out.append(
            Trouble(f'The reading is said to be "{told.reading}", which is neither left to right nor right to left.')
        )
    if told.binding not in ("sewn", "glued", "stitched"):
        out.append(Trouble(f'The binding is said to be "{told.binding}", which is neither sewn, glued nor stitched.'))
    if told.binding == "stitched" and len(told.gathering) > 1:
        out.append(
            Trouble(
                "A stitched book is one pile of sheets set one in another; "
                f"{len(told.gathering)} piles are to be gathered."
            )
        )
    if [sheet.number for sheet in told.sheets] != list(range(1, len(told.sheets) + 1)):
        out.append(Trouble("The sheets are not numbered 1, 2, 3 and so on."))
    return out


def _all_gathered(told: FoldingInstructions, sizes: dict[str, int]) -> list[Trouble]:
    out = []
    seen: set[str] = set()
    for name in (name for unit in told.gathering for name in unit):
        if name not in sizes:
            out.append(Trouble(f"Section {name} is to be gathered, but no sheet carries it.", None, name))
        elif name in seen:
            out.append(Trouble(f"Section {name} is to be gathered twice.", None, name))
        seen.add(name)
    out += [Trouble(f"Section {name} is folded but not gathered.", None, name) for name in sizes if name not in seen]
    return out


# --- the knife before folding ---


def _cutting(sheet: Sheet) -> list[Trouble]:
    """Slit the sheet and see whether every section comes out by itself."""
    out: list[Trouble] = []
    whole: Box = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    boxes = {s.id: s.rect_mm for s in sheet.sections}
    for section in sheet.sections:
        x0, y0, x1, y1 = section.rect_mm
        if x0 >= x1 or y0 >= y1 or min(x0, y0) < -EDGE_MM or x1 > whole[2] + EDGE_MM or y1 > whole[3] + EDGE_MM:
            out.append(
                Trouble(f"Section {section.id} does not lie inside sheet {sheet.number}.", sheet.number, section.id)
            )
    for slit in sheet.slits_mm:
        (ax, ay), (bx, by) = slit
        level, upright = abs(ay - by) < EDGE_MM, abs(ax - bx) < EDGE_MM
        if level == upright:
            out.append(Trouble(f"A slit of sheet {sheet.number} is neither level nor upright.", sheet.number))
            continue
        for section in sheet.sections:
            if _crosses(slit, boxes[section.id], upright):
                out.append(
                    Trouble(
                        f"A slit of sheet {sheet.number} cuts through piece {section.id}.", sheet.number, section.id
                    )
                )
    parts = _slit([whole], sheet)
    names = list(boxes)
    for name in names:
        out += _beside(name, boxes[name], parts, sheet)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            a, b = boxes[one], boxes[other]
            if a[0] < b[2] - EDGE_MM and b[0] < a[2] - EDGE_MM and a[1] < b[3] - EDGE_MM and b[1] < a[3] - EDGE_MM:
                out.append(Trouble(f"Sections {one} and {other} overlap on sheet {sheet.number}.", sheet.number, one))
            elif _part_of(parts, a) == _part_of(parts, b):
                out.append(
                    Trouble(f"No slit parts sections {one} and {other} on sheet {sheet.number}.", sheet.number, one)
                )
    return out


def _beside(name: str, box: Box, parts: list[Box], sheet: Sheet) -> list[Trouble]:
    """A slit that leaves more on a section than its folds reckon with; what no slit cuts is the sheet's own edge."""
    part = _part_of(parts, box)
    if part < 0:
        return []
    edges = (0.0, 0.0, sheet.width_mm, sheet.height_mm)
    more = max(
        (
            abs(lies - asked)
            for lies, asked, edge, way in zip(parts[part], box, edges, (-1, -1, 1, 1), strict=True)
            if abs(lies - edge) > EDGE_MM and (lies - asked) * way > 0
        ),
        default=0.0,
    )
    if more <= EDGE_MM:
        return []
    says = f"A slit of sheet {sheet.number} leaves {more:.2f} mm more on piece {name} than belongs to it."
    return [Trouble(says, sheet.number, name)]


def _crosses(slit: tuple[Point, Point], box: Box, upright: bool) -> bool:
    axis = 0 if upright else 1
    at = slit[0][axis]
    low, high = sorted((slit[0][1 - axis], slit[1][1 - axis]))
    inside = box[axis] + EDGE_MM < at < box[axis + 2] - EDGE_MM
    return inside and low < box[3 - axis] - EDGE_MM and high > box[1 - axis] + EDGE_MM


def _slit(parts: list[Box], sheet: Sheet) -> list[Box]:
    """Cut along every slit that runs right through a part, until none does."""
    changed = True
    while changed:
        changed = False
        for slit in sheet.slits_mm:
            axis = 0 if abs(slit[0][0] - slit[1][0]) < EDGE_MM else 1
            at = slit[0][axis]
            low, high = sorted((slit[0][1 - axis], slit[1][1 - axis]))
            for index, part in enumerate(parts):
                through = low <= part[1 - axis] + EDGE_MM and high >= part[3 - axis] - EDGE_MM
                if through and part[axis] + EDGE_MM < at < part[axis + 2] - EDGE_MM:
                    one, other = list(part), list(part)
                    one[axis + 2] = other[axis] = at
                    parts[index : index + 1] = [(*one,), (*other,)]  # type: ignore[list-item]
                    changed = True
                    break
    return parts


def _part_of(parts: list[Box], box: Box) -> int:
    x, y = middle(box)
    for index, part in enumerate(parts):
        if part[0] <= x <= part[2] and part[1] <= y <= part[3]:
            return index
    return -1


# --- setting and gathering ---


def _nested(pieces: list[Folded], unit: int, first: int, told: FoldingInstructions) -> list[Place]:
    """The faces of one unit in reading order: first halves from the outermost inwards, second halves outwards again."""
    front: list[tuple[Folded, int, int]] = []
    rear: list[tuple[Folded, int, int]] = []
    round_it = 0
    for depth, piece in enumerate(pieces):
        count = len(piece.leaves)
        # A leaf of a section without others inside it needs no middle; one that is opened does.
        half = count // 2 if depth < len(pieces) - 1 else count
        leaves = [(piece, i, round_it + leaf.outside) for i, leaf in enumerate(piece.leaves)]
        front += leaves[:half]
        rear = leaves[half:] + rear
        round_it += sum(1 for i, leaf in enumerate(piece.leaves) if leaf.partner is not None and i < leaf.partner)
    out: list[Place] = []
    for piece, index, outside in front + rear:
        leaf = piece.leaves[index]
        push_mm = outside * told.caliper_mm * told.creep_factor
        for face in (leaf.recto, leaf.verso):
            out.append(_place(face, piece, push_mm, unit, first + len(out), told))
    return out


def _place(face: Face, piece: Folded, push_mm: float, unit: int, position: int, told: FoldingInstructions) -> Place:
    return Place(
        position=position,
        sheet=piece.sheet,
        side=face.side,
        section=piece.section.id,
        unit=unit,
        outward=face.outward,
        to_side=face.to_side,
        trim=trim_box(piece, face, push_mm, told),
        panel=face.panel,
        push_mm=push_mm,
    )


def _bar(first: Place | None, last: Place | None, unit: int, mark: Collation, outermost: Folded) -> Bar | None:
    """The mark's place on the outside of a unit; none where the outermost leaf hangs in no spine fold."""
    if first is None or last is None or outermost.leaves[0].partner is None:
        return None
    step = unit % mark.steps if mark.steps > 0 else 0
    top = outermost.head_mm - mark.first_mm - step * mark.step_mm
    half = mark.width_mm / 2
    return Bar(
        unit, step, first.sheet, first.side, first.position, last.position, (-half, top - mark.length_mm, half, top)
    )
