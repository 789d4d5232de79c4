# SPDX-License-Identifier: AGPL-3.0-or-later
"""What runs on a Dask worker: a store of files, and processes of its own that do the work.

The Dask worker itself touches no PDF: a page that crashes or loops takes a process with it that may be killed, as on
one machine.  Everything here that a client calls is at the top level of this module.
"""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import os
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError
from multiprocessing.util import Finalize
from pathlib import Path
from typing import Any

from attrs import define, field

from foldproof.cluster.parcels import Answer, Done, Errand, FileRef, Missing, Parcel, Unable, Unlike, carry_out, seal
from foldproof.cluster.versions import versions
from foldproof.files import sha256_of
from foldproof.workers import Lost, Workers


@define
class _Kept:
    """A file in the store."""

    path: Path
    holders: set[str] = field(factory=set)


@define
class _Coming:
    """A file of which pieces have come."""

    path: Path
    digest: Any = field(factory=hashlib.sha256)
    size: int = 0


class Station:
    """The store and the idle hands of one Dask worker.  Safe for several threads."""

    def __init__(self, folder: Path) -> None:
        #: goes with the Dask worker; one that was killed is cleared by the next in its place
        self.folder = Path(tempfile.mkdtemp(prefix="foldproof-", dir=folder))
        self._lock = threading.Lock()
        self._kept: dict[str, _Kept] = {}
        self._coming: dict[tuple[str, str], _Coming] = {}
        self._seen: dict[str, tuple[tuple[int, ...], str]] = {}
        self._idle: list[Workers] = []
        self._all: list[Workers] = []
        #: what is to be stopped when the Dask worker ends, by the one for whom it is done
        self._at_work: list[tuple[str, Callable[[], None]]] = []
        # before multiprocessing ends its children one by one, which would be replaced as long as a pool stands
        Finalize(self, self.end, exitpriority=100)

    def end(self) -> None:
        """End every process and clear the store."""
        for _, stop in list(self._at_work):
            stop()
        with self._lock:
            for one in self._all:
                one.__exit__()
            self._all.clear()
            self._idle.clear()
        shutil.rmtree(self.folder, ignore_errors=True)

    # --- files ---

    def places(self, holder: str, refs: Iterable[FileRef]) -> tuple[tuple[str, ...], tuple[FileRef, ...]]:
        """Where the files lie here, and which of them do not; those of the store stay until ``holder`` forgets them."""
        found, missing = [], []
        for ref in refs:
            place = self._place(holder, ref)
            if place is None:
                missing.append(ref)
            else:
                found.append(place)
        return tuple(found), tuple(missing)

    def _place(self, holder: str, ref: FileRef) -> str | None:
        with self._lock:
            kept = self._kept.get(ref.sha256)
            if kept is not None:
                kept.holders.add(holder)
                return str(kept.path)
        # Seen is what has the bytes: another machine may have another file of that name, or an older one.
        try:
            now = seal(Path(ref.path).stat())
            if now[0] != ref.size:
                return None
            seen = self._seen.get(ref.path)
            if seen is None or seen[0] != now:
                seen = self._seen[ref.path] = (now, sha256_of(Path(ref.path)))
        except (OSError, ValueError):
            return None
        return ref.path if seen[1] == ref.sha256 else None

    def take(self, holder: str, ref: FileRef, piece: bytes) -> bool:
        """The next piece of a file; the last makes it whole.  False when the whole has other bytes than it should."""
        key = holder, ref.sha256
        coming = self._coming.get(key)
        if coming is None:
            folder = Path(tempfile.mkdtemp(dir=self.folder))
            # messages name the file: it keeps its name
            coming = self._coming[key] = _Coming(folder / Path(ref.path).name)
        with coming.path.open("ab") as handle:
            handle.write(piece)
        coming.digest.update(piece)
        coming.size += len(piece)
        if coming.size < ref.size:
            return True
        del self._coming[key]
        if coming.digest.hexdigest() != ref.sha256:
            shutil.rmtree(coming.path.parent, ignore_errors=True)
            return False
        with self._lock:
            kept = self._kept.setdefault(ref.sha256, _Kept(coming.path))
            kept.holders.add(holder)
        if kept.path != coming.path:
            shutil.rmtree(coming.path.parent, ignore_errors=True)
        return True

    def forget(self, holder: str, digests: Iterable[str] | None = None) -> None:
        """Drop files that nobody holds any more; ``None``: all of this holder."""
        with self._lock:
            for digest in list(self._kept) if digests is None else list(digests):
                kept = self._kept.get(digest)
                if kept is None:
                    continue
                kept.holders.discard(holder)
                if not kept.holders:
                    del self._kept[digest]
                    shutil.rmtree(kept.path.parent, ignore_errors=True)
        for key in [key for key in self._coming if key[0] == holder and (digests is None or key[1] in digests)]:
            shutil.rmtree(self._coming.pop(key).path.parent, ignore_errors=True)

    def drop(self, folder: str) -> None:
        """Clear a folder that was made here.

        Raises:
            ValueError: it is none.
        """
        shutil.rmtree(self.own(folder), ignore_errors=True)

    def own(self, path: str) -> Path:
        """A path within the store.

        Raises:
            ValueError: it leads out of it.
        """
        found, folder = Path(path).resolve(), self.folder.resolve()
        if folder not in found.parents:
            raise ValueError("that is none of the files that were made here")
        return found

    # --- hands ---

    @contextlib.contextmanager
    def hands(self, wanted: Wanted) -> Iterator[Workers]:
        """A process that is kept alive from one job to the next, so that its book is still open."""
        with self._lock:
            if not self._idle:
                self._all.append(Workers(1))
                self._idle.append(self._all[-1])
            one = self._idle.pop()
        one.given_up = lambda: not wanted()
        try:
            yield one
        finally:
            with self._lock:
                self._idle.append(one)

    @contextlib.contextmanager
    def working(self, holder: str, stop: Callable[[], None]) -> Iterator[None]:
        """Work that ``stop`` ends before its time goes on within the block."""
        entry = holder, stop
        self._at_work.append(entry)
        try:
            yield
        finally:
            self._at_work.remove(entry)

    def works_for(self, holder: str) -> bool:
        """Whether anything is being done for this one."""
        return any(one == holder for one, _ in list(self._at_work))


class Wanted:
    """Does anybody still wait for a task?  A client that went away, or cancelled, does not."""

    def __init__(self, key: str) -> None:
        from distributed import get_worker

        self._key = key
        self.worker: Any = get_worker()
        self.address: str = self.worker.address

    def __call__(self) -> bool:
        task = self.worker.state.tasks.get(self._key)
        return task is not None and task.state in ("executing", "long-running")


_STATION: list[Station] = []
_LOCK = threading.Lock()


def station(worker: Any) -> Station:
    """The station of this process, made when it is first asked for."""
    with _LOCK:
        if not _STATION or not _STATION[-1].folder.is_dir():
            # Dask's own way to run workers marks them as processes that have no children; ours are killed with them.
            multiprocessing.current_process().daemon = False
            _forget_environment()
            _STATION[:] = [Station(Path(worker.local_directory))]
        return _STATION[-1]


def _forget_environment() -> None:
    """What Dask sets for number crunching is not for our processes, which are to run as they do elsewhere.

    Memory that is given back to the system at every turn, for one, has to be fetched again for every page.
    """
    import dask

    for name, value in dask.config.get("distributed.nanny.pre-spawn-environ", {}).items():
        if os.environ.get(name) == str(value):
            del os.environ[name]


# --- called by a client -------------------------------------------------------------------------------------------


def work(parcel: Parcel) -> Answer:
    """A task: one job in a process of its own.  Nothing is raised, for Dask would log it with the job."""
    wanted = Wanted(parcel.key)
    try:
        here = station(wanted.worker)
        if parcel.versions != versions():
            return Unlike(wanted.address, versions())
        places, missing = here.places(parcel.holder, parcel.files)
        if missing:
            return Missing(wanted.address, missing, parcel.mark)
        with here.hands(wanted) as one:
            errand = Errand(parcel.function, parcel.job, places)
            ((_, answer),) = one.map(carry_out, [errand], seconds=parcel.seconds)
        return answer if isinstance(answer, Lost) else Done(answer)
    except CancelledError:
        return Unable("stopped")
    except Exception as fault:
        return Unable(f"The worker at {wanted.address} can do nothing: {type(fault).__name__}: {fault}.")


def take(holder: str, ref: FileRef, piece: bytes, dask_worker: Any = None) -> str | None:
    """Keep a piece of a file; a clause when that is not possible."""
    try:
        whole = station(dask_worker).take(holder, ref, piece)
    except OSError as refused:
        station(dask_worker).forget(holder, [ref.sha256])
        return (refused.strerror or str(refused)).lower()
    return None if whole else "it has changed since it was looked at"


def forget(holder: str, digests: tuple[str, ...] | None = None, dask_worker: Any = None) -> None:
    """Drop what was carried here for this holder."""
    station(dask_worker).forget(holder, digests)


def at_work(holder: str, dask_worker: Any = None) -> bool:
    """Whether anything is being done here for this holder."""
    return station(dask_worker).works_for(holder)


def give(path: str, offset: int, size: int, dask_worker: Any = None) -> bytes:
    """A piece of a file that was made here; nothing past its end.

    Raises:
        ValueError: it is no file of ours.
        OSError: it cannot be read.
    """
    with station(dask_worker).own(path).open("rb") as handle:
        handle.seek(offset)
        return handle.read(size)


def drop(folder: str, dask_worker: Any = None) -> None:
    """Clear a folder that was made here."""
    station(dask_worker).drop(folder)
