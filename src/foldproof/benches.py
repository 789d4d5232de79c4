# SPDX-License-Identifier: AGPL-3.0-or-later
"""What every bench of the shop is handed, once the sheets are proved: numbers, drawings, tickets, the job ticket."""

from __future__ import annotations

from pathlib import Path

from attrs import evolve, frozen

from foldproof.case.cover_drawing import write_cover_drawing
from foldproof.case.cover_sizes import cover_sizes, jacket_sizes
from foldproof.case.die import write_die
from foldproof.case.drawing import write_case_drawing
from foldproof.case.sizes import reckoned_case
from foldproof.desk import BENCH_TICKETS, CASE, COVER_DRAWING, DIE, JACKET_DRAWING, JOB_TICKET, TICKETS, Asked
from foldproof.manuscript.first_lines import first_lines
from foldproof.manuscript.folios import printed_folios
from foldproof.pdf.die_emblem import Emblem
from foldproof.preflight.model import Finding
from foldproof.quantities.ink import ink_covers
from foldproof.quantities.model import Work
from foldproof.quantities.reckon import reckon
from foldproof.report.model import Results
from foldproof.tickets.gathering import first_pages
from foldproof.tickets.write import write_tickets
from foldproof.workers import Workers
from foldproof.xjdf.write import write_xjdf


@frozen
class Told:
    """What the benches are told from, and what the report is to say of it, a sentence each."""

    work: Work
    notes: tuple[str, ...]


def work_of(results: Results, asked: Asked, sheets: Path, workers: Workers) -> Told:
    """Reckon what a proved plan takes, and measure the ink on its written sheets.

    Raises:
        AskedWrong: the job names a board, cloth or stock that the house has not.
    """
    plan, proof = results.plan, results.proof
    assert plan is not None and proof is not None, "benches are told of a proved plan alone"
    quantities = reckon(plan, asked.job, asked.house)
    ink = ink_covers(sheets, plan, asked.house, workers, shunned=frozenset(results.observations.ended))
    case = reckoned_case(plan, asked.job, asked.house, quantities.thickness)
    book = asked.job.book
    work = Work(
        plan,
        asked.job,
        asked.house,
        quantities,
        proof=proof,
        ink=ink,
        case=case.sizes,
        cover=cover_sizes(plan, asked.job, asked.house, quantities.thickness),
        jacket=jacket_sizes(plan, asked.job, asked.house, quantities.thickness, case.sizes),
        folios=printed_folios(results.observations),
        first_lines=first_lines(
            results.observations,
            results.manuscript,
            first_pages(plan, proof),
            workers,
            results.password,
        ),
        author=book.author or results.manuscript.author,
        isbn=book.isbn or "",
        date=results.date,
    )
    notes = [*ink.notes, *([case.unknown] if case.unknown else [])]
    if asked.job.stamping is not None and case.sizes is None:
        notes.append("The job asks for stamping, and the book has no case: no die was drawn.")
    return Told(work, tuple(notes))


def write_benches(work: Work, folder: Path, emblem: Emblem | None = None) -> tuple[Finding, ...]:
    """Tickets, drawings, die and job ticket, as far as the book has them.

    ``emblem``: of the die, where the job names one.

    Returns:
        What is wrong with the die.

    Raises:
        AskedWrong: the die cannot be drawn of what the job asks for.
        NotWritten: the folder does not take the files.
    """
    plan = work.plan
    findings: tuple[Finding, ...] = ()
    write_tickets(work, folder / TICKETS, folder / BENCH_TICKETS)
    write_xjdf(work, folder / JOB_TICKET)
    if work.case is not None:
        write_case_drawing(work.case, plan.title, folder / CASE, plan.reading)
        if work.job.stamping is not None:
            # where on the open case it is, its words say: no page of the book shows it
            die = write_die(work.case, work.job, work.house, plan.title, work.author, folder / DIE, emblem)
            findings = tuple(evolve(finding, place_mm=None) for finding in die.findings)
    if work.cover is not None:
        write_cover_drawing(work.cover, plan.title, folder / COVER_DRAWING)
    if work.jacket is not None:
        write_cover_drawing(work.jacket, plan.title, folder / JACKET_DRAWING)
    return findings
