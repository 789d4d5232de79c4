# SPDX-License-Identifier: AGPL-3.0-or-later
"""The command line, sending itself a signal at a stage: ``python -m tests.faults.stopped STAGE WHEN SIGNAL make …``.

``begin``: as the stage is told to begin.  ``midst``: at its first step, or a moment after its beginning where a stage
tells of no steps.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator

import foldproof.cli.watching as watching_module
from foldproof.cli import main
from foldproof.desk import Watch

#: seconds after the beginning of a stage that tells of no steps
_MOMENT_S = 0.02


class Stopping:
    """A watch that stops the run."""

    def __init__(self, stage: str, when: str, number: signal.Signals) -> None:
        self._stage, self._when, self._number = stage, when, number
        self._at, self._sent = "", False

    def stage(self, name: str, total: int) -> None:
        self._at = name
        if name == self._stage and self._when == "begin":
            self._send()
        elif name == self._stage and not total:
            threading.Timer(_MOMENT_S, self._send).start()

    def advance(self, steps: int) -> None:
        if self._at == self._stage:
            self._send()

    def say(self, line: str) -> None: ...

    def _send(self) -> None:
        if not self._sent:
            self._sent = True
            print(f"sent at {self._stage}", file=sys.stderr, flush=True)
            os.kill(os.getpid(), self._number)


if __name__ == "__main__":
    stage, when, name = sys.argv[1:4]
    del sys.argv[1:4]

    @contextlib.contextmanager
    def stopping(quiet: bool = False) -> Iterator[Watch]:
        yield watching_module.Heeding(Stopping(stage, when, signal.Signals[name]))

    watching_module.watching = stopping  # type: ignore[assignment]
    main()
