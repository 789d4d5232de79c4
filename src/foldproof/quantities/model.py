# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a plan takes, in numbers: the noun that the benches' tickets, the case, the estimate and the job ticket share.

Everything here is reckoned once, from plan, job and house.  Lengths in mm, weights in g or kg as named.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from attrs import frozen

if TYPE_CHECKING:
    from foldproof.case.model import CaseSizes, CoverSizes
    from foldproof.job.model import House, Job
    from foldproof.makeup.plan import Plan
    from foldproof.prove.model import Proof


@frozen
class SectionThickness:
    """One gathered section: its paper alone, at the fore-edge."""

    number: int  #: 1-based, as gathered
    leaves: int
    paper_mm: float


@frozen
class Thickness:
    """How thick the block is, and where."""

    sections: tuple[SectionThickness, ...]
    leaves: int
    block_mm: float  #: all leaves, unpressed, at the fore-edge
    endpapers_mm: float  #: leaves of separate endpapers that lie between the boards, both ends; 0 without
    swell_mm: float  #: what the sewing thread adds at the back, after nipping; 0 where nothing is sewn
    lining_mm: float
    #: of the flat spine that case or cover goes round: block + endpapers + swell + lining (a paper cover: block alone
    #: with what its binding adds; 0 where a cover is folded round stitched sections)
    spine_mm: float
    #: length of the arc over a rounded spine; :attr:`spine_mm` where it is flat
    arc_mm: float
    says: tuple[str, ...]  #: how each came about, a line each


@frozen
class StockOrder:
    """One stock in one sheet size, to be ordered."""

    stock: str
    grammage: float
    sheet_mm: tuple[float, float]  #: as the press takes it, along the gripper edge first
    grain: str
    sheets: tuple[int, ...]  #: numbers of the press sheets printed on it
    net: int
    gross: int  #: with make-ready and spoilage of every operation
    reams: float  #: of 500 sheets
    weight_kg: float
    price: float | None  #: of all of it; ``None`` where the house states none


@frozen
class Count:
    """One operation of one thing that goes through it: what goes in, what must come out."""

    bench: str  #: ``"press"``, ``"folding"``, ``"gathering"``, ``"sewing"``, ``"trimming"``, ``"casing-in"`` ...
    what: str  #: ``"sheet 3"``, ``"sections of sheet 3"``, ``"books"``
    goes_in: int
    set_up: int  #: of these, used up in making ready
    spoil: int  #: of these, reckoned as spoilt
    comes_out: int
    #: press sheets it speaks of; empty: whole books
    sheets: tuple[int, ...] = ()
    #: at the folder: so many of each section stand on a press sheet, which goes in as so many
    copies_on: int = 1


@frozen
class PlateNeed:
    """One plate."""

    sheet: int
    side: str  #: ``"front"``, ``"back"``, or ``"both"`` where one set prints both sides
    ink: str


@frozen
class TimeNeed:
    """How long a bench is at it."""

    bench: str
    machine: str
    make_ready_min: float
    run_min: float | None  #: ``None`` where the house states no speed
    says: str

    @property
    def minutes(self) -> float | None:
        return None if self.run_min is None else self.make_ready_min + self.run_min


@frozen
class Thread:
    """Sewing thread, and where the needles go."""

    sections: int
    holes_mm: tuple[float, ...]  #: from the head of the trimmed book, kettle stitches first and last
    metres_per_book: float
    metres: float  #: for all books that are sewn
    says: str = ""  #: how the thread of a book came about


@frozen
class Packing:
    """Books in cartons, cartons on pallets."""

    book_g: float
    book_mm: tuple[float, float, float]  #: width, height, thickness as bound
    carton: str  #: name in the house
    per_carton: int
    layout: str  #: how they lie in it, in words
    cartons: int
    last_carton: int  #: books in the last one
    carton_kg: float  #: of a full one
    per_layer: int  #: cartons in one layer of a pallet; 0 where the house states no pallet
    layers: int
    pallets: int
    kg: float  #: of all that is packed, without pallets
    bound_by: str  #: ``"weight"``, ``"size"``: what settled how many go into a carton
    says: tuple[str, ...] = ()  #: how size and weight of a book came about, a line each


@frozen
class Quantities:
    """All numbers of one job."""

    copies: int
    thickness: Thickness
    orders: tuple[StockOrder, ...]
    counts: tuple[Count, ...]
    plates: tuple[PlateNeed, ...]
    times: tuple[TimeNeed, ...]
    thread: Thread | None  #: ``None`` where nothing is sewn
    packing: Packing | None  #: ``None`` where the house states no carton that a book goes into
    #: what could not be reckoned, and what the house would have to state, a sentence each
    unknown: tuple[str, ...] = ()
    unpacked: str = ""  #: why there is no packing, sentences; also among those of ``unknown``


@frozen
class InkCover:
    """How much of one printed side one ink covers: parts of the area of the sheet, 0 to 1."""

    sheet: int  #: 1-based
    side: str  #: ``"front"`` or ``"back"``
    ink: str
    #: mean of every zone, across the sheet from the left as the plate prints it (side frame), as wide as ``zone_mm``
    zones: tuple[float, ...]
    mean: float  #: of the whole side
    #: where the darkest place of the side lies, all its inks together: side frame, mm, and the sum of inks there in per
    #: cent; the same on every ink of a side
    darkest_mm: tuple[float, float] = (0.0, 0.0)
    darkest: float = 0.0
    grams: float = 0.0  #: of wet ink, for all sheets of the run


@frozen
class InkCovers:
    """The covers of all sides."""

    zone_mm: dict[int, float]  #: by sheet: width of a zone of its press
    covers: tuple[InkCover, ...]
    #: sides that were not measured, and why, a sentence each
    notes: tuple[str, ...] = ()

    def of(self, sheet: int, side: str) -> tuple[InkCover, ...]:
        """The inks of one side, in the order of the plates."""
        return tuple(cover for cover in self.covers if (cover.sheet, cover.side) == (sheet, side))


@frozen
class Work:
    """Everything that the benches are told from: the proved plan and what was reckoned of it."""

    plan: Plan
    job: Job
    house: House
    quantities: Quantities
    proof: Proof | None = None
    ink: InkCovers | None = None
    case: CaseSizes | None = None
    cover: CoverSizes | None = None  #: a paper cover
    jacket: CoverSizes | None = None
    #: of every page of the manuscript in order: printed folio, and first line of text; ``""`` where there is none
    folios: tuple[str, ...] = ()
    first_lines: tuple[str, ...] = ()
    author: str = ""
    isbn: str = ""
    date: str = ""  #: ``YYYY-MM-DD`` as printed on the sheets, or empty
