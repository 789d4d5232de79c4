# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ctrl-C, SIGTERM and a closed terminal end a run alike: workers are killed, the bench is cleared.

What a signal raises may come out of a library as something else, or be dropped, so that it is also remembered.  It is
put off while an extension is being loaded: some take an error in their midst for the end of the world and abort.
"""

from __future__ import annotations

import signal
import sys
from importlib.machinery import ExtensionFileLoader
from types import FrameType

#: for how long a stop is put off at a time
_PUT_OFF_S = 0.01
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


def _stopped(signum: int, frame: FrameType | None) -> None:
    heard.append(signum)
    _raise_soon(signum, frame)


def _raise_soon(signum: int, frame: FrameType | None) -> None:
    if _loads_an_extension(frame) and hasattr(signal, "setitimer"):
        signal.signal(signal.SIGALRM, _raise_soon)
        signal.setitimer(signal.ITIMER_REAL, _PUT_OFF_S)
        return
    raise KeyboardInterrupt


def _loads_an_extension(frame: FrameType | None) -> bool:
    while frame is not None:
        # what an extension asks of Python meanwhile stands above the loader that runs it
        if isinstance(frame.f_locals.get("self"), ExtensionFileLoader):
            return True
        frame = frame.f_back
    return False
