# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a book's own process does to itself before it begins: it must neither outlive nor disturb the batch."""

from __future__ import annotations

import contextlib
import fcntl
import os
import resource
import signal
import sys
from multiprocessing.connection import Connection
from pathlib import Path
from types import FrameType
from typing import NoReturn


def stand_alone(lifeline: Connection) -> None:
    """A session of its own, deaf to the terminal, silent, and gone with whoever holds the other end of ``lifeline``.

    The kernel signals the whole group when that end closes (SIGIO, which ends a process): a thread could not, while a
    library holds Python's lock.
    """
    os.setsid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _stopped)
    signal.signal(signal.SIGIO, signal.SIG_DFL)
    handle = lifeline.fileno()
    fcntl.fcntl(handle, fcntl.F_SETOWN, -os.getpgrp())
    fcntl.fcntl(handle, fcntl.F_SETFL, fcntl.fcntl(handle, fcntl.F_GETFL) | os.O_ASYNC)
    if lifeline.poll(0):  # it closed before the kernel was asked
        os._exit(1)
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    for number in (0, 1, 2):
        os.dup2(nothing, number)


def _stopped(signum: int, frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt


def bind_memory(memory_mb: int) -> None:
    """No process of the book may map much more than it is allowed to hold: a bomb ends before it fills the machine.

    What counts is resident memory, which the keeper looks at; address space is a bound for the time between two looks.
    """
    mapped = _mapped_bytes()
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    wanted = mapped + memory_mb * 1_000_000
    if most == resource.RLIM_INFINITY or wanted < most:
        resource.setrlimit(resource.RLIMIT_AS, (wanted, most))


def _mapped_bytes() -> int:
    try:
        return int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError):
        return 2_000_000_000


def used() -> tuple[float, float]:
    """CPU seconds of this process and of its children that have ended, and the largest resident size in MB of one."""
    own, others = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime
    unit = 1 if sys.platform == "darwin" else 1024
    return seconds, max(own.ru_maxrss, others.ru_maxrss) * unit / 1e6
