# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof check``: read and check alone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode
from foldproof.files import write_text

HELP = """Read and check a book; nothing is written but what -o asks for.

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
        Path | None, typer.Option("-o", "--out", metavar="FILE", help="Write there instead of stdout.")
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
    asked = o.asked(
        book, job=job, house=house, spec=spec, workers=workers, password_file=password_file, only_warn=only_warn
    )
    with watching(quiet) as watch:
        outcome = pipeline.look_over(asked, watch)
    text = in_format(form, outcome.results, outcome.code)
    if out is None:
        print(text)
    else:
        write_text(out, text + "\n")
    return outcome.code
