# SPDX-License-Identifier: AGPL-3.0-or-later
"""A copy of this process, made while it is young, from which worker processes are forked.

A spawned worker imports for half a second what its parent has imported already: as long as a small book takes to make.
A copy that was taken when everything was imported, nothing was opened and no thread ran has what a worker needs and
nothing that does not survive a fork (a MuPDF document, a lock that a thread holds).  Its children may be killed as
spawned ones may.

Only whoever owns the process, the command line or a book's own process, knows that it is young: they open a
:func:`nursery`; :class:`foldproof.workers.Workers` takes its processes from it where there is one, and spawns
otherwise.  This module imports nothing but the standard library.
"""

from __future__ import annotations

import contextlib
import gc
import io
import os
import selectors
import signal
import socket
import struct
import threading
import warnings
from collections.abc import Iterator, Sequence
from multiprocessing import popen_fork, reduction, resource_tracker, spawn, util
from multiprocessing.connection import wait
from multiprocessing.context import set_spawning_popen
from typing import Any, NoReturn

_NUMBER = struct.Struct("q")
#: handles that may be sent in one message (the kernel's own limit)
_MOST_HANDLES = 253
#: what the system sends to a whole group or terminal: its end there is not for us to word
_PLAIN = ("SIGTERM", "SIGHUP")

_here: list[Nursery] = []
#: in a forked worker: the handles that came with its job
_handed: list[int] = []


class Nursery:
    """The parent's end.  ``fork`` may be called from any thread."""

    def __init__(self, channel: socket.socket, pid: int) -> None:
        self._channel, self._pid = channel, pid
        self._lock = threading.Lock()

    def fork(self, handles: Sequence[int]) -> tuple[int, int]:
        """A new process that has these handles.

        Returns:
            Where its pid and at last its exit code are to be read; where it reads what it is to do.

        Raises:
            OSError: the copy is gone, or takes so many handles no more.
        """
        status, its_status = os.pipe()
        its_work, work = os.pipe()
        try:
            with self._lock:
                socket.send_fds(self._channel, [b"."], [its_work, its_status, *handles])
        except OSError:
            os.close(status)
            os.close(work)
            raise
        finally:
            os.close(its_work)
            os.close(its_status)
        return status, work

    def close(self) -> None:
        """End the copy, which kills whatever was forked from it and still lives."""
        self._channel.close()
        with contextlib.suppress(ChildProcessError):
            os.waitpid(self._pid, 0)


class Forked(popen_fork.Popen):
    """A process forked from the copy, as :mod:`multiprocessing` handles processes.

    Raises:
        OSError: there is no copy any more.
    """

    method = "forkserver"

    class DupFd:
        """A handle, under its place among those that are sent along."""

        def __init__(self, place: int) -> None:
            self.place = place

        def detach(self) -> int:
            return _handed[self.place]

    def __init__(self, nursery: Nursery, process_obj: Any) -> None:
        self._nursery = nursery
        self._handles: list[int] = []
        super().__init__(process_obj)

    def duplicate_for_child(self, fd: int) -> int:
        self._handles.append(fd)
        return len(self._handles) - 1

    def _launch(self, process_obj: Any) -> None:
        said = io.BytesIO()
        set_spawning_popen(self)  # type: ignore[arg-type]
        try:
            reduction.dump(spawn.get_preparation_data(process_obj._name), said)
            reduction.dump(process_obj, said)
        finally:
            set_spawning_popen(None)
        self.sentinel, work = self._nursery.fork(self._handles)
        # the child's sentinel of its parent is the other end of this
        kept = os.dup(work)
        self.finalizer = util.Finalize(self, _let_go, (kept, self.sentinel))
        with os.fdopen(work, "wb") as stream:
            stream.write(said.getbuffer())
        self.pid = _heard(self.sentinel)

    def poll(self, flag: int = os.WNOHANG) -> int | None:
        if self.returncode is None:
            if not wait([self.sentinel], 0 if flag == os.WNOHANG else None):
                return None
            try:
                self.returncode = _heard(self.sentinel)
            except OSError:
                # the copy itself was killed; who was forked from it is of no use alone
                with contextlib.suppress(ProcessLookupError):
                    os.kill(self.pid, signal.SIGKILL)
                self.returncode = -signal.SIGKILL
        return self.returncode


def _let_go(*handles: int) -> None:
    for handle in handles:
        os.close(handle)


def here() -> Nursery | None:
    """The nursery that is open in this process."""
    return _here[-1] if _here else None


@contextlib.contextmanager
def nursery() -> Iterator[None]:
    """Worker processes that are started meanwhile are forked from this process as it is now.

    For whoever owns the process and has opened no document yet.  Where it cannot be (other threads run, the system is
    not Linux, or too old) nothing happens, and workers are spawned.

    What has been imported lives as long as the process: it is left out of every later search for circles of dead
    objects, here and in the workers.
    """
    gc.freeze()
    opened = _opened()
    if opened is None:
        yield
        return
    _here.append(opened)
    try:
        yield
    finally:
        _here.remove(opened)
        opened.close()


def _opened() -> Nursery | None:
    if _here or threading.active_count() != 1 or threading.current_thread() is not threading.main_thread():
        return None
    try:
        os.close(os.pidfd_open(os.getpid()))
    except (AttributeError, OSError):
        return None
    # started by the first lock that is sent to a worker: the copy is to know of the same one
    resource_tracker.ensure_running()
    ours, theirs = socket.socketpair()
    # deaf to Ctrl-C from the first instruction, and so are those who are forked from it
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        with warnings.catch_warnings():
            # numerical libraries keep threads of their own, which end and begin again with a fork
            warnings.simplefilter("ignore", DeprecationWarning)
            pid = os.fork()
        if pid == 0:
            ours.close()
            _tend(theirs)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    theirs.close()
    return Nursery(ours, pid)


# --- in the copy --------------------------------------------------------------------------------------------------


def _tend(channel: socket.socket) -> NoReturn:
    """Fork when asked to and tell how they end, until the parent closes its end or is gone."""
    living: dict[int, tuple[int, int]] = {}  # by the handle that tells of the end: pid, where to tell it
    try:
        for name in _PLAIN:
            signal.signal(getattr(signal, name), signal.SIG_DFL)
        with selectors.DefaultSelector() as ready:
            ready.register(channel, selectors.EVENT_READ)
            while True:
                for key, _ in ready.select():
                    if key.fileobj is not channel:
                        ready.unregister(key.fileobj)
                        _tell_end(key.fd, *living.pop(key.fd))
                        continue
                    word, handles, _, _ = socket.recv_fds(channel, 1, _MOST_HANDLES)
                    if not word:
                        _end(living)
                        os._exit(0)
                    its_work, its_status, *rest = handles
                    pid = os.fork()
                    if pid == 0:
                        ready.close()
                        for end, (_, status) in living.items():
                            os.close(end)
                            os.close(status)
                        channel.close()
                        os.close(its_status)
                        _live(its_work, rest)
                    end = os.pidfd_open(pid)
                    living[end] = pid, its_status
                    ready.register(end, selectors.EVENT_READ)
                    _say(its_status, pid)
                    for handle in (its_work, *rest):
                        os.close(handle)
    finally:
        os._exit(1)


def _end(living: dict[int, tuple[int, int]]) -> None:
    for pid, _ in living.values():
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    for pid, _ in living.values():
        os.waitpid(pid, 0)


def _tell_end(end: int, pid: int, status: int) -> None:
    os.close(end)
    _say(status, os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]))
    os.close(status)


def _say(where: int, number: int) -> None:
    with contextlib.suppress(BrokenPipeError):  # nobody listens any more
        os.write(where, _NUMBER.pack(number))


def _heard(where: int) -> int:
    said = os.read(where, _NUMBER.size)  # written in one piece: a pipe does not part what is so short
    if len(said) < _NUMBER.size:
        raise BrokenPipeError("the process from which workers are forked is gone")
    number: int = _NUMBER.unpack(said)[0]
    return number


# --- in a worker --------------------------------------------------------------------------------------------------


def _live(work: int, handles: Sequence[int]) -> NoReturn:
    """What :mod:`multiprocessing` does in a process that it has just started."""
    code = 1
    try:
        _here.clear()
        _handed[:] = handles
        code = spawn._main(work, os.dup(work))  # type: ignore[attr-defined,unused-ignore]
    finally:
        # a fault in here is told by the exit code; nothing of the parent's may be run on the way out
        os._exit(code)
