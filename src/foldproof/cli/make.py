# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof make``: every stage; the main job."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.answering import answer, answering
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode

HELP = """Check, make up, impose and prove a book; write sheets, report and tickets.

Examples:  foldproof make BOOK.pdf -o OUT
           foldproof make BOOK-2.pdf --late OUT/plan.json -o OUT-2
           foldproof make BOOK.pdf -o OUT --format junit > junit.xml
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
    baseline: o.BaselineOption = None,
    form: o.FormatOption = "text",
    workers: o.WorkersOption = None,
    cluster: o.ClusterOption = None,
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
    from foldproof import library
    from foldproof.cli.watching import watching

    folder = out or Path(f"{book.stem}-made")
    with answering(form, book.name), watching(quiet) as watch:
        made = library.make(
            book, folder, spec=spec, job=job, house=house, baseline=baseline, late=late, split_sheets=split_sheets,
            password_file=password_file, workers=workers, cluster=cluster, only_warn=only_warn, watch=watch,
        )  # fmt: skip
    answer(made.text(form))
    if not quiet:
        # folders of single files by their own name
        names = dict.fromkeys(path.relative_to(folder).parts[0] for path in made.files)
        print(f"{folder}: {', '.join(names)}", file=sys.stderr)
    return made.code
