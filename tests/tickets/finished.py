# SPDX-License-Identifier: AGPL-3.0-or-later
"""Works for the tests of the binder's benches, and their tickets read back with MuPDF."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pymupdf
from attrs import evolve

from foldproof.case.cover_sizes import cover_sizes
from foldproof.case.sizes import case_sizes
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import GatheredSection, Plan
from foldproof.quantities.model import Work
from foldproof.quantities.reckon import reckon
from foldproof.tickets import casing_in, packing, sewing, traveller, trimming
from foldproof.tickets.bench import Bench, frame_data
from foldproof.tickets.typeset import pdf

LONG = "The Lamplighter’s, Wharfinger’s and Nightwatchman’s Almanack of Tides, Lamps, Fogs and Ferries, " * 4
SOURCES = (
    ("foldproof.tickets", "sheet.typ"),
    ("foldproof.tickets", "bench.typ"),
    ("foldproof.tickets", "finish.typ"),
    ("tests.tickets", "finish_only.typ"),
)


def work_on(plan: Plan, job: Job, house: House, **more: Any) -> Work:
    quantities = reckon(plan, job, house)
    return Work(
        plan,
        job,
        house,
        quantities,
        case=case_sizes(plan, job, house, quantities.thickness),
        cover=cover_sizes(plan, job, house, quantities.thickness),
        **{"author": "A. Wick", "isbn": "978-0-00-000000-2", "date": "2026-11-28", **more},
    )


def made(
    pages: int = 320,
    job: dict[str, Any] | None = None,
    trim_mm: tuple[float, float] = (140.0, 216.0),
    title: str = "The Wharfinger’s Year",
    house: House | None = None,
    **more: Any,
) -> Work:
    """A real make-up on the shipped house."""
    told, shop = Job.model_validate(job or {}), house or load_house(None)
    return work_on(plans(pages, trim_mm, told, shop, title=title, most=1)[0], told, shop, **more)


def house_with(**finishing: Any) -> House:
    """The shipped house with other customs at the binder's benches."""
    house = load_house(None)
    return house.model_copy(update={"finishing": house.finishing.model_copy(update=finishing)})


def by_hand(
    samples: ModuleType,
    trim_mm: tuple[float, float],
    pages: int = 64,
    job: dict[str, Any] | None = None,
    title: str = "Nightwatch Songs",
    pieces: int = 1,
    house: House | None = None,
) -> Work:
    """The sample octavo in another size, which no press of the house need take; sections of so many pieces each."""
    plan = samples.plan(pages, title)
    told = Job.model_validate(job or {})
    wide, high = trim_mm[0] + 4.0, trim_mm[1] + 10.0
    sheets = tuple(
        evolve(sheet, sections=tuple(evolve(s, column_mm=(wide,) * 4, row_mm=(high,) * 2) for s in sheet.sections))
        for sheet in plan.instructions.sheets
    )
    sections = plan.sections
    if pieces > 1:
        groups = [sections[n : n + pieces] for n in range(0, len(sections), pieces)]
        sections = tuple(
            GatheredSection(
                n, str(n), tuple(p for s in group for p in s.pieces), sum(s.pages for s in group), group[0].first, 0
            )
            for n, group in enumerate(groups, 1)
        )
    plan = evolve(
        plan,
        trim_mm=trim_mm,
        binding=told.book.binding,
        reading=told.book.reading,
        sections=sections,
        instructions=evolve(plan.instructions, sheets=sheets, trim_mm=trim_mm),
    )
    return work_on(plan, told, house or load_house(None))


def benches(work: Work) -> tuple[Bench, ...]:
    return tuple(b for room in (traveller, sewing, trimming, casing_in, packing) for b in room.benches(work))


def tickets(work: Work) -> pymupdf.Document:
    """The tickets of the binder's benches alone, set and opened again."""
    return pymupdf.open(stream=pdf(SOURCES, frame_data(work.plan.title, benches(work), work.date)), filetype="pdf")


def facts_of(bench: Bench) -> dict[str, str]:
    return dict(bench.facts)
