# SPDX-License-Identifier: AGPL-3.0-or-later
"""The body of a book's own process: every stage of one book, its end told to the keeper.

It runs :func:`foldproof.pipeline.make` as the command line does, so that a book in a batch and a book alone cannot
differ.
"""

from __future__ import annotations

import errno
import time
from multiprocessing.connection import Connection

from attrs import evolve

import foldproof.pipeline as pipeline
from foldproof.batch.alone import bind_memory, stand_alone, used
from foldproof.batch.keys import asked_for, key_of
from foldproof.batch.model import REPORTED, BookEnd, BookTask, BookTimes, Done
from foldproof.desk import Asked, files_of, withdraw
from foldproof.errors import ExitCode, FoldproofError, InUse, NoPlan, OverLimit, told
from foldproof.files import sha256_of
from foldproof.preflight.model import Severity
from foldproof.report.summary import summary
from foldproof.workers import collect_seldom

#: seconds that a process of a batch that was killed may take to let go of its folder
_PATIENCE_S = 60.0


class _Teller:
    """A watch that passes on what it hears, not too often."""

    _EVERY_S = 0.2

    def __init__(self, to: Connection) -> None:
        self._to, self._steps, self._last = to, 0, 0.0

    def stage(self, name: str, total: int) -> None:
        self._flush()
        self._to.send(("stage", name, total))

    def advance(self, steps: int) -> None:
        self._steps += steps
        if time.monotonic() - self._last >= self._EVERY_S:
            self._flush()

    def say(self, line: str) -> None: ...

    def _flush(self) -> None:
        if self._steps:
            self._to.send(("steps", self._steps))
        self._steps, self._last = 0, time.monotonic()


def make_alone(task: BookTask, to: Connection, lifeline: Connection) -> None:
    """Entry point of the process.  Sends ``("stage", name, total)``, ``("steps", n)``, at last ``("done", Done)``."""
    stand_alone(lifeline)
    collect_seldom()
    bind_memory(task.limits.memory_mb)
    try:
        done = make(task, to)
    except KeyboardInterrupt:
        return
    to.send(("done", done))


def make(task: BookTask, to: Connection) -> Done:
    """One book from its task to its end, whatever happens.

    Raises:
        KeyboardInterrupt: it was told to stop; its bench is cleared.
    """
    start = time.monotonic()
    key = ""
    try:
        asked = asked_for(task)
        key = key_of(asked)
        end = _made(task, asked, to)
    except KeyboardInterrupt:
        raise
    except Exception as fault:
        end = failed(task, _limited(told(fault), fault, task))
    if ExitCode(end.code) not in REPORTED:
        withdraw(task.out)
    cpu_seconds, peak_mb = used()
    times = BookTimes(task.name, round(time.monotonic() - start, 3), round(cpu_seconds, 3), round(peak_mb, 1))
    return Done(end, times, key)


def failed(task: BookTask, error: FoldproofError) -> BookEnd:
    """A book that ended with an error, told without any path that only this run has."""
    lines = [str(error), *(f"would fit: {line}" for line in (error.would if isinstance(error, NoPlan) else ()))]
    return BookEnd(task.name, task.folder, int(error.exit_code), tuple(_pathless(line, task) for line in lines))


def _pathless(line: str, task: BookTask) -> str:
    for path, name in (
        (task.out, task.folder), (task.manuscript, task.name), (task.job, task.job.name if task.job else ""),
    ):  # fmt: skip
        for written in {str(path), str(path.resolve())} if path else ():
            line = line.replace(written, name)
    return " ".join(line.splitlines())


def _made(task: BookTask, asked: Asked, to: Connection) -> BookEnd:
    asked = evolve(asked, most_bytes=task.limits.output_mb * 1_000_000)
    until = time.monotonic() + _PATIENCE_S
    while True:
        try:
            outcome = pipeline.make(asked, _Teller(to))
            break
        except InUse:
            # the last process that was at this book may not have heard yet that its batch is gone
            if time.monotonic() > until:
                raise
            time.sleep(0.2)
    results = outcome.results
    return BookEnd(
        name=task.name,
        folder=task.folder,
        code=int(outcome.code),
        says=tuple(summary(results, outcome.code).splitlines()),
        pages=len(results.manuscript.pages),
        stops=results.findings.count(Severity.STOP),
        queries=results.findings.count(Severity.QUERY),
        notes=results.findings.count(Severity.NOTE),
        sheets=results.plan.sheets if results.plan else None,
        verdict=results.proof.verdict.value if results.proof else None,
        files=tuple((name, sha256_of(task.out / name)) for name in files_of(task.out, outcome.files)),
    )


def _limited(error: FoldproofError, fault: Exception, task: BookTask) -> FoldproofError:
    """A limit of ours is told as one, not as a want of the system's."""
    if isinstance(fault, MemoryError):
        return OverLimit(f"It wants more than the {task.limits.memory_mb} MB of memory allowed; allow more.")
    cause = fault if isinstance(fault, OSError) else fault.__cause__
    if isinstance(cause, OSError) and cause.errno == errno.ENOMEM:
        return OverLimit(f"It wants more than the {task.limits.memory_mb} MB of memory allowed; allow more.")
    return error
