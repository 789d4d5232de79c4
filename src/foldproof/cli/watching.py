# SPDX-License-Identifier: AGPL-3.0-or-later
"""Progress: bars on a terminal, plain lines elsewhere; always on stderr."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

from foldproof.cli.stopping import heed
from foldproof.desk import STAGES, Nobody, Watch

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID


class _Bars:
    """One bar a stage."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._task: TaskID | None = None

    def stage(self, name: str, total: int) -> None:
        self._close()
        self._task = self._progress.add_task(f"{STAGES.index(name) + 1}/{len(STAGES)} {name}", total=total or None)

    def advance(self, steps: int) -> None:
        if self._task is not None:
            self._progress.advance(self._task, steps)

    def say(self, line: str) -> None:
        self._progress.console.print(line, markup=False, highlight=False)

    def _close(self) -> None:
        if self._task is not None:
            done = self._progress.tasks[-1]
            self._progress.update(self._task, total=done.total or 1, completed=done.total or 1)


class _Lines:
    """A line at every stage, and every few seconds inside a long one."""

    _EVERY_S = 5.0

    def __init__(self) -> None:
        self._name, self._total, self._done, self._last = "", 0, 0, 0.0

    def stage(self, name: str, total: int) -> None:
        self._name, self._total, self._done, self._last = name, total, 0, time.monotonic()
        self.say(f"{name}: {total}" if total else name)

    def advance(self, steps: int) -> None:
        self._done += steps
        now = time.monotonic()
        if now - self._last >= self._EVERY_S:
            self._last = now
            self.say(f"{self._name}: {self._done} of {self._total}")

    def say(self, line: str) -> None:
        print(line, file=sys.stderr, flush=True)


class Heeding:
    """A watch that also stops a run whose stop was lost.

    What a signal raises is dropped by Python where it falls into a callback of a weak reference or into ``__del__``;
    so whoever was told to stop is stopped at the next step that it tells of.
    """

    def __init__(self, watch: Watch) -> None:
        self._watch = watch

    def stage(self, name: str, total: int) -> None:
        heed()
        self._watch.stage(name, total)

    def advance(self, steps: int) -> None:
        heed()
        self._watch.advance(steps)

    def say(self, line: str) -> None:
        self._watch.say(line)


@contextlib.contextmanager
def watching(quiet: bool = False) -> Iterator[Watch]:
    """A watch for one run, fit for where stderr goes."""
    if quiet:
        yield Heeding(Nobody())
    elif sys.stderr.isatty():
        # here alone: without a terminal nobody waits for it to load
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

        columns = (TextColumn("{task.description:<12}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
        with Progress(*columns, console=Console(stderr=True)) as progress:
            yield Heeding(_Bars(progress))
    else:
        yield Heeding(_Lines())
