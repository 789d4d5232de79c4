# SPDX-License-Identifier: AGPL-3.0-or-later
"""What comes after the folded sheet: the tables of job and house for case, cover, jacket, stamping, trimming, packing.

A customary value stands as a default with ``common practice, no source`` unless another source is named.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field

from foldproof.job.tables import Length, PositiveLength, Price, Size, Table

Rounding = Literal["flat", "rounded", "rounded and backed"]
CoverKind = Literal["case", "paper", "none"]
Endpapers = Literal["separate", "self", "none"]
SpineReads = Literal["head to foot", "foot to head"]
Knife = Literal["fore-edge", "head and foot"]


# --- the job --------------------------------------------------------------------------------------------------------


class CoverChoice(Table):
    """``[cover]``: a case of boards and cloth, or a paper cover."""

    #: when unsaid: sewn books get a case, glued and stitched ones a paper cover, leaflets none
    kind: CoverKind | None = None
    #: names of the house's board and cloth; its first when unsaid
    board: str | None = None
    cloth: str | None = None
    rounding: Rounding = "flat"
    #: ``"separate"``: folded sheets pasted on; ``"self"``: the first and last leaf of the block, which must be blank
    endpapers: Endpapers = "separate"
    #: stocks of the house: of separate endpapers, and of a paper cover; that of the text when unsaid
    endpaper_stock: str | None = None
    stock: str | None = None
    #: by the job instead of the house's custom
    square: Length | None = Field(default=None, ge=0)
    joint: Length | None = Field(default=None, ge=0)
    turn_in: PositiveLength | None = None
    #: of a paper cover: flaps that fold in (0: none), and how far from the spine it is creased and glued
    flaps: Length = Field(default=0.0, ge=0)
    hinge: Length | None = Field(default=None, ge=0)


class JacketChoice(Table):
    """``[jacket]``: a paper jacket round the case or the covered book."""

    stock: str | None = None
    flaps: PositiveLength = 90.0


class StampingChoice(Table):
    """``[stamping]``: what a die prints in foil on spine and front board."""

    #: name of the spot colour in which the die is drawn
    ink: str = Field(min_length=1, max_length=60)
    #: as the book's title and author when unsaid; ``""`` leaves it away
    title: str | None = Field(default=None, max_length=200)
    author: str | None = Field(default=None, max_length=200)
    spine: bool = True
    front: bool = True
    spine_reads: SpineReads = "head to foot"
    #: a vector drawing (PDF), beside the job file: on the front board, on the spine, or both
    emblem: Path | None = None
    emblem_on: Literal["front", "spine", "both"] = "front"
    #: as the die is engraved
    mirror: bool = False


# --- the house ------------------------------------------------------------------------------------------------------


class HouseBoard(Table):
    """``[[board]]``"""

    name: str
    thickness: PositiveLength
    #: size of the board as it is bought, and the side its grain runs along
    sheet: Size
    grain: Literal["long", "short"] = "long"
    grammage: float | None = Field(default=None, gt=0)
    price_per_sheet: Price | None = None


class HouseCloth(Table):
    """``[[cloth]]``: covering material on a roll; its grain (warp) runs along the roll."""

    name: str
    thickness: PositiveLength
    roll_width: PositiveLength
    grammage: float | None = Field(default=None, gt=0)
    price_per_metre: Price | None = None


class HouseCarton(Table):
    """``[[carton]]``"""

    name: str
    #: inside: length x width, and height
    inside: Size
    height: PositiveLength
    #: heaviest carton, kg, that the shop lets a person lift
    weight_max: float = Field(gt=0)
    #: what the empty carton weighs, kg, and the thickness of its wall
    weight: float = Field(default=0.0, ge=0)
    wall: Length = Field(default=4.0, ge=0)
    price: Price | None = None


class Pallet(Table):
    """``[pallet]``"""

    size: Size
    #: of the load with the pallet under it
    height_max: PositiveLength
    height: Length = Field(default=144.0, ge=0)
    #: heaviest load, kg, without the pallet
    weight_max: float = Field(gt=0)
    weight: float = Field(default=0.0, ge=0)


class Finishing(Table):
    """``[finishing]``: what the house does by custom from sewing to casing-in."""

    #: board beyond the block at head, foot and fore-edge (case-3mm of the handbook, from memory)
    square: Length = Field(default=3.0, ge=0)
    #: gap between board and spine strip, in which the case hinges (case-3mm, from memory: 6 to 8 mm)
    joint: Length = Field(default=7.0, ge=0)
    turn_in: PositiveLength = 15.0  #: case-3mm, from memory
    #: thickness that lining, mull and glue add to the spine of the block
    lining: Length = Field(default=0.5, ge=0)
    #: part of its swell that nipping leaves to a sewn block (sew-swell-limit: no more than the groove wants)
    swell_left: float = Field(default=0.5, ge=0, le=1)
    #: sewing thread, and what is left of it between pressed sections
    thread: Length = Field(default=0.30, ge=0)
    thread_pressed: float = Field(default=0.5, ge=0, le=1)
    #: holes from head and foot of the trimmed book to the kettle stitches (sew-kettle, from memory: 12 mm)
    kettle: Length = Field(default=12.0, ge=0)
    #: farthest that two neighbouring holes are apart
    stitch_max: PositiveLength = 45.0
    #: angle of the arc of a rounded spine, degrees (case-arc: 120 is a third of a circle)
    round_angle: float = Field(default=120.0, gt=0, lt=180)
    #: the order of the three knives
    knives: tuple[Knife, ...] = ("fore-edge", "head and foot")
    #: highest pile under the trimmer's clamp
    pile_max: PositiveLength = 80.0
    #: of a paper cover: creased so far from the spine
    hinge: Length = Field(default=6.0, ge=0)
    #: by how much a supplied cover's spine may differ from the computed one
    spine_tolerance: PositiveLength = 0.8
    #: hours that cased books stand in the press
    press_hours: float = Field(default=12.0, ge=0)
    cases_per_hour: float | None = Field(default=None, gt=0)
    casing_per_hour: float | None = Field(default=None, gt=0)
    hour_price: Price | None = None
    #: thinnest line and narrowest space that a foil die holds
    die_line: PositiveLength = 0.2
    die_space: PositiveLength = 0.3


class InkFilm(Table):
    """``[ink_film]``: wet ink on a solid, g/m2."""

    coated: float = Field(default=1.3, gt=0, le=10)
    uncoated: float = Field(default=1.8, gt=0, le=10)
    price_per_kg: Price | None = None
