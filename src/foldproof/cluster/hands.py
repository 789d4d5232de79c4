# SPDX-License-Identifier: AGPL-3.0-or-later
"""The pool of page workers, spread over a cluster."""

from __future__ import annotations

import contextlib
import queue
import uuid
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import Any, TypeVar

from attrs import evolve

from foldproof.cluster.client import Cluster, opened
from foldproof.cluster.parcels import Done, Missing, Parcel, packed
from foldproof.cluster.station import work
from foldproof.cluster.versions import versions
from foldproof.errors import NotWritten
from foldproof.workers import Lost, Workers, name_of, value_of

T = TypeVar("T")
R = TypeVar("R")

#: how often one looks up whether the scheduler is still there
_TICK_S = 0.5
#: before whole books that wait: those whose pages these are hold memory
_PRIORITY = 10


class Spread(Workers):
    """Killable processes on the workers of a cluster; answers as :class:`foldproof.workers.Workers` does.

    A job runs on a Dask worker in a process of its own, under the same limits.  A Dask worker that dies takes its jobs
    along, and the scheduler gives them to another, at most a few times.
    """

    def __init__(self, address: str, count: int, more_than: int = 0) -> None:
        """Args:
        count: processes of this machine, or workers of a cluster that is started here.
        more_than: a book of so many pages or fewer stays on this machine.
        """
        super().__init__(count)
        self._address = address
        self._more_than = more_than
        self._open = contextlib.ExitStack()
        self._cluster: Cluster | None = None

    def __enter__(self) -> Spread:
        if not self._more_than:
            self._take_up()
        return self

    def __exit__(self, *_: object) -> None:
        self._cluster = None
        try:
            self._open.close()
        finally:
            super().__exit__()

    def ready_for(self, pages: int) -> None:
        """Fetch the hands of the cluster for a long book.

        Raises:
            AskedWrong: see :func:`foldproof.cluster.client.opened`.
        """
        if self._cluster is None and pages > self._more_than:
            self._take_up()

    def _take_up(self) -> None:
        self._cluster = self._open.enter_context(opened(self._address, self.count))
        self.count = self._cluster.slots()

    def alone(self, function: Callable[[T], R], job: T, *, seconds: float) -> R | Lost:
        """As :meth:`foldproof.workers.Workers.alone`: on this machine, by the process that is kept for it."""
        ((_, result),) = super().map(function, [job], seconds=seconds)
        return result

    def map(self, function: Callable[[T], R], jobs: Sequence[T], *, seconds: float) -> Iterator[tuple[int, R | Lost]]:
        """As :meth:`foldproof.workers.Workers.map`; a path in a job is of a file that the job reads.

        Raises:
            NotWritten: the scheduler is gone, or a worker has no room for a file.
            AskedWrong: a worker joined that has other versions.
            Unreadable: a file changed on the way.
        """
        if self._cluster is None:
            return super().map(function, jobs, seconds=seconds)
        return _Flight(self._cluster, name_of(function), jobs, seconds).run()


class _Flight:
    """The jobs of one map on their way."""

    def __init__(self, cluster: Cluster, name: str, jobs: Sequence[Any], seconds: float) -> None:
        self._cluster, self._name, self._jobs, self._seconds = cluster, name, jobs, seconds
        self._flying: dict[str, tuple[int, Parcel, Any]] = {}
        self._landed: queue.SimpleQueue[str] = queue.SimpleQueue()

    def run(self) -> Iterator[tuple[int, Any]]:
        todo = deque(range(len(self._jobs)))
        # enough that no worker waits for us, and few enough that what is left early is soon left
        most = 2 * self._cluster.slots() + 1
        try:
            while todo or self._flying:
                while todo and len(self._flying) < most:
                    self._submit(todo[0], self._parcel(self._jobs[todo[0]]))
                    todo.popleft()
                try:
                    key = self._landed.get(timeout=_TICK_S)
                except queue.Empty:
                    self._cluster.see()
                    continue
                index, parcel, future = self._flying.pop(key)
                answer = self._cluster.answer(future)
                if isinstance(answer, Done):
                    yield index, value_of(answer.answer)
                elif isinstance(answer, Missing):
                    self._cluster.carry(answer)
                    self._submit(index, parcel)
                elif isinstance(answer, Lost):
                    yield index, answer
                else:
                    raise NotWritten(answer.says)
        finally:
            self._cluster.leave([future for _, _, future in self._flying.values()])

    def _parcel(self, job: Any) -> Parcel:
        content, files = packed(job, self._cluster.luggage)
        return Parcel("", self._cluster.holder, self._name, content, files, self._seconds, versions())

    def _submit(self, index: int, parcel: Parcel) -> None:
        key = f"pages-{uuid.uuid4().hex}"
        future = self._cluster.submit(work, evolve(parcel, key=key, mark=self._cluster.mark()), key, _PRIORITY)
        self._flying[key] = index, parcel, future
        future.add_done_callback(lambda done: self._landed.put(done.key))
