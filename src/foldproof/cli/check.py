# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof check``: read and check alone."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import WORST_LAST, AskedWrong, ExitCode, FoldproofError
from foldproof.files import write_text

if TYPE_CHECKING:
    from foldproof.pipeline import Outcome

HELP = """Read and check a book, or several; nothing is written but what -o asks for.

-o with a folder (one that is there, or a name without an ending) writes every report: findings.json, report.html,
report.pdf, letter.txt, junit.xml, findings.sarif. -o with a file writes there what --format says.

Example:  foldproof check BOOK.pdf --format sarif > findings.sarif
"""


@ends
def check(
    books: Annotated[list[Path], typer.Argument(metavar="BOOK.pdf", help="Interiors as PDFs.", show_default=False)],
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
    """Run the first two stages on each book."""
    from foldproof import pipeline
    from foldproof.asking import ask
    from foldproof.cli.watching import watching
    from foldproof.report.summary import in_format

    if len(books) > 1 and (out is not None or form != "text"):
        raise AskedWrong("-o and --format go with one book; for many, with a folder each: foldproof batch FOLDER.")
    o.spare_inputs(out, *books, job, house, Path(spec) if spec else None, password_file)
    folder = out is not None and (out.is_dir() or not (out.suffix or out.exists()))

    def look_over(book: Path) -> Outcome:
        asked = ask(
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
            return pipeline.look_over(asked, watch, reports=folder)

    if len(books) > 1:
        return _several(books, look_over)
    outcome = look_over(books[0])
    text = in_format(form, outcome.results, outcome.code)
    if out is None or folder:
        print(text)
        if outcome.files:
            print(f"{out}: {', '.join(outcome.files)}", file=sys.stderr)
    else:
        write_text(out, text + "\n")
    return outcome.code


def _several(books: list[Path], look_over: Callable[[Path], Outcome]) -> ExitCode:
    """Book after book; one that cannot be read does not keep the others from being looked at.  The worst code."""
    from foldproof.report.summary import in_format

    codes = []
    for book in books:
        try:
            outcome = look_over(book)
        except FoldproofError as error:
            print(f"foldproof: {' '.join(str(error).splitlines())}", file=sys.stderr)
            codes.append(error.exit_code)
            continue
        print(in_format("text", outcome.results, outcome.code), flush=True)
        codes.append(outcome.code)
    return max(codes, key=WORST_LAST.index)
