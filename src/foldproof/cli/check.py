# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof check``: read and check alone."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.answering import answer, answering
from foldproof.cli.ending import ends, says
from foldproof.errors import WORST_LAST, AskedWrong, ExitCode, FoldproofError

if TYPE_CHECKING:
    from foldproof.library import Checked

HELP = """Read and check a book, or several; nothing is written but what -o asks for.

-o with a folder (one that is there, or a name without an ending) writes every report: findings.json, report.html,
report.pdf, letter.txt, junit.xml, findings.sarif. -o with a file writes there what --format says.

Examples:  foldproof check BOOK.pdf --format sarif > findings.sarif
           foldproof check BOOK.pdf --baseline findings.json -o OUT
"""


@ends
def check(
    books: Annotated[
        list[Path], typer.Argument(metavar="BOOK.pdf", readable=False, help="Interiors as PDFs.", show_default=False)
    ],
    job: o.JobOption = None,
    spec: o.SpecOption = None,
    house: o.HouseOption = None,
    baseline: o.BaselineOption = None,
    form: o.FormatOption = "text",
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT|FILE", help="A folder for every report, or a file instead of stdout."),
    ] = None,
    workers: o.WorkersOption = None,
    cluster: o.ClusterOption = None,
    password_file: o.PasswordOption = None,
    only_warn: o.WarnOption = False,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Run the first two stages on each book."""
    from foldproof import library
    from foldproof.cli.watching import watching

    if len(books) > 1 and (out is not None or form != "text" or baseline is not None):
        raise AskedWrong(
            "-o, --format and --baseline go with one book; for many, with a folder each: foldproof batch FOLDER."
        )
    o.spare_inputs(out, *books, job, house, baseline, Path(spec) if spec else None, password_file)
    folder = out is not None and (out.is_dir() or not (out.suffix or out.exists()))
    file = None if folder else out

    def look_over(book: Path) -> Checked:
        with answering(form, book.name, file), watching(quiet) as watch:
            return library.check(
                book, spec=spec, job=job, house=house, baseline=baseline, out=out if folder else None,
                password_file=password_file, workers=workers, cluster=cluster, only_warn=only_warn, watch=watch,
            )  # fmt: skip

    if len(books) > 1:
        return _several(books, look_over)
    checked = look_over(books[0])
    answer(checked.text(form), file)
    if checked.files and not quiet:
        print(f"{out}: {', '.join(path.name for path in checked.files)}", file=sys.stderr)
    return checked.code


def _several(books: list[Path], look_over: Callable[[Path], Checked]) -> ExitCode:
    """Book after book; one that cannot be read does not keep the others from being looked at.  The worst code."""
    codes = []
    for book in books:
        try:
            checked = look_over(book)
        except FoldproofError as error:
            says(error)
            codes.append(error.exit_code)
            continue
        print(checked.text(), flush=True)
        codes.append(checked.code)
    return max(codes, key=WORST_LAST.index)
