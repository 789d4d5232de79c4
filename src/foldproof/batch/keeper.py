# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book's own process, started, watched over and, where it must be, killed.

It is forked by Python's own fork server: a spawned process that has imported the stages once, is single-threaded and
has never opened a document, so that a book begins at once and with nothing of the book before it.  Page workers within
it are spawned as ever.
"""

from __future__ import annotations

import contextlib
import os
import signal
import tempfile
import time
from multiprocessing import util
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, ForkServerProcess
from typing import Any

from attrs import evolve

from foldproof.batch.model import BookEnd, BookTask, BookTimes, Done
from foldproof.batch.usage import group_resident_mb, written_mb
from foldproof.desk import withdraw
from foldproof.errors import ExitCode, OurFault, OverLimit
from foldproof.files import unbroken
from foldproof.workers import bare_start

#: how often a book is begun whose process the system kills
_TRIES = 2
#: seconds that a book has to clear its bench once it is told to stop
_TO_CLEAR_S = 5.0
#: seconds between two looks at what a book holds and has written
_LOOK_S = 0.1
_LOOK_AT_DISK_S = 1.0
#: bytes of the path of a temporary folder that leave room for the name of a socket in it (sockaddr_un takes 108)
_LONGEST_TEMP = 70
#: what is imported once, before the first book
_PRELOADED = ["foldproof.batch.ready"]


class _Process(ForkServerProcess):
    """A process that knows nothing of the parent's main module."""

    @staticmethod
    def _Popen(process_obj: Any) -> Any:
        with bare_start():
            return ForkServerProcess._Popen(process_obj)  # type: ignore[attr-defined,unused-ignore]


class _Context(ForkServerContext):
    Process = _Process


class BookRun:
    """One book in its own process.

    ``start()``, then ``step()`` whenever one of ``waits_on()`` is ready and ten times a second besides, until
    ``done`` is set; ``stop()`` at any time.  Whoever holds it may be in any thread.
    """

    def __init__(self, task: BookTask) -> None:
        self.task = task
        self.done: Done | None = None
        self._tries = 0
        self._peak_mb = 0.0
        self._context = _Context()
        self._context.set_forkserver_preload(_PRELOADED)

    def start(self) -> None:
        """Begin, or begin again."""
        self._tries += 1
        self._begun = self._looked = self._looked_at_disk = time.monotonic()
        # a start that Ctrl-C broke in two would leave a process that nobody knows of
        with unbroken():
            self._from, to = self._context.Pipe(duplex=False)
            lifeline, self._lifeline = self._context.Pipe(duplex=False)
            # by name: the parent need not import what only the child runs
            self._process = self._context.Process(target=_entry, args=(self.task, to, lifeline))
            try:
                _keep_the_address_short()
                self._process.start()
            except BaseException:
                self._tries = 0  # there is nothing to stop
                raise
            finally:
                to.close()
                lifeline.close()

    def waits_on(self) -> list[Any]:
        """What becomes ready when there is something to hear, for :func:`multiprocessing.connection.wait`."""
        return [self._from, self._process.sentinel]

    def step(self) -> list[tuple[str, int]]:
        """Hear what has been said, look at the limits.

        Returns:
            Stages begun, ``(name, total)``, and steps done, ``("", steps)``, in their order.
        """
        heard: list[tuple[str, int]] = []
        done = self._hear(heard)
        if done is not None:
            self._end(done)
        elif self._process.exitcode is not None:
            # its last words may have come between the two looks
            done = self._hear(heard)
            self._end(done) if done is not None else self._lost(self._process.exitcode)
        else:
            self._look()
        return heard

    def stop(self) -> None:
        """End it before its time; its bench is cleared, its outputs of earlier runs stay."""
        if self.done is None and self._tries:
            self.tell_to_stop()
            self._process.join(_TO_CLEAR_S)
            self._close()

    def tell_to_stop(self) -> None:
        """Ask it to clear its bench and go, without waiting for it."""
        if self.done is None and self._tries and self._process.pid:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._process.pid, signal.SIGTERM)

    def _hear(self, heard: list[tuple[str, int]]) -> Done | None:
        with contextlib.suppress(EOFError, OSError):
            while self._from.poll(0):
                word = self._from.recv()
                if word[0] == "done":
                    done: Done = word[1]
                    return done
                heard.append((word[1], word[2]) if word[0] == "stage" else ("", word[1]))
        return None

    def _look(self) -> None:
        now, limits = time.monotonic(), self.task.limits
        if now - self._begun > limits.seconds:
            return self._give_up(f"It took longer than the {limits.seconds / 60:g} minutes allowed; allow more.")
        if now - self._looked >= _LOOK_S and self._process.pid:
            self._looked = now
            held_mb = group_resident_mb(self._process.pid)
            self._peak_mb = max(self._peak_mb, held_mb)
            if held_mb > limits.memory_mb:
                return self._give_up(f"It wants more than the {limits.memory_mb} MB of memory allowed; allow more.")
        if now - self._looked_at_disk >= _LOOK_AT_DISK_S:
            self._looked_at_disk = now
            if written_mb(self.task.out) > limits.output_mb:
                return self._give_up(f"Its outputs take more than the {limits.output_mb} MB allowed; allow more.")
        return None

    def _give_up(self, why: str) -> None:
        self._close()
        withdraw(self.task.out)
        self._end(Done(_failed(self.task, OverLimit(why)), BookTimes(self.task.name)))

    def _lost(self, code: int) -> None:
        """Its process is gone without a word."""
        self._close()
        if self._tries < _TRIES:
            self.start()
            return
        withdraw(self.task.out)
        if code == -signal.SIGKILL:
            error: OverLimit | OurFault = OverLimit(
                f"The system killed its process {self._tries} times, most likely for want of memory; make fewer books "
                f"at a time, or this one alone."
            )
        else:
            name = signal.Signals(-code).name if -code in set(signal.Signals) else f"code {code}"
            error = OurFault(f"a fault of ours: its process ended {self._tries} times with {name}.")
        self._end(Done(_failed(self.task, error), BookTimes(self.task.name)))

    def _end(self, done: Done) -> None:
        self._close()
        times = done.times
        self.done = evolve(
            done,
            times=evolve(
                times,
                seconds=round(time.monotonic() - self._begun, 3),
                peak_mb=round(max(times.peak_mb, self._peak_mb), 1),
                tries=self._tries,
            ),
        )

    def _close(self) -> None:
        """Leave no process of the group behind, and no handle."""
        pid = self._process.pid
        if pid:
            # a book that came to its end has no one left in its group; one that did not is killed with its workers
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(pid, signal.SIGKILL)
            with contextlib.suppress(ProcessLookupError):
                if self._process.exitcode is None:
                    os.kill(pid, signal.SIGKILL)
        self._process.join(_TO_CLEAR_S)
        self._from.close()
        self._lifeline.close()


def _keep_the_address_short() -> None:
    """The fork server is met at a socket in the temporary folder; the system limits its path to some hundred bytes."""
    if len(os.fsencode(tempfile.gettempdir())) > _LONGEST_TEMP and os.access("/tmp", os.W_OK):
        before, tempfile.tempdir = tempfile.tempdir, "/tmp"
        try:
            util.get_temp_dir()  # chosen once in a process
        finally:
            tempfile.tempdir = before


def _entry(task: BookTask, to: Connection, lifeline: Connection) -> None:
    from foldproof.batch.making import make_alone

    make_alone(task, to, lifeline)


def _failed(task: BookTask, error: OverLimit | OurFault) -> BookEnd:
    return BookEnd(task.name, task.folder, int(ExitCode(error.exit_code)), (str(error),))
