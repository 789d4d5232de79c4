# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which paper a job is planned on.  Pure; millimetres and g/m2."""

from __future__ import annotations

from attrs import frozen

from foldproof.errors import NoPlan
from foldproof.job.model import House, HouseStock, Job
from foldproof.units import format_size_mm


@frozen
class PaperSheet:
    """One size in which the paper is to be had."""

    short_mm: float
    long_mm: float
    grain: str  #: ``"long"`` or ``"short"``: the side along which the fibres run

    def grain_upright(self, width_mm: float, height_mm: float) -> bool:
        """Whether the grain runs up the sheet when it is laid ``width_mm`` wide and ``height_mm`` high."""
        return (self.grain == "long") == (height_mm > width_mm)

    @property
    def says(self) -> str:
        return f"{format_size_mm(self.short_mm, self.long_mm)}, grain {self.grain}"


@frozen
class PaperChoice:
    """The paper of one book."""

    name: str
    grammage: float
    caliper_mm: float
    sheets: tuple[PaperSheet, ...]  #: in the house's order
    grain_fixed: bool  #: the job itself says how the grain lies; then it may run across the spine, and that is said
    grain_open: bool  #: the sheet is bought and nobody said how its grain lies; it is taken to suit the spine
    assumed: str  #: how it came to be chosen, for the first lines of the report
    price_per_kg: float | None = None  #: as the stock of the house states it


def paper_for(job: Job, house: House) -> PaperChoice:
    """The named stock, else the one nearest in grammage, else the usual one; what the job states goes before the stock.

    Raises:
        NoPlan: the stock is not held in the size or grain that the job asks for.
    """
    asked = job.paper
    stocks = {stock.name: stock for stock in house.stocks}
    if asked.stock is not None:
        if asked.stock not in stocks:
            raise NoPlan(f'{house.name} holds no stock named "{asked.stock}".', tuple(stocks))
        stock, why = stocks[asked.stock], "as the job says"
    elif asked.grammage is not None:
        grammage = asked.grammage
        stock = min(house.stocks, key=lambda held: abs(held.grammage - grammage))
        why = f"the house's nearest to the {grammage:g} g/m2 asked for"
    else:
        stock, why = stocks[house.usual_stock], "the house's usual stock, since the job names none"
    grammage = asked.grammage or stock.grammage
    # bulk is thickness over grammage (ISO 534), so a stock that states its caliper has one too
    bulk = asked.bulk or stock.caliper_mm * 1000 / stock.grammage
    name = stock.name if grammage == stock.grammage else f"{round(grammage, 1):g} g/m2 paper"
    if name != stock.name:
        why = f"as the job says, in the sheets of {stock.name}"
    return PaperChoice(
        name=name,
        grammage=grammage,
        caliper_mm=asked.caliper if asked.caliper is not None else grammage * bulk / 1000,
        sheets=_sheets(job, stock),
        grain_fixed=asked.grain is not None,
        grain_open=asked.sheet is not None and asked.grain is None and not _held(asked.sheet, stock),
        assumed=why,
        price_per_kg=stock.price_per_kg,
    )


def papers_for(job: Job, house: House) -> tuple[PaperChoice, ...]:
    """The paper of the text, then that of every insert of the job.

    Raises:
        NoPlan: as :func:`paper_for`.
    """
    text = paper_for(job, house)
    stocks = {stock.name: stock for stock in house.stocks}
    papers = [text]
    for insert in job.inserts:
        if insert.stock is None or insert.stock == text.name:
            papers.append(text)
            continue
        stock = stocks[insert.stock]
        held = tuple(PaperSheet(min(s.size), max(s.size), s.grain) for s in stock.sheets)
        papers.append(
            PaperChoice(
                stock.name, stock.grammage, stock.caliper_mm, held, False, False, "as the job says", stock.price_per_kg
            )
        )
    return tuple(papers)


def _held(size_mm: tuple[float, float], stock: HouseStock) -> bool:
    return any(sorted(held.size) == sorted(size_mm) for held in stock.sheets)


def _sheets(job: Job, stock: HouseStock) -> tuple[PaperSheet, ...]:
    held = tuple(PaperSheet(min(s.size), max(s.size), s.grain) for s in stock.sheets)
    asked = job.paper
    if asked.sheet is not None:
        short, long = min(asked.sheet), max(asked.sheet)
        same = tuple(s for s in held if (s.short_mm, s.long_mm) == (short, long))
        # a size that the house does not hold is bought; its grain is then as the job says, or as the spine wants it
        held = same or (PaperSheet(short, long, "long"), PaperSheet(short, long, "short"))
        if asked.grain is not None and not any(s.grain == asked.grain for s in held):
            held = (PaperSheet(short, long, asked.grain),)
    if asked.grain is not None:
        held = tuple(s for s in held if s.grain == asked.grain)
        if not held:
            raise NoPlan(
                f'Stock "{stock.name}" is not held with its grain along the {asked.grain} side.',
                ("leave paper.grain out, or name another stock",),
            )
    return held
