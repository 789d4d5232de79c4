# SPDX-License-Identifier: AGPL-3.0-or-later
"""A scheduler and workers as the README brings them up, on the loopback."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))  # what is sent to a worker is sent by its name

pytest.importorskip("distributed", reason="the extra cluster is not installed")


class Yard:
    """A scheduler of a test's own, and its workers."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.log = folder / "log.txt"
        self._children: list[subprocess.Popen[bytes]] = []
        told = folder / "scheduler.json"
        self.scheduler = self._start(
            "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", told,
            # tries of a job whose worker goes down, less one; Dask's own custom is 3
            DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES="2",
        )  # fmt: skip
        until = time.monotonic() + 60
        while True:
            try:
                self.address: str = json.loads(told.read_text())["address"]
                return
            except (OSError, ValueError, KeyError):
                assert time.monotonic() < until and self.scheduler.poll() is None, self.log.read_text()
                time.sleep(0.05)

    def worker(self, *more: str, before: tuple[str, ...] = (), **env: str) -> subprocess.Popen[bytes]:
        """One more Dask worker of one thread, with the nanny that is Dask's custom, and all that it logs.

        ``before``: what its command begins with.
        """
        return self._start(
            "worker", self.address, "--nthreads", "1", "--host", "127.0.0.1", "--no-dashboard", "--local-directory",
            self.folder, *more, before=before, **{"DASK_LOGGING__DISTRIBUTED": "debug", **env},
        )  # fmt: skip

    def _start(self, *words: object, before: tuple[str, ...] = (), **env: str) -> subprocess.Popen[bytes]:
        paths = os.pathsep.join(filter(None, [env.pop("PYTHONPATH", ""), str(HERE), os.environ.get("PYTHONPATH", "")]))
        with self.log.open("ab") as log:
            child = subprocess.Popen(
                [*before, sys.executable, "-m", "dask", *map(str, words)],
                stdout=log, stderr=log, stdin=subprocess.DEVNULL, start_new_session=True,
                env={**os.environ, "PYTHONPATH": paths, **env},
            )  # fmt: skip
        self._children.append(child)
        return child

    def end(self) -> None:
        for child in self._children:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child.pid, signal.SIGKILL)
            child.wait()


@pytest.fixture(scope="module")
def yards(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[], Yard]]:
    made: list[Yard] = []

    def make() -> Yard:
        made.append(Yard(tmp_path_factory.mktemp("yard")))
        return made[-1]

    yield make
    for yard in made:
        yard.end()


@pytest.fixture(scope="module")
def yard(yards: Callable[[], Yard]) -> Yard:
    """Two workers of one thread each."""
    made = yards()
    made.worker()
    made.worker()
    return made


def asked_of(yard: Yard, question: Callable[[], Any]) -> dict[str, Any]:
    """What each worker that has joined a scheduler answers, by its address."""
    from distributed import Client

    with Client(yard.address, set_as_default=False) as client:
        return dict(client.run(question))


def connected(yard: Yard) -> set[str]:
    """Addresses of the workers that have joined a scheduler."""
    return set(asked_of(yard, os.getpid))


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def soon(what: Callable[[], bool], seconds: float = 30.0) -> bool:
    """Whether it comes true in time."""
    until = time.monotonic() + seconds
    while not what():
        if time.monotonic() > until:
            return False
        time.sleep(0.05)
    return True


def descendants(pid: int) -> set[int]:
    """All living processes below one."""
    found: set[int] = set()
    todo = [pid]
    while todo:
        try:
            for thread in Path(f"/proc/{todo.pop()}/task").iterdir():
                children = {int(child) for child in (thread / "children").read_text().split()}
                todo += children - found
                found |= children
        except OSError:
            continue
    return {one for one in found if alive(one)}
