# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a job ticket holds of a plan: the noun that is written, read back and compared.

It says in the terms of the open standard what :class:`foldproof.makeup.plan.Plan` says in ours.  Lengths are mm.
Frames: *sheet*: lower left of the sheet, y up, seen from the front; *side*: the same of a printed side as its plate
prints it; *piece*: a section before it is turned on the sheet, lower left, y up.
"""

from __future__ import annotations

from attrs import frozen

Point = tuple[float, float]
Box = tuple[float, float, float, float]


@frozen
class HeldFold:
    """One fold of the pile as it lies: only its left or its front part moves, and the pile is never turned between."""

    edge: str  #: ``"left"`` or ``"front"`` (the lower edge): the part that moves begins there
    up: bool  #: over what stays; else under it
    travel_mm: float  #: from that edge of the pile to the crease


@frozen
class HeldCell:
    """One panel of a piece: a leaf, two pages."""

    front: int  #: 0-based page of the piece on the side that lies up when it is folded
    back: int
    turns: int  #: head of the page on that side: quarter turns counter-clockwise from up, piece frame


@frozen
class HeldPiece:
    """One folded piece of a sheet."""

    id: str
    sheet: int  #: 1-based
    #: id of the piece that this one is printed again of; what is folded is stated there and the same here
    copy_of: str | None
    rect_mm: Box  #: sheet frame
    turned: int  #: 0, 90, 180, 270 counter-clockwise; of a piece turned over first, as seen after turning over
    turned_over: bool
    columns: int
    rows: int
    column_mm: tuple[float, ...]  #: from the left of the piece
    row_mm: tuple[float, ...]  #: from its top
    cells: tuple[HeldCell, ...]  #: from the lower left, row after row
    folds: tuple[HeldFold, ...]
    head: str  #: edge of the folded pile, as these folds leave it: ``"top"``, ``"left"``, ``"bottom"``, ``"right"``
    spine: str
    head_trim_mm: float
    foot_trim_mm: float
    spine_trim_mm: float
    bottling_mm: float


@frozen
class HeldPlace:
    """Where one page of the book stands on a printed side."""

    sheet: int
    side: str  #: ``"front"`` or ``"back"``
    piece: str
    position: int  #: 0-based place in the book, blanks counted
    page: int | None  #: 0-based in the manuscript, ``None`` for a blank
    #: upright page with its origin in the middle of its trim → side frame; the last two in mm
    matrix: tuple[float, float, float, float, float, float]
    clip_mm: Box  #: side frame


@frozen
class HeldSheet:
    """One press sheet."""

    number: int  #: 1-based
    size_mm: tuple[float, float]
    stock: str
    grammage: float
    caliper_mm: float
    grain: str  #: ``"long"`` or ``"short"`` side of the sheet
    press: str
    way: str  #: one of :data:`foldproof.job.model.WAYS`
    lay: str  #: ``"left"`` or ``"right"``: side of the front against the side lay
    inks: tuple[tuple[str, ...], tuple[str, ...]]
    slits_mm: tuple[tuple[Point, Point], ...]
    net: int
    gross: int

    @property
    def turn(self) -> str:
        """How it turns between its sides: by the way it is printed."""
        return "head to tail" if self.way in ("work and tumble", "perfecting") else "side to side"


@frozen
class HeldSection:
    """One entry of the gathering."""

    number: int  #: 1-based
    signature: str
    pieces: tuple[str, ...]  #: the outermost first


@frozen
class HeldPlan:
    """The plan, as far as a job ticket holds it."""

    title: str
    trim_mm: tuple[float, float]
    bleed_mm: float
    binding: str
    reading: str
    copies: int
    pages: int
    blanks_front: int
    blanks_back: int
    stock: str
    grammage: float
    caliper_mm: float
    creep_factor: float
    creep_by: str
    #: first, step, steps, length, width, gap as :class:`foldproof.makeup.instructions.Collation` has them
    collation: tuple[float, float, int, float, float, float] | None
    sections: tuple[HeldSection, ...]
    sheets: tuple[HeldSheet, ...]
    pieces: tuple[HeldPiece, ...]
    places: tuple[HeldPlace, ...]  #: by position, then by sheet and piece: copies of the book stand beside one another
