# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof check``: read and check alone."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode
from foldproof.files import write_text

HELP = """Read and check a book; nothing is written but what -o asks for.

-o with a folder (one that is there, or a name without an ending) writes every report: findings.json, report.html,
report.pdf, letter.txt, junit.xml, findings.sarif. -o with a file writes there what --format says.

Example:  foldproof check BOOK.pdf --format sarif > findings.sarif
"""


@ends
def check(
    book: o.BookArgument,
    job: o.JobOption = None,
    spec: o.SpecOption = None,
    house: o.HouseOption = None,
    form: o.FormatOption = "text",
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT|FILE", help="A folder for every report, or a file instead of stdout."),
    ] = None,
    workers: o.WorkersOption = o.CORES,
    password_file: o.PasswordOption = None,
    only_warn: o.WarnOption = False,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Run the first two stages on one book."""
    from foldproof import pipeline
    from foldproof.cli.watching import watching
    from foldproof.report.summary import in_format

    o.spare_inputs(out, book, job, house, Path(spec) if spec else None, password_file)
    folder = out is not None and (out.is_dir() or not (out.suffix or out.exists()))
    asked = o.asked(
        book,
        out if out and folder else Path(),
        job=job,
        house=house,
        spec=spec,
        workers=workers,
        password_file=password_file,
        only_warn=only_warn,
    )
    with watching(quiet) as watch:
        outcome = pipeline.look_over(asked, watch, reports=folder)
    text = in_format(form, outcome.results, outcome.code)
    if out is None or folder:
        print(text)
        if outcome.files:
            print(f"{out}: {', '.join(outcome.files)}", file=sys.stderr)
    else:
        write_text(out, text + "\n")
    return outcome.code
