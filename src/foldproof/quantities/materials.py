# SPDX-License-Identifier: AGPL-3.0-or-later
"""Board, cloth and papers of a job beside those of its text: as the job names them, else by the custom of the house."""

from __future__ import annotations

from attrs import frozen

from foldproof.errors import AskedWrong
from foldproof.job.finishing import HouseBoard, HouseCloth
from foldproof.job.load import named_board, named_cloth
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan


@frozen
class Leaf:
    """A paper, by one leaf of it."""

    name: str
    grammage: float
    caliper_mm: float


def board_of(job: Job, house: House) -> HouseBoard | None:
    """The board that the job names, else the first of the house; ``None`` where it states none.

    Raises:
        AskedWrong: the house has none of that name.
    """
    return named_board(job, house) or next(iter(house.boards), None)


def cloth_of(job: Job, house: House) -> HouseCloth | None:
    """The cloth that the job names, else the first of the house; ``None`` where it states none.

    Raises:
        AskedWrong: the house has none of that name.
    """
    return named_cloth(job, house) or next(iter(house.cloths), None)


def endpaper_of(plan: Plan, job: Job, house: House) -> Leaf:
    """Paper of separate endpapers: the stock that the job names, else that of the text.

    Raises:
        AskedWrong: the house has no stock of that name.
    """
    return _leaf("cover.endpaper_stock", job.cover.endpaper_stock, plan, house)


def cover_paper_of(plan: Plan, job: Job, house: House) -> Leaf:
    """Of a paper cover, likewise."""
    return _leaf("cover.stock", job.cover.stock, plan, house)


def jacket_paper_of(plan: Plan, job: Job, house: House) -> Leaf:
    """Of a jacket, likewise."""
    return _leaf("jacket.stock", job.jacket.stock if job.jacket else None, plan, house)


def _leaf(key: str, name: str | None, plan: Plan, house: House) -> Leaf:
    if name is None:
        return Leaf(plan.stock, plan.grammage, plan.caliper_mm)
    for stock in house.stocks:
        if stock.name == name:
            return Leaf(stock.name, stock.grammage, stock.caliper_mm)
    held = ", ".join(f'"{stock.name}"' for stock in house.stocks)
    raise AskedWrong(f'The job: {key}: {house.name} has no stock "{name}"; it has {held}.')
