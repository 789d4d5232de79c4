# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sewing: where the needles go, and how much thread a book takes.  Pure; millimetres, thread in metres."""

from __future__ import annotations

from math import ceil

from foldproof.job.covering import allowances_for
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.counts import books_of
from foldproof.quantities.model import Thickness, Thread
from foldproof.units import format_mm

#: thread that the loop of a kettle stitch takes round the section below, and loose ends at the first and last section
#: of a book (common practice, no source)
KETTLE_LOOP_MM, ENDS_MM = 10.0, 100.0
_SLACK = 1e-9


def thread(plan: Plan, job: Job, house: House, thick: Thickness) -> Thread | None:
    """Holes and thread of a sewn book; ``None`` where nothing is sewn, or the book is too low for two kettle stitches.

    Every section is sewn all along: thread runs in its fold from one kettle stitch to the other, then climbs to the
    next section, which takes the thickness of a section at the back and a loop.  So a book takes

        sections x (between the kettles + loop) + block and swell at the back + loose ends

    (the way of the thread: sew-threads of the handbook, a thread for each section; the loop and the ends: common
    practice, no source).
    """
    if plan.binding != "sewn":
        return None
    holes = holes_mm(plan.trim_mm[1], house.finishing.kettle, house.finishing.stitch_max)
    if not holes:
        return None
    sections, between = len(plan.sections), holes[-1] - holes[0]
    back = thick.block_mm + thick.swell_mm
    metres = (sections * (between + KETTLE_LOOP_MM) + back + ENDS_MM) / 1000
    books = ceil(books_of(plan, allowances_for(job, house)).sewn)
    return Thread(
        sections=sections,
        holes_mm=holes,
        metres_per_book=metres,
        metres=metres * books,
        says=(
            f"{sections:,} x ({format_mm(between)} between the kettle stitches + a loop of {format_mm(KETTLE_LOOP_MM)})"
            f" + {format_mm(back)} up the back + ends of {format_mm(ENDS_MM)} = {metres:.2f} m a book; {books:,} books."
        ),
    )


def holes_mm(height_mm: float, kettle_mm: float, stitch_max_mm: float) -> tuple[float, ...]:
    """Holes from the head of the trimmed book, the first and the last at the kettle stitches; none where they meet.

    Kettle stitches lie ``kettle_mm`` from head and foot, none nearer (sew-kettle of the handbook).  Between them holes
    lie evenly, at most ``stitch_max_mm`` apart, and as few as go; their number is even, since thread that goes out of
    the fold comes back by a second hole (common practice, no source).
    """
    between = height_mm - 2 * kettle_mm
    if between <= _SLACK:
        return ()
    stitches = max(1, ceil(between / stitch_max_mm - _SLACK))
    stitches += (stitches + 1) % 2
    return tuple(kettle_mm + nth * between / stitches for nth in range(stitches + 1))
