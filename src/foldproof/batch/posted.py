# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book that was sent to a Dask worker: there it is made as here, in a process of its own and under the same limits.

It is written where it is to lie if the worker sees that folder, else into the worker's own, from which it is fetched.
"""

from __future__ import annotations

import os
import pickle
import tempfile
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from foldproof.batch.keeper import BookRun
from foldproof.batch.model import BookTask, Done
from foldproof.cluster.parcels import FileRef, Missing, Unable, Unlike
from foldproof.cluster.station import Station, Wanted, station
from foldproof.cluster.versions import versions
from foldproof.desk import Asked

#: how often the worker looks up while a book is made
_TICK_S = 0.1


@frozen
class Posted:
    """A book for a station.  Its paths are those of the sender, and absolute."""

    key: str  #: of the task, and of every word about it
    holder: str  #: the sender's name at the stations
    topic: str  #: under which the sender hears of it
    task: BookTask
    manuscript: FileRef | None  #: ``None``: the sender could not read it either
    emblem: FileRef | None  #: of the job; ``None``: it names none, or the sender could not read it either
    shared: FileRef  #: a file in the folder of all outputs: whoever sees it shares that folder
    versions: tuple[tuple[str, str], ...]
    mark: int = 0  #: as of a parcel


@frozen
class Made:
    """A book that has ended."""

    worker: str
    done: Done
    #: the folder at the station from which its outputs are to be fetched; ``None``: they lie in their place
    folder: str | None


def make_posted(posted: Posted) -> Made | Missing | Unlike | Unable:
    """A task: one book from its beginning to its end.  Nothing is raised, for Dask would log it with the book."""
    wanted = Wanted(posted.key)
    try:
        here = station(wanted.worker)
        if posted.versions != versions():
            return Unlike(wanted.address, versions())
        refs = [ref for ref in (posted.manuscript, posted.emblem) if ref is not None]
        places, missing = here.places(posted.holder, refs)
        if missing:
            return Missing(wanted.address, missing, posted.mark)
        task = _placed(posted, dict(zip(refs, map(Path, places), strict=True)))
        task = evolve(task, cluster=wanted.worker.scheduler.address)
        folder = None
        if not _shares(here, posted.shared):
            folder = tempfile.mkdtemp(dir=here.folder)
            task = evolve(task, out=Path(folder) / task.out.name)
        done = _Here(posted, wanted).make(task, here)
        if done is None:
            if folder:
                here.drop(folder)
            return Unable("nobody waited for it any more")
        return Made(wanted.address, done, folder and str(task.out))
    except Exception as fault:
        return Unable(f"The worker at {wanted.address} can do nothing: {type(fault).__name__}: {fault}.")


def _placed(posted: Posted, places: dict[FileRef, Path]) -> BookTask:
    """The task with the places that its files have here."""
    task = posted.task
    if posted.manuscript is not None:
        task = evolve(task, manuscript=places[posted.manuscript])
    if posted.emblem is not None and task.asked is not None:
        asked: Asked = pickle.loads(task.asked)
        task = evolve(task, asked=pickle.dumps(evolve(asked, job=asked.job.with_emblem(places[posted.emblem]))))
    return task


def _shares(here: Station, shared: FileRef) -> bool:
    places, _ = here.places("", [shared])
    return places == (shared.path,) and os.access(Path(shared.path).parent, os.W_OK)


class _Here:
    """A book at this station, and who is told of it."""

    def __init__(self, posted: Posted, wanted: Wanted) -> None:
        self._posted, self._wanted = posted, wanted
        self._seceded = False

    def make(self, task: BookTask, here: Station) -> Done | None:
        """Make it; ``None`` when nobody waits for it any more."""
        run = BookRun(task)
        with here.working(self._posted.holder, run.tell_to_stop):
            try:
                run.start()
                self._tell("begun", 0)
                while run.done is None:
                    wait(run.waits_on(), timeout=_TICK_S)
                    for name, number in run.step():
                        self._make_room(name, number)
                        self._tell(name, number)
                    if not self._wanted():
                        return None
                return run.done
            finally:
                run.stop()

    def _make_room(self, stage: str, pages: int) -> None:
        """A long book has its pages read by the cluster: then this place is free for them, or for another book."""
        if stage == "check" and pages > self._posted.task.split_pages and not self._seceded:
            from distributed import secede

            self._seceded = True
            secede()
            self._tell("spread", 0)

    def _tell(self, what: str, number: int) -> None:
        worker: Any = self._wanted.worker
        worker.log_event(self._posted.topic, [self._posted.key, what, number])
