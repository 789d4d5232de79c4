# SPDX-License-Identifier: AGPL-3.0-or-later
from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from foldproof.errors import Unreadable
from foldproof.workers import Lost, Workers

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))  # spawned children get the parent's sys.path
import jobs  # noqa: E402


@pytest.fixture
def two() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False


def test_every_job_comes_back_under_its_index(two: Workers) -> None:
    assert dict(two.map(jobs.square, range(40), seconds=20)) == {n: n * n for n in range(40)}


def test_no_jobs_start_nothing(two: Workers) -> None:
    assert list(two.map(jobs.square, [], seconds=1)) == []


def test_results_come_in_order_of_completion(two: Workers) -> None:
    list(two.map(jobs.nap, [0.0, 0.0], seconds=20))
    assert [index for index, _ in two.map(jobs.nap, [0.9, 0.05, 0.1], seconds=20)] == [1, 2, 0]


def test_workers_stay_alive_from_one_map_to_the_next(two: Workers) -> None:
    first = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    second = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    assert first == second
    assert len(first) == 2


def test_one_worker_is_a_process_too() -> None:
    with Workers(1) as one:
        pids = {pid for _, pid in one.map(jobs.who, range(3), seconds=20)}
    assert len(pids) == 1
    assert os.getpid() not in pids


def test_a_job_over_its_time_is_lost_and_the_rest_goes_on(two: Workers) -> None:
    start = time.monotonic()
    results = dict(two.map(jobs.deaf_loop, range(6), seconds=1.5))
    lost = results.pop(1)
    assert isinstance(lost, Lost)
    assert lost.out_of_time
    assert lost.reason == "it took longer than 1.5 s"
    assert results == {n: n for n in (0, 2, 3, 4, 5)}
    assert time.monotonic() - start < 6


def test_a_killed_worker_is_a_lost_job_not_an_error(two: Workers) -> None:
    results = dict(two.map(jobs.die, range(10), seconds=20))
    assert sorted(results) == list(range(10))
    for number, result in results.items():
        if number % 2:
            assert isinstance(result, Lost)
            assert "memory" in result.reason
        else:
            assert result == number


def test_a_crash_is_named(two: Workers) -> None:
    results = dict(two.map(jobs.crash, range(3), seconds=20))
    assert results[0] == Lost("the process that read it crashed (SIGSEGV)")
    assert (results[1], results[2]) == (1, 2)


def test_want_of_memory_is_a_lost_job(two: Workers) -> None:
    assert dict(two.map(jobs.starve, range(3), seconds=20)) == {
        0: 0,
        1: Lost("there was not enough memory for it"),
        2: 2,
    }


def test_what_a_job_raises_is_raised_here_and_the_pool_lives_on(two: Workers) -> None:
    with pytest.raises(Unreadable, match="Page 3 is not a page"):
        list(two.map(jobs.refuse, range(5), seconds=20))
    with pytest.raises(RuntimeError, match="Odd: 1 and 2"):
        list(two.map(jobs.odd, range(1), seconds=20))
    assert dict(two.map(jobs.square, range(3), seconds=20)) == {0: 0, 1: 1, 2: 4}


def test_workers_killed_while_idle_are_replaced(two: Workers) -> None:
    for pid in {pid for _, pid in two.map(jobs.who, range(6), seconds=20)}:
        os.kill(pid, signal.SIGKILL)
    time.sleep(0.3)
    assert dict(two.map(jobs.square, range(5), seconds=20)) == {n: n * n for n in range(5)}


def test_large_results_come_back_whole(two: Workers) -> None:
    for index, result in two.map(jobs.large, range(8), seconds=20):
        assert result == bytes([index]) * 3_000_000


def test_a_map_left_early_does_not_block_the_next(two: Workers) -> None:
    for _ in two.map(jobs.nap, [0.01, 30.0, 30.0, 30.0], seconds=60):
        break
    start = time.monotonic()
    assert dict(two.map(jobs.square, range(4), seconds=20)) == {n: n * n for n in range(4)}
    assert time.monotonic() - start < 8


def test_no_child_is_left_behind(two: Workers) -> None:
    pids = {pid for _, pid in two.map(jobs.who, range(8), seconds=20)}
    two.__exit__()
    assert not any(alive(pid) for pid in pids)


def test_functions_that_a_worker_cannot_find_are_refused(two: Workers) -> None:
    with pytest.raises(ValueError, match="top level"):
        list(two.map(lambda n: n, range(3), seconds=1))
    with pytest.raises(ValueError, match="at least one"):
        Workers(0)


def test_a_child_starts_with_little(two: Workers) -> None:
    """Neither the command line nor its libraries, also when the parent's main module is a script that has them."""
    ((_, loaded),) = two.map(jobs.modules, [0], seconds=20)
    assert isinstance(loaded, list)
    heavy = {"typer", "rich", "jinja2", "pydantic", "pikepdf", "pymupdf", "numpy", "pypdf", "foldproof.cli", "pytest"}
    assert not heavy & set(loaded)


def test_a_script_is_not_run_again_in_its_children(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent(f"""
            import sys
            print("main runs")
            sys.path.insert(0, {str(HERE)!r})
            import jobs
            from foldproof.workers import Workers
            with Workers(2) as workers:
                print(sum(r for _, r in workers.map(jobs.square, range(4), seconds=20)))
        """)
    )
    run = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=60, check=False)
    assert run.stdout == "main runs\n14\n"
    assert run.stderr == ""


@pytest.mark.parametrize("when", ["starting", "working"])
def test_ctrl_c_ends_at_once_with_all_children_gone(tmp_path: Path, when: str) -> None:
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent(f"""
            import sys
            sys.path.insert(0, {str(HERE)!r})
            import jobs
            from foldproof.workers import Workers
            print("ready", flush=True)
            try:
                with Workers(2) as workers:
                    for _ in workers.map(jobs.sit, [{str(tmp_path / "pids")!r}] * 4, seconds=600):
                        pass
            except KeyboardInterrupt:
                sys.exit(130)
        """)
    )
    (tmp_path / "pids").mkdir()
    # A session of its own: the signal goes to the whole group, as from a terminal.
    with subprocess.Popen(
        [sys.executable, str(script)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        if when == "working":
            deadline = time.monotonic() + 20
            while len(list((tmp_path / "pids").iterdir())) < 2:
                assert time.monotonic() < deadline
                time.sleep(0.02)
        else:
            time.sleep(0.05)
        start = time.monotonic()
        os.killpg(child.pid, signal.SIGINT)
        _, errors = child.communicate(timeout=30)
        took = time.monotonic() - start
    assert child.returncode == 130
    assert errors == ""
    assert took < 3
    assert not any(alive(int(p.name)) for p in (tmp_path / "pids").iterdir())
