# SPDX-License-Identifier: AGPL-3.0-or-later
"""A plan and all that belongs to it, as the benches are told of it, for tests of the tickets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.plan import PagePlace, Plan
from foldproof.prove.model import MarkRead, PageProof, Proof, Verdict
from foldproof.quantities.model import Work
from foldproof.quantities.reckon import reckon
from foldproof.tickets import folding, gathering, press_sheet, stock, trimming
from foldproof.tickets.diagram import drawings
from foldproof.tickets.write import MOST_KINDS


def work_of(plan: Plan, *, job: Job | None = None, house: House | None = None, **given: Any) -> Work:
    """The work of a plan whose sheets were written and folded just as it says, unless ``proof`` is given."""
    job, house = job or Job(), house or load_house(None)
    given.setdefault("proof", proof_of(plan))
    return Work(plan, job, house, reckon(plan, job, house), **given)


def entries(work: Work, bench: str) -> list[dict[str, Any]]:
    """What stands on the tickets of a bench, entry by entry; nothing is reckoned of the others."""
    drawn = drawings(work.plan, MOST_KINDS, work.folios) if bench in ("press", "folding") else ()
    match bench:
        case "press":
            made = tuple(press_sheet.entry(work, drawing) for drawing in drawn)
        case "folding":
            made = tuple(folding.entry(work, drawing) for drawing in drawn)
        case _:
            made = {"stock": stock, "gathering": gathering, "trimming": trimming}[bench].benches(work)
    return [entry.as_data(first=not n) for n, entry in enumerate(made)]


def facts_of(entry: dict[str, Any]) -> dict[str, str]:
    return dict(entry["facts"])


def proof_of(plan: Plan) -> Proof:
    """What the proof says of sheets that were written as the plan says; for tests that write none."""
    return Proof(
        verdict=Verdict.PROVED,
        pages=_found(plan.places),
        faults=(),
        blanks=tuple(place.position for place in plan.places if place.page is None),
        alike=(),
        sheets_sha256="cd" * 32,
        manuscript_sha256="ab" * 32,
        copies=_found(plan.again),
        marks=_marks(plan),
    )


def _found(places: Sequence[PagePlace]) -> tuple[PageProof, ...]:
    return tuple(
        PageProof(
            position=place.position,
            expected=None if place.page is None else place.page + 1,
            found=None if place.page is None else place.page + 1,
            sheet=place.sheet,
            side=place.side.value,
            section=place.section,
            shift_mm=0.0,
            look="blank" if place.page is None else "same",
            claimed=place.page is not None,
        )
        for place in places
    )


def _marks(plan: Plan) -> tuple[MarkRead, ...]:
    """A bar for every section, in one piece: the head end ``first + n x step`` below the head trim, in runs."""
    mark = plan.instructions.collation
    if mark is None:
        return ()
    made = []
    for unit, section in enumerate(plan.sections):
        place = plan.places[section.first]
        top = mark.first_mm + unit % mark.steps * mark.step_mm
        span = (top, top + mark.length_mm)
        made.append(MarkRead(unit, section.first, place.sheet, place.side.value, place.section, (span,), True, True))
    return tuple(made)
