# SPDX-License-Identifier: AGPL-3.0-or-later
"""Jobs for the tests of the worker pool.  A worker imports this module by its name, so it stands on sys.path."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

from foldproof.errors import Unreadable


def square(number: int) -> int:
    return number * number


def who(_: int) -> int:
    time.sleep(0.05)
    return os.getpid()


def modules(_: int) -> list[str]:
    return sorted(sys.modules)


def nap(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def deaf_loop(number: int) -> int:
    """Loops inside one C call and holds Python's lock: no signal handler of Python can end it."""
    if number == 1:
        sum(range(10**12))
    return number


def die(number: int) -> int:
    if number % 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def crash(number: int) -> int:
    if number == 0:
        os.kill(os.getpid(), signal.SIGSEGV)
    return number


def refuse(number: int) -> int:
    if number == 2:
        raise Unreadable("Page 3 is not a page.")
    return number


class Odd(Exception):
    """An exception that does not survive pickling."""

    def __init__(self, one: int, two: int) -> None:
        super().__init__(f"{one} and {two}")


def odd(_: int) -> None:
    raise Odd(1, 2)


def starve(number: int) -> int:
    if number == 1:
        raise MemoryError
    return number


def large(number: int) -> bytes:
    return bytes([number % 256]) * 3_000_000


def sit(folder: str) -> None:
    """Says that it is there, then loops in C for ever."""
    (Path(folder) / str(os.getpid())).touch()
    sum(range(10**12))
