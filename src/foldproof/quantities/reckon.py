# SPDX-License-Identifier: AGPL-3.0-or-later
"""All numbers of one job, reckoned once from plan, job and house.  Pure."""

from __future__ import annotations

from foldproof.job.covering import cover_kind
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.counts import counts
from foldproof.quantities.model import Packing, Quantities, StockOrder, Thread, TimeNeed
from foldproof.quantities.order import orders
from foldproof.quantities.packing import packing
from foldproof.quantities.plates import plates
from foldproof.quantities.thickness import thickness
from foldproof.quantities.thread import thread
from foldproof.quantities.time import times


def reckon(plan: Plan, job: Job, house: House) -> Quantities:
    """Thickness, sheets, plates, time, thread, cartons of a plan, for the copies that it was made for.

    Args:
        job, house: those that the plan was made with.

    Raises:
        AskedWrong: the job names a board, cloth or stock that the house has not.
    """
    thick = thickness(plan, job, house)
    ordered, timed = orders(plan, job, house), times(plan, job, house)
    sewing = thread(plan, job, house, thick)
    packed = packing(plan, job, house, thick)
    return Quantities(
        copies=plan.run_copies,
        thickness=thick,
        orders=ordered,
        counts=counts(plan, job, house),
        plates=plates(plan),
        times=timed,
        thread=sewing,
        packing=None if isinstance(packed, str) else packed,
        unknown=_unknown(plan, job, house, ordered, timed, sewing, packed),
        unpacked=packed if isinstance(packed, str) else "",
    )


def _unknown(
    plan: Plan,
    job: Job,
    house: House,
    ordered: tuple[StockOrder, ...],
    timed: tuple[TimeNeed, ...],
    sewing: Thread | None,
    packed: Packing | str,
) -> tuple[str, ...]:
    said = []
    if not plan.runs:
        said.append("Sheets, plates, time of press and folder are not reckoned: the plan states no run of its sheets.")
    unpriced = dict.fromkeys(order.stock for order in ordered if order.price is None)
    said += [f"What {stock} costs is not known: the house states no price of it." for stock in unpriced]
    for need in timed:
        if need.run_min is None:
            who = f"{need.machine}, {need.bench}" if need.machine else need.bench
            said.append(f"Time of {who}: the house states no speed.")
    if plan.binding == "sewn" and sewing is None:
        said.append("Holes and thread are not reckoned: the book is too low for two kettle stitches.")
    if job.cover.rounding == "rounded and backed" and cover_kind(job, plan.binding) == "case" and not house.boards:
        said.append("Shoulders of the back are not reckoned: the house states no board.")
    if isinstance(packed, str):
        said.append(packed)
    elif not packed.pallets:
        said.append(packed.says[-1])
    return tuple(said)
