# SPDX-License-Identifier: AGPL-3.0-or-later
"""How long each bench is at a job, from the speeds that the house states.  Pure; minutes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil
from typing import cast

from attrs import frozen

from foldproof.job.covering import allowances_for, is_cased
from foldproof.job.model import Allowances, Binding, House, Job
from foldproof.makeup.cost_run import binding_cost
from foldproof.makeup.plan import Plan, SheetRun
from foldproof.quantities.counts import books_of, sheet_chain
from foldproof.quantities.model import TimeNeed

_NO_SPEED = "the house states no speed"


def times(plan: Plan, job: Job, house: House) -> tuple[TimeNeed, ...]:
    """Press and folder machine by machine, then binding: make-ready, and what runs over the speed.

    The same reckoning as the plan's cost (:mod:`foldproof.makeup.cost_run`): every sheet is counted for every pass, the
    folder is set for every press sheet, pieces beyond the pockets of the line are gathered in a pass more.  Trimming
    is a pass by itself for sewn books, and where the house states a speed of it.
    """
    spoils = allowances_for(job, house)
    return (
        *_presses(plan.runs, house),
        *_folders(plan, house, spoils),
        *_binding(plan, house, spoils),
        *_casing(plan, job, house, spoils),
    )


def _presses(runs: Sequence[SheetRun], house: House) -> Iterator[TimeNeed]:
    for name in dict.fromkeys(run.press.name for run in runs if run.formes):
        press = next(press for press in house.presses if press.name == name)
        here = [run for run in runs if run.press.name == name]
        formes = sum(sum(run.formes) for run in here)
        sheets = sum(run.gross_sheets * len(run.formes) for run in here)
        yield _need(
            "press", name, formes * press.make_ready_minutes, sheets, press.sheets_per_hour,
            f"{_many(formes, 'forme')} made ready; {_many(sheets, 'sheet')} through it, each pass counted",
        )  # fmt: skip


@frozen
class _Folding:
    folder: str
    sheets: int  #: laid on
    count: int  #: pieces on a sheet
    passes: int


def _folders(plan: Plan, house: House, spoils: Allowances) -> Iterator[TimeNeed]:
    work = [
        _Folding(
            piece.folder,
            sheet_chain(run, plan.run_copies, plan.binding, house, spoils).folding,
            piece.count,
            piece.passes,
        )
        for run in plan.runs
        for piece in run.pieces
    ]
    for name in dict.fromkeys(one.folder for one in work):
        folder = next(folder for folder in house.folders if folder.name == name)
        here = [one for one in work if one.folder == name]
        settings = sum(one.passes for one in here)
        pieces = sum(one.sheets * one.count * one.passes for one in here)
        yield _need(
            "folding", name, settings * folder.make_ready_minutes, pieces, folder.sheets_per_hour,
            f"{_many(settings, 'setting')}; {_many(pieces, 'piece')}",
        )  # fmt: skip


def _binding(plan: Plan, house: House, spoils: Allowances) -> Iterator[TimeNeed]:
    if plan.binding == "leaflet":
        return
    line = next((line for line in house.lines if line.name == plan.line), None)
    name = line.name if line else ""
    sections = len(plan.sections)
    nested = sum(len(section.pieces) - 1 for section in plan.sections)
    bound = binding_cost(sections, nested, plan.run_copies, line, cast(Binding, plan.binding), spoils)
    # the trimmer behind a gluing or stitching line takes the books as they come (common practice, no source)
    in_line = plan.binding != "sewn" and (line is None or line.trimmed_per_hour is None)
    ready = bound.passes * line.make_ready_minutes + bound.feeds * line.station_minutes if line else 0.0
    yield _need(
        "stitching" if plan.binding == "stitched" else "gathering", name, ready, bound.gathered * bound.passes,
        line.books_per_hour if line else None,
        f"{_many(bound.passes, 'pass')} of {_many(bound.gathered, 'book')}, {_many(bound.feeds, 'pocket')} filled",
        "; trimmed in line" if in_line else "",
    )  # fmt: skip
    if plan.binding == "sewn":
        yield _need(
            "sewing", name, 0.0, sections * bound.sewn, line.sewn_sections_per_hour if line else None,
            f"{_many(sections, 'section')} of {_many(bound.sewn, 'book')}",
        )  # fmt: skip
    books = ceil(books_of(plan, spoils).trimmed)
    if not in_line:
        yield _need("trimming", name, 0.0, books, line.trimmed_per_hour if line else None, _many(books, "book"))


def _casing(plan: Plan, job: Job, house: House, spoils: Allowances) -> Iterator[TimeNeed]:
    if not is_cased(job, plan.binding):
        return
    finishing = house.finishing
    books = ceil(books_of(plan, spoils).cased)
    yield _need("case", "", 0.0, books, finishing.cases_per_hour, _many(books, "case"))
    stand = f"; then {finishing.press_hours:g} h in the press, not counted" if finishing.press_hours else ""
    yield _need("casing-in", "", 0.0, books, finishing.casing_per_hour, _many(books, "book"), stand)


def _need(
    bench: str, machine: str, ready: float, number: int, an_hour: float | None, says: str, more: str = ""
) -> TimeNeed:
    speed = f"{_NO_SPEED} for it" if an_hour is None else f"at {an_hour:,g} an hour"
    run = None if an_hour is None else number / an_hour * 60
    return TimeNeed(bench, machine, ready, run, f"{says}, {speed}{more}")


def _many(number: int, what: str) -> str:
    several = what if number == 1 else f"{what}es" if what.endswith("s") else f"{what}s"
    return f"{number:,} {several}"
