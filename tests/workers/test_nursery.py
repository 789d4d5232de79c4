# SPDX-License-Identifier: AGPL-3.0-or-later
"""Workers that are forked from a copy of a young process keep the promises of spawned ones."""

from __future__ import annotations

import gc
import os
import signal
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from foldproof import nursery as nurseries
from foldproof.errors import Unreadable
from foldproof.nursery import here, nursery
from foldproof.workers import Lost, Workers

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
import jobs  # noqa: E402

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="workers are spawned on other systems")


@pytest.fixture
def young(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A nursery; its pid.  A test runner may keep a thread of its own, which does nothing that a worker needs."""
    monkeypatch.setattr(nurseries.threading, "active_count", lambda: 1)
    monkeypatch.setattr(nurseries.threading, "current_thread", threading.main_thread)
    with nursery():
        open_here = here()
        assert open_here is not None
        yield open_here._pid
    assert here() is None


@pytest.fixture
def two(young: int) -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def parent_of(pid: int) -> int:
    return int(Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[1])


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def until(true) -> bool:
    deadline = time.monotonic() + 10
    while not true() and time.monotonic() < deadline:
        time.sleep(0.02)
    return true()


def test_workers_come_from_the_nursery_and_not_from_here(young: int, two: Workers) -> None:
    pids = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    assert len(pids) == 2
    assert {parent_of(pid) for pid in pids} == {young}


def test_they_need_not_import_what_is_here_already(two: Workers) -> None:
    ((_, loaded),) = two.map(jobs.modules, [0], seconds=20)
    assert isinstance(loaded, list)
    assert "pytest" in loaded


def test_a_job_over_its_time_is_lost_and_the_rest_goes_on(two: Workers) -> None:
    results = dict(two.map(jobs.deaf_loop, range(6), seconds=1.5))
    lost = results.pop(1)
    assert isinstance(lost, Lost) and lost.out_of_time
    assert results == {n: n for n in (0, 2, 3, 4, 5)}


def test_a_killed_worker_and_a_crash_are_lost_jobs(two: Workers) -> None:
    results = dict(two.map(jobs.die, range(6), seconds=20))
    assert [isinstance(results[n], Lost) for n in range(6)] == [False, True] * 3
    assert "memory" in results[1].reason
    assert dict(two.map(jobs.crash, range(2), seconds=20)) == {
        0: Lost("the process that read it crashed (SIGSEGV)"),
        1: 1,
    }


def test_what_a_job_raises_is_raised_here(two: Workers) -> None:
    with pytest.raises(Unreadable, match="Page 3 is not a page"):
        list(two.map(jobs.refuse, range(5), seconds=20))
    assert dict(two.map(jobs.starve, range(2), seconds=20))[1] == Lost("there was not enough memory for it")


def test_a_nursery_that_is_killed_takes_nothing_with_it(young: int, two: Workers) -> None:
    """Its workers are of no use without it; the next ones are spawned."""
    first = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    os.kill(young, signal.SIGKILL)
    assert until(lambda: not any(alive(pid) for pid in first))
    results = dict(two.map(jobs.square, range(8), seconds=20))
    assert results == {n: n * n for n in range(8)}
    second = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    assert {parent_of(pid) for pid in second} == {os.getpid()}


def test_nothing_is_left_when_it_closes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nurseries.threading, "active_count", lambda: 1)
    monkeypatch.setattr(nurseries.threading, "current_thread", threading.main_thread)
    handles = len(list(Path("/proc/self/fd").iterdir()))
    with nursery():
        copy = here()._pid
        with Workers(2) as workers:
            pids = {pid for _, pid in workers.map(jobs.who, range(4), seconds=20)}
    assert not any(alive(pid) for pid in (copy, *pids))
    del workers
    gc.collect()  # a pool that has ended keeps its handles until it is found dead
    assert len(list(Path("/proc/self/fd").iterdir())) <= handles + 1  # the tracker of locks stays, once a process


def test_a_process_with_threads_is_not_young() -> None:
    done = threading.Event()
    thread = threading.Thread(target=done.wait)
    thread.start()
    try:
        with nursery():
            assert here() is None
            with Workers(1) as one:
                assert dict(one.map(jobs.square, [3], seconds=20)) == {0: 9}
    finally:
        done.set()
        thread.join()


def test_a_file_opened_later_is_not_open_in_a_worker(tmp_path: Path, young: int, two: Workers) -> None:
    """Above all the locked folder of the outputs: a worker must not hold its lock on."""
    with (tmp_path / "locked").open("w") as handle:
        os.set_inheritable(handle.fileno(), True)
        ((_, pid),) = two.map(jobs.who, [0], seconds=20)
        held = {each.resolve() for each in Path(f"/proc/{pid}/fd").iterdir()}
    assert (tmp_path / "locked").resolve() not in held


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_no_worker_outlives_its_parent(tmp_path: Path, number: int) -> None:
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent(f"""
            import sys
            sys.path.insert(0, {str(HERE)!r})
            import jobs
            from foldproof.nursery import here, nursery
            from foldproof.workers import Workers
            try:
                with nursery(), Workers(2) as workers:
                    print(here()._pid, flush=True)
                    for _ in workers.map(jobs.sit, [{str(tmp_path / "pids")!r}] * 4, seconds=600):
                        pass
            except KeyboardInterrupt:
                sys.exit(130)
        """)
    )
    (tmp_path / "pids").mkdir()
    with subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as child:
        assert child.stdout is not None
        copy = int(child.stdout.readline())
        assert until(lambda: len(list((tmp_path / "pids").iterdir())) == 2)
        pids = [copy, *(int(path.name) for path in (tmp_path / "pids").iterdir())]
        if number == signal.SIGINT:
            os.killpg(child.pid, number)  # as from a terminal: to the whole group
        else:
            os.kill(child.pid, number)
        _, errors = child.communicate(timeout=30)
    assert child.returncode == (130 if number == signal.SIGINT else -number)
    if number == signal.SIGINT:  # who dies at once leaves it to Python's own tracker to complain of locks left over
        assert errors == ""
    assert until(lambda: not any(alive(pid) for pid in pids))
