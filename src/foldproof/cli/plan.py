# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof plan``: make-up alone, alternatives side by side, nothing written."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Literal

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import AskedWrong, ExitCode

HELP = """Make up a book, or so many pages, and set the alternatives side by side; nothing is written.

Examples:  foldproof plan BOOK.pdf
           foldproof plan --pages 150 --trim "140 x 216 mm"
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
    job: o.JobOption = None,
    house: o.HouseOption = None,
    form: Annotated[Literal["text", "json"], typer.Option("--format", help="What stdout carries.")] = "text",
    most: Annotated[int, typer.Option("--most", min=1, help="So many alternatives at the most.")] = 5,
    password_file: o.PasswordOption = None,
) -> ExitCode:
    """Print the best plans."""
    from foldproof import pipeline
    from foldproof.report.as_json import plan_json
    from foldproof.report.plans import plans_text

    if (book is None) == (pages is None):
        raise AskedWrong('Give a book, or --pages N with --trim "W x H mm"; not both, not neither.')
    asked = o.asked(book or Path(), job=job, house=house, password_file=password_file, trim=trim)
    best = pipeline.alternatives(asked, pages, most=most, inks=inks)
    if form == "json":
        print(json.dumps({"schema": "foldproof/plans/1", "plans": [plan_json(p) for p in best]}, indent=1))
    else:
        print(plans_text(best))
    return ExitCode.WELL
