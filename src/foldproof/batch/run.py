# SPDX-License-Identifier: AGPL-3.0-or-later
"""Many manuscripts, each in a process of its own: one bad book never stops the others.

The process is ``foldproof make`` itself, so that a book in a batch and a book alone cannot differ.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from pathlib import Path
from typing import Any

from attrs import frozen

from foldproof.errors import AskedWrong, ExitCode

#: how bad a code is, the worst last; a batch ends with the worst of its books
WORST_LAST = (
    ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.UNREADABLE, ExitCode.ASKED_WRONG, ExitCode.NOT_PROVED,
    ExitCode.NOT_WRITTEN, ExitCode.OUR_FAULT,
)  # fmt: skip


@frozen
class BookTask:
    """One book of a batch."""

    manuscript: str
    out: str
    job: str | None
    seconds: float


@frozen
class BookEnd:
    """How one book ended."""

    name: str
    code: int
    says: str  #: the lines that make printed, or the sentence it ended with


def tasks(folder: Path, out: Path, *, seconds: float) -> tuple[BookTask, ...]:
    """The books of a folder in order of name; a job is ``NAME.toml`` beside the book, else the folder's ``job.toml``.

    Raises:
        AskedWrong: there is no such folder, or no PDF in it.
    """
    if not folder.is_dir():
        raise AskedWrong(f"{folder} is no folder; give the folder that holds the interiors.")
    found = sorted(p for p in folder.iterdir() if p.suffix.lower() == ".pdf" and p.is_file())
    if not found:
        raise AskedWrong(f"{folder} holds no PDF.")
    shared = folder / "job.toml"
    made = []
    for book in found:
        own = book.with_suffix(".toml")
        job = own if own.exists() else shared if shared.exists() else None
        made.append(BookTask(str(book), str(out / book.name.removesuffix(book.suffix)), job and str(job), seconds))
    return tuple(made)


def one_book(task: BookTask) -> BookEnd:
    """Run ``foldproof make`` on one book; top level, so that it can be sent to another machine."""
    command = [sys.executable, "-m", "foldproof", "make", "--quiet", "--workers", "1", "-o", task.out]
    if task.job:
        command += ["--job", task.job]
    try:
        done = subprocess.run(
            [*command, "--", task.manuscript], capture_output=True, text=True, timeout=task.seconds, check=False,
            stdin=subprocess.DEVNULL,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return BookEnd(
            Path(task.manuscript).name, int(ExitCode.OUR_FAULT), f"foldproof: given up after {task.seconds:.0f} s."
        )
    code = done.returncode if done.returncode >= 0 else int(ExitCode.OUR_FAULT)
    return BookEnd(Path(task.manuscript).name, code, (done.stdout or done.stderr).strip())


def run_here(work: tuple[BookTask, ...], workers: int) -> Iterator[BookEnd]:
    """Run the books on this machine, so many at a time; in order of completion."""
    # The threads only wait for processes.
    with ThreadPoolExecutor(workers) as pool:
        yield from _ended(pool.submit(one_book, task) for task in work)


def run_on(address: str, work: tuple[BookTask, ...], workers: int) -> Iterator[BookEnd]:
    """Run the books on a Dask cluster that shares this folder; ``"local"`` starts one here.

    Raises:
        AskedWrong: the extra ``cluster`` is not installed, or nobody answers at the address.
    """
    try:
        from distributed import Client, LocalCluster
        from distributed import as_completed as completed
    except ImportError:
        raise AskedWrong("--cluster needs the extra: pip install 'foldproof[cluster]'.") from None
    try:
        local = address == "local"
        where: Any = LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) if local else address
        client = Client(where, timeout="10s")
    except (OSError, ValueError) as refused:
        raise AskedWrong(f"No cluster answers at {address}: {refused}") from refused
    with client:
        for future in completed(client.map(one_book, list(work), pure=False)):
            yield future.result()
    if local:
        where.close()


def worst(ends: list[BookEnd]) -> ExitCode:
    """The worst code of a batch."""
    ranks = {int(code): rank for rank, code in enumerate(WORST_LAST)}
    code = max((end.code for end in ends), key=lambda code: ranks.get(code, len(ranks)), default=0)
    return ExitCode(code) if code in ranks else ExitCode.OUR_FAULT


def _ended(futures: Any) -> Iterator[BookEnd]:
    pending: list[Future[BookEnd]] = list(futures)
    for future in as_completed(pending):
        yield future.result()
