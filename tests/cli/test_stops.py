# SPDX-License-Identifier: AGPL-3.0-or-later
"""A run that is stopped, or whose disk is full, ends at once with its code and leaves nothing behind."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from foldproof.errors import ExitCode
from tests.build import book


def begun(words: list[object], **more: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "foldproof", *map(str, words)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True, **more,  # type: ignore[call-overload]
    )  # fmt: skip


@pytest.fixture(scope="module")
def long_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("long") / "long.pdf"
    book(160, path, trim_mm=(140, 216), bleed_mm=3)
    return path


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize("stage", ["read", "check", "impose", "prove"])
def test_a_stop_ends_a_run_at_every_stage(stage: str, stop: signal.Signals, long_book: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run = begun(["make", long_book, "-o", out])
    assert run.stderr is not None
    while not run.stderr.readline().startswith(stage):
        assert run.poll() is None, "it ended before the stage"
    start = time.monotonic()
    if stop is signal.SIGHUP:
        # the process that Python keeps beside a pool is not deaf to this one, and would complain on the way out
        run.send_signal(stop)
    else:
        os.killpg(run.pid, stop)
    _, told = run.communicate(timeout=20)
    # about 2 s on a calm machine; tests share theirs
    assert time.monotonic() - start < 6
    assert run.returncode == ExitCode.INTERRUPTED
    assert "Traceback" not in told and "foldproof: stopped" in told
    assert not out.exists(), "the bench or an empty folder was left"


def test_a_batch_that_is_stopped_stops_its_books(long_book: Path, tmp_path: Path) -> None:
    folder, out = tmp_path / "books", tmp_path / "out"
    folder.mkdir()
    for name in ("a.pdf", "b.pdf", "c.pdf"):
        (folder / name).write_bytes(long_book.read_bytes())
    run = begun(["batch", folder, "-o", out, "--workers", "2"])
    until = time.monotonic() + 30
    while not list(out.glob("*/.foldproof-*")):
        assert time.monotonic() < until and run.poll() is None
        time.sleep(0.05)
    run.terminate()
    run.communicate(timeout=20)
    assert run.returncode == ExitCode.INTERRUPTED
    assert not [path for path in out.rglob("*") if not path.is_dir()] if out.exists() else True
    assert not list(out.rglob(".foldproof-*"))


@pytest.mark.parametrize("largest", [100, 4_000, 20_000])
def test_a_full_disk_is_not_written(largest: int, tmp_path: Path) -> None:
    """A limit on the size of files refuses a write in the midst of it, as a full disk does."""
    source, out = tmp_path / "book.pdf", tmp_path / "out"
    book(32, source, trim_mm=(140, 216), bleed_mm=3)

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))

    run = begun(["make", source, "-o", out, "-q", "--workers", "1"], preexec_fn=small)
    _, told = run.communicate(timeout=60)
    assert run.returncode == ExitCode.NOT_WRITTEN, told
    assert "Traceback" not in told
    assert not out.exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no /dev/full")
def test_a_stdout_that_takes_nothing_is_not_written(foldproof) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "foldproof", "explain"], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == ExitCode.NOT_WRITTEN and "space" in done.stderr and "Traceback" not in done.stderr


def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    run = begun(["explain"])
    assert run.stdout is not None and run.stderr is not None
    run.stdout.close()
    assert run.wait(20) == ExitCode.NOT_WRITTEN
    assert not run.stderr.read()
