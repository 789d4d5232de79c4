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

Example:  foldproof make BOOK.pdf -o OUT
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
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Run every stage on one book."""
    from foldproof import pipeline
    from foldproof.cli.watching import watching
    from foldproof.report.summary import summary

    folder = out or Path(f"{book.stem}-made")
    asked = o.asked(
        book, folder, job=job, house=house, spec=spec, workers=workers, password_file=password_file,
        only_warn=only_warn, split_sheets=split_sheets,
    )  # fmt: skip
    with watching(quiet) as watch:
        outcome = pipeline.make(asked, watch)
    print(summary(outcome.results, outcome.code))
    print(f"{folder}: {', '.join(outcome.files)}")
    return outcome.code
