# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets to be ordered, by stock, size and grain.  Pure."""

from __future__ import annotations

from fractions import Fraction

from foldproof.job.model import House, Job
from foldproof.makeup.cost_sheets import exact, half_up
from foldproof.makeup.paper import papers_for
from foldproof.makeup.plan import Plan, SheetRun
from foldproof.quantities.model import StockOrder

#: sheets of a ream (ream-units of the handbook: 20 quires of 25)
REAM = 500


def orders(plan: Plan, job: Job, house: House) -> tuple[StockOrder, ...]:
    """What the plan's press sheets take, in the order in which they are first wanted.

    Net and gross are those of the plan, which was reckoned backwards from the finished books
    (:mod:`foldproof.makeup.cost_sheets`).  Weight is sheets x area x grammage (a4-5g of the handbook); the price is
    that of the house a kilogramme, rounded to hundredths, halves upwards.

    Raises:
        NoPlan: the stock is not held in the size or grain that the job asks for.
    """
    prices = {paper.name: paper.price_per_kg for paper in papers_for(job, house)}
    alike: dict[tuple[str, float, tuple[float, float], str], list[SheetRun]] = {}
    for run in plan.runs:
        alike.setdefault((run.stock, run.grammage, run.sheet_mm, run.grain), []).append(run)
    made = []
    for (stock, grammage, sheet_mm, grain), runs in alike.items():
        gross = sum(run.gross_sheets for run in runs)
        kilos, price = sheets_kg(gross, sheet_mm, grammage), prices.get(stock)
        made.append(
            StockOrder(
                stock=stock,
                grammage=grammage,
                sheet_mm=sheet_mm,
                grain=grain,
                sheets=tuple(run.sheet for run in runs),
                net=sum(run.net_sheets for run in runs),
                gross=gross,
                reams=gross / REAM,
                weight_kg=float(kilos),
                price=None if price is None else half_up(kilos * exact(price), 2) / 100,
            )
        )
    return tuple(made)


def sheets_kg(sheets: int, sheet_mm: tuple[float, float], grammage: float) -> Fraction:
    """Sheets x area x grammage: mm2 x g/m2 is 1e-6 g, and so 1e-9 kg."""
    return sheets * exact(sheet_mm[0]) * exact(sheet_mm[1]) * exact(grammage) / 10**9
