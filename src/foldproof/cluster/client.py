# SPDX-License-Identifier: AGPL-3.0-or-later
"""Opening a cluster, and carrying files to its workers."""

from __future__ import annotations

import contextlib
import logging
import re
import signal
import socket
import tempfile
import threading
import time
import uuid
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError
from importlib import metadata
from pathlib import Path
from typing import Any

from foldproof.cluster import station
from foldproof.cluster.parcels import FileRef, Luggage, Missing, Unable, Unlike
from foldproof.cluster.versions import told_apart, versions
from foldproof.errors import AskedWrong, NotWritten, Unreadable
from foldproof.workers import Lost

#: the address that stands for a cluster started here
LOCAL = "local"

#: seconds that a scheduler has to answer, and that it may be without any worker
_ANSWER_S, _WORKERS_S = 3.0, 30.0
#: how often one looks whether there are workers
_LOOK_S = 2.0
#: bytes of a file that are sent at once
_PIECE = 8_000_000
#: a file is sent to one worker at most so often
_CARRIED_MOST = 3


class Cluster:
    """A cluster that answers and runs what we run.  Thread-safe as far as Dask's own client is."""

    def __init__(self, address: str, client: Any) -> None:
        self.address = address
        self.client = client
        self.luggage = Luggage()
        #: our name at the stations
        self.holder = uuid.uuid4().hex
        #: when each file was carried to each worker, and how often; told in carryings
        self._carried: dict[tuple[str, str], tuple[int, int]] = {}
        self._carryings = 0
        self._slots = 0
        self._looked, self._had_workers = 0.0, time.monotonic()

    def slots(self) -> int:
        """Jobs that can run at the same time, at least one; as it was seconds ago."""
        return max(1, self._slots)

    def see(self) -> None:
        """Look whether the cluster is still there; now and then whether it has workers.

        Raises:
            NotWritten: the scheduler is gone, or has been without any worker for half a minute.
        """
        if self.client.status != "running":
            raise self.gone()
        now = time.monotonic()
        if now - self._looked > _LOOK_S:
            self._looked = now
            self._slots = sum(self._asked(self.client.nthreads).values())
            if self._slots:
                self._had_workers = now
            elif now - self._had_workers > _WORKERS_S:
                raise NotWritten(
                    f"All workers of the cluster at {self.address} are gone; start one (dask worker {self.address}), "
                    "then ask again for what is not made."
                )

    def gone(self) -> NotWritten:
        """The sentence for a scheduler that went away."""
        return NotWritten(
            f"The cluster at {self.address} went away; start its scheduler again, then ask again for what is not made."
        )

    def submit(self, function: Callable[..., Any], parcel: Any, key: str, priority: int) -> Any:
        """A task's future.  Of what waits, the highest ``priority`` goes first.

        Raises:
            NotWritten: the scheduler is gone.
        """
        self.see()
        return self.client.submit(function, parcel, key=key, pure=False, priority=priority)

    def answer(self, future: Any) -> Any:
        """What a station answered; :class:`Lost` when every machine that tried it went down, :class:`Unable` when it
        answered nothing that can be read.

        Raises:
            NotWritten: the scheduler is gone.
            AskedWrong: the station has other versions.
        """
        from distributed.scheduler import KilledWorker

        try:
            answer = future.result()
        except KilledWorker:
            return Lost("the machines that were to read it went down with it")
        except (Exception, CancelledError) as fault:
            self.see()
            if future.cancelled():
                raise self.gone() from None
            return Unable(f"The cluster at {self.address} did not answer: {type(fault).__name__}: {fault}.")
        if isinstance(answer, Unlike):
            raise AskedWrong(told_apart(answer.worker, answer.versions))
        return answer

    def leave(self, futures: list[Any]) -> None:
        """Nobody waits for these any more: their stations stop them."""
        if futures:
            with contextlib.suppress(Exception):
                self.client.cancel(futures, force=True)

    # --- files ---

    def mark(self) -> int:
        """How far we have got with carrying."""
        return self._carryings

    def carry(self, wanted: Missing) -> None:
        """Send a worker the files that it misses, piece by piece; a worker that has gone away meanwhile is no error.

        Raises:
            NotWritten: the worker has no room, or the scheduler is gone.
            Unreadable: a file is not any more what it was.
        """
        for ref in wanted.files:
            when, times = self._carried.get((wanted.worker, ref.sha256), (0, 0))
            if when > wanted.mark:
                continue  # it has come since that was asked
            if times == _CARRIED_MOST:
                raise NotWritten(f"The worker at {wanted.worker} does not keep the files that are carried to it.")
            if not self._send(wanted.worker, ref):
                return
            self._carryings += 1
            self._carried[wanted.worker, ref.sha256] = self._carryings, times + 1

    def fetch(self, worker: str, path: str, target: Path) -> bool:
        """Write a file of a station to ``target``, piece by piece; False when the worker is gone.

        Raises:
            OSError: it cannot be written here.
        """
        with target.open("xb") as handle:
            while True:
                try:
                    piece = self._asked(self.client.run, station.give, path, handle.tell(), _PIECE, workers=[worker])
                except (Exception, CancelledError):
                    if worker in self._asked(self.client.nthreads):
                        raise
                    return False
                if not piece.get(worker):
                    return worker in piece
                handle.write(piece[worker])

    def drop(self, worker: str, folder: str) -> None:
        """Clear a folder of outputs that a station made for us."""
        with contextlib.suppress(Exception):
            self.client.run(station.drop, folder, workers=[worker], on_error="ignore")

    def wait_until_left(self, seconds: float) -> None:
        """Wait until no station is at work for us any more."""
        until = time.monotonic() + seconds
        with contextlib.suppress(Exception):
            while self.client.status == "running" and time.monotonic() < until:
                if not any(self.client.run(station.at_work, self.holder, on_error="ignore").values()):
                    return
                time.sleep(0.1)

    def _send(self, worker: str, ref: FileRef) -> bool:
        """Whether the worker has the file; it has not when it is gone."""
        for piece in _pieces(ref):
            try:
                answers = self._asked(self.client.run, station.take, self.holder, ref, piece, workers=[worker])
            except Exception:
                if worker in self._asked(self.client.nthreads):
                    raise
                return False
            if worker not in answers:
                return False
            if answers[worker]:
                name = Path(ref.path).name
                raise NotWritten(f"{name} cannot be carried to the worker at {worker}: {answers[worker]}.")
        return True

    def forget(self, digests: Iterable[str] | None = None) -> None:
        """Have the workers drop files that they keep for us: these, or all."""
        if self.client.status == "running":
            gone = None if digests is None else tuple(digests)
            self._carried = {
                key: value for key, value in self._carried.items() if gone is not None and key[1] not in gone
            }
            with contextlib.suppress(Exception):
                self.client.run(station.forget, self.holder, gone, on_error="ignore")

    def hold_to_versions(self) -> None:
        """Wait for a worker, and hold all that are there against what runs here.

        Raises:
            AskedWrong: there is none, or one of them has other versions.
        """
        try:
            self.client.wait_for_workers(1, timeout=_WORKERS_S)
        except TimeoutError:
            raise AskedWrong(
                f"No worker has joined the cluster at {self.address}; start one: dask worker {self.address}"
            ) from None
        name, here = versions()[0]
        # asked by a function that any Python has: theirs may be too old to have ours
        theirs = self._asked(self.client.run, metadata.version, name, on_error="return")
        for worker, version in sorted(theirs.items()):
            if version != here:
                has = () if isinstance(version, Exception) else ((name, version),)
                raise AskedWrong(told_apart(worker, has))
        for worker, has in sorted(self._asked(self.client.run, versions).items()):
            if has != versions():
                raise AskedWrong(told_apart(worker, has))
        self.see()

    def _asked(self, question: Callable[..., Any], *args: Any, **more: Any) -> Any:
        try:
            return question(*args, **more)
        except (Exception, CancelledError):
            self.see()
            raise


def _pieces(ref: FileRef) -> Iterator[bytes]:
    """The bytes of a file, never more than it had.

    Raises:
        Unreadable: it cannot be read any more, or is shorter.
    """
    name, left = Path(ref.path).name, ref.size
    try:
        with Path(ref.path).open("rb") as handle:
            while True:
                piece = handle.read(min(_PIECE, left))
                left -= len(piece)
                if left and not piece:
                    raise Unreadable(f"{name} has changed while it was read; wait until it is whole, then ask again.")
                yield piece
                if not left:
                    return
    except OSError as refused:
        raise Unreadable(f"{name} cannot be read any more: {(refused.strerror or str(refused)).lower()}.") from refused


@contextlib.contextmanager
def opened(address: str, workers: int) -> Iterator[Cluster]:
    """A cluster by its scheduler's address; ``"local"`` starts one here with so many workers, and ends it again.

    Raises:
        AskedWrong: the extra ``cluster`` is not installed, nobody answers, or a worker has other versions.
    """
    try:
        from distributed import Client
    except ImportError:
        raise AskedWrong("--cluster needs the extra: pip install 'foldproof[cluster]'.") from None
    with contextlib.ExitStack() as stack:
        stack.enter_context(_silence())
        where: Any = stack.enter_context(_started(workers)) if address == LOCAL else _listened_at(address)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # versions of Dask's own parts may differ
                client = stack.enter_context(Client(where, timeout=3 * _ANSWER_S, set_as_default=False))
        except (OSError, ValueError, TypeError) as refused:
            raise AskedWrong(
                f"Something else than a Dask scheduler listens at {address}; give the address that dask scheduler "
                "prints, as tcp://HOST:8786."
            ) from refused
        cluster = Cluster(address, client)
        cluster.hold_to_versions()
        try:
            yield cluster
        finally:
            cluster.forget()


@contextlib.contextmanager
def _silence() -> Iterator[None]:
    """What a cluster has to say is said by us, in a sentence; its own logs speak again afterwards."""
    levels: list[tuple[logging.Logger, int]] = []
    for name in ["distributed", *(name for name in logging.root.manager.loggerDict if name.startswith("distributed."))]:
        logger = logging.getLogger(name)
        levels.append((logger, logger.level))
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in levels:
            logger.setLevel(level)


def _listened_at(address: str) -> str:
    """The address, once somebody listens there; a scheduler that was started just now gets some seconds.

    Raises:
        AskedWrong: nobody does, or it is no address.
    """
    parts = re.fullmatch(r"(?:(tcp|tls)://)?(\[[^\]]+\]|[^:/]+):(\d{1,5})", address)
    until = time.monotonic() + _ANSWER_S
    while parts and int(parts[3]) < 65536:
        try:
            socket.create_connection((parts[2].strip("[]"), int(parts[3])), timeout=_ANSWER_S).close()
            return address
        except ConnectionRefusedError:
            if time.monotonic() > until:
                break
            time.sleep(0.2)
        except (OSError, UnicodeError):
            break
    raise AskedWrong(
        f"No cluster answers at {address}; give the address that dask scheduler prints, as tcp://HOST:8786."
    )


@contextlib.contextmanager
def _started(workers: int) -> Iterator[Any]:
    """A scheduler and workers on this machine, deaf to Ctrl-C: they end when we say so, or when we are gone."""
    import dask
    from distributed import LocalCluster

    with contextlib.ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="foldproof-", ignore_cleanup_errors=True))
        # nobody but us knows of it: no page of its own, no file outside its folder, no limit on the little it holds
        ours = {
            "temporary-directory": folder,
            "distributed.worker.daemon": False,
            # it looks after itself fifty times a second, in six processes, on the cores that make the books
            "distributed.worker.profile.enabled": False,
            "distributed.admin.tick.interval": "1s",
            "distributed.admin.tick.cycle": "10s",
            "distributed.admin.system-monitor.interval": "10s",
            "distributed.scheduler.active-memory-manager.start": False,
            "distributed.scheduler.http.routes": [],
            "distributed.worker.http.routes": [],
        }
        stack.enter_context(dask.config.set(ours))
        with _deaf_children():
            cluster = LocalCluster(
                n_workers=workers, threads_per_worker=1, processes=True, host="127.0.0.1",
                dashboard_address="127.0.0.1:0", scheduler_kwargs={"dashboard": False}, memory_limit=0,
                local_directory=folder, silence_logs=logging.CRITICAL,
            )  # fmt: skip
        yield stack.enter_context(cluster)


@contextlib.contextmanager
def _deaf_children() -> Iterator[None]:
    """What starts meanwhile, threads and their processes, is deaf to Ctrl-C."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
