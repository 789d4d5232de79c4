# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is asked (the job) and what the shop has (the house), as validated, frozen data.

Lengths are text with a unit in the files (``"3 mm"``, ``"1/8 in"``) and millimetres here; names end in ``_mm``.  A key
nobody knows is an error that names the nearest known one; :mod:`foldproof.job.load` words those errors.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from foldproof.units import parse_length_mm, parse_size_mm


def _length(value: Any) -> float:
    if not isinstance(value, str):
        raise ValueError(f'a length is written as text with its unit, for example "3 mm", not {value!r}')
    return _sensible(parse_length_mm(value), value)


def _size(value: Any) -> tuple[float, float]:
    if not isinstance(value, str):
        raise ValueError(f'a size is written as text with its unit, for example "140 x 216 mm", not {value!r}')
    width_mm, height_mm = (_sensible(side_mm, value) for side_mm in parse_size_mm(value))
    if not (width_mm > 0 and height_mm > 0):
        raise ValueError(f"a size of more than nought each way is asked for, not {value!r}")
    return width_mm, height_mm


def _sensible(length_mm: float, text: str) -> float:
    """No book, sheet or press of this trade reaches ten metres: a slip in the unit, then."""
    if abs(length_mm) > 10_000:
        raise ValueError(f"{text!r} is more than ten metres; check the unit")
    return length_mm


#: a length in a file, mm here
Length = Annotated[float, BeforeValidator(_length)]
#: a positive length
PositiveLength = Annotated[float, BeforeValidator(_length), Field(gt=0)]
#: a width and height in a file, mm here
Size = Annotated[tuple[float, float], BeforeValidator(_size)]

Binding = Literal["sewn", "glued", "stitched"]
Reading = Literal["left to right", "right to left"]
Grain = Literal["long", "short"]


class Table(BaseModel):
    """One table of a job or house file: frozen, and strict about its keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, allow_inf_nan=False)


# --- the job --------------------------------------------------------------------------------------------------------


class Book(Table):
    """``[book]``"""

    title: str | None = None
    author: str | None = None
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
    pages: Literal[4, 6, 8, 12, 16, 24, 32, 64] | None = None
    #: where a short section goes
    short: Literal["next to last", "last"] = "next to last"
    #: name of a scheme of the house
    fold: str | None = None


class PressChoice(Table):
    """``[press]``"""

    name: str | None = None


class Run(Table):
    """``[run]``"""

    copies: int | None = Field(default=None, gt=0)


class Marks(Table):
    """``[marks]``: each mark of a sheet can be switched off."""

    trim: bool = True
    fold: bool = True
    backup: bool = True
    register_targets: bool = Field(default=True, alias="register")
    lay: bool = True
    collation: bool = True
    signature: bool = True
    job_line: bool = True


class Waiver(Table):
    """One ``[[check.waived]]``: a finding that somebody takes on."""

    check: str
    page: int | None = Field(default=None, gt=0)
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
    run: Run = Run()
    marks: Marks = Marks()
    check: CheckChoice = CheckChoice()
    mend: MendChoice = MendChoice()


# --- the house ------------------------------------------------------------------------------------------------------


class HousePress(Table):
    """``[[press]]``"""

    name: str
    sheet_max: Size  #: along the gripper edge x across it
    sheet_min: Size
    gripper: PositiveLength
    tail: Length
    side: Length
    inks: int = Field(default=4, ge=1)


class HouseScheme(Table):
    """``[[scheme]]``: a way to fold, read aloud."""

    name: str
    columns: int = Field(ge=1, le=16)
    rows: int = Field(ge=1, le=16)
    folds: tuple[str, ...]
    head: Literal["top", "bottom", "left", "right"] | None = None


class HouseFolder(Table):
    """``[[folder]]``"""

    name: str
    schemes: tuple[str, ...]
    sheet_max: Size
    sheet_min: Size
    #: heaviest paper it folds by pages a section, g/m2: ``{16 = 150, 32 = 90, 64 = 45}``
    grammage_max: dict[int, float] = Field(default_factory=dict)


class StockSheet(Table):
    """A size in which a stock is held: short side first as the trade writes it, and its grain."""

    size: Size
    grain: Grain


class HouseStock(Table):
    """``[[stock]]``"""

    name: str
    grammage: float = Field(gt=0)
    bulk: float = Field(gt=0.3, lt=4)  #: cm3/g
    sheets: tuple[StockSheet, ...] = Field(min_length=1)

    @property
    def caliper_mm(self) -> float:
        """Thickness of one leaf: grammage x bulk / 1000 (ISO 534: bulk is thickness over grammage)."""
        return self.grammage * self.bulk / 1000


class Allowances(Table):
    """``[allowances]``"""

    bleed: Length = 3.0
    head: PositiveLength = 5.0
    foot: PositiveLength = 5.0
    fore_edge: PositiveLength = 4.0
    spine_grind: Length = 3.0
    #: least matter beyond the trim in which a bolt may lie, on the outermost leaf
    bolt_min: Length = 3.0
    #: push-out of a leaf for every leaf outside it, in calipers
    creep_factor: float = Field(default=1.0, ge=0.0, le=1.5708)


class House(Table):
    """A house file: the shop."""

    name: str
    presses: tuple[HousePress, ...] = Field(alias="press", min_length=1)
    schemes: tuple[HouseScheme, ...] = Field(alias="scheme", min_length=1)
    folders: tuple[HouseFolder, ...] = Field(alias="folder", min_length=1)
    stocks: tuple[HouseStock, ...] = Field(alias="stock", min_length=1)
    #: stock used when the job names none
    usual_stock: str
    #: papers up to this grammage are folded to 32s, heavier ones to 16s
    thin_below: float = 60.0
    allowances: Allowances = Allowances()
