# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ctrl-C, SIGTERM and a closed terminal end a run alike: workers are killed, the bench is cleared.

What a signal raises may come out of a library as something else (an extension that was being loaded fails to load), so
that it is also remembered.
"""

from __future__ import annotations

import signal
import sys
from types import FrameType
from typing import NoReturn

#: numbers of the signals that told this process to stop
heard: list[int] = []
#: names of the commands that have begun
begun: list[str] = []
#: lines that have been printed of it
told: list[str] = []


def listen() -> None:
    """From here on a stop is KeyboardInterrupt; signals that whoever started us has switched off stay so."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stopped)
    sys.unraisablehook = _dropped


def _dropped(told: sys.UnraisableHookArgs) -> None:
    # a stop that Python had to drop is heeded at the next step; there is nothing to print of it
    if not issubclass(told.exc_type, KeyboardInterrupt):
        sys.__unraisablehook__(told)


def tell() -> None:
    """Say once, on stderr, that the run was stopped."""
    line = "stopped before the end; nothing was left half-written." if begun else "stopped before anything was begun."
    if not told:
        told.append(line)
        print(f"foldproof: {line}", file=sys.stderr)


def heed() -> None:
    """Stop now, if this process was told to and goes on all the same.

    Raises:
        KeyboardInterrupt: it was.
    """
    if heard:
        raise KeyboardInterrupt


def _stopped(signum: int, frame: FrameType | None) -> NoReturn:
    heard.append(signum)
    raise KeyboardInterrupt
