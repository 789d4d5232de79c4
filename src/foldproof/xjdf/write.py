# SPDX-License-Identifier: AGPL-3.0-or-later
"""job.xjdf and ink-zones.xjdf: the whole job for machines, in the open standard XJDF.

Everything that the standard has a place for stands there.  What it has none for (push-out per leaf, the collation mark,
signatures of gathered sections, the lean against bottling) is a ``GeneralID`` whose name begins with ``foldproof.``.
The files know no clock: a day that the job states is the only date in them.
"""

from __future__ import annotations

import re
from pathlib import Path

from foldproof.files import write_bytes
from foldproof.quantities.model import Work
from foldproof.xjdf.bindery import add_bindery
from foldproof.xjdf.held import held
from foldproof.xjdf.ink_zones import ink_zones
from foldproof.xjdf.model import HeldPlan
from foldproof.xjdf.product import product_list, types_of
from foldproof.xjdf.sheets import add_plates, add_sheets
from foldproof.xjdf.terms import number, points, token, tokens
from foldproof.xjdf.tree import Ours, Ticket

#: name of the second file, beside the first
INK_ZONES = "ink-zones.xjdf"
_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")

_FRAMES = (
    "Coordinates are points. Each side is stated as its plate prints it, its own gripper edge at the bottom; boxes of "
    "pieces, slits and folds are seen from the front. CTM takes the upright page, counted from the lower left of its "
    "trim, to the side; Ord counts through the run list, blanks as reservations among the pages.",
    "Folds are told with the left or the front part moving and the pile never turned between; Travel counts from that "
    "edge of the pile. BindingOrientation brings the folded pile head up, its spine at the binding side. Cells of a "
    "piece go from its lower left, row after row; their pages are counted from 0 within the piece.",
    "Names that begin with foldproof. are not of the standard.",
)


def write_xjdf(work: Work, target: Path) -> tuple[Path, ...]:
    """Write the job ticket, and beside it the presets of the ink zones where inks were measured.

    Returns:
        What was written, ``target`` first.

    Raises:
        NotWritten: the folder does not take a file.
    """
    plan = held(work.plan)
    write_bytes(target, job_ticket(work, plan))
    if work.ink is None or not work.ink.covers:
        return (target,)
    beside = target.with_name(INK_ZONES)
    write_bytes(beside, ink_zones(work, plan, job_name(plan), _day(work)))
    return target, beside


def job_ticket(work: Work, plan: HeldPlan) -> bytes:
    """The job ticket as the bytes of its file; ``plan``: what it holds of the plan of the work."""
    types = types_of(work, plan)
    ticket = Ticket(job_name(plan), plan.title, types)
    day = _day(work)
    if day:
        ticket.created(day)
    for text in _FRAMES:
        ticket.comment(text)
    ticket.ours(_beyond(plan))
    named = (ink for sheet in plan.sheets for inks in sheet.inks for ink in inks)
    inks = tokens((*named, *(plate.ink for plate in work.quantities.plates)))
    ticket.add(product_list(work, plan, inks))
    coated = (stock.name for stock in work.house.stocks if stock.surface == "coated")
    add_sheets(ticket, plan, _creeps(work), coated, inks)
    add_plates(ticket, work.quantities.plates, inks)
    add_bindery(ticket, work, plan)
    return ticket.as_bytes()


def job_name(plan: HeldPlan) -> str:
    """A name token for the job, from its title."""
    return token(plan.title, "job")


def _beyond(plan: HeldPlan) -> Ours:
    told: Ours = (("CreepFactor", number(plan.creep_factor)), ("CreepBy", plan.creep_by))
    if plan.collation is not None:
        first, step, steps, length, width, gap = plan.collation
        told += (("Collation", f"{points(first, step)} {steps} {points(length, width, gap)}"),)
    return told


def _creeps(work: Work) -> dict[tuple[int, str], tuple[float, float]]:
    """By how much the least and the most pushed page of every side is moved towards the spine, mm."""
    found: dict[tuple[int, str], tuple[float, float]] = {}
    for place in (*work.plan.places, *work.plan.again):
        key = place.sheet, place.side.value
        least, most = found.get(key, (place.creep_mm, place.creep_mm))
        found[key] = min(least, place.creep_mm), max(most, place.creep_mm)
    return found


def _day(work: Work) -> str:
    return work.date if _DAY.fullmatch(work.date) else ""
