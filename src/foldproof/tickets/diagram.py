# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a plan to drawings of its sheets: rectangles, lines and words, for whoever draws them.

Everything is in the *side* frame in mm: one printed side as its plate prints it, lower left of the sheet, y up, its
gripper edge at the bottom.  The folding instructions speak in the frame of the front; :func:`_on_back` turns the sheet.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.makeup.instructions import Section, Sheet
from foldproof.makeup.plan import PagePlace, Plan, SheetKind, Side
from foldproof.units import pt_to_mm

Point = tuple[float, float]

#: the scheme lies turned counter-clockwise on the sheet: the piece is turned back before it is folded
TURN_BACK = {
    0: "",
    90: "Before folding, turn the piece a quarter clockwise.",
    180: "Before folding, turn the piece half round.",
    270: "Before folding, turn the piece a quarter counter-clockwise.",
}


@frozen
class PageBox:
    """The trim of one page."""

    page: int | None  #: 1-based PDF page, ``None`` for a blank
    position: int  #: 0-based place in the book
    rect_mm: Rect
    turn: int  #: counter-clockwise, degrees
    section: str
    folio: str = ""  #: printed folio, as it is to stand beside the PDF page; ``""`` where it has none or is the same

    @property
    def label(self) -> str:
        return "blank" if self.page is None else str(self.page)


@frozen
class FoldLine:
    """A crease with the number of its fold in its section."""

    number: int  #: 1-based
    words: str
    section: str
    start_mm: Point
    end_mm: Point
    #: where its number stands: half a panel from the start, so that it never meets a crossing of creases
    label_mm: Point


@frozen
class PieceBox:
    """One folded piece before folding."""

    id: str
    rect_mm: Rect
    turned: int  #: its scheme lies turned on the sheet so far counter-clockwise, degrees
    turned_over: bool = False  #: it is turned over, side to side, before it is folded
    copy_of: str | None = None  #: the section that it is printed again of


@frozen
class SideDrawing:
    """One printed side."""

    side: Side
    width_mm: float
    height_mm: float
    gripper_mm: float
    #: ``"left"`` or ``"right"``: one edge of the paper, so it changes over when the sheet turns side to side
    lay: str
    pages: tuple[PageBox, ...]
    pieces: tuple[PieceBox, ...]
    folds: tuple[FoldLine, ...]
    slits_mm: tuple[tuple[Point, Point], ...]


@frozen
class SheetDrawing:
    """One sheet as an example of its kind."""

    kind: SheetKind
    number: int
    turn: str
    front: SideDrawing
    back: SideDrawing

    @property
    def sides(self) -> tuple[SideDrawing, SideDrawing]:
        return self.front, self.back


@frozen
class PieceCheck:
    """What a folder sees when a piece is folded right: book positions, 0-based."""

    section: str
    outside: tuple[int, int]  #: the first and the last page of the piece
    middle: tuple[int, int]  #: the two pages that face each other where it opens in the middle


def drawings(plan: Plan, most: int = 8, folios: Sequence[str] = ()) -> tuple[SheetDrawing, ...]:
    """The first sheet of each kind, at most ``most`` of them.

    Args:
        folios: printed folio of every page of the manuscript in order, ``""`` where it bears none.
    """
    standing: dict[tuple[int, Side], list[PagePlace]] = defaultdict(list)
    wanted = {kind.sheets[0] for kind in plan.kinds[:most] if kind.sheets}
    for place in (*plan.places, *plan.again):
        if place.sheet in wanted:
            standing[place.sheet, place.side].append(place)
    sheets = {sheet.number: sheet for sheet in plan.instructions.sheets}
    return tuple(
        SheetDrawing(
            kind=kind,
            number=number,
            turn=sheets[number].turn,
            front=_side(plan, sheets[number], Side.FRONT, standing[number, Side.FRONT], folios),
            back=_side(plan, sheets[number], Side.BACK, standing[number, Side.BACK], folios),
        )
        for kind in plan.kinds[:most]
        for number in kind.sheets[:1]
    )


def checks(plan: Plan) -> dict[str, PieceCheck]:
    """What shows on each folded piece by its id: lowest and highest page outside, the middle opening inside.

    A piece's pages run on from its first to its last, save that a piece with others set in it leaves out theirs: the
    folded piece alone opens in its own middle all the same.
    """
    positions: dict[str, list[int]] = defaultdict(list)
    for place in (*plan.places, *plan.again):
        positions[place.section].append(place.position)
    found = {}
    for section, numbers in positions.items():
        numbers.sort()
        half = len(numbers) // 2
        found[section] = PieceCheck(section, (numbers[0], numbers[-1]), (numbers[half - 1], numbers[half]))
    return found


def folio_of(folios: Sequence[str], page: int | None) -> str:
    """Printed folio of a page (0-based), where it differs from the number of the page in the PDF."""
    said = folios[page].strip() if page is not None and page < len(folios) else ""
    return "" if page is None or said == str(page + 1) else said


def _side(plan: Plan, sheet: Sheet, side: Side, places: list[PagePlace], folios: Sequence[str]) -> SideDrawing:
    seen: Callable[[Point], Point] = (lambda p: p) if side is Side.FRONT else _on_back(sheet)
    scale = pt_to_mm(1)
    boxes = tuple(
        PageBox(
            page=None if place.page is None else place.page + 1,
            position=place.position,
            rect_mm=place.trim_pt.scaled(scale),
            turn=_turn(place),
            section=place.section,
            folio=folio_of(folios, place.page),
        )
        for place in places
    )
    pieces, folds = [], []
    for section in sheet.sections:
        x0, y0, x1, y1 = section.rect_mm
        rect = Rect.from_corners(*seen((x0, y0)), *seen((x1, y1)))
        pieces.append(PieceBox(section.id, rect, section.turned, section.turned_over, section.copy_of))
        for number, fold in enumerate(section.folds, 1):
            start, end = fold.line_mm
            label = _label(section, start, end)
            folds.append(FoldLine(number, fold.words, section.id, seen(start), seen(end), seen(label)))
    press = plan.run_of(sheet.number).press if plan.runs else plan.press
    lay = press.lay
    if side is Side.BACK and sheet.turn == "side to side":
        lay = "left" if lay == "right" else "right"
    return SideDrawing(
        side=side,
        width_mm=sheet.width_mm,
        height_mm=sheet.height_mm,
        gripper_mm=press.gripper_mm,
        lay=lay,
        pages=boxes,
        pieces=tuple(pieces),
        folds=tuple(folds),
        slits_mm=tuple((seen(a), seen(b)) for a, b in sheet.slits_mm),
    )


def _label(section: Section, start: Point, end: Point) -> Point:
    """Half a panel along the line from its start (front frame)."""
    upright = abs(end[0] - start[0]) < abs(end[1] - start[1])
    along = section.row_mm if upright is (section.turned in (0, 180)) else section.column_mm
    length = abs(end[1] - start[1]) if upright else abs(end[0] - start[0])
    share = min(0.5, along[0] / 2 / length) if length else 0.0
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _on_back(sheet: Sheet) -> Callable[[Point], Point]:
    """Front frame to back frame: the sheet turned about its upright axis, or about its level one."""
    if sheet.turn == "head to tail":
        return lambda p: (p[0], sheet.height_mm - p[1])
    return lambda p: (sheet.width_mm - p[0], p[1])


def _turn(place: PagePlace) -> int:
    """Quarter turns counter-clockwise, in degrees, from the place's matrix."""
    a, b = place.matrix.a, place.matrix.b
    if abs(a) >= abs(b):
        return 0 if a > 0 else 180
    return 90 if b > 0 else 270
