# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof batch``: many books."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.cli.stopping import heed
from foldproof.cores import CORES
from foldproof.errors import AskedWrong, ExitCode

if TYPE_CHECKING:
    from foldproof.batch.model import Wishes
    from foldproof.batch.run import Pool

HELP = """Make every PDF of a folder, each in a process of its own; the exit code is the worst of all.

A job is NAME.toml beside NAME.pdf, else job.toml in the folder. OUT gets a folder a book, index.html over all of them,
summary.json, junit.xml and times.json.

Examples:  foldproof batch INTERIORS -o OUT
           foldproof batch INTERIORS -o OUT --resume
           foldproof batch INBOX -o OUT --watch
"""


@ends
def batch(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", readable=False, help="Holds the interiors.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Folder for the outputs.", show_default="FOLDER-made"),
    ] = None,
    recursive: Annotated[bool, typer.Option("--recursive", "-r", help="Also the folders within FOLDER.")] = False,
    resume: Annotated[
        bool, typer.Option("--resume", help="Go on where an earlier run stopped; what has not changed is kept.")
    ] = False,
    watch: Annotated[
        bool, typer.Option("--watch", help="Stay, and make each book that comes once it has stopped growing.")
    ] = False,
    move_to: Annotated[
        Path | None,
        typer.Option("--move-to", metavar="DONE", help="With --watch: move each manuscript there when it is made."),
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="ADDRESS", help='A Dask scheduler, or "local" for one here.')
    ] = None,
    split_pages: Annotated[
        int, typer.Option("--split-pages", min=0, help="With --cluster: a longer book is read by all workers.")
    ] = 1000,
    workers: Annotated[
        int, typer.Option("--workers", min=1, max=64, help="Books at a time.", show_default="cores")
    ] = CORES,
    minutes: Annotated[float, typer.Option("--minutes", min=0.01, help="Time limit of one book.")] = 30.0,
    memory_mb: Annotated[
        int, typer.Option("--memory-mb", min=200, help="Memory limit of one book, all its processes together.")
    ] = 4096,
    output_mb: Annotated[int, typer.Option("--output-mb", min=1, help="Size limit of one book's outputs.")] = 4096,
    spec: o.SpecOption = None,
    house: o.HouseOption = None,
    password_file: o.PasswordOption = None,
    only_warn: o.WarnOption = False,
    split_sheets: Annotated[bool, typer.Option("--split-sheets", help="Also one PDF a sheet.")] = False,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Run the main job on every book of a folder."""
    from foldproof.batch.books import books_in
    from foldproof.batch.local import run_here
    from foldproof.batch.model import Limits, Wishes, worst
    from foldproof.batch.run import Tally, outputs_of, run
    from foldproof.batch.told import closing_lines
    from foldproof.batch.watched import Watched, keep_making
    from foldproof.cli.batch_watching import display

    # a folder named by points alone has no name to put an ending to
    whole = folder.resolve()
    target = out or (folder if folder.name not in ("", "..") else whole).with_name(f"{whole.name}-made")
    if target.resolve() == whole:
        raise AskedWrong(f"{target} holds the manuscripts; choose another folder for the outputs with -o.")
    if watch and cluster:
        raise AskedWrong("--watch makes its books on this machine; leave --cluster away, or run a batch now and then.")
    if move_to is not None and not watch:
        raise AskedWrong("--move-to goes with --watch.")
    wishes = Wishes(house, spec, password_file, only_warn, split_sheets, os.environ.get("SOURCE_DATE_EPOCH", ""))
    limits = Limits(minutes * 60, memory_mb, output_mb)
    _hold_wishes(wishes)
    work = books_in(folder, target, recursive=recursive, wishes=wishes, limits=limits)
    if not work and not watch:
        raise AskedWrong(f"{folder} holds no PDF{'' if recursive else '; --recursive looks into its folders too'}.")
    with outputs_of(target), display(work, workers, quiet) as shown:
        tally = Tally(target)
        if watch:
            listing = partial(
                books_in, folder, target, recursive=recursive, wishes=wishes, limits=limits,
                apart=[move_to] if move_to else [],
            )  # fmt: skip
            events = keep_making(folder, Watched(listing), tally, workers, recursive=recursive, move_to=move_to)
        else:
            say = (lambda line: None) if quiet else shown.say
            pool = _on(cluster, workers, say, split_pages) if cluster else partial(run_here, slots=workers)
            events = run(work, tally, pool, resume=resume)
        try:
            with contextlib.closing(events):
                for event in events:
                    heed()
                    shown.hear(event)
        except KeyboardInterrupt:
            # Ctrl-C is how a watch ends
            if not watch:
                shown.say(f"{len(tally.ends)} of {len(work)} books are done; --resume goes on from here.")
                raise
    for line in closing_lines(tally.ends, tally.times, tally.seconds, target):
        print(line)
    return worst(list(tally.ends))


def _on(address: str, workers: int, say: Callable[[str], None], split_pages: int) -> Pool:
    from foldproof.batch.spread import run_on

    return run_on(address, workers, say, split_pages)


def _hold_wishes(wishes: Wishes) -> None:
    """What is asked for every book is held once, before any book: a slip there is the batch's, not each book's.

    Raises:
        AskedWrong: a file is missing or wrong.
    """
    from foldproof.asking import ask

    ask(Path(), house=wishes.house, spec=wishes.spec, password_file=wishes.password_file, epoch=wishes.epoch)
