# SPDX-License-Identifier: AGPL-3.0-or-later
"""The order of the stages: read → check → mend → make up → impose → prove → print.

Each public function below is one walk of a manuscript through the rooms; the stages themselves live in the folders of
the same names.  The library and the command line run the same bodies.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from attrs import evolve, frozen

from foldproof.benches import work_of, write_benches
from foldproof.case.die_checks import DIE_CHECKS
from foldproof.case.emblem import emblem_of
from foldproof.covers.registry import ALL as OF_COVERS
from foldproof.desk import (
    DUMMY,
    LATE,
    LATE_TOLD,
    REPORTS,
    SHEETS,
    UNPROVED_SHEETS,
    Asked,
    Nobody,
    Watch,
    bench,
    instructions_in,
    publish,
    settings_of,
)
from foldproof.errors import AskedWrong, ExitCode, NoPlan
from foldproof.impose.write import write_sheets
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.manuscript.dates import day_of
from foldproof.manuscript.model import Manuscript
from foldproof.manuscript.observe import observe
from foldproof.manuscript.page_inks import ink_names, page_inks
from foldproof.manuscript.read import read
from foldproof.manuscript.same import hold_same
from foldproof.manuscript.seen import PROCESS
from foldproof.manuscript.trim import book_trim_mm
from foldproof.mend.run import mend, told
from foldproof.pdf.die_emblem import Emblem
from foldproof.pdf.splitting import split_sheets
from foldproof.preflight.known import compared
from foldproof.preflight.model import Facts, Finding
from foldproof.preflight.page_digests import page_digests
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.run import check, needs_of
from foldproof.prove.model import Proof, Verdict
from foldproof.prove.prove import prove
from foldproof.quantities.reckon import reckon
from foldproof.report.estimate import Estimated
from foldproof.report.kept import Kept, read_kept, write_late
from foldproof.report.model import Refusal, Results
from foldproof.report.write import write_reports
from foldproof.tickets.dummy import write_dummy
from foldproof.workers import Workers

#: names of the inks of every page of a manuscript
Inks = tuple[tuple[str, ...], ...]


@frozen
class Outcome:
    """What a run came to."""

    code: ExitCode
    results: Results
    files: tuple[str, ...] = ()


def make(asked: Asked, watch: Watch = Nobody()) -> Outcome:  # noqa: B008 - it holds no state
    """Every stage: from a manuscript to proved sheets, a report and tickets in ``asked.out``.

    Raises:
        FoldproofError: as :mod:`foldproof.errors` tells; a plan or proof that fails is an outcome, not an error.
    """
    kept = read_kept(asked.late) if asked.late else None
    with _hands(asked) as workers, bench(asked.out, asked.manuscript) as folder:
        # before the book is looked at: a slip of the job is told at once
        emblem = emblem_of(asked.job, workers)
        results = _read_and_check(asked, workers, watch, kept)

        watch.stage("mend", 0)
        mended = mend(results.manuscript, asked.job, asked.job.mend.repairs, folder, password=asked.password)
        if mended.changes:
            inks = page_inks(results.observations, results.manuscript.spots)
            if len(inks) != len(mended.manuscript.pages):
                # pages came or went, and nobody has looked at these: every ink of the book on every page
                inks = (ink_names(inks),) * len(mended.manuscript.pages)
            plan, refusal = _make_up(asked, mended.manuscript, inks, kept)
            results = evolve(
                results, manuscript=mended.manuscript, plan=plan, refusal=refusal, notes=told(mended.changes)
            )

        watch.stage("make up", 0)
        plan = results.plan
        if kept is not None:
            results = kept.hold_to(results)
            plan = results.plan
        if plan is None:
            return _print(results, asked, folder, workers, watch)

        watch.stage("impose", 2 * plan.sheets)
        # sheets whose matter stays are to stay the same to the byte: late ones keep the date of the first
        date = kept.date if kept else asked.date or day_of(results.manuscript.mod_date)
        sheets = write_sheets(
            mended.manuscript,
            plan,
            asked.job,
            folder / SHEETS,
            date=date,
            password=asked.password,
            advance=watch.advance,
        )

        watch.stage("prove", len(plan.places))
        proof = prove(
            sheets.path, plan.instructions, mended.path, workers=workers, advance=watch.advance,
            password=asked.password, shunned=results.observations.ended,
        )  # fmt: skip
        written = sheets.path
        if proof.verdict is not Verdict.PROVED:
            hold_same(mended.manuscript)  # sheets are no worse for being held against another version
            written = written.rename(folder / UNPROVED_SHEETS)
        results = evolve(results, proof=proof, sheets=written, date=date, notes=(*results.notes, *sheets.notes))
        if kept is not None:
            results = kept.told(results)

        return _print(results, asked, folder, workers, watch, emblem)


def look_over(asked: Asked, watch: Watch = Nobody(), *, reports: bool = False) -> Outcome:  # noqa: B008
    """Read and check alone; nothing is written but the reports, where they are asked for, into ``asked.out``."""
    with _hands(asked) as workers:
        results = evolve(_read_and_check(asked, workers, watch), plan=None, refusal=None)
        if not reports:
            return Outcome(_code(results, asked), results)
        with bench(asked.out, asked.manuscript) as folder:
            watch.stage("print", 0)
            write_reports(results, folder, workers)
            # sheets and tickets of an earlier run are not ours to clear away
            return Outcome(_code(results, asked), results, publish(folder, asked.out, REPORTS, asked.most_bytes))


def alternatives(
    asked: Asked,
    pages: int | None = None,
    *,
    most: int = 5,
    inks: int = 1,
    watch: Watch = Nobody(),  # noqa: B008
) -> tuple[Plan, ...]:
    """Make-up alone, best first: of the manuscript, or of so many pages of the job's trim without one.

    Args:
        most: alternatives at the most.
        inks: on every page, where there is no manuscript: 1 black, 4 the process inks, more: spots besides.

    Raises:
        NoPlan: nothing the house has fits.
    """
    return _maker(asked, pages, inks, watch)(asked, most)


def run_lengths(
    asked: Asked,
    copies: Sequence[int],
    pages: int | None = None,
    *,
    inks: int = 1,
    watch: Watch = Nobody(),  # noqa: B008
) -> tuple[Estimated, ...]:
    """Make-up alone for several run lengths: the best plan of each, and what it takes.  The book is read once.

    Raises:
        NoPlan: nothing the house has fits.
    """
    make = _maker(asked, pages, inks, watch)
    made = []
    for number in copies:
        run = asked.job.run.model_copy(update={"copies": number})
        one = evolve(asked, job=asked.job.model_copy(update={"run": run}))
        plan = make(one, 1)[0]
        made.append(Estimated(plan, reckon(plan, one.job, one.house), one.job))
    return tuple(made)


def _maker(asked: Asked, pages: int | None, inks: int, watch: Watch) -> Callable[[Asked, int], tuple[Plan, ...]]:
    """How plans are made, so many at the most, whatever the copies: what is made up has been read and looked at."""
    if pages is None:
        with Workers(asked.workers) as workers:
            manuscript = read(asked.manuscript, trim_mm=asked.job.book.trim, password=asked.password, workers=workers)
            watch.stage("check", len(manuscript.pages))
            stated = asked.job.book.bleed
            observations = observe(
                manuscript, workers, trim_mm=book_trim_mm(manuscript, asked.job.book.trim),
                bleed_mm=asked.house.allowances.bleed if stated is None else stated, needs={"ink"},
                advance=watch.advance, password=asked.password,
            )  # fmt: skip
        seen = page_inks(observations, manuscript.spots)
        return lambda one, most: _plans(one, manuscript, seen, most=most)
    trim_mm = asked.job.book.trim
    if trim_mm is None:
        raise AskedWrong('--pages needs the trim: give --trim "140 x 216 mm" or a job that states it.')
    named = ("Black",) if inks == 1 else (*PROCESS, *(f"Spot {n}" for n in range(1, inks - 3)))[:inks]
    title = asked.job.book.title or "untitled"
    return lambda one, most: plans(pages, trim_mm, one.job, one.house, title=title, most=most, inks=(named,) * pages)


def prove_again(
    sheets: Path,
    plan: Path,
    manuscript: Path | None,
    *,
    workers: int,
    watch: Watch,
    password: str | None = None,
    cluster: str | None = None,
) -> Proof:
    """The prove stage alone, on a written file and the folding instructions in a written plan.

    Raises:
        AskedWrong: the plan cannot be read.
        Unreadable: the sheets or the manuscript cannot be read.
    """
    instructions = instructions_in(plan)
    with _workers(workers, cluster) as hands:
        watch.stage("prove", 0)
        return prove(sheets, instructions, manuscript, workers=hands, advance=watch.advance, password=password)


def _hands(asked: Asked) -> Workers:
    return _workers(asked.workers, asked.cluster, asked.split_pages)


def _workers(count: int, cluster: str | None, more_than: int = 0) -> Workers:
    """So many processes of this machine; for a book of more pages than ``more_than`` those of a cluster, if given."""
    if not cluster:
        return Workers(count)
    from foldproof.cluster.hands import Spread

    return Spread(cluster, count, more_than)


def _read_and_check(asked: Asked, workers: Workers, watch: Watch, kept: Kept | None = None) -> Results:
    watch.stage("read", 0)
    manuscript = read(asked.manuscript, trim_mm=asked.job.book.trim, password=asked.password, workers=workers)

    workers.ready_for(len(manuscript.pages))
    watch.stage("check", len(manuscript.pages))
    trim_mm = book_trim_mm(manuscript, asked.job.book.trim)
    stated = asked.job.book.bleed
    bleed_mm = asked.house.allowances.bleed if stated is None else stated
    # inks decide the plates of every side, folios stand on the tickets, whatever a spec leaves out
    needs = needs_of(asked.spec) | {"ink", "objects"}
    observations = observe(
        manuscript, workers, trim_mm=trim_mm, bleed_mm=bleed_mm, needs=needs, advance=watch.advance,
        password=asked.password,
    )  # fmt: skip
    # pages of another version may have been looked at
    hold_same(manuscript)
    # Grain, inner margins and pictures over the spine are judged in the book as it would be: the make-up is reckoned
    # once, here.
    plan, refusal = _make_up(asked, manuscript, page_inks(observations, manuscript.spots), kept)
    facts = Facts(
        manuscript, observations, asked.job, asked.house, trim_mm, bleed_mm,
        grain_along_spine=plan.grain_along_spine if plan else None, stock=plan.stock if plan else None,
        bulk_mm=plan.bulk_mm if plan else None, sides=plan.sides if plan else None,
        blanks_back=plan.blanks_back if plan else None,
    )  # fmt: skip
    findings, digests = check(facts, asked.spec, of_covers=OF_COVERS), page_digests(observations)
    return Results(
        manuscript, observations, findings, settings_of(asked), checks=CHECKS, plan=plan, refusal=refusal,
        password=asked.password, spec=asked.spec, digests=digests,
        compared=compared(findings, digests, asked.baseline) if asked.baseline is not None else None,
    )  # fmt: skip


def _make_up(asked: Asked, manuscript: Manuscript, inks: Inks, kept: Kept | None) -> tuple[Plan | None, Refusal | None]:
    if kept is not None:
        kept.refuse_pages(len(manuscript.pages))
        inks = kept.inks
    try:
        return _plans(asked, manuscript, inks, most=1, title=kept.title if kept else None)[0], None
    except NoPlan as none:
        return None, Refusal(str(none), none.would)


def _plans(asked: Asked, manuscript: Manuscript, inks: Inks, most: int, title: str | None = None) -> tuple[Plan, ...]:
    trim_mm = book_trim_mm(manuscript, asked.job.book.trim)
    title = title or asked.job.book.title or manuscript.title or manuscript.path.stem
    return plans(len(manuscript.pages), trim_mm, asked.job, asked.house, title=title, most=most, inks=inks)


def _print(
    results: Results, asked: Asked, folder: Path, workers: Workers, watch: Watch, emblem: Emblem | None = None
) -> Outcome:
    watch.stage("print", 0)
    if results.plan is not None and results.proved:
        results = _tell_the_benches(results, asked, folder, workers, emblem)
    write_reports(results, folder, workers)
    if results.proved:
        if results.late is not None:
            write_late(results.late, folder / SHEETS, folder / LATE, folder / LATE_TOLD)
        if asked.split_sheets:
            split_sheets(folder / SHEETS, folder / "sheets")
    return Outcome(_code(results, asked), results, publish(folder, asked.out, most_bytes=asked.most_bytes))


def _tell_the_benches(results: Results, asked: Asked, folder: Path, workers: Workers, emblem: Emblem | None) -> Results:
    """Write what every bench is handed; the results with what there was to say of it."""
    told = work_of(results, asked, folder / SHEETS, workers)
    of_the_die = write_benches(told.work, folder, emblem)
    write_dummy(told.work.plan, folder / DUMMY, told.work.folios)
    results = evolve(results, notes=(*results.notes, *told.notes))
    return _with_the_die(results, of_the_die, asked) if of_the_die else results


def _with_the_die(results: Results, of_the_die: Sequence[Finding], asked: Asked) -> Results:
    """What is wrong with the die beside what is wrong with the pages; no page is at fault."""
    found = results.findings
    items = tuple(sorted((*of_the_die, *found.items), key=lambda one: (one.page or 0, one.check, one.cause)))
    checks = (*found.checks, *dict.fromkeys(one.check for one in of_the_die))
    findings = evolve(found, items=items, checks=checks)
    held = compared(findings, results.digests, asked.baseline) if asked.baseline is not None else None
    return evolve(results, findings=findings, compared=held, checks=(*results.checks, *DIE_CHECKS))


def _code(results: Results, asked: Asked) -> ExitCode:
    if results.proof is not None and results.proof.verdict is not Verdict.PROVED:
        return ExitCode.NOT_PROVED
    if results.refusal is not None:
        return ExitCode.NO_PLAN
    stopped = results.new_stops > 0 and not asked.only_warn
    return ExitCode.STOPPED if stopped else ExitCode.WELL
