# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plates to be made, by sheet, side and ink.  Pure."""

from __future__ import annotations

from collections.abc import Iterator

from foldproof.makeup.plan import Plan, SheetRun, Side
from foldproof.quantities.model import PlateNeed

#: side of a plate whose sheet is turned and printed with it again (imp-wat-halves of the handbook: one set of plates)
BOTH = "both"


def plates(plan: Plan) -> tuple[PlateNeed, ...]:
    """A plate for every ink of every forme, in the order of sheets, sides and inks."""
    return tuple(need for run in plan.runs for need in _of(run))


def _of(run: SheetRun) -> Iterator[PlateNeed]:
    if run.one_set:
        yield from (PlateNeed(run.sheet, BOTH, ink) for ink in run.inks[0])
        return
    for side, inks in zip((Side.FRONT, Side.BACK), run.inks, strict=True):
        yield from (PlateNeed(run.sheet, side.value, ink) for ink in inks)
