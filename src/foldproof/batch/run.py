# SPDX-License-Identifier: AGPL-3.0-or-later
"""Many manuscripts, each in a process of its own: one bad book never stops the others.

The process is ``foldproof make`` itself, so that a book in a batch and a book alone cannot differ.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Generator
from concurrent.futures import ThreadPoolExecutor, as_completed
from pathlib import Path
from typing import Any

from attrs import frozen

from foldproof.batch.folders import folders_for
from foldproof.errors import AskedWrong, ExitCode

#: how bad a code is, the worst last; a batch ends with the worst of its books
WORST_LAST = (
    ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.UNREADABLE, ExitCode.ASKED_WRONG, ExitCode.NOT_PROVED,
    ExitCode.NOT_WRITTEN, ExitCode.OUR_FAULT,
)  # fmt: skip

#: seconds that a book has to clear its bench once it is told to stop
_TO_CLEAR_S = 5.0


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
    folder: str = ""  #: name of its output folder


def tasks(folder: Path, out: Path, *, seconds: float) -> tuple[BookTask, ...]:
    """The books of a folder in order of name; a job is ``NAME.toml`` beside the book, else the folder's ``job.toml``.

    Raises:
        AskedWrong: there is no such folder, it cannot be looked into, or no PDF is in it.
    """
    if not folder.is_dir():
        raise AskedWrong(f"{folder} is no folder; give the folder that holds the interiors.")
    try:
        found = sorted(p for p in folder.iterdir() if p.suffix.lower() == ".pdf" and p.is_file())
    except OSError as refused:
        raise AskedWrong(f"{folder} cannot be read: {(refused.strerror or str(refused)).lower()}.") from refused
    if not found:
        raise AskedWrong(f"{folder} holds no PDF.")
    shared = folder / "job.toml"
    made = []
    for book, name in zip(found, folders_for([book.name for book in found]), strict=True):
        own = book.with_suffix(".toml")
        job = own if own.exists() else shared if shared.exists() else None
        made.append(BookTask(str(book), str(out / name), str(job) if job else None, seconds))
    return tuple(made)


class Books:
    """The books that are being made in this process's children; a context manager that leaves no child behind."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._running: set[subprocess.Popen[str]] = set()
        self._stopped = False

    def __enter__(self) -> Books:
        return self

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._stopped = True
            running = tuple(self._running)
        for child in running:
            child.terminate()
        for child in running:
            _wait_or_kill(child)

    def make(self, task: BookTask) -> BookEnd:
        """Run ``foldproof make`` on one book and wait for its end."""
        command = [sys.executable, "-m", "foldproof", "make", "--quiet", "--workers", "1", "-o", task.out]
        command += ["--job", task.job] if task.job else []
        book, folder = Path(task.manuscript).name, Path(task.out).name
        with self._lock:
            if self._stopped:
                return BookEnd(book, int(ExitCode.INTERRUPTED), "foldproof: not begun.", folder)
            # A group of its own: Ctrl-C reaches this process alone, which tells its children in its own time.
            child = subprocess.Popen(
                [*command, "--", task.manuscript], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                stdin=subprocess.DEVNULL, text=True, encoding="utf-8", errors="replace", process_group=0,
                env={**os.environ, "PYTHONIOENCODING": "utf-8"},
            )  # fmt: skip
            self._running.add(child)
        try:
            said, told = child.communicate(timeout=task.seconds)
        except subprocess.TimeoutExpired:
            child.terminate()
            _wait_or_kill(child)
            return BookEnd(book, int(ExitCode.OUR_FAULT), f"foldproof: given up after {task.seconds:.0f} s.", folder)
        finally:
            with self._lock:
                self._running.discard(child)
        code = child.returncode if child.returncode >= 0 else int(ExitCode.OUR_FAULT)
        return BookEnd(book, code, (said or told).strip(), folder)


#: books that a cluster within this process makes: what it runs is sent by name, and a lock cannot be sent
_HERE: list[Books] = []


def one_book(task: BookTask) -> BookEnd:
    """One book alone; top level, so that it can be sent to another machine."""
    if _HERE:
        return _HERE[-1].make(task)
    with Books() as books:
        return books.make(task)


def run_here(work: tuple[BookTask, ...], workers: int) -> Generator[BookEnd, None, None]:
    """Run the books on this machine, so many at a time; in order of completion.

    Whoever stops listening (``close()``, Ctrl-C) ends the books that run, and no other begins.
    """
    # The threads only wait for processes.
    with ThreadPoolExecutor(workers) as pool, Books() as books:
        try:
            for future in as_completed([pool.submit(books.make, task) for task in work]):
                yield future.result()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def run_on(address: str, work: tuple[BookTask, ...], workers: int) -> Generator[BookEnd, None, None]:
    """Run the books on a Dask cluster that shares this folder; ``"local"`` starts one here.

    Books that already run on other machines when this one stops listening run to their end.

    Raises:
        AskedWrong: the extra ``cluster`` is not installed, or nobody answers at the address.
    """
    try:
        from distributed import Client, LocalCluster
        from distributed import as_completed as completed
    except ImportError:
        raise AskedWrong("--cluster needs the extra: pip install 'foldproof[cluster]'.") from None
    with contextlib.ExitStack() as stack:
        where: Any = address
        try:
            if address == "local":
                # Threads of this process do: they only wait for children, which end with this process.
                where = stack.enter_context(
                    LocalCluster(n_workers=workers, threads_per_worker=1, processes=False, dashboard_address=None)
                )
                _HERE.append(stack.enter_context(Books()))
                stack.callback(_HERE.pop)
            client = stack.enter_context(Client(where, timeout="10s"))
        except (OSError, ValueError) as refused:
            raise AskedWrong(f"No cluster answers at {address}: {refused}") from refused
        for future in completed(client.map(one_book, list(work), pure=False)):
            yield future.result()


def worst(ends: list[BookEnd]) -> ExitCode:
    """The worst code of a batch."""
    ranks = {int(code): rank for rank, code in enumerate(WORST_LAST)}
    code = max((end.code for end in ends), key=lambda code: ranks.get(code, len(ranks)), default=0)
    return ExitCode(code) if code in ranks else ExitCode.OUR_FAULT


def _wait_or_kill(child: subprocess.Popen[str]) -> None:
    """Wait until a child that was told to stop has cleared up; one that does not answer is killed with its workers."""
    try:
        child.wait(_TO_CLEAR_S)
    except subprocess.TimeoutExpired:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()
