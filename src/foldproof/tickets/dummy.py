# SPDX-License-Identifier: AGPL-3.0-or-later
"""dummy.pdf: small sheets of office paper to cut out and fold, one of each kind, to be held beside the printed sheet.

Frames, mm: *side*: as in :mod:`foldproof.tickets.diagram`; *paper*: the page of dummy.pdf, lower left at the origin, y
up.  The paper stands upright always and turns over its long edge, so what lies at ``x`` on the front lies at its width
less ``x`` on the back, whatever way the press sheet itself turns: only then leaf lies behind leaf when it is folded.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from attrs import frozen

from foldproof.errors import OurFault
from foldproof.files import write_bytes
from foldproof.geometry import Matrix, Rect
from foldproof.makeup.plan import Plan
from foldproof.tickets.diagram import FoldLine, PageBox, PieceBox, SheetDrawing, SideDrawing, drawings
from foldproof.tickets.typeset import pdf
from foldproof.units import format_size_mm

Point = tuple[float, float]

#: office paper, upright (ISO 216), the smaller first
PAPERS_MM = (("A4", (210.0, 297.0)), ("A3", (297.0, 420.0)))
#: scales tried, 1 to so many; 1:4 folds well by hand, and below 1:20 no figure can be read
SCALES = range(4, 21)
#: what an office printer leaves white at the edge of its paper
_WHITE_MM = 5.0
#: beside the outline for the words of the lay, above and below it for the words of the page
_BESIDE_MM = 3.5
_STRIP_MM = 6.5
#: of this, left white towards the words of the lay
_APART_MM = 1.0
#: a page of the dummy on which everything can be drawn in full size
_FULL_MM = (25.0, 32.0)
_MM_PER_PT = 0.3528


@frozen
class Fitted:
    """Paper and scale of one kind of sheet, and the way from its sides to the paper."""

    paper: str
    size_mm: tuple[float, float]
    scale: int  #: 1 to so many
    lies: int  #: quarter turns counter-clockwise of the front on the paper
    front: Matrix  #: side frame of the front to paper
    back: Matrix  #: side frame of the back to paper

    def of(self, side: SideDrawing) -> Matrix:
        return self.front if side.side.value == "front" else self.back


def write_dummy(plan: Plan, target: Path, folios: Sequence[str] = ()) -> None:
    """Write the folding dummies of a plan as one PDF: page 2n-1 is the front of the n-th kind of sheet, 2n its back.

    Args:
        folios: printed folio of every page of the manuscript in order, ``""`` where it bears none.

    Raises:
        NotWritten: the folder does not take the file.
        OurFault: the layout does not take the data, or a sheet is larger than any office paper shows.
    """
    write_bytes(target, pdf((("foldproof.tickets", "dummy.typ"),), dummy_data(plan, folios)))


def dummy_data(plan: Plan, folios: Sequence[str] = ()) -> dict[str, Any]:
    """All pages as plain data: shapes and words, paper frame with y down, mm."""
    pages = []
    for drawing in drawings(plan, len(plan.kinds), folios):
        fitted = fit(drawing)
        pages += [_Page(plan, drawing, side, fitted).data() for side in drawing.sides]
    return {"title": plan.title, "pages": pages}


def fit(drawing: SheetDrawing) -> Fitted:
    """The largest scale, 1:4 at most, at which a sheet fits on A4, or where it does not on A3."""
    wide, high = drawing.front.width_mm, drawing.front.height_mm
    for scale in SCALES:
        for name, paper_mm in PAPERS_MM:
            for lies in (0, 1):
                across, up = paper_mm if lies == 0 else (paper_mm[1], paper_mm[0])
                beside, above = _WHITE_MM + _BESIDE_MM, _WHITE_MM + _BESIDE_MM + _STRIP_MM
                if wide / scale + 2 * beside <= across and high / scale + 2 * above <= up:
                    front = _onto(wide, high, scale, lies, paper_mm)
                    return Fitted(name, paper_mm, scale, lies, front, _behind(drawing, front, paper_mm[0]))
    raise OurFault(
        f"A sheet of {format_size_mm(wide, high)} shows on no office paper at 1:{SCALES[-1]}; "
        "look at the sheet size of the stock in the house file."
    )


def _onto(wide: float, high: float, scale: int, lies: int, paper_mm: tuple[float, float]) -> Matrix:
    """Front to paper: turned, made small, set in the middle."""
    return (
        Matrix.translation(-wide / 2, -high / 2)
        .then(Matrix.quarter_turns(lies))
        .then(Matrix.scaling(1 / scale, 1 / scale))
        .then(Matrix.translation(paper_mm[0] / 2, paper_mm[1] / 2))
    )


def _behind(drawing: SheetDrawing, front: Matrix, paper_wide_mm: float) -> Matrix:
    """Back to paper: the same spot of the sheet seen from its front, put on the front, seen through the paper.

    Two reflections make a turn and a shift: words are never mirrored.
    """
    if drawing.turn == "head to tail":
        to_front = Matrix(1.0, 0.0, 0.0, -1.0, 0.0, drawing.front.height_mm)
    else:
        to_front = Matrix(-1.0, 0.0, 0.0, 1.0, drawing.front.width_mm, 0.0)
    return to_front.then(front).then(Matrix(-1.0, 0.0, 0.0, 1.0, paper_wide_mm, 0.0))


class _Page:
    """One page of the dummy being drawn."""

    def __init__(self, plan: Plan, drawing: SheetDrawing, side: SideDrawing, fitted: Fitted) -> None:
        self.plan, self.drawing, self.side, self.fitted = plan, drawing, side, fitted
        self.to_paper = fitted.of(side)
        self.high_mm = fitted.size_mm[1]
        self.shapes: list[dict[str, Any]] = []
        self.words: list[dict[str, Any]] = []

    def data(self) -> dict[str, Any]:
        side = self.side
        sheet = Rect(0.0, 0.0, side.width_mm, side.height_mm)
        self._box("gripper", Rect(0.0, 0.0, side.width_mm, side.gripper_mm))
        for page in side.pages:
            self._page(page)
        for piece in side.pieces:
            self._box("piece", piece.rect_mm)
        self._box("outline", sheet)
        for slit in side.slits_mm:
            self._line("slit", slit)
        for fold in side.folds:
            self._line("fold", (fold.start_mm, fold.end_mm))
        for fold in side.folds:
            self._fold_words(fold)
        self._slit_numbers([self._tag(piece) for piece in side.pieces])
        self._lay()
        return {
            "paper_mm": self.fitted.size_mm,
            "shapes": self.shapes,
            "words": self.words,
            "blocks": self._strips(),
        }

    # --- from the side to the paper -----------------------------------------------------------------------------------

    def _at(self, point: Point) -> Point:
        x, y = self.to_paper.point(*point)
        return x, self.high_mm - y

    def _angle(self, turn: int) -> int:
        """Counter-clockwise on the paper, degrees, of what is turned so far on its side."""
        m = self.to_paper
        own = (0 if m.a > 0 else 180) if abs(m.a) > abs(m.b) else (90 if m.b > 0 else 270)
        return (own + turn) % 360

    def _path(self, style: str, points: Sequence[Point]) -> None:
        self.shapes.append({"style": style, "points_mm": [self._at(point) for point in points]})

    def _box(self, style: str, r: Rect) -> None:
        self._path(style, ((r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)))

    def _line(self, style: str, line: tuple[Point, Point]) -> None:
        self._path(style, line)

    def _word(self, style: str, text: str, at: Point, turn: int, size_pt: float, wide_mm: float) -> None:
        """Words round a point of the side, turned with it, at most ``wide_mm`` of the paper long."""
        self.words.append(
            {"style": style, "text": text, "at_mm": self._at(at), "angle": self._angle(turn), "size_pt": size_pt}
            | {"wide_mm": wide_mm}
        )

    # --- what stands there --------------------------------------------------------------------------------------------

    def _page(self, page: PageBox) -> None:
        scale = self.fitted.scale
        level = page.turn in (90, 270)
        box = page.rect_mm
        wide, high = (box.height, box.width) if level else (box.width, box.height)
        small = self._small(wide, high)
        # the upright page, its centre at the origin, paper mm
        own = Matrix.scaling(scale, scale).then(Matrix.quarter_turns(page.turn // 90))
        own = own.then(Matrix.translation(*box.centre))
        wide, high = wide / scale, high / scale
        self._box("page", box)
        top = high / 2 - 0.8 * small
        points = ((0.0, top), (-1.7 * small, top - 2.3 * small), (1.7 * small, top - 2.3 * small))
        self._path("head", [own.point(*point) for point in points])
        blank = page.page is None
        folio_pt = min(40.0, 0.4 * high / _MM_PER_PT)
        style, text = ("blank", "blank") if blank else ("folio", f"{page.page}")
        self._word(style, text, own.point(0, 0.05 * high), page.turn, folio_pt * (0.5 if blank else 1), 0.6 * wide)
        if page.folio:
            self._word("printed", f"folio {page.folio}", own.point(0, -0.25 * high), page.turn, 7 * small, 0.7 * wide)
        note = self._note(page)
        if note:
            at = own.point(0, -high / 2 + 3.7 * small)
            self._word("note", note, at, page.turn, 5.5 * small, wide - 4 * small)

    def _small(self, wide_mm: float, high_mm: float) -> float:
        """How much smaller than usual the signs of a page are that is this wide and high on its side."""
        scale = self.fitted.scale
        return min(1.0, wide_mm / scale / _FULL_MM[0], high_mm / scale / _FULL_MM[1])

    def _note(self, page: PageBox) -> str:
        """What must be known of a piece before it is folded: on the page that lies in its tagged corner."""
        piece = next((one for one in self.side.pieces if one.id == page.section), None)
        if piece is None or self._in_corner(piece) != page:
            return ""
        says = [] if piece.copy_of is None else [f"copy of {piece.copy_of}"]
        if piece.turned_over:
            says.append("fold with this side up" if self._lies_up(piece) else "turn over before folding")
        return ", ".join([piece.id, *says]) if says else ""

    def _in_corner(self, piece: PieceBox) -> PageBox | None:
        corner = self._corner(piece)[0]
        own = [page for page in self.side.pages if page.section == piece.id]
        return min(
            own,
            key=lambda p: (p.rect_mm.centre[0] - corner[0]) ** 2 + (p.rect_mm.centre[1] - corner[1]) ** 2,
            default=None,
        )

    def _lies_up(self, piece: PieceBox) -> bool:
        """Whether this side lies up when the piece is folded."""
        return piece.turned_over is (self.side.side.value == "back")

    def _corner(self, piece: PieceBox) -> tuple[Point, int]:
        """Top left corner of the scheme, and how far the scheme is turned on this side as printed.

        Seen from the side that lies up the scheme is turned as the section says.  Seen from the other side the same
        corner lies at the scheme's top right, and the turn goes the other way.
        """
        front = self.side.side.value == "front"
        turned = piece.turned
        if not front and self.drawing.turn == "head to tail" and self._lies_up(piece):
            turned += 180  # the section speaks of the back as seen when the sheet is turned side to side
        if not self._lies_up(piece):
            turned = -turned
            if not front and self.drawing.turn == "head to tail":
                turned += 180
        box = piece.rect_mm
        level = turned % 180 != 0
        wide, high = (box.height, box.width) if level else (box.width, box.height)
        own = Matrix.quarter_turns(turned // 90).then(Matrix.translation(*box.centre))
        side = -1 if self._lies_up(piece) else 1
        return own.point(side * wide / 2, high / 2), turned % 360

    def _tag(self, piece: PieceBox) -> Rect:
        """The name of a piece in the corner that is to lie far left; what it covers, side frame."""
        page = self._in_corner(piece)
        box = piece.rect_mm if page is None else page.rect_mm
        small = self._small(min(box.width, box.height), max(box.width, box.height))
        scale = self.fitted.scale
        corner, turned = self._corner(piece)
        up = self._lies_up(piece)
        towards = 1 if up else -1  # into the piece, seen with the scheme upright
        inwards = Matrix.quarter_turns(turned // 90).point(towards * 3.9 * small * scale, -1.5 * small * scale)
        at = corner[0] + inwards[0], corner[1] + inwards[1]
        self._word("tag" if up else "name", piece.id, at, turned, 6 * small, 7 * small)
        wide, high = 4.0 * small * scale, 1.6 * small * scale
        if turned % 180:
            wide, high = high, wide
        return Rect(at[0] - wide, at[1] - high, at[0] + wide, at[1] + high)

    def _fold_words(self, fold: FoldLine) -> None:
        piece = next(one for one in self.side.pieces if one.id == fold.section)
        (ax, ay), (bx, by), (lx, ly) = fold.start_mm, fold.end_mm, fold.label_mm
        upright = abs(bx - ax) < abs(by - ay)
        half = max(abs(lx - ax), abs(ly - ay)) / self.fitted.scale
        box = next((page.rect_mm for page in self.side.pages if page.section == fold.section), piece.rect_mm)
        small = self._small(min(box.width, box.height), max(box.width, box.height))
        up = self._lies_up(piece)
        text = f"{fold.number} {fold.words}" if up else str(fold.number)
        self._word("fold-words" if up else "fold-number", text, fold.label_mm, 90 if upright else 0, 6.0 * small, half)

    def _slit_numbers(self, taken: list[Rect]) -> None:
        """A figure at the start of every slit, moved along it where something else stands too near."""
        scale = self.fitted.scale
        taken = list(taken)
        for number, (start, end) in enumerate(self.side.slits_mm, 1):
            length = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
            over, up = (end[0] - start[0]) / length, (end[1] - start[1]) / length
            along = min(1.6 * scale, length / 2)
            while True:
                at = start[0] + over * along, start[1] + up * along
                box = Rect(*at, *at).grown(1.4 * scale)
                along += 1.0 * scale
                if along >= length or not any(box.meets(other) for other in taken):
                    break
            taken.append(box)
            self._word("slit-number", str(number), at, 0, 6.0, 2.4)

    def _lay(self) -> None:
        """The words of gripper edge and side lay stand outside the outline, so that they hide nothing."""
        side, scale = self.side, self.fitted.scale
        aside = 1.8 * scale
        third = side.width_mm / 4
        left = side.lay == "left"
        x = third if left else side.width_mm - third
        self._word("lay", "gripper edge", (x, -aside), 0, 6.0, 40.0)
        edge = 0.0 if left else side.width_mm
        foot, top = side.gripper_mm * 1.5, side.gripper_mm * 1.5 + 14 * scale
        self._box("lay-bar", Rect.from_corners(edge, foot, edge + (-0.9 if left else 0.9) * scale, top))
        at = edge + (-aside - 0.2 * scale if left else aside + 0.2 * scale), top + 7 * scale
        self._word("lay", "side lay", at, 90, 6.0, 13.0)

    def _strips(self) -> list[dict[str, Any]]:
        """What stands above and below the outline, in the direction in which the front lies."""
        fitted, front = self.fitted, self.drawing.front
        turned = fitted.lies * 90
        across, up = fitted.size_mm if fitted.lies == 0 else (fitted.size_mm[1], fitted.size_mm[0])
        high = (up - front.height_mm / fitted.scale) / 2 - _WHITE_MM - _BESIDE_MM - _APART_MM
        wide = across - 2 * _WHITE_MM
        middle = up / 2 - _WHITE_MM - high / 2
        blocks = []
        for words, at, to in ((self._heading(), middle, "bottom"), (self._how(), -middle, "top")):
            x, y = Matrix.quarter_turns(fitted.lies).point(0.0, at)
            centre = fitted.size_mm[0] / 2 + x, fitted.size_mm[1] / 2 - y
            block = {"at_mm": centre, "angle": turned, "wide_mm": wide, "high_mm": high, "words": words, "to": to}
            blocks.append(block)
        return blocks

    def _heading(self) -> list[str]:
        drawing, fitted = self.drawing, self.fitted
        page = f"sheet {drawing.number:,}, {self.side.side.value}"
        count = len(drawing.kind.sheets)
        for_all = "" if count == 1 else f", an example of {count:,} that fold alike"
        return [
            f"Folding dummy: {page}",
            f"{self.plan.title}; {drawing.kind.label}{for_all}. Scale 1:{fitted.scale}. Print on {fitted.paper} at full"
            " size, on both sides, flipped on the long edge.",
        ]

    def _how(self) -> list[str]:
        side = self.side
        says = ["Cut out along the outline."]
        if side.slits_mm:
            figures = "1" if len(side.slits_mm) == 1 else f"1 to {len(side.slits_mm)}"
            says.append(f"Slit along the dash-dotted lines, {figures} in order.")
        over = [piece.id for piece in side.pieces if piece.turned_over]
        if over:
            says.append(f"Turn {', '.join(over)} over, side to side.")
        most = max((fold.number for fold in side.folds), default=0)
        count = ", ".join(str(n) for n in range(1, most + 1))
        says.append(f"Hold each piece with its arrow away from you and fold {count} as the words say.")
        says.append("Read it like the book, each solid triangle at the head, then hold it beside the folded sheet.")
        if side.side.value == "back" and self.drawing.turn == "head to tail":
            says.append("The sheet turns head to tail: the back has its own gripper edge.")
        return ["", " ".join(says)]
