# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is asked (the job) and what the shop has (the house), as validated, frozen data.

Lengths are text with a unit in the files (``"3 mm"``, ``"1/8 in"``) and millimetres here; names end in ``_mm``.  A key
nobody knows is an error that names the nearest known one; :mod:`foldproof.job.load` words those errors.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from foldproof.job.finishing import (
    CoverChoice,
    Finishing,
    HouseBoard,
    HouseCarton,
    HouseCloth,
    InkFilm,
    JacketChoice,
    Pallet,
    StampingChoice,
)
from foldproof.job.tables import Length, Percent, PositiveLength, Price, Size, Table

Binding = Literal["sewn", "glued", "stitched", "leaflet"]
Reading = Literal["left to right", "right to left"]
Grain = Literal["long", "short"]
#: how a sheet gets its two sides.  Two formes: two sets of plates, same gripper edge.  Work and turn, work and tumble:
#: one set of plates prints both sides, the sheet turned side to side or head to tail, and is cut into two alike.
#: Perfecting: two formes in one pass, the sheet turned head to tail inside the press.
Way = Literal["two formes", "work and turn", "work and tumble", "perfecting", "one side"]
WAYS: tuple[Way, ...] = ("two formes", "work and turn", "work and tumble", "perfecting", "one side")
Lip = Literal["high folio", "low folio"]


# --- the job --------------------------------------------------------------------------------------------------------


class Book(Table):
    """``[book]``"""

    title: str | None = Field(default=None, max_length=1000)
    author: str | None = Field(default=None, max_length=1000)
    #: ISBN with or without hyphens, as it is to stand on the cover
    isbn: str | None = Field(default=None, max_length=40)
    trim: Size | None = None
    bleed: Length | None = Field(default=None, ge=0)
    binding: Binding = "sewn"
    reading: Reading = "left to right"
    #: empty pages put before the first; whole leaves only, or every recto turns verso
    blanks_front: int = Field(default=0, ge=0, multiple_of=2)


class Paper(Table):
    """``[paper]``: the name of a house stock, or what the stock is like."""

    stock: str | None = None
    grammage: float | None = Field(default=None, gt=0, le=600)
    #: cm3/g (ISO 534): thickness of a leaf in um is grammage times bulk
    bulk: float | None = Field(default=None, gt=0.3, lt=4)
    caliper: PositiveLength | None = None
    sheet: Size | None = None
    grain: Grain | None = None


class Sections(Table):
    """``[sections]``"""

    #: pages of an ordinary section
    pages: Literal[4, 6, 8, 12, 16, 18, 24, 32, 64] | None = None
    #: where a short section goes: before the last one, round or inside a full one, or (asked for alone) at the very end
    short: Literal["next to last", "wrapped", "inside", "last"] = "next to last"
    #: name of a scheme of the house
    fold: str | None = None
    #: the edge of the folded sheet at the head of the book: closed by a bolt, or open
    head: Literal["closed", "open"] | None = None
    #: how push-out is answered: the page moved towards the spine, or narrowed so that its inner margin takes it
    creep: Literal["shift", "scale"] | None = None
    #: signature marks: figures, or the 23 letters (no J, U, W) and then 2A, 2B ...
    signatures: Literal["figures", "letters"] = "figures"
    #: leaves of a section that carry its signature, counted from 1
    signed_leaves: tuple[int, ...] = (1,)
    #: empty pages at the end, at most; the house's allowance when unsaid
    blanks: int | None = Field(default=None, ge=0)


class PressChoice(Table):
    """``[press]``"""

    name: str | None = None
    way: Way | None = None


class Bindery(Table):
    """``[bindery]``"""

    #: name of a folder, and of a binding line, of the house
    folder: str | None = None
    line: str | None = None
    #: the half of a section that stands out at the fore-edge for the feeder to open it by; as the line asks when unsaid
    lip: Literal["high folio", "low folio", "none"] | None = None


class Run(Table):
    """``[run]``"""

    copies: int | None = Field(default=None, gt=0)


class Insert(Table):
    """One ``[[insert]]``: pages of the manuscript that go on another stock, between, round or inside sections."""

    #: PDF page, counted from 1, with which it begins (for one that goes round a section: its first page)
    first_page: int = Field(gt=0)
    pages: int = Field(gt=0, multiple_of=4)
    how: Literal["between", "round", "inside"] = "between"
    #: a stock of the house; that of the text when unsaid
    stock: str | None = None
    #: one that goes round a section holds so many pages of text (``how = "round"`` alone)
    holds: int | None = Field(default=None, gt=0, multiple_of=4)


class Spread(Table):
    """One ``[[spread]]``: a picture over two pages that should lie on the centre of a section."""

    #: PDF page, counted from 1, of its left page (reading left to right; of its first page always)
    first_page: int = Field(gt=0)


class Marks(Table):
    """``[marks]``: each mark of a sheet can be switched off."""

    trim: bool = True
    fold: bool = True
    slit: bool = True
    centre: bool = True
    backup: bool = True
    register_targets: bool = Field(default=True, alias="register")
    lay: bool = True
    collation: bool = True
    signature: bool = True
    job_line: bool = True
    colour_strip: bool = True
    code: bool = True


#: what a finding may stand on
WaivedOn = Literal["book", "cover", "jacket"]


class Waiver(Table):
    """One ``[[check.waived]]``: a finding that somebody takes on."""

    check: str
    #: of the book; ``None``: every page
    page: int | None = Field(default=None, gt=0)
    #: ``None``: cover and jacket for a check that looks at them alone, else the book
    on: WaivedOn | None = None
    reason: str = Field(min_length=3)
    by: str = Field(min_length=2)


class MendChoice(Table):
    """``[mend]``: repairs are done only when they are asked for by name."""

    repairs: tuple[str, ...] = ()


class CheckChoice(Table):
    """``[check]``"""

    spec: str | None = None
    waived: tuple[Waiver, ...] = ()


class Job(Table):
    """A job file."""

    book: Book = Book()
    paper: Paper = Paper()
    sections: Sections = Sections()
    press: PressChoice = PressChoice()
    bindery: Bindery = Bindery()
    run: Run = Run()
    inserts: tuple[Insert, ...] = Field(default=(), alias="insert")
    spreads: tuple[Spread, ...] = Field(default=(), alias="spread")
    marks: Marks = Marks()
    check: CheckChoice = CheckChoice()
    mend: MendChoice = MendChoice()
    cover: CoverChoice = CoverChoice()
    #: ``None``: the book has none
    jacket: JacketChoice | None = None
    stamping: StampingChoice | None = None

    @property
    def emblem(self) -> Path | None:
        """The one file besides a spec that a job names."""
        return self.stamping.emblem if self.stamping is not None else None

    def with_emblem(self, path: Path) -> Job:
        """The same job, its emblem at another place."""
        assert self.stamping is not None, "a job without stamping has no emblem"
        return self.model_copy(update={"stamping": self.stamping.model_copy(update={"emblem": path})})


# --- the house ------------------------------------------------------------------------------------------------------


class HousePress(Table):
    """``[[press]]``"""

    name: str
    sheet_max: Size  #: along the gripper edge x across it
    sheet_min: Size
    #: largest image, along the gripper edge x across it; the sheet less its margins when unsaid
    printable: Size | None = None
    gripper: PositiveLength
    tail: Length = Field(ge=0)
    side: Length = Field(ge=0)
    #: side of the front, seen as printed, that runs against the side lay
    lay: Literal["left", "right"] = "left"
    inks: int = Field(default=4, ge=1)  #: printing units: inks in one pass
    #: of these, inks that a perfecting pass puts on the back; 0: the press does not perfect
    perfecting: int = Field(default=0, ge=0)
    #: ways it prints a sheet; all that it can when unsaid
    ways: tuple[Way, ...] | None = None
    plate_price: Price | None = None
    make_ready_sheets: int = Field(default=0, ge=0)  #: sheets to get one forme right
    make_ready_minutes: float = Field(default=0.0, ge=0)  #: to get one forme right
    sheets_per_hour: float | None = Field(default=None, gt=0)
    hour_price: Price | None = None
    #: width of one ink zone of its ducts along the gripper edge; unknown when unsaid
    ink_zone: PositiveLength | None = None

    @property
    def can(self) -> tuple[Way, ...]:
        """The ways in which it prints a sheet."""
        asked = WAYS if self.ways is None else self.ways
        return tuple(way for way in asked if way != "perfecting" or self.perfecting)


class HouseScheme(Table):
    """``[[scheme]]``: a way to fold, read aloud."""

    name: str
    columns: int = Field(ge=1, le=16)
    rows: int = Field(ge=1, le=16)
    folds: tuple[str, ...]
    #: edge of the folded pile, and of the folded offcut, that is the head
    head: Literal["top", "bottom", "left", "right"] | None = None
    #: rows cut off the top before folding, folded by themselves and set into the middle of the rest
    offcut_rows: int = Field(default=0, ge=0, le=15)
    offcut_folds: tuple[str, ...] = ()
    #: of a single row folded as a leaflet: what each column is narrower by than the page, from the scheme's left, so
    #: that what is folded in is not crushed; ``["1.5 mm", "0 mm", "0 mm"]``
    narrower: tuple[Annotated[Length, Field(ge=0)], ...] = ()


class HouseFolder(Table):
    """``[[folder]]``"""

    name: str
    schemes: tuple[str, ...]
    sheet_max: Size
    sheet_min: Size
    #: shortest and longest way from fold to fold, or from fold to edge, that its plates or knives reach
    panel_min: Length | None = Field(default=None, gt=0)
    panel_max: Length | None = Field(default=None, gt=0)
    #: thickest pile that it makes the last fold in
    thickest: Length | None = Field(default=None, gt=0)
    #: heaviest paper it folds by pages a section, g/m2: ``{16 = 150, 32 = 90, 64 = 45}``
    grammage_max: dict[int, float] = Field(default_factory=dict)
    #: narrowest and widest lip that it folds; none when unsaid
    lip_min: Length | None = Field(default=None, gt=0)
    lip_max: Length | None = Field(default=None, gt=0)
    make_ready_sheets: int = Field(default=0, ge=0)
    make_ready_minutes: float = Field(default=0.0, ge=0)
    sheets_per_hour: float | None = Field(default=None, gt=0)
    hour_price: Price | None = None


class HouseLine(Table):
    """``[[line]]``: gathering, sewing or gluing or stitching, and the three-knife trimmer behind it."""

    name: str
    bindings: tuple[Binding, ...] = Field(min_length=1)
    stations: int = Field(gt=0)  #: pockets of the gatherer (of the stitcher's feeders): sections in one pass
    #: trimmed book that its three knives take, width x height
    trim_min: Size
    trim_max: Size
    #: thinnest and thickest block
    block_min: Length = Field(default=0.0, ge=0)
    block_max: PositiveLength
    #: the lip that its feeders open a section by; none when unsaid
    lip: Lip | None = None
    lip_size: Length = Field(default=9.0, ge=0)
    books_per_hour: float | None = Field(default=None, gt=0)  #: gathered, or stitched, in one pass
    sewn_sections_per_hour: float | None = Field(default=None, gt=0)
    #: books through its trimmer where that runs by itself; glued and stitched ones are trimmed in line when unsaid
    trimmed_per_hour: float | None = Field(default=None, gt=0)
    make_ready_minutes: float = Field(default=0.0, ge=0)  #: for every pass
    station_minutes: float = Field(default=0.0, ge=0)  #: more for every station that is filled
    hour_price: Price | None = None


class StockSheet(Table):
    """A size in which a stock is held: short side first as the trade writes it, and its grain."""

    size: Size
    grain: Grain


class HouseStock(Table):
    """``[[stock]]``"""

    name: str
    grammage: float = Field(gt=0)
    bulk: float | None = Field(default=None, gt=0.3, lt=4)  #: cm3/g
    caliper: PositiveLength | None = None  #: thickness of one leaf, instead of the bulk
    sheets: tuple[StockSheet, ...] = Field(min_length=1)
    price_per_kg: Price | None = None
    #: what ink does on it
    surface: Literal["uncoated", "coated"] = "uncoated"

    @model_validator(mode="after")
    def _one_thickness(self) -> HouseStock:
        if (self.bulk is None) == (self.caliper is None):
            raise ValueError('state either bulk (cm3/g) or caliper ("0.11 mm"), not both and not neither')
        return self

    @property
    def caliper_mm(self) -> float:
        """Thickness of one leaf: as stated, or grammage x bulk / 1000 (ISO 534: bulk is thickness over grammage)."""
        return self.caliper if self.caliper is not None else self.grammage * (self.bulk or 0.0) / 1000


class Allowances(Table):
    """``[allowances]``"""

    bleed: Length = 3.0
    head: PositiveLength = 5.0
    foot: PositiveLength = 5.0
    fore_edge: PositiveLength = 4.0
    spine_grind: Length = 3.0
    #: the gutter of a glued section: less by its push-out on every inner leaf, or the same on every leaf
    glued_gutter: Literal["by position", "same"] = "by position"
    #: least matter beyond the trim in which a bolt may lie, on the outermost leaf
    bolt_min: Length = 3.0
    #: push-out of a leaf for every leaf outside it, in calipers
    creep_factor: float = Field(default=1.0, ge=0.0, le=1.5708)
    creep_by: Literal["shift", "scale"] = "shift"
    #: how far the head of the outermost leaf leans from the spine on a section of three or more right-angle folds
    bottling: Length = Field(default=0.0, ge=0, le=5)
    #: empty pages at the end of a book
    blanks: int = Field(default=3, ge=0)
    #: per cent spoilt in each operation, make-ready apart
    spoil_press: Percent = 0.0
    spoil_folding: Percent = 0.0
    spoil_gathering: Percent = 0.0
    spoil_sewing: Percent = 0.0
    spoil_trimming: Percent = 0.0
    spoil_casing: Percent = 0.0
    #: of jackets, in putting them on; when unsaid none is allowed for, and the order of them says so
    spoil_jacketing: Percent | None = None


class House(Table):
    """A house file: the shop."""

    name: str
    presses: tuple[HousePress, ...] = Field(alias="press", min_length=1)
    schemes: tuple[HouseScheme, ...] = Field(alias="scheme", min_length=1)
    folders: tuple[HouseFolder, ...] = Field(alias="folder", min_length=1)
    #: binding lines; where none is stated nothing is held against their limits
    lines: tuple[HouseLine, ...] = Field(default=(), alias="line")
    stocks: tuple[HouseStock, ...] = Field(alias="stock", min_length=1)
    #: stock used when the job names none
    usual_stock: str
    #: copies reckoned with when the job names no number
    usual_copies: int = Field(default=1000, gt=0)
    #: name of what prices are counted in, as it is printed
    currency: str = ""
    #: papers up to this grammage are folded to 32s, heavier ones to 16s
    thin_below: float = 60.0
    allowances: Allowances = Allowances()
    #: what boards, cloth, cartons the shop has; nothing is reckoned of what is not stated
    boards: tuple[HouseBoard, ...] = Field(default=(), alias="board")
    cloths: tuple[HouseCloth, ...] = Field(default=(), alias="cloth")
    cartons: tuple[HouseCarton, ...] = Field(default=(), alias="carton")
    pallet: Pallet | None = None
    finishing: Finishing = Finishing()
    ink_film: InkFilm = InkFilm()
