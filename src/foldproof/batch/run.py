# SPDX-License-Identifier: AGPL-3.0-or-later
"""A batch from its first book to its index, over whatever pool makes the books."""

from __future__ import annotations

import contextlib
import shutil
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from pathlib import Path

from attrs import field, frozen

from foldproof.batch.index import index_html
from foldproof.batch.model import BookEnd, BookTask, BookTimes, Done, Ended, Event
from foldproof.batch.pace import weight
from foldproof.batch.records import Records
from foldproof.batch.told import junit_xml, summary_json, times_json
from foldproof.errors import NotWritten
from foldproof.files import BENCH, locked, unbroken, write_bytes

#: what a batch writes over all of its books
INDEX, SUMMARY, JUNIT, TIMES = "index.html", "summary.json", "junit.xml", "times.json"

#: makes books: the tasks, the largest first, become events
Pool = Callable[[Sequence[BookTask]], Generator[Event, None, None]]


@contextlib.contextmanager
def outputs_of(out: Path) -> Iterator[Path]:
    """The folder of a batch's outputs, kept to this batch; what a killed one was writing is cleared away.

    Raises:
        InUse: another batch is writing into it.
        NotWritten: it cannot be made or written to.
    """
    with contextlib.ExitStack() as stack:
        with _writing(out):
            out.mkdir(parents=True, exist_ok=True)
            stack.enter_context(locked(out))
            for left in out.glob(f"{BENCH}*"):
                shutil.rmtree(left) if left.is_dir() and not left.is_symlink() else left.unlink()
        yield out


@contextlib.contextmanager
def _writing(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as refused:
        reason = (refused.strerror or str(refused)).lower()
        raise NotWritten(f"Cannot write to {out}: {reason}. Choose another folder with -o.") from refused


@frozen
class Tally:
    """The books that have ended so far, by name: the latest end of each."""

    out: Path
    _done: dict[str, Done] = field(factory=dict)
    _start: float = field(factory=time.monotonic)

    def take(self, done: Done) -> None:
        self._done[done.end.name] = done

    def drop(self, names: Iterable[str]) -> None:
        """Books that are not there any more."""
        for name in names:
            self._done.pop(name, None)

    @property
    def ends(self) -> tuple[BookEnd, ...]:
        return tuple(self._done[name].end for name in sorted(self._done))

    @property
    def times(self) -> tuple[BookTimes, ...]:
        return tuple(self._done[name].times for name in sorted(self._done))

    @property
    def seconds(self) -> float:
        return time.monotonic() - self._start

    def write(self) -> None:
        """The index, the summaries and the times over all books.

        Raises:
            NotWritten: the folder does not take them.
        """
        files = {
            INDEX: index_html(self.ends),
            SUMMARY: summary_json(self.ends),
            JUNIT: junit_xml(self.ends),
            TIMES: times_json(self.ends, self.times, self.seconds),
        }
        for name, content in files.items():
            write_bytes(self.out / name, content)


def run(work: Sequence[BookTask], tally: Tally, pool: Pool, *, resume: bool) -> Generator[Event, None, None]:
    """Make the books, or take them from an earlier run where nothing has changed; remember each as it ends.

    Whoever stops listening stops the pool; what has ended stays remembered.

    Raises:
        NotWritten: the folder does not take what is to be remembered.
    """
    records = Records(tally.out)
    # an index of another run would tell of books as they were
    with unbroken(), _writing(tally.out):
        for name in (INDEX, SUMMARY, JUNIT, TIMES):
            (tally.out / name).unlink(missing_ok=True)
        if not resume:
            records.begin()
    left = []
    for task in work:
        done = records.done(task) if resume else None
        if done is None:
            left.append(task)
        else:
            tally.take(done)
            yield Ended(-1, done)
    if left:
        # the largest first: a long book begun last would keep everybody waiting
        with contextlib.closing(pool(sorted(left, key=lambda task: (-weight(task), task.name)))) as events:
            for event in events:
                if isinstance(event, Ended):
                    records.keep(event.done)
                    tally.take(event.done)
                yield event
    tally.write()
