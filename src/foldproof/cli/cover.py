# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof cover``: a supplied cover or jacket held against the book that it is for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from attrs import evolve

from foldproof.cli import options as o
from foldproof.cli.answering import answer, answering
from foldproof.cli.ending import ends
from foldproof.errors import AskedWrong, ExitCode

if TYPE_CHECKING:
    from foldproof.case.model import CoverSizes
    from foldproof.desk import Asked, Watch
    from foldproof.makeup.plan import Plan

HELP = """Hold a supplied cover or jacket against the book: size, spine, bleed, title, bars, ISBN.

The book is the plan.json that make wrote, or its interior, which is read and made up once more. Give the same job and
house as for the book.

Examples:  foldproof cover COVER.pdf --plan OUT/plan.json --job JOB.toml
           foldproof cover JACKET.pdf --interior BOOK.pdf --job JOB.toml --jacket
"""


@ends
def cover(
    cover: Annotated[
        Path, typer.Argument(metavar="COVER.pdf", readable=False, help="One page, lying open.", show_default=False)
    ],
    plan: Annotated[
        Path | None, typer.Option("--plan", metavar="plan.json", help="The make-up of the book, as make wrote it.")
    ] = None,
    interior: Annotated[
        Path | None, typer.Option("--interior", metavar="BOOK.pdf", help="The book itself, instead of its plan.")
    ] = None,
    jacket: Annotated[bool, typer.Option("--jacket", help="It is the jacket, as [jacket] of the job asks.")] = False,
    job: o.JobOption = None,
    house: o.HouseOption = None,
    spec: Annotated[
        str | None,
        typer.Option("--spec", metavar="NAME|FILE", help="The printer's rules.", show_default="colour-on-coated"),
    ] = None,
    form: Annotated[
        Literal["text", "json", "junit", "sarif"], typer.Option("--format", help="What stdout carries.")
    ] = "text",
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE", help="A file instead of stdout.", show_default=False)
    ] = None,
    workers: o.WorkersOption = None,
    password_file: o.PasswordOption = None,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Check one cover."""
    from foldproof.asking import ask
    from foldproof.cli.watching import watching
    from foldproof.cores import hands_for
    from foldproof.covers.registry import ALL, BY_SPEC
    from foldproof.covers.run import USUAL_SPEC, CoverAsked, bars_told, look_over_cover, sizes_told, waived_told
    from foldproof.desk import settings_of
    from foldproof.preflight.page_digests import page_digests
    from foldproof.preflight.specs import load_spec
    from foldproof.report.model import Results
    from foldproof.report.summary import in_format
    from foldproof.report.words import clean
    from foldproof.workers import Workers

    if (plan is None) == (interior is None):
        raise AskedWrong("Give the book with --plan plan.json or with --interior BOOK.pdf; not both, not neither.")
    if out is not None and out.is_dir():
        raise AskedWrong(f"{out} is a folder; name a file with -o.")
    o.spare_inputs(out, cover, plan, interior, job, house, Path(spec) if spec else None, password_file)
    with answering(form, cover.name, out), watching(quiet) as watch:
        rules = load_spec(spec or USUAL_SPEC, BY_SPEC)
        asked = ask(interior or cover, job=job, house=house, workers=workers, password_file=password_file)
        sizes = _sizes(asked, _plan(asked, plan, watch), jacket=jacket)
        asked = evolve(asked, manuscript=cover, spec=rules)
        watch.stage("check", 1)
        with Workers(workers or hands_for(cover)) as hands:
            looked = look_over_cover(CoverAsked(cover, sizes, asked.job, asked.house, rules, asked.password), hands)
        results = Results(
            looked.manuscript, looked.observations, looked.findings, settings_of(asked), checks=ALL, spec=rules,
            digests=page_digests(looked.observations),
        )  # fmt: skip
    code = ExitCode.STOPPED if results.stops else ExitCode.WELL
    text = in_format(form, results, code)
    if form == "text":
        verdict, *found = text.split("\n")
        aside = [*waived_told(looked.findings)]
        aside += [f"{check} could not be judged: {why}" for check, why in looked.findings.not_judged]
        told = [f"  {line}" for line in (sizes_told(sizes), bars_told(looked.seen)) if line]
        text = "\n".join([verdict, *told, *found, *(clean(f"  {line}") for line in aside)])
    answer(text, out)
    return code


def _plan(asked: Asked, plan: Path | None, watch: Watch) -> Plan:
    """The written plan; without one the interior, made up afresh."""
    if plan is not None:
        from foldproof.report.plan_read import plan_in

        return plan_in(plan)
    from foldproof import pipeline

    return pipeline.alternatives(asked, most=1, watch=watch)[0]


def _sizes(asked: Asked, plan: Plan, *, jacket: bool) -> CoverSizes:
    """What the cover or jacket of the book must measure.

    Raises:
        AskedWrong: the book gets none.
    """
    from foldproof.case.cover_sizes import cover_sizes, jacket_sizes
    from foldproof.case.sizes import reckoned_case
    from foldproof.quantities.thickness import thickness

    job, house = asked.job, asked.house
    if jacket:
        if job.jacket is None:
            raise AskedWrong("The job has no jacket; put a [jacket] table into it, or leave --jacket out.")
        thick = thickness(plan, job, house)
        case = reckoned_case(plan, job, house, thick)
        if case.unknown:
            raise AskedWrong(case.unknown)
        found = jacket_sizes(plan, job, house, thick, case.sizes)
    else:
        if job.cover.kind is None:
            # whoever sends a paper cover means one, whatever is the custom of the binding
            job = job.model_copy(update={"cover": job.cover.model_copy(update={"kind": "paper"})})
        elif job.cover.kind != "paper":
            raise AskedWrong(
                f'The job asks for cover.kind "{job.cover.kind}", and no paper cover; put kind = "paper" under '
                "[cover], or give --jacket for the jacket of a case."
            )
        found = cover_sizes(plan, job, house, thickness(plan, job, house))
    if found is None:
        raise AskedWrong(f"The book gets no {'jacket' if jacket else 'paper cover'} by its job; ask for one there.")
    return found
