# SPDX-License-Identifier: AGPL-3.0-or-later
"""Processes that may be killed.

An interpreter of PDF content holds Python's lock for a whole page and may loop, eat all memory or crash: only a
process of its own can be given a time limit.  Workers are spawned, never forked (a MuPDF document does not survive a
fork), start with nothing but this module, and stay alive from one :meth:`Workers.map` to the next, so that what a job
keeps open is still open for the next one.

This module imports no PDF library and nothing of the command line: a spawned child imports it before anything else.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import multiprocessing
import os
import pickle
import select
import signal
import sys
import threading
import time
import types
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.context import SpawnContext, SpawnProcess
from typing import Any, TypeVar

from attrs import frozen
from pebble import ProcessExpired, ProcessPool

from foldproof.files import unbroken

try:
    import fcntl
    import resource
except ImportError:  # not on every system
    fcntl = resource = None  # type: ignore[assignment,unused-ignore]

T = TypeVar("T")
R = TypeVar("R")

#: a job that did not come to an end of its own, its worker gone or never begun, is tried at most this often
_ATTEMPTS = 3
#: seconds a job may be over its time before the whole pool is taken for stuck
_GRACE_S = 10.0
#: how often the parent looks up while it waits
_TICK_S = 0.25
#: memory that a worker may take; whoever opens a large file in it asks for more (``room_for`` in pdf/memory.py)
_ROOM_BYTES = 1_200_000_000


@frozen
class Lost:
    """What stands in the place of a result when the worker went down with the job."""

    reason: str  #: a clause for people: ``"it took longer than 20 s"``
    out_of_time: bool = False


class Workers:
    """A pool of killable processes.

    Use as a context manager; on leaving it, however that happens, no child is left.  ``count`` of 1 is a process as
    well, so that a crash in a library never takes the command down.
    """

    def __init__(self, count: int) -> None:
        if count < 1:
            raise ValueError(f"there must be at least one worker, not {count}")
        self.count = count
        #: asked several times a second: has whoever waits for the results ceased to wait?
        self.given_up: Callable[[], bool] = _never
        self._context = _Context()
        self._pool: ProcessPool | None = None

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, *_: object) -> None:
        self._end()

    def ready_for(self, pages: int) -> None:
        """Told of how many pages the book is: a pool may fetch more hands for many."""

    def alone(self, function: Callable[[T], R], job: T, *, seconds: float) -> R | Lost:
        """One job, in a process of this machine even where others are done elsewhere; raises as :meth:`map` does."""
        ((_, result),) = self.map(function, [job], seconds=seconds)
        return result

    def map(self, function: Callable[[T], R], jobs: Sequence[T], *, seconds: float) -> Iterator[tuple[int, R | Lost]]:
        """Run ``function(job)`` for every job, in order of completion.

        Args:
            function: at the top level of an importable module; never of ``__main__``, which the children do not run.
            jobs: picklable; handed out in order, few at a time.
            seconds: time limit of one job, counted from when a worker takes it up.

        Yields:
            The index of the job, and what the function returned or :class:`Lost`.  Whoever needs an order puts the
            results in order by the index.

        Raises:
            Exception: whatever ``function`` raised, except MemoryError, which is :class:`Lost`.
            CancelledError: nobody waits any more; no job runs on.
        """
        name = name_of(function)
        queue = [(index, 1) for index in range(len(jobs) - 1, -1, -1)]
        flying: dict[Future[bytes], tuple[int, int]] = {}
        begun: dict[Future[bytes], float] = {}
        try:
            while queue or flying:
                while queue and len(flying) <= self.count:
                    index, attempt = queue.pop()
                    flying[self._submit(name, pickle.dumps(jobs[index]), seconds)] = (index, attempt)
                done, _ = wait(flying, timeout=_TICK_S, return_when=FIRST_COMPLETED)
                if self.given_up():
                    self._end()
                    raise CancelledError
                for future in sorted(done, key=lambda f: flying[f]):
                    index, attempt = flying.pop(future)
                    begun.pop(future, None)
                    result = _outcome(future, seconds, first=attempt == 1)
                    if result is None and attempt < _ATTEMPTS:
                        queue.append((index, attempt + 1))
                    elif result is None:
                        yield index, Lost("the process that read it ended without a reason")
                    else:
                        yield index, result[0]
                now = time.monotonic()
                for future in flying:
                    if future.running():
                        begun.setdefault(future, now)
                if any(now - start > seconds + _GRACE_S for start in begun.values()):
                    # A worker killed while it held the channel leaves the others waiting for ever.
                    self._end()
                    stuck = {flying[f][0] for f, start in begun.items() if now - start > seconds + _GRACE_S}
                    queue.extend(item for item in flying.values() if item[0] not in stuck)
                    flying.clear()
                    begun.clear()
                    for index in sorted(stuck):
                        yield index, _out_of_time(seconds)
        finally:
            for future in flying:
                future.cancel()

    def _submit(self, name: str, job: bytes, seconds: float) -> Future[bytes]:
        # A pool breaks when a worker is killed while idle; nothing is lost then, and the next pool takes over.
        for _ in range(_ATTEMPTS):
            if self._pool is None:
                self._pool = ProcessPool(max_workers=self.count, initializer=_settle, context=self._context)
            try:
                return self._pool.schedule(_run, args=(name, job), timeout=seconds)
            except RuntimeError:
                self._end()
        raise RuntimeError("the worker processes end as soon as they start")

    def _end(self) -> None:
        pool, self._pool = self._pool, None
        try:
            if pool is not None:
                pool.stop()  # type: ignore[no-untyped-call]
                self._context.kill()
                # Joined aside: the pool's reader may wait for the rest of a message whose sender is gone.
                joiner = threading.Thread(target=pool.join, daemon=True)
                joiner.start()
                joiner.join(2.0)
        finally:
            self._context.kill()


def _never() -> bool:
    return False


# --- in the parent ------------------------------------------------------------------------------------------------


class _Process(SpawnProcess):
    """A spawned process that starts deaf to Ctrl-C and without the parent's main module.

    Deaf from its first instruction (a blocked signal stays blocked over exec): otherwise Ctrl-C in the tenth of a
    second of its start prints a traceback.  Without the main module: that would pull the command line into every child.
    """

    def start(self) -> None:
        # Ctrl-C between its start and our knowing of it would leave a process that nobody ends
        with unbroken():
            super().start()

    @staticmethod
    def _Popen(process_obj: Any) -> Any:
        with bare_start():
            return SpawnProcess._Popen(process_obj)  # type: ignore[attr-defined,unused-ignore]


_BARE_START = threading.Lock()


@contextlib.contextmanager
def bare_start() -> Iterator[None]:
    """Processes that are started meanwhile are deaf to Ctrl-C and know nothing of the parent's main module."""
    with _BARE_START:
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        main = sys.modules["__main__"]
        sys.modules["__main__"] = types.ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = main
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Context(SpawnContext):
    """A spawn context that remembers its processes, so that they can be killed without asking anybody."""

    def __init__(self) -> None:
        super().__init__()
        self._started: list[_Process] = []

    def Process(self, *args: Any, **kwargs: Any) -> _Process:  # type: ignore[override]
        self._started = [p for p in self._started if p.ident is None or p.is_alive()]
        process = _Process(*args, **kwargs)
        self._started.append(process)
        return process

    def kill(self) -> None:
        """Kill every process that has started and still lives, and wait until it is gone."""
        # A process that the pool's thread is just starting would find nobody to tell it what to do, and complain.
        with _BARE_START:
            started = [p for p in self._started if p.ident is not None and p.is_alive()]
        for process in started:
            process.kill()
        for process in started:
            process.join()


def name_of(function: Callable[..., Any]) -> str:
    """Module and name under which a worker finds a function.

    Raises:
        ValueError: it would not find it.
    """
    name, module = function.__qualname__, function.__module__
    if "<" in name or module == "__main__":
        raise ValueError(f"{module}.{name} cannot be found by a worker: put it at the top level of a module")
    return f"{module}:{name}"


def _outcome(future: Future[bytes], seconds: float, *, first: bool) -> tuple[Any] | None:
    """What a finished future holds, in a tuple; ``None`` when the job is to be tried again."""
    try:
        return (value_of(future.result()),)
    except ProcessExpired as gone:
        # A worker that dies of one job may not have handed over the result of the job before it, and is then blamed
        # for both: only a job that brings a worker down again is lost.
        return None if first else (Lost(_death(gone.exitcode)),)
    except TimeoutError:
        return (_out_of_time(seconds),)
    except (BrokenProcessPool, CancelledError):
        return None


def value_of(answer: bytes) -> Any:
    """What :func:`run_named` answered: the function's result, or :class:`Lost`; raises what the function raised."""
    state, value = pickle.loads(answer)
    if state == "raised":
        raise value
    return Lost(value) if state == "lost" else value


def _out_of_time(seconds: float) -> Lost:
    return Lost(f"it took longer than {seconds:g} s", out_of_time=True)


def _death(code: int | None) -> str:
    if code is not None and code < 0:
        if -code == signal.SIGKILL:
            return "the system killed the process that read it, most likely for want of memory"
        with contextlib.suppress(ValueError):
            return f"the process that read it crashed ({signal.Signals(-code).name})"
    return f"the process that read it ended with code {code}"


# --- in the child -------------------------------------------------------------------------------------------------


def _settle() -> None:
    """Die at once when told to: the pool's own handler would wait for the end of a call into a library."""
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    _end_with_parent()
    _hold_memory()
    collect_seldom()


def _hold_memory() -> None:
    """Answer "no" to whoever asks for more memory than a page can want: a small file may unpack to an enormous one.

    The libraries take that as an error of the page; without the bound the system would have to kill somebody.
    """
    if resource is None:
        return
    _, most = resource.getrlimit(resource.RLIMIT_DATA)
    room = _ROOM_BYTES if most == resource.RLIM_INFINITY else min(most, _ROOM_BYTES)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_DATA, (room, most))


def _end_with_parent() -> None:
    """Have the system kill this process when its parent is gone, whatever it is at.

    An idle worker ends by itself; one that is busy with a page would end only with the page, which may be never.  The
    parent holds the other end of a pipe, and the system is asked to signal its closing: unlike a signal bound to the
    death of a thread, it does not matter which thread of the parent started us.
    """
    parent = multiprocessing.parent_process()
    if fcntl is None or parent is None or not hasattr(fcntl, "F_SETSIG"):
        return
    pipe = parent.sentinel
    fcntl.fcntl(pipe, fcntl.F_SETOWN, os.getpid())
    fcntl.fcntl(pipe, fcntl.F_SETSIG, signal.SIGKILL)
    fcntl.fcntl(pipe, fcntl.F_SETFL, fcntl.fcntl(pipe, fcntl.F_GETFL) | os.O_ASYNC)
    if select.select([pipe], [], [], 0)[0]:  # gone already
        os._exit(1)


def collect_seldom() -> None:
    """Let Python look for circles of dead objects less often.

    A run makes hundreds of thousands of facts that live to its end, and next to no circles: at the usual pace the
    looking takes a tenth of the time and finds nothing.
    """
    gc.set_threshold(100_000, 20, 50)


def _run(name: str, job: bytes) -> bytes:
    """One job.  Everything is pickled here, not in the pool, whose channel all workers share."""
    return run_named(name, lambda: pickle.loads(job))


def run_named(name: str, job: Callable[[], Any]) -> bytes:
    """Run a function by its name on a job that is unpacked here; :func:`value_of` reads the answer."""
    try:
        module, qualified = name.split(":")
        function: Any = importlib.import_module(module)
        for part in qualified.split("."):
            function = getattr(function, part)
        return pickle.dumps(("done", function(job())), protocol=pickle.HIGHEST_PROTOCOL)
    except MemoryError:
        return pickle.dumps(("lost", "there was not enough memory for it"))
    except Exception as raised:
        try:
            whole = pickle.dumps(("raised", raised))
            pickle.loads(whole)
            return whole
        except Exception:
            return pickle.dumps(("raised", RuntimeError(f"{type(raised).__name__}: {raised}")))
