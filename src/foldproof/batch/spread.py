# SPDX-License-Identifier: AGPL-3.0-or-later
"""The pool of a cluster: each book on one of its workers, a long one on all of them."""

from __future__ import annotations

import contextlib
import pickle
import queue
import uuid
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from attrs import define, evolve

from foldproof.batch.keys import asked_for
from foldproof.batch.model import Begun, BookTask, BookTimes, Done, Ended, Event, Stage, Steps, Wishes
from foldproof.batch.posted import Made, Posted, make_posted
from foldproof.batch.run import Pool
from foldproof.cluster.client import LOCAL, Cluster, opened
from foldproof.cluster.parcels import FileRef, Missing
from foldproof.cluster.versions import versions
from foldproof.desk import bench, publish, withdraw
from foldproof.errors import FoldproofError, NotWritten, OverLimit, Unreadable, told
from foldproof.files import BENCH, sha256_of, write_bytes
from foldproof.report.words import count
from foldproof.workers import Lost

#: a book of more pages is read and compared by all workers
SPLIT_PAGES = 1000

#: how often one looks up whether the scheduler is still there
_TICK_S = 0.25
#: how often a book is sent that comes to nothing for a reason that is not its own
_TRIES = 3
#: seconds that the workers have to stop what nobody waits for
_TO_STOP_S = 6.0


def run_on(address: str, workers: int, say: Callable[[str], None], split_pages: int = SPLIT_PAGES) -> Pool:
    """A pool over a Dask cluster; ``"local"`` starts one here with so many workers.

    Args:
        say: told in a line what the cluster is.
        split_pages: a book of more pages is read and compared by all workers.

    The pool raises AskedWrong where the cluster does not answer or has other versions, and NotWritten where it goes
    away.
    """
    return partial(_run_on, address, workers, say, split_pages)


def _run_on(
    address: str, workers: int, say: Callable[[str], None], split_pages: int, work: Sequence[BookTask]
) -> Generator[Event, None, None]:
    with opened(address, workers) as cluster, _shared(work[0]) as shared:
        where = "A cluster on this machine" if address == LOCAL else f"The cluster at {address}"
        say(f"{where} makes {count(cluster.slots(), 'book')} at a time.")
        yield from _Books(cluster, shared, split_pages).run(work)


@contextlib.contextmanager
def _shared(task: BookTask) -> Iterator[Path]:
    """A file that tells the folder of all outputs from any other of that name."""
    root = task.out.parents[len(Path(task.folder).parts) - 1]
    file = root / f"{BENCH}{uuid.uuid4().hex}"
    write_bytes(file, uuid.uuid4().bytes)
    try:
        yield file
    finally:
        file.unlink(missing_ok=True)


@define
class _Flying:
    """A book on its way."""

    task: BookTask
    digests: frozenset[str]  #: of its manuscript and emblem
    future: Any
    slot: int = -1  #: -1: no worker has begun it
    tries: int = 1
    spread: bool = False


class _Books:
    """The books of one batch on a cluster."""

    def __init__(self, cluster: Cluster, shared: Path, split_pages: int) -> None:
        self._cluster, self._split_pages = cluster, split_pages
        self._shared = cluster.luggage.ref(shared)
        self._topic = f"foldproof-{cluster.holder}"
        self._flying: dict[str, _Flying] = {}
        self._heard: queue.SimpleQueue[tuple[str, str, int]] = queue.SimpleQueue()

    def run(self, work: Sequence[BookTask]) -> Generator[Event, None, None]:
        waiting = deque(work)
        self._cluster.client.subscribe_topic(self._topic, lambda event: self._heard.put(tuple(event[1])))
        try:
            while waiting or self._flying:
                while waiting and len(self._flying) < self._most():
                    yield from self._send(waiting.popleft())
                try:
                    key, what, number = self._heard.get(timeout=_TICK_S)
                except queue.Empty:
                    self._cluster.see()
                    continue
                if key in self._flying:
                    yield from self._hear(key, what, number)
        finally:
            self._cluster.leave([book.future for book in self._flying.values()])
            self._cluster.client.unsubscribe_topic(self._topic)
            if self._flying:
                self._cluster.wait_until_left(_TO_STOP_S)

    def _most(self) -> int:
        # a book that is spread has given its place to another, but holds memory: at most one more a place
        spread = sum(book.spread for book in self._flying.values())
        slots = self._cluster.slots()
        return slots + min(spread, slots)

    def _send(self, task: BookTask, tries: int = 1) -> Iterator[Event]:
        try:
            # read here: a worker may see none of these files, and a password is not to lie on its disk
            asked = asked_for(task)
        except Exception as fault:
            yield Ended(-1, _failed(task, told(fault)))
            return
        manuscript, emblem = self._ref(task.manuscript), self._ref(asked.job.emblem)
        if asked.job.emblem is not None:
            asked = evolve(asked, job=asked.job.with_emblem(asked.job.emblem.absolute()))
        posted = evolve(
            task, manuscript=task.manuscript.absolute(), out=task.out.absolute(), job=None, wishes=Wishes(),
            asked=pickle.dumps(asked), split_pages=self._split_pages,
        )  # fmt: skip
        key = f"book-{uuid.uuid4().hex}"
        parcel = Posted(
            key, self._cluster.holder, self._topic, posted, manuscript, emblem, self._shared, versions(),
            self._cluster.mark(),
        )  # fmt: skip
        future = self._cluster.submit(make_posted, parcel, key, priority=0)
        digests = frozenset(ref.sha256 for ref in (manuscript, emblem) if ref is not None)
        self._flying[key] = _Flying(task, digests, future, tries=tries)
        future.add_done_callback(lambda done: self._heard.put((done.key, "landed", 0)))

    def _ref(self, path: Path | None) -> FileRef | None:
        """A file by its content; ``None`` where there is none, or none that can be read: the book tells that."""
        with contextlib.suppress(OSError):
            return self._cluster.luggage.ref(path) if path is not None else None
        return None

    def _hear(self, key: str, what: str, number: int) -> Iterator[Event]:
        book = self._flying[key]
        if what == "landed":
            yield from self._land(self._flying.pop(key))
        elif what == "spread":
            book.spread = True
        elif what == "begun":
            # a book whose worker died is begun again, at its old place
            if book.slot < 0:
                taken = {other.slot for other in self._flying.values()}
                book.slot = next(slot for slot in range(len(taken) + 1) if slot not in taken)
                yield Begun(book.slot, book.task)
        elif what:
            yield Stage(book.slot, what, number)
        else:
            yield Steps(book.slot, number)

    def _land(self, book: _Flying) -> Iterator[Event]:
        answer = self._cluster.answer(book.future)
        failure: FoldproofError | None = None
        if isinstance(answer, Made):
            done = self._brought(book.task, answer)
            if done is not None:
                yield Ended(book.slot, done)
                self._forget(book.digests)
                return
            failure = NotWritten("Its workers went down before its outputs were fetched from them.")
        elif isinstance(answer, Missing):
            try:
                self._cluster.carry(answer)
                yield from self._send(book.task, book.tries)
                return
            except Unreadable as changed:
                failure = changed
        elif isinstance(answer, Lost):
            failure = OverLimit(
                "Every worker that made it went down with it, most likely for want of memory; make it alone."
            )
        else:
            failure = NotWritten(answer.says)
        if book.tries < _TRIES and not isinstance(answer, Lost):
            yield from self._send(book.task, book.tries + 1)
            return
        yield Ended(book.slot, _failed(book.task, failure))
        self._forget(book.digests)

    def _brought(self, task: BookTask, made: Made) -> Done | None:
        """Its end, once its outputs lie in their place; ``None`` when they are lost with their worker."""
        if made.folder is None:
            return made.done
        try:
            if not made.done.end.files:
                withdraw(task.out)
                return made.done
            with bench(task.out, task.manuscript) as folder:
                for name, digest in made.done.end.files:
                    target = folder / name
                    target.parent.mkdir(parents=True, exist_ok=True)
                    if not self._cluster.fetch(made.worker, f"{made.folder}/{name}", target):
                        return None
                    if sha256_of(target) != digest:
                        return None
                publish(folder, task.out)
            return made.done
        except Exception as fault:
            self._cluster.see()
            return _failed(task, told(fault))
        finally:
            self._cluster.drop(made.worker, str(Path(made.folder).parent))

    def _forget(self, digests: frozenset[str]) -> None:
        idle = digests.difference(*(book.digests for book in self._flying.values()))
        if idle:
            self._cluster.forget(sorted(idle))


def _failed(task: BookTask, error: FoldproofError) -> Done:
    """The end of a book that no process of its own could tell."""
    from foldproof.batch.making import failed

    withdraw(task.out)
    return Done(failed(task, error), BookTimes(task.name))
