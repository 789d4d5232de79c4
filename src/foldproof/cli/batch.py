# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof batch``: many books."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode
from foldproof.files import write_bytes

HELP = """Make every PDF of a folder, each in a process of its own; the exit code is the worst of all.

A job is NAME.toml beside NAME.pdf, else job.toml in the folder.

Example:  foldproof batch INTERIORS -o OUT
"""


@ends
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Holds the interiors.", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Folder for the outputs.", show_default="FOLDER-made"),
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="ADDRESS", help='A Dask scheduler, or "local".')
    ] = None,
    workers: o.WorkersOption = o.CORES,
    minutes: Annotated[float, typer.Option("--minutes", min=0.1, help="Time limit of one book.")] = 30.0,
) -> ExitCode:
    """Run the main job on every book of a folder."""
    from foldproof.batch.index import index_html
    from foldproof.batch.run import run_here, run_on, tasks, worst

    # a folder named by points alone has no name to put an ending to
    whole = folder.resolve()
    target = out or (folder if folder.name not in ("", "..") else whole).with_name(f"{whole.name}-made")
    work = tasks(folder, target, seconds=minutes * 60)
    done = []
    with contextlib.closing(run_on(cluster, work, workers) if cluster else run_here(work, workers)) as books:
        for end in books:
            done.append(end)
            told = end.says.splitlines()[0] if end.says else ""
            print(f"{len(done)}/{len(work)}  {end.code}  {' '.join(end.name.splitlines())}: {told}", flush=True)
    done.sort(key=lambda end: end.name)
    code = worst(done)
    listed = [{"name": end.name, "code": end.code, "folder": end.folder, "says": end.says} for end in done]
    summary = {"schema": "foldproof/batch/1", "code": int(code), "books": listed}
    for name, text in (
        ("summary.json", json.dumps(summary, indent=1, ensure_ascii=False) + "\n"),
        ("index.html", index_html(done)),
    ):
        # names that are not UTF-8 are told with their bytes
        write_bytes(target / name, text.encode("utf-8", "backslashreplace"))
    return code
