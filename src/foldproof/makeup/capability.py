# SPDX-License-Identifier: AGPL-3.0-or-later
"""What each press of the house can carry: most pages a side for the usual trims, grain along the spine.  Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from foldproof.job.model import House, HousePress
from foldproof.makeup import binding as bind
from foldproof.makeup.candidates import bound_ways, folder_for, runs
from foldproof.makeup.folding import LEFT_TO_RIGHT
from foldproof.makeup.layout import TWO_FORMES, Bed
from foldproof.makeup.paper import PaperSheet
from foldproof.makeup.shapes import block_of
from foldproof.units import inch_to_mm

#: name, width, height in mm of the trimmed page.  A sizes: ISO 216.  Demy and royal octavo, crown quarto: BS 1413:1970,
#: from memory.  Inch sizes: handbook us-trims (trade custom, recalled).
USUAL_TRIMS: tuple[tuple[str, float, float], ...] = (
    ("A6", 105.0, 148.0),
    ("4.25 x 6.87 in", inch_to_mm(4.25), inch_to_mm(6.87)),
    ("demy octavo", 138.0, 216.0),
    ("5.5 x 8.5 in", inch_to_mm(5.5), inch_to_mm(8.5)),
    ("A5", 148.0, 210.0),
    ("6 x 9 in", inch_to_mm(6), inch_to_mm(9)),
    ("royal octavo", 156.0, 234.0),
    ("crown quarto", 189.0, 246.0),
    ("A4", 210.0, 297.0),
    ("8.5 x 11 in", inch_to_mm(8.5), inch_to_mm(11)),
)


@frozen
class Capability:
    """The most that one press carries of one trim."""

    press: str
    trim: str
    trim_mm: tuple[float, float]
    pages_a_side: int  #: 0 when nothing fits
    scheme: str  #: name of the scheme; ``""`` when nothing fits
    across: int  #: pieces side by side
    up: int  #: pieces stacked
    sheet_mm: tuple[float, float]  #: along the gripper edge x across it
    grain: str
    heaviest: float  #: heaviest stock of the house, g/m2, with which it goes


def capability(
    house: House, *, binding: str = bind.SEWN, trims: Sequence[tuple[str, float, float]] = USUAL_TRIMS
) -> tuple[Capability, ...]:
    """For each press and trim the most pages a side with the grain along the spine, and by which scheme.

    Of equals the larger section wins (fewer to gather), then the smaller sheet, then the order of the house file.

    Raises:
        FoldError: a scheme of the house does not fold.
    """
    return tuple(
        max(_ways(house, press, binding, name, (width, height)), key=_rank)
        for press in house.presses
        for name, width, height in trims
    )


def _rank(one: Capability) -> tuple[float, ...]:
    return one.pages_a_side, -one.across * one.up, -one.sheet_mm[0] * one.sheet_mm[1], one.heaviest


def _ways(
    house: House, press: HousePress, binding: str, name: str, trim_mm: tuple[float, float]
) -> Iterator[Capability]:
    yield Capability(press.name, name, trim_mm, 0, "", 0, 0, (0.0, 0.0), "", 0.0)
    panel = bind.panel_for(trim_mm, house.allowances.bleed, binding, house.allowances)
    ways, _ = bound_ways(house, LEFT_TO_RIGHT, binding, panel)
    for sheet, held in _sheets(house).items():
        for width, height in ((sheet.long_mm, sheet.short_mm), (sheet.short_mm, sheet.long_mm)):
            if not runs(press, width, height):
                continue
            bed = Bed(press, width, height, TWO_FORMES)
            for way in (way for options in ways.values() for way in options):
                block = block_of(way, LEFT_TO_RIGHT, panel, sheet.grain_upright(width, height))
                grid = bed.grid(block.size_mm, block.panels)
                able = (
                    grammage
                    for grammage, caliper_mm in held
                    if folder_for(block, house.folders, grammage, caliper_mm)[0] is not None
                )
                heaviest = max(able, default=None)
                if grid is None or heaviest is None:
                    continue
                yield Capability(
                    press.name,
                    name,
                    trim_mm,
                    grid.cells * block.panels,
                    way.name,
                    grid.across,
                    grid.up,
                    (width, height),
                    sheet.grain,
                    heaviest,
                )


def _sheets(house: House) -> dict[PaperSheet, list[tuple[float, float]]]:
    """Sizes held in any stock, and the grammages and calipers in which they are to be had."""
    held: dict[PaperSheet, list[tuple[float, float]]] = {}
    for stock in house.stocks:
        for told in stock.sheets:
            sheet = PaperSheet(min(told.size), max(told.size), told.grain)
            held.setdefault(sheet, []).append((stock.grammage, stock.caliper_mm))
    return held
