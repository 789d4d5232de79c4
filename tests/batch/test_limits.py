# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book that takes too much is ended, alone, with a sentence; one whose process is killed is begun again."""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path

import pytest

from foldproof.errors import ExitCode
from tests.batch.conftest import digests, processes_in
from tests.build import book


@pytest.fixture(scope="module")
def one_long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of one book that takes some seconds."""
    folder = tmp_path_factory.mktemp("long")
    book(300, folder / "long.pdf", trim_mm=(140, 216), bleed_mm=3)
    return folder


def ended(out: Path) -> dict[str, object]:
    (entry,) = json.loads((out / "summary.json").read_text())["books"]
    return entry


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--minutes", "0.02"), "It took longer than the 0.02 minutes allowed"),
        (("--memory-mb", "200"), "more than the 200 MB of memory allowed"),
        (("--output-mb", "1"), "more than the 1"),
    ],
)
def test_a_book_over_its_limit_is_given_up(
    words: tuple[str, str], says: str, one_long: Path, tmp_path: Path, foldproof
) -> None:
    out = tmp_path / "out"
    (out / "long").mkdir(parents=True)
    (out / "long" / "sheets.pdf").write_text("of an earlier run")
    (out / "long" / "mine.txt").write_text("not of any run")
    done = foldproof("batch", one_long, "-o", out, *words, seconds=240)
    assert done.returncode == ExitCode.OVER_LIMIT, done.stdout + done.stderr
    entry = ended(out)
    assert entry["code"] == ExitCode.OVER_LIMIT
    (line,) = entry["says"]  # type: ignore[misc]
    assert says in line and "allow more" in line and str(tmp_path) not in line
    # stale sheets would be taken to the press; what is not of a run is not touched
    assert [path.name for path in (out / "long").iterdir()] == ["mine.txt"]
    assert not processes_in(out)


def test_a_book_whose_process_is_killed_is_begun_again(one_long: Path, tmp_path: Path, begun, foldproof) -> None:
    run = begun(one_long, "-o", tmp_path / "out")
    while not (benches := list((tmp_path / "out").glob("long/.foldproof-*"))):
        assert run.poll() is None
    kill_at_work(tmp_path / "out")
    run.communicate(timeout=240)
    assert run.returncode in (0, 1)
    assert not benches[0].exists()
    (times,) = json.loads((tmp_path / "out" / "times.json").read_text())["books"]
    assert times["tries"] == 2
    foldproof("batch", one_long, "-o", tmp_path / "calm", seconds=240)
    assert digests(tmp_path / "out") == digests(tmp_path / "calm")


def test_a_book_that_is_killed_again_and_again_is_given_up(one_long: Path, tmp_path: Path, begun) -> None:
    out = tmp_path / "out"
    run = begun(one_long, "-o", out)
    seen: set[Path] = set()
    until = time.monotonic() + 120
    while run.poll() is None and time.monotonic() < until:
        benches = set(out.glob("long/.foldproof-*"))
        if benches - seen:
            seen |= benches
            kill_at_work(out)
        time.sleep(0.02)
    run.communicate(timeout=60)
    assert run.returncode == ExitCode.OVER_LIMIT and len(seen) == 2
    (line,) = ended(out)["says"]  # type: ignore[misc]
    assert "The system killed its process 2 times" in line
    assert not (out / "long").exists()


def kill_at_work(out: Path) -> None:
    """SIGKILL to the process that holds the book's folder, as the kernel sends it when memory runs out."""
    until = time.monotonic() + 20
    while time.monotonic() < until:
        holders = [pid for pid in processes_in(out / "long") if os.getsid(pid) == pid]
        if holders:
            os.kill(holders[0], signal.SIGKILL)
            return
        time.sleep(0.02)
    pytest.fail("no process was seen at work on the book")
