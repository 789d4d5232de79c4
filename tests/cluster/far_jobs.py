# SPDX-License-Identifier: AGPL-3.0-or-later
"""Jobs for the tests of a cluster.  A worker imports this module by its name, so it stands on PYTHONPATH."""

from __future__ import annotations

import hashlib
import os
import signal
import time
from pathlib import Path

from attrs import field, frozen

from foldproof.errors import Unreadable


@frozen
class Locked:
    """A job with a file and a password, as the passes have them."""

    path: Path
    password: str | None = field(default=None, repr=False)


def square(number: int) -> int:
    return number * number


def pair(number: int) -> tuple[int, int]:
    """The process that does it, and its parent: the Dask worker."""
    time.sleep(0.05)
    return os.getpid(), os.getppid()


def nap(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def deaf_loop(number: int) -> int:
    if number == 1:
        sum(range(10**12))
    return number


def die(number: int) -> int:
    if number % 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def kill_parent_once(mark: Path) -> int:
    """Takes the Dask worker itself along, the first time."""
    once = Path(str(mark) + ".killed")
    if not once.exists():
        once.touch()
        os.kill(os.getppid(), signal.SIGKILL)
        time.sleep(30)
    return 1


def kill_parent(number: int) -> int:
    os.kill(os.getppid(), signal.SIGKILL)
    time.sleep(30)
    return number


def refuse(number: int) -> int:
    if number == 2:
        raise Unreadable("Page 3 is not a page.")
    return number


def starve(number: int) -> int:
    if number == 1:
        raise MemoryError
    return number


def found(job: Locked) -> tuple[str, str, int]:
    """Where the file lies for the one who does the job, the digest of what is in it, and who that is."""
    time.sleep(0.2)
    return str(job.path), hashlib.sha256(job.path.read_bytes()).hexdigest(), os.getppid()


def fail_with(job: Locked) -> None:
    raise RuntimeError(f"no use: {job.path.name}")


def sit_far(folder: Path) -> int:
    """Says that it is there and on which Dask worker, then loops in C for ever; where another sat, it does nothing."""
    if any(folder.iterdir()):
        return 0
    (folder / f"{os.getpid()} {os.getppid()}").touch()
    return sum(range(10**12))
