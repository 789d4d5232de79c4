# SPDX-License-Identifier: AGPL-3.0-or-later
"""Drivers under watch: a limit of time for each file, of memory for each driver with all its processes."""

from __future__ import annotations

import contextlib
import json
import os
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import psutil
from attrs import asdict, define, field, frozen

from tests.fuzz.driver import READY

ROOT = Path(__file__).parents[2]
_GIVEN = Path(os.environ.get("FOLDPROOF_SHARED", ROOT.parent / "shared"))
#: outside material, where it is there
SHARED = _GIVEN if (_GIVEN / "corpus").is_dir() else None
#: a driver is started afresh after so many files
_FILES_A_DRIVER = 400
_LOOK_S = 0.2
#: seconds between two searches for processes of a driver
_FIND_S = 1.0
#: seconds that a driver may take to start
_START_S = 120.0


@frozen
class Limits:
    seconds: float
    memory_mb: int


@define
class Run:
    """How one file ended; ``code`` -1: not of its own."""

    seed: int
    source: str = ""
    how: tuple[str, ...] = ()
    code: int = -1
    says: str = ""
    pages: int = 0
    seconds: float = 0.0
    peak_mb: float = 0.0
    #: a digest of all its outputs
    files: str = ""
    wrong: list[str] = field(factory=list)

    def to_json(self) -> str:
        return json.dumps(asdict(self))


class _Driver:
    def __init__(self, room: Path, kept: Path) -> None:
        self.room, self.kept = room, kept
        self.process: subprocess.Popen[bytes] | None = None
        self.run: Run | None = None
        self.done = 0
        self.ready = False
        self.all: list[psutil.Process] = []
        self.found = 0.0

    def start(self) -> None:
        for part in ("in", "out", "home", "tmp", "cwd"):
            (self.room / part).mkdir(parents=True, exist_ok=True)
        env = {
            **os.environ, "HOME": str(self.room / "home"), "TMPDIR": str(self.room / "tmp"), "PYTHONPATH": str(ROOT),
            "PYTHONDONTWRITEBYTECODE": "1", "PYTHONUTF8": "1",
        }  # fmt: skip
        env.pop("FOLDPROOF_SHARED", None)
        if SHARED is not None:
            env["FOLDPROOF_SHARED"] = str(SHARED)
        self.done, self.ready, self.all, self.found = 0, False, [], 0.0
        # a group of its own, so that nothing of it outlives it
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.fuzz.driver", str(self.room), str(self.kept)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=self.room / "cwd", env=env, start_new_session=True,
            bufsize=0,  # what lies in a buffer of ours wakes nobody
        )  # fmt: skip

    def take(self, seed: int, misdeed: str) -> None:
        if self.process is None or self.done >= _FILES_A_DRIVER:
            self.end()
            self.start()
        assert self.process is not None and self.process.stdin is not None
        self.run, self.begun = Run(seed), time.monotonic()
        with contextlib.suppress(BrokenPipeError):  # it is found dead at the next look
            self.process.stdin.write(f"{seed} {misdeed}\n".encode())
            self.process.stdin.flush()

    def look(self, limits: Limits) -> Run | None:
        """The run, once it has ended, by itself or because it is over a limit."""
        assert self.run is not None and self.process is not None and self.process.stdout is not None
        self.run.peak_mb = max(self.run.peak_mb, self._held_mb())
        self.run.seconds = round(time.monotonic() - self.begun, 2)
        allowed = limits.seconds if self.ready else _START_S
        with selectors.DefaultSelector() as ready:
            ready.register(self.process.stdout, selectors.EVENT_READ)
            heard = ready.select(0)
        if heard:
            line = self.process.stdout.readline()
            if line == READY.encode() + b"\n":
                self.ready, self.begun = True, time.monotonic()
                return None
            if line.endswith(b"\n"):
                told = json.loads(line)
                for key, value in told.items():
                    setattr(self.run, key, tuple(value) if key == "how" else value)
                return self._ended(None, limits)
            code = self.process.wait(10)
            return self._ended(f"its process died: {_death(code)}; {self._last_words()}", limits)
        if self.run.peak_mb > limits.memory_mb:
            return self._ended(f"it took {self.run.peak_mb:.0f} MB", limits)
        if self.run.seconds > allowed:
            return self._ended(f"it took longer than {limits.seconds:g} s", limits)
        return None

    def _ended(self, wrong: str | None, limits: Limits) -> Run:
        assert self.run is not None
        run, self.run = self.run, None
        self.done += 1
        if run.peak_mb > limits.memory_mb and wrong is None:
            run.wrong.append(f"it took {run.peak_mb:.0f} MB")
        if wrong is not None:
            run.wrong.append(wrong)
            self.end()
        return run

    def _held_mb(self) -> float:
        """Resident memory of the driver and all below it, in MB; pages that they share are counted for each."""
        assert self.process is not None
        if (now := time.monotonic()) - self.found > _FIND_S:
            self.found = now
            with contextlib.suppress(psutil.Error):
                first = psutil.Process(self.process.pid)
                self.all = [first, *first.children(recursive=True)]
        held = 0
        for one in self.all:
            with contextlib.suppress(psutil.Error):
                held += one.memory_info().rss
        return held / 1e6

    def _last_words(self) -> str:
        with contextlib.suppress(OSError):
            return (self.room / "stderr.log").read_text("utf-8", "replace")[-400:]
        return ""

    def end(self) -> None:
        process, self.process = self.process, None
        if process is None:
            return
        below = []
        with contextlib.suppress(psutil.Error):
            below = psutil.Process(process.pid).children(recursive=True)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        for one in below:
            with contextlib.suppress(psutil.Error):
                one.kill()
        process.wait()
        for channel in (process.stdin, process.stdout):
            if channel is not None:
                with contextlib.suppress(OSError):
                    channel.close()


def watched(
    seeds: Sequence[int],
    room: Path,
    limits: Limits,
    drivers: int,
    *,
    minutes: float = 1e9,
    misdeeds: Mapping[int, str] | None = None,
) -> Iterator[Run]:
    """Make the file of every seed; as they end.

    Args:
        room: a folder in which each driver gets a folder of its own; its sources are kept there.
        minutes: no file is begun after so many.
        misdeeds: what the driver is to do amiss with the file of a seed (``driver.MISDEEDS``).
    """
    until = time.monotonic() + minutes * 60
    waiting = list(reversed(seeds))
    pool = [_Driver(room / f"driver-{n}-{os.getpid()}", room / "sources") for n in range(drivers)]
    try:
        while waiting or any(driver.run for driver in pool):
            for driver in pool:
                if driver.run is None and waiting and time.monotonic() < until:
                    seed = waiting.pop()
                    driver.take(seed, (misdeeds or {}).get(seed, ""))
                if driver.run is not None and (run := driver.look(limits)) is not None:
                    yield run
            if time.monotonic() >= until:
                waiting.clear()
            _pause([d for d in pool if d.run is not None])
    finally:
        for driver in pool:
            driver.end()


def _pause(busy: list[_Driver]) -> None:
    """Until one of them has something to say, or it is time to look at what they hold."""
    with selectors.DefaultSelector() as ready:
        for driver in busy:
            if driver.process is not None and driver.process.stdout is not None:
                ready.register(driver.process.stdout, selectors.EVENT_READ)
        if ready.get_map():
            ready.select(_LOOK_S)


def _death(code: int) -> str:
    return signal.Signals(-code).name if code < 0 else f"code {code}"
