# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the make-up stage: sections, sheets, every page's place, blanks.

Frames.  *side*: one printed side as its plate prints it, lower left of the sheet, y up, its own gripper edge at the
bottom.  The front's side frame is the sheet frame; the back's is seen from the back.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from attrs import field, frozen

from foldproof.geometry import Matrix, Rect

if TYPE_CHECKING:
    from foldproof.makeup.cost import Cost
    from foldproof.makeup.instructions import FoldingInstructions


class Side(StrEnum):
    """The two printed sides of a sheet."""

    FRONT = "front"
    BACK = "back"


@frozen
class PagePlace:
    """Where one page of the book stands on a printed side."""

    page: int | None  #: 0-based index in the manuscript, ``None`` for a blank
    position: int  #: 0-based place in the book, blanks counted
    sheet: int  #: 1-based
    side: Side
    section: str  #: id of the folded piece, ``"1A"``
    leaf: int  #: 0-based in the gathered section, from its first leaf
    depth: int  #: leaves outside it at the spine fold, 0 for the outermost: creep is counted by it
    creep_mm: float  #: how far the page moves towards the spine
    #: upright page, trim frame with origin at the *centre* of its trim, points → side frame, points.  A turn by quarter
    #: turns and a shift, no scale.
    matrix: Matrix
    #: what of the page may print, side frame, points: trim plus bleed, cut at the spine crease and at half of every
    #: gutter
    clip_pt: Rect
    #: the trim, side frame, points
    trim_pt: Rect
    signature: str  #: the mark of its gathered section


@frozen
class CollationBar:
    """Where the collation mark of a gathered section is printed: side frame, mm."""

    sheet: int
    side: Side
    unit: int  #: 0-based gathered section
    rect_mm: Rect


@frozen
class GatheredSection:
    """One entry of the gathering: one section, or several set one in another."""

    number: int  #: 1-based
    signature: str
    pieces: tuple[str, ...]  #: ids, the outermost first
    pages: int
    first: int  #: 0-based position in the book of its first page
    blanks: int


@frozen
class SheetKind:
    """Sheets that are cut and folded alike; pictures and tickets need only one of each."""

    label: str
    scheme: str
    sheets: tuple[int, ...]


@frozen
class Press:
    """The press a plan is for, as far as the sheet is concerned; mm."""

    name: str
    gripper_mm: float
    tail_mm: float
    side_mm: float
    lay: str = "left"  #: side of the front, seen as printed, that runs against the side lay


@frozen
class FoldedAlike:
    """Pieces of one press sheet that a folder takes in one setting."""

    folder: str
    scheme: str
    count: int  #: such pieces on one press sheet, copies counted
    passes: int  #: times that each goes through the folder; an offcut folded by itself goes once more


@frozen
class SheetRun:
    """How one sheet is printed and folded: press, paper, way, inks, number."""

    sheet: int  #: 1-based
    press: Press
    way: str  #: one of :data:`foldproof.job.model.WAYS`
    stock: str
    grammage: float
    caliper_mm: float
    grain: str  #: ``"long"`` or ``"short"`` side of the sheet
    grain_along_spine: bool
    sheet_mm: tuple[float, float]
    copies_on: int  #: so many of each of its sections stand on one sheet
    #: inks that each side carries, in the order of the plates; empty: nothing is printed there.  Work and turn, work
    #: and tumble: one set of plates prints both sides, and both name it
    inks: tuple[tuple[str, ...], tuple[str, ...]]
    folder: str
    net_sheets: int  #: for the copies wanted, nothing spoilt
    gross_sheets: int  #: to be bought: with make-ready and what each operation spoils
    #: of every pass through the press, how many formes are made ready for it; work and turn: 1 and 0
    formes: tuple[int, ...] = field(default=(), eq=False)
    pieces: tuple[FoldedAlike, ...] = field(default=(), eq=False)

    @property
    def one_set(self) -> bool:
        """Whether the same plates print both sides."""
        return self.way in ("work and turn", "work and tumble")

    @property
    def plates(self) -> int:
        front, back = self.inks
        return len(front) if self.one_set else len(front) + len(back)


@frozen
class Plan:
    """The make-up of one book."""

    title: str
    trim_mm: tuple[float, float]
    bleed_mm: float
    binding: str
    reading: str
    pages: int  #: of the manuscript
    blanks_front: int
    blanks_back: int
    press: Press
    stock: str  #: name in the house
    grammage: float
    caliper_mm: float
    grain: str  #: ``"long"`` or ``"short"`` side of the sheet
    grain_along_spine: bool
    sheet_mm: tuple[float, float]
    sections: tuple[GatheredSection, ...]
    places: tuple[PagePlace, ...]  #: in order of position
    bars: tuple[CollationBar, ...]
    kinds: tuple[SheetKind, ...]
    #: a sentence each, in the order in which the report's first lines state them
    assumptions: tuple[str, ...]
    #: what would use the blanks or save a section, a sentence each
    offers: tuple[str, ...]
    #: what was looked at and refused, and why, a sentence each
    refused: tuple[str, ...]
    instructions: FoldingInstructions
    #: by number of the sheet
    runs: tuple[SheetRun, ...] = ()
    #: pages that stand on a sheet once more, for another copy of the book; in order of position, sheet, side
    again: tuple[PagePlace, ...] = ()
    run_copies: int = 1000  #: copies that the plan is reckoned for
    cost: Cost | None = None
    folder: str = ""
    line: str = ""  #: binding line of the house, ``""`` where none is stated
    #: what the house or custom decided, a sentence each with the name of the rule
    rules: tuple[str, ...] = ()
    #: why this plan and not the next ones, a sentence each
    reasons: tuple[str, ...] = ()

    @property
    def plates(self) -> int:
        return sum(run.plates for run in self.runs)

    def run_of(self, sheet: int) -> SheetRun:
        """How a sheet (1-based) is printed."""
        return self.runs[sheet - 1]

    @property
    def sheets(self) -> int:
        return len(self.instructions.sheets)

    @property
    def bulk_mm(self) -> float:
        """Thickness of the block of leaves, blanks included, without a cover."""
        runs = [self.run_of(place.sheet) for place in self.places[::2]] if self.runs else []
        other = sum(run.caliper_mm - self.caliper_mm for run in runs if run.stock != self.stock)
        return (self.pages + self.blanks_front + self.blanks_back) / 2 * self.caliper_mm + other

    @property
    def sides(self) -> tuple[tuple[int, str], ...]:
        """For every page of the manuscript in order the number of its sheet and its printed side."""
        stand = {place.page: (place.sheet, place.side.value) for place in self.places if place.page is not None}
        return tuple(stand[page] for page in range(self.pages))
