# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof start``: writes a commented job guessed from the book."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import AskedWrong, ExitCode
from foldproof.files import write_text

HELP = """Write a commented job file guessed from the book, beside it unless -o says where.

Example:  foldproof start BOOK.pdf -o JOB.toml
"""


@ends
def start(
    book: o.BookArgument,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="JOB.toml", help="The file.", show_default="BOOK.toml")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
    house: Annotated[
        Path | None, typer.Option("--house", metavar="HOUSE.toml", help="The shop whose names the job offers.")
    ] = None,
    password_file: o.PasswordOption = None,
) -> ExitCode:
    """Write one job file."""
    from foldproof.asking import password_in
    from foldproof.job.load import job_text, load_house
    from foldproof.manuscript.read import read
    from foldproof.manuscript.trim import book_trim_mm
    from foldproof.workers import Workers

    target = out or book.with_suffix(".toml")
    o.spare_inputs(target, book, house, password_file)
    if target.exists() and not force:
        raise AskedWrong(f"{target} is there already; name another file with -o, or write over it with --force.")
    # names are offered of a house that was given; without one the job leaves them to the house of the run
    shop = load_house(house) if house else None
    with Workers(1) as workers:
        manuscript = read(book, password=password_in(password_file), workers=workers)
    write_text(target, job_text(manuscript, trim_mm=book_trim_mm(manuscript, None), house=shop))
    print(f"{target} written; look it over, then: foldproof make {book} --job {target}")
    return ExitCode.WELL
