# SPDX-License-Identifier: AGPL-3.0-or-later
"""From sheets to a book block: sheets slit, sections folded, set one in another, gathered, pushed out, trimmed.

The result is the book from its first face to its last, each with the place on its sheet where it was printed; and after
it, place for place, what the sheets carry of the same sections again for other copies of the book.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from attrs import evolve

from foldproof.makeup.instructions import Collation, FoldingInstructions, Section
from foldproof.prove.book import Bar, Book, Place, Trouble, parts_of
from foldproof.prove.folding import CannotFold
from foldproof.prove.laying import laid_page
from foldproof.prove.reading import Face, Folded, Leaf, read, trim_box
from foldproof.prove.slitting import cutting

#: parts of a collation mark, and the gaps between them, that are shorter cannot be told apart
TOLD_APART_MM = 0.5


def bind(told: FoldingInstructions) -> Book:
    """Do what the bindery is told."""
    troubles: list[Trouble] = list(_general(told))
    folded, sections, said = _all_folded(told)
    troubles += said + _all_gathered(told, sections)
    of, said = _copies(sections)
    troubles += said
    places: list[Place | None] = []
    bars: list[Bar] = []
    for number, unit in enumerate(told.gathering):
        known = [name for name in unit if name in sections]
        first = len(places)
        if any(folded[name] is None for name in known):
            places += [None] * sum(2 * _panels(sections[name]) for name in known)
            continue
        pieces = [piece for name in known if (piece := folded[name]) is not None]
        places += _nested(pieces, number, first, told)
        if told.collation and pieces:
            bars += _bar(places[first], places[-1], number, told.collation, pieces[0])
    length = len(places)
    for number, unit in enumerate(told.gathering):
        for nth in range(max((len(of[name]) for name in unit), default=0)):
            again = _again(unit, nth, number, len(places), places[:length], folded, of, told)
            places += again
            if told.collation and again and nth < len(of[unit[0]]):
                outermost = folded[of[unit[0]][nth]]
                own = [place for place in again if place.section == of[unit[0]][nth]]
                bars += _bar(own[0], own[-1], number, told.collation, outermost) if own and outermost else []
    troubles += _pushed(places, told) + _untold(told)
    return Book(tuple(places), tuple(bars), tuple(troubles), length)


def _panels(section: Section) -> int:
    return section.columns * section.rows


def _all_folded(told: FoldingInstructions) -> tuple[dict[str, Folded | None], dict[str, Section], list[Trouble]]:
    """Every section of every sheet, slit and folded, by id; ``None`` where it cannot be."""
    troubles: list[Trouble] = []
    folded: dict[str, Folded | None] = {}
    sections: dict[str, Section] = {}
    for sheet in told.sheets:
        troubles += cutting(sheet, told.binding)
        for section in sheet.sections:
            here = f"Section {section.id} on sheet {sheet.number}"
            if section.id in sections:
                troubles.append(Trouble(f"Two sections are called {section.id}.", sheet.number, section.id))
            sections[section.id] = section
            folded[section.id] = None
            try:
                done = read(section, sheet, told)
            except CannotFold as stuck:
                troubles.append(Trouble(f"{here} cannot be folded: {stuck}.", sheet.number, section.id))
                continue
            folded[section.id] = done
            if told.binding in ("sewn", "stitched") and section.spine_trim_mm > 0:
                says = (
                    f"{here} is to lose {section.spine_trim_mm:.2f} mm at the spine: "
                    f"a {told.binding} book would lose its folds."
                )
                troubles.append(Trouble(says, sheet.number, section.id))
            troubles += [Trouble(f"{here}: {clause}.", sheet.number, section.id) for clause in done.faults]
    return folded, sections, troubles


def _general(told: FoldingInstructions) -> list[Trouble]:
    out = []
    if told.reading not in ("left to right", "right to left"):
        out.append(
            Trouble(f'The reading is said to be "{told.reading}", which is neither left to right nor right to left.')
        )
    if told.binding not in ("sewn", "glued", "stitched", "leaflet"):
        says = f'The binding is said to be "{told.binding}", which is neither sewn, glued, stitched nor a leaflet.'
        out.append(Trouble(says))
    if told.creep_by not in ("shift", "scale"):
        says = f'Push-out is said to be answered by "{told.creep_by}", which is neither shift nor scale.'
        out.append(Trouble(says))
    if told.binding == "stitched" and len(told.gathering) > 1:
        out.append(
            Trouble(
                "A stitched book is one pile of sheets set one in another; "
                f"{len(told.gathering)} piles are to be gathered."
            )
        )
    if told.binding == "leaflet" and len(told.gathering) > 1:
        out.append(
            Trouble(f"A leaflet is bound by nothing, so {len(told.gathering)} piles cannot be gathered into one.")
        )
    if [sheet.number for sheet in told.sheets] != list(range(1, len(told.sheets) + 1)):
        out.append(Trouble("The sheets are not numbered 1, 2, 3 and so on."))
    return out


def _all_gathered(told: FoldingInstructions, sections: dict[str, Section]) -> list[Trouble]:
    out = []
    seen: set[str] = set()
    for name in (name for unit in told.gathering for name in unit):
        if name not in sections:
            out.append(Trouble(f"Section {name} is to be gathered, but no sheet carries it.", None, name))
        elif name in seen:
            out.append(Trouble(f"Section {name} is to be gathered twice.", None, name))
        elif sections[name].copy_of is not None:
            says = f"Section {name} is to be gathered, but is said to be a copy of {sections[name].copy_of}."
            out.append(Trouble(says, None, name))
        seen.add(name)
    return out + [
        Trouble(f"Section {name} is folded but not gathered.", None, name)
        for name, section in sections.items()
        if name not in seen and section.copy_of is None
    ]


# --- other copies of the book ---


def _copies(sections: dict[str, Section]) -> tuple[dict[str, list[str]], list[Trouble]]:
    """The copies of every section in the order of the sheets, and those that can be none."""
    of: dict[str, list[str]] = defaultdict(list)
    out = []
    for name, section in sections.items():
        if section.copy_of is None:
            continue
        first = sections.get(section.copy_of)
        here = f"Section {name} is said to be a copy of {section.copy_of}, "
        if first is None:
            out.append(Trouble(f"{here}which no sheet carries.", None, name))
        elif first.copy_of is not None:
            out.append(Trouble(f"{here}which is no first copy itself.", None, name))
        elif _panels(first) != _panels(section):
            says = f"{here}but has {_panels(section)} leaves, and that has {_panels(first)}."
            out.append(Trouble(says, None, name))
        else:
            of[first.id].append(name)
    return of, out


def _again(
    unit: Sequence[str],
    nth: int,
    number: int,
    first: int,
    book: Sequence[Place | None],
    folded: dict[str, Folded | None],
    of: dict[str, list[str]],
    told: FoldingInstructions,
) -> list[Place]:
    """A unit made up of its ``nth`` copies, and of first copies where there are none; only the places of the former.

    Args:
        first: position to begin with.
        book: the places of the book itself, among which are the twins of these.
    """
    names = [of[name][nth] if nth < len(of[name]) else name for name in unit]
    pieces = [piece for name in names if (piece := folded.get(name)) is not None]
    twins = [place for place in book if place and place.unit == number]
    if len(pieces) < len(unit) or not twins:
        return []  # what cannot be folded is told already
    out: list[Place] = []
    for place, twin in zip(_nested(pieces, number, 0, told), twins, strict=True):
        if place.section not in unit:
            out.append(evolve(place, position=first + len(out), twin=twin.position))
    return out


# --- setting and gathering ---


def _nested(pieces: list[Folded], unit: int, first: int, told: FoldingInstructions) -> list[Place]:
    """The faces of one unit in reading order: first halves from the outermost inwards, second halves outwards again."""
    front: list[tuple[Folded, Leaf, float]] = []
    rear: list[tuple[Folded, Leaf, float]] = []
    round_mm = (
        0.0  # thickness, on one side of the spine, of the sections that lie round this one: each of its own stock
    )
    for depth, piece in enumerate(pieces):
        count = len(piece.leaves)
        # A leaf of a section without others inside it needs no middle; one that is opened does.
        half = count // 2 if depth < len(pieces) - 1 else count
        leaves = [(piece, leaf, round_mm + leaf.outside * piece.caliper_mm) for leaf in piece.leaves]
        front += leaves[:half]
        rear = leaves[half:] + rear
        pairs = sum(1 for i, leaf in enumerate(piece.leaves) if leaf.partner is not None and i < leaf.partner)
        round_mm += pairs * piece.caliper_mm
    # What is cut before folding is cut nowhere else for being pushed out.
    factor = 0.0 if told.binding == "leaflet" else told.creep_factor
    out: list[Place] = []
    for piece, leaf, outside_mm in front + rear:
        for face in (leaf.recto, leaf.verso):
            out.append(_place(leaf, face, piece, outside_mm * factor, unit, first + len(out), told))
    return out


def _place(
    leaf: Leaf, face: Face, piece: Folded, push_mm: float, unit: int, position: int, told: FoldingInstructions
) -> Place:
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
        lays=laid_page(piece, leaf, face, push_mm, told),
    )


def _pushed(places: Sequence[Place | None], told: FoldingInstructions) -> list[Trouble]:
    """Sections of which a leaf would be pushed out by half its width: a slip in a thickness."""
    worst: dict[str, Place] = {}
    for place in places:
        if place and place.push_mm > told.trim_mm[0] / 2:
            worst[place.section] = max(place, worst.get(place.section, place), key=lambda p: p.push_mm)
    return [
        Trouble(
            f"A leaf of section {name} on sheet {place.sheet} would be pushed out by {place.push_mm:.2f} mm, "
            f"more than half the width of the book.",
            place.sheet,
            name,
        )
        for name, place in worst.items()
    ]


# --- collation marks ---


def _bar(first: Place | None, last: Place | None, unit: int, mark: Collation, outermost: Folded) -> list[Bar]:
    """The mark's place on the outside of a unit; none where the outermost leaf hangs in no spine fold."""
    if first is None or last is None or outermost.leaves[0].partner is None:
        return []
    run, step = divmod(unit, mark.steps) if mark.steps > 0 else (0, 0)
    top = outermost.head_mm - mark.first_mm - step * mark.step_mm
    half = mark.width_mm / 2
    box = (-half, top - mark.length_mm, half, top)
    return [Bar(unit, step, run, first.sheet, first.side, first.position, last.position, box)]


def _untold(told: FoldingInstructions) -> list[Trouble]:
    """A mark that goes through its steps so often that its parts run together."""
    mark = told.collation
    if mark is None or mark.steps < 1 or len(told.gathering) <= mark.steps:
        return []
    run = (len(told.gathering) - 1) // mark.steps
    part = parts_of((0.0, 0.0, mark.width_mm, mark.length_mm), run, mark)[0]
    if min(part[3] - part[1], mark.gap_mm) >= TOLD_APART_MM:
        return []
    says = (
        f"In row {run + 1} the collation mark would be {run + 1} parts of {max(part[3] - part[1], 0.0):.2f} mm with "
        f"gaps of {mark.gap_mm:.2f} mm, which nobody can tell apart."
    )
    return [Trouble(says)]
