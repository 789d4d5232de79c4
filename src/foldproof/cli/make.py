# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof make``: every stage; the main job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode

HELP = """Check, make up, impose and prove a book; write sheets, report and tickets.

Examples:  foldproof make BOOK.pdf -o OUT
           foldproof make BOOK-2.pdf --late OUT/plan.json -o OUT-2
"""


@ends
def make(
    book: o.BookArgument,
    job: o.JobOption = None,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Folder for the outputs.", show_default="BOOK-made"),
    ] = None,
    spec: o.SpecOption = None,
    house: o.HouseOption = None,
    workers: o.WorkersOption = o.CORES,
    password_file: o.PasswordOption = None,
    only_warn: o.WarnOption = False,
    split_sheets: Annotated[bool, typer.Option("--split-sheets", help="Also one PDF a sheet, in OUT/sheets/.")] = False,
    late: Annotated[
        Path | None,
        typer.Option(
            "--late",
            metavar="PLAN.json",
            help="Plan of an earlier version: its make-up is kept, and the plates that change are named and written.",
        ),
    ] = None,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Run every stage on one book."""
    from foldproof import pipeline
    from foldproof.asking import ask
    from foldproof.cli.watching import watching
    from foldproof.report.summary import summary

    folder = out or Path(f"{book.stem}-made")
    asked = ask(
        book, folder, job=job, house=house, spec=spec, workers=workers, password_file=password_file,
        only_warn=only_warn, split_sheets=split_sheets, late=late,
    )  # fmt: skip
    with watching(quiet) as watch:
        outcome = pipeline.make(asked, watch)
    print(summary(outcome.results, outcome.code))
    print(f"{folder}: {', '.join(outcome.files)}")
    return outcome.code
