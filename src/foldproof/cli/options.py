# SPDX-License-Identifier: AGPL-3.0-or-later
"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from foldproof.errors import AskedWrong

Format = Literal["text", "json", "junit", "sarif", "letter"]

BookArgument = Annotated[
    Path, typer.Argument(metavar="BOOK.pdf", readable=False, help="The interior as a PDF.", show_default=False)
]
JobOption = Annotated[Path | None, typer.Option("--job", metavar="JOB.toml", help="What is asked for.")]
HouseOption = Annotated[
    Path | None, typer.Option("--house", metavar="HOUSE.toml", help="The shop; the Lantern Row Press when unsaid.")
]
SpecOption = Annotated[str | None, typer.Option("--spec", metavar="NAME|FILE", help="The printer's rules.")]
WorkersOption = Annotated[
    int | None,
    typer.Option(
        "--workers", min=1, max=64, help="Processes that read and compare pages.",
        show_default="cores; one for a small file",
    ),
]  # fmt: skip
ClusterOption = Annotated[
    str | None,
    typer.Option("--cluster", metavar="ADDRESS", help="A Dask scheduler whose workers read and compare the pages."),
]
PasswordOption = Annotated[
    Path | None,
    typer.Option("--password-file", metavar="FILE", help="File whose first line opens a locked manuscript."),
]
QuietOption = Annotated[bool, typer.Option("--quiet", "-q", help="No progress.")]
WarnOption = Annotated[
    bool, typer.Option("--only-warn", help="Findings of severity stop do not change the exit code; the report says so.")
]
BaselineOption = Annotated[
    Path | None,
    typer.Option(
        "--baseline",
        metavar="FINDINGS.json",
        help="findings.json of an earlier run: only what is new since then stops the book; the report says so.",
    ),
]
FormatOption = Annotated[Format, typer.Option("--format", help="What stdout carries.")]


def spare_inputs(out: Path | None, *inputs: Path | None) -> None:
    """Hold an output against everything that is read.

    Raises:
        AskedWrong: the output would be written over an input.
    """
    for given in inputs:
        if out is not None and given is not None and out.resolve() == given.resolve():
            raise AskedWrong(f"{out} is an input and would be written over; name another file with -o.")
