# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof plan``: make-up alone, alternatives side by side; nothing is written but what ``-o`` asks for."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from foldproof.cli import options as o
from foldproof.cli.answering import answering
from foldproof.cli.ending import ends
from foldproof.errors import AskedWrong, ExitCode

if TYPE_CHECKING:
    from foldproof.job.model import Job
    from foldproof.makeup.plan import Plan
    from foldproof.report.estimate import Length

#: what the ending of a file asks for
_BY_NAME = {".json": "json", ".html": "html", ".htm": "html"}

HELP = """Make up a book, or so many pages, and set the alternatives side by side, with what each costs.

--copies sets run lengths side by side instead, each made up by its own best plan: sheets, plates, hours, cartons, cost.

-o writes to a file what --format says instead of printing it; FILE.html is a page with drawings of the sheets,
FILE.json is for programs.

Examples:  foldproof plan BOOK.pdf
           foldproof plan --pages 150 --trim "140 x 216 mm" -o plans.html
           foldproof plan BOOK.pdf --copies 500,1000,3000
"""


@ends
def plan(
    book: Annotated[Path | None, typer.Argument(metavar="[BOOK.pdf]", help="The interior.", show_default=False)] = None,
    pages: Annotated[
        int | None, typer.Option("--pages", metavar="N", min=1, max=100_000, help="Without a PDF, for quoting.")
    ] = None,
    trim: Annotated[str | None, typer.Option("--trim", metavar='"W x H mm"', help="Trimmed size.")] = None,
    inks: Annotated[
        int, typer.Option("--inks", min=1, max=12, help="With --pages: inks on every page; 1 is black alone.")
    ] = 1,
    copies: Annotated[
        str | None, typer.Option("--copies", metavar="N,N,N", help="Run lengths side by side, 20 at the most.")
    ] = None,
    job: o.JobOption = None,
    house: o.HouseOption = None,
    form: Annotated[
        Literal["text", "json", "html"] | None,
        typer.Option("--format", help="What is written.", show_default="by the name of FILE, else text"),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE", help="A file instead of stdout.", show_default=False)
    ] = None,
    most: Annotated[
        int | None, typer.Option("--most", min=1, help="So many alternatives at the most.", show_default="5")
    ] = None,
    workers: o.WorkersOption = None,
    password_file: o.PasswordOption = None,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Print or write the best plans, or what the best one takes at several run lengths."""
    from foldproof import pipeline
    from foldproof.asking import ask
    from foldproof.cli.watching import watching
    from foldproof.files import write_bytes
    from foldproof.job.copies import run_lengths

    if (book is None) == (pages is None):
        raise AskedWrong('Give a book, or --pages N with --trim "W x H mm"; not both, not neither.')
    if out is not None and out.is_dir():
        raise AskedWrong(f"{out} is a folder; name a file with -o, such as plans.html.")
    if copies is not None and most is not None:
        raise AskedWrong("--copies shows the best plan of every run length; leave --most out.")
    o.spare_inputs(out, book, job, house, password_file)
    wanted = form or (_BY_NAME.get(out.suffix.lower(), "text") if out is not None else "text")
    with answering(wanted if out is None else "", book.name if book else ""), watching(quiet or book is None) as watch:
        asked = ask(
            book or Path(), job=job, house=house, workers=workers, password_file=password_file, trim=trim
        )  # fmt: skip
        if copies is not None:
            from foldproof.report.estimate import lengths

            numbers = run_lengths(copies)
            made = lengths(pipeline.run_lengths(asked, numbers, pages, inks=inks, watch=watch), asked.house)
            content, told = partial(_estimate, made, asked.job), (len(made), "run length")
        else:
            best = pipeline.alternatives(asked, pages, most=most or 5, inks=inks, watch=watch)
            content, told = partial(_plans, best), (len(best), "plan")
    if out is None and wanted == "text":
        print(content(wanted, *_terminal()).decode("utf-8"), end="")
    elif out is None:
        sys.stdout.write(content(wanted).decode("utf-8"))
    else:
        write_bytes(out, content(wanted))
        print(f"{out}: {told[0]} {told[1]}{'' if told[0] == 1 else 's'}", file=sys.stderr)
    return ExitCode.WELL


def _terminal() -> tuple[int | None, bool]:
    """Columns of the terminal, and whether it shows bold letters; neither of anything else."""
    if not sys.stdout.isatty():
        return None, False
    return shutil.get_terminal_size().columns, "NO_COLOR" not in os.environ


def _estimate(columns: Sequence[Length], job: Job, form: str, width: int | None = None, styled: bool = False) -> bytes:
    """Run lengths as a whole file, UTF-8."""
    from foldproof.report.estimate_forms import estimate_html, estimate_json, estimate_text
    from foldproof.report.plans import WIDTH

    if form == "json":
        return estimate_json(columns, job)
    if form == "html":
        return estimate_html(columns, job)
    return (estimate_text(columns, job, width or WIDTH, styled=styled) + "\n").encode("utf-8")


def _plans(plans: Sequence[Plan], form: str, width: int | None = None, styled: bool = False) -> bytes:
    """The plans as a whole file, UTF-8."""
    if form == "json":
        from foldproof.report.as_json import plans_json, written

        return written(plans_json(plans))
    if form == "html":
        from foldproof.report.plan_page import plans_html

        return plans_html(plans)
    from foldproof.report.plans import WIDTH, plans_text

    return (plans_text(plans, width or WIDTH, styled=styled) + "\n").encode("utf-8")
