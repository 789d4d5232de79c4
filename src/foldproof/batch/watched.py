# SPDX-License-Identifier: AGPL-3.0-or-later
"""A folder that is looked at again and again: which of its books are new, and have come to rest."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path

from attrs import define, field

from foldproof.batch.local import run_here
from foldproof.batch.model import REPORTED, BookTask, Ended, Event
from foldproof.batch.records import Records
from foldproof.batch.run import Tally
from foldproof.errors import AskedWrong, ExitCode, NotWritten

#: seconds for which a file's size and time must stay as they are before it is taken: copies over a network pause
SETTLED_S = 2.0

_Seen = tuple[int, int, int]  #: size, time of change in ns, and that of the job


@define
class Watched:
    """What has been seen of a folder's books.

    ``look()`` is cheap and is called at every tick of the pool.  A book is handed out once for every state that it
    comes to rest in: a changed manuscript or job is handed out again.
    """

    list_books: Callable[[], tuple[BookTask, ...]]
    settled_s: float = SETTLED_S
    clock: Callable[[], float] = time.monotonic
    changed: threading.Event = field(factory=threading.Event)
    _resting: dict[str, tuple[_Seen, float]] = field(factory=dict)
    _handed: dict[str, _Seen] = field(factory=dict)
    _busy: set[str] = field(factory=set)
    _looked: float = -1e9

    def look(self) -> list[BookTask]:
        """Books that have come to rest and were not handed out as they are now."""
        now = self.clock()
        # between two changes there is nothing to look for, unless a file is waited for
        if now - self._looked < 0.5 or not (self.changed.is_set() or self._resting or self._looked < 0):
            return []
        self._looked = now
        self.changed.clear()
        ready = []
        try:
            tasks = self.list_books()
        except AskedWrong:
            return []  # the folder is away for a moment: a share that is mounted anew
        for task in tasks:
            seen = _seen(task)
            if seen is None or self._handed.get(task.name) == seen:
                self._resting.pop(task.name, None)
                continue
            before = self._resting.get(task.name)
            if before is None or before[0] != seen:
                self._resting[task.name] = (seen, now)
            elif now - before[1] >= self.settled_s and task.name not in self._busy:
                del self._resting[task.name]
                self._handed[task.name] = seen
                self._busy.add(task.name)
                ready.append(task)
        for gone in set(self._resting) - {task.name for task in tasks}:
            del self._resting[gone]
        return ready

    def put_away(self, task: BookTask, folder: Path) -> None:
        """Move a manuscript that was made, and the job of its name; never one that has changed since, nor over a file.

        Raises:
            NotWritten: the folder does not take it.
        """
        if self._handed.get(task.name) != _seen(task):
            return
        own = task.manuscript.with_suffix(".toml")
        try:
            place = (folder / task.name).parent
            place.mkdir(parents=True, exist_ok=True)
            for path in (task.manuscript, *([own] if task.job == own else [])):
                shutil.move(path, _free(place / path.name))
        except OSError as refused:
            reason = (refused.strerror or str(refused)).lower()
            raise NotWritten(f"Cannot move {task.name} to {folder}: {reason}.") from refused

    def ended(self, name: str) -> None:
        """The book is not at work any more; it may be handed out again."""
        self._busy.discard(name)


def _free(path: Path) -> Path:
    """The path, or the same with a number where it is taken."""
    tries = (path.with_name(f"{path.stem} ({number}){path.suffix}") for number in count(2))
    return path if not path.exists() else next(tried for tried in tries if not tried.exists())


def _seen(task: BookTask) -> _Seen | None:
    try:
        book = task.manuscript.stat()
        job = task.job.stat().st_mtime_ns if task.job else 0
    except OSError:
        return None
    return (book.st_size, book.st_mtime_ns, job)


def keep_making(
    folder: Path,
    watched: Watched,
    tally: Tally,
    slots: int,
    *,
    recursive: bool = False,
    move_to: Path | None = None,
) -> Generator[Event, None, None]:
    """Make what comes to rest in a folder, until nobody listens any more; the index is written anew after each book.

    Books that an earlier run made, and that have not changed, are kept.

    Args:
        move_to: where a manuscript goes, with the job of its name, once it has a report; ``None``: it stays.

    Raises:
        NotWritten: the outputs' folder does not take what is to be written.
    """
    records = Records(tally.out)
    kept: list[Ended] = []
    tasks: dict[str, BookTask] = {}

    def more() -> list[BookTask]:
        new = []
        for task in watched.look():
            done = records.done(task)
            if done is None:
                new.append(task)
            else:
                kept.append(Ended(-1, done))
            tasks[task.name] = task
        return new

    with _told_of_changes(folder, recursive, watched.changed):
        for event in run_here((), slots, more):
            ended = [*kept, *([event] if isinstance(event, Ended) else [])]
            kept.clear()
            for one in ended:
                if one.slot >= 0:
                    records.keep(one.done)
                tally.take(one.done)
                watched.ended(one.done.end.name)
            if ended:
                tally.write()
            for one in ended:
                if move_to is not None and ExitCode(one.done.end.code) in REPORTED:
                    watched.put_away(tasks[one.done.end.name], move_to)
                yield one
            if not isinstance(event, Ended):
                yield event


@contextmanager
def _told_of_changes(folder: Path, recursive: bool, changed: threading.Event) -> Iterator[None]:
    """Sets ``changed`` whenever something in the folder changes."""
    from watchfiles import watch

    stop = threading.Event()

    def listen() -> None:
        while not stop.is_set():
            # it ends when the folder goes away; a share may come back
            with suppress(OSError, RuntimeError):
                for _ in watch(folder, recursive=recursive, stop_event=stop, rust_timeout=500):
                    changed.set()
            stop.wait(1.0)

    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    try:
        yield
    finally:
        stop.set()
        listener.join(2.0)
