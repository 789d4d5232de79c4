# SPDX-License-Identifier: AGPL-3.0-or-later
"""A run that is stopped or killed, at every stage and at any moment; and that no row of outside.toml lacks a test."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from foldproof.desk import STAGES
from foldproof.errors import ExitCode
from tests.build import book
from tests.faults.outside import ROWS, digests, told_by

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def some(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """24 pages that need a repair, and a job that asks for it."""
    path = book(24, tmp_path_factory.mktemp("some") / "some.pdf", trim_mm=(140, 216), bleed_mm=3)
    path.with_suffix(".toml").write_text('[mend]\nrepairs = ["drop-comments"]\n')
    return path


@pytest.fixture(scope="module")
def undisturbed(some: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    assert told_by("make", some, "-o", out).code in (0, 1)
    return digests(out)


@pytest.mark.parametrize("when", ["begin", "midst"])
@pytest.mark.parametrize("stage", STAGES)
def test_ctrl_c_at_every_stage(stage: str, when: str, some: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "sheets.pdf").write_text("of an earlier run")
    before = digests(out)
    run = subprocess.run(
        [sys.executable, "-m", "tests.faults.stopped", stage, when, "SIGINT", "make", str(some), "-o", str(out),
         "--job", str(some.with_suffix(".toml"))],
        env=marked(out), capture_output=True, text=True, cwd=ROOT, timeout=120, check=False,
    )  # fmt: skip
    assert f"sent at {stage}" in run.stderr
    assert run.returncode == ROWS["ctrl_c_at_every_stage"]["code"], run.stderr
    assert re.search(ROWS["ctrl_c_at_every_stage"]["says"], run.stderr) and "Traceback" not in run.stderr
    assert digests(out) == before
    assert not left_at_work(out)


def test_stopped_at_any_moment(some: Path, tmp_path: Path, undisturbed: dict[str, str]) -> None:
    row, chance = ROWS["stopped_at_any_moment"], random.Random(6)
    out, longest_s = tmp_path / "out", 3.0
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP) * 4:
        run = begun("make", some, "-o", out)
        time.sleep(chance.uniform(0.01, longest_s))
        if number is signal.SIGHUP:
            run.send_signal(number)
        elif run.poll() is None:
            os.killpg(run.pid, number)
        _, said = run.communicate(timeout=60)
        assert "Traceback" not in said, said
        if run.returncode in (0, 1):
            assert digests(out) == undisturbed
            continue
        # in the first moments nobody has taken the signal in hand yet: the shell's own custom
        assert run.returncode == row["code"] or run.returncode == -number, said
        assert run.returncode < 0 or re.search(row["says"], said), said
        assert not list(out.rglob(".foldproof-*")) and not left_at_work(out)


def test_killed_at_any_moment(some: Path, tmp_path: Path, undisturbed: dict[str, str]) -> None:
    chance, out = random.Random(7), tmp_path / "out"
    for _ in range(6):
        run = begun("make", some, "-o", out)
        time.sleep(chance.uniform(0.05, 4.0))
        run.kill()
        run.communicate()
        until = time.monotonic() + 10
        while left := left_at_work(out):
            assert time.monotonic() < until, f"outlived their parent: {left}"
            time.sleep(0.05)
    assert told_by("make", some, "-o", out).code in (0, 1)
    assert digests(out) == undisturbed


def test_page_worker_is_killed(some: Path, tmp_path: Path, undisturbed: dict[str, str]) -> None:
    out, killed = tmp_path / "out", set()
    run = begun("make", some, "--workers", "1", "-o", out)
    until = time.monotonic() + 60
    while run.poll() is None and not killed:
        assert time.monotonic() < until
        for pid in workers_of(run.pid) - killed:
            killed.add(pid)
            time.sleep(0.3)  # in the midst of a page, or before its first
            os.kill(pid, signal.SIGKILL)
            break
        time.sleep(0.02)
    _, said = run.communicate(timeout=120)
    assert killed and run.returncode in (0, 1), said
    assert digests(out) == undisturbed


def test_every_row_has_its_test() -> None:
    """A row of the table is a promise: a function of its id does it to a run, or holds its code and sentence."""
    text = "".join((Path(__file__).parent / name).read_text() for name in ("test_outside.py", "test_outside_stops.py"))
    for row in ROWS.values():
        assert re.search(rf'def test_{row["id"]}\(|"{row["id"]}"', text), row["id"]
        assert row["code"] in set(ExitCode) and row["fault"] and row["left"]


def begun(*words: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "foldproof", *map(str, words), "-q"],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, start_new_session=True, env=marked(words[-1]),
    )  # fmt: skip


def marked(out: object) -> dict[str, str]:
    """An environment that every process of a run inherits, and is known by."""
    return {**os.environ, "RUN_INTO": str(out)}


def left_at_work(out: Path) -> list[int]:
    """Processes that were begun for these outputs and still live."""
    found = []
    for process in Path("/proc").iterdir():
        if process.name.isdigit():
            try:
                # the memory of a process that has ended but was not waited for is gone, and with it this
                if f"RUN_INTO={out}\0".encode() in (process / "environ").read_bytes():
                    found.append(int(process.name))
            except OSError:
                continue
    return found


def workers_of(pid: int) -> set[int]:
    """Page workers among the children of a process: spawned by multiprocessing."""
    found = set()
    for thread in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            for child in thread.read_text().split():
                if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes():
                    found.add(int(child))
        except OSError:
            continue
    return found
