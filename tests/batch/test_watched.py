# SPDX-License-Identifier: AGPL-3.0-or-later
"""A watched folder: a file is taken once it has stopped growing, and moved only when that was asked for."""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path

import pytest

from foldproof.batch.books import books_in
from foldproof.batch.watched import Watched
from foldproof.errors import ExitCode
from tests.batch.conftest import processes_in
from tests.build import book


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def at_rest(tmp_path: Path):
    """A folder, and a look at it after so many seconds: names of what is handed out."""
    folder = tmp_path / "in"
    folder.mkdir()
    clock = Clock()
    watched = Watched(lambda: books_in(folder, tmp_path / "out"), clock=clock)

    def look(after_s: float, changed: bool = True) -> list[str]:
        clock.now += after_s
        if changed:
            watched.changed.set()
        return [task.name for task in watched.look()]

    return folder, watched, look


def test_a_file_that_grows_is_not_taken(at_rest) -> None:
    folder, _, look = at_rest
    with (folder / "slow.pdf").open("wb") as handle:
        for _ in range(4):
            handle.write(b"x" * 1000)
            handle.flush()
            assert look(1.5) == []
    assert look(1.5) == []
    assert look(1.0) == ["slow.pdf"]
    assert look(10.0) == []


def test_a_file_that_came_whole_is_taken_without_another_change(at_rest) -> None:
    folder, _, look = at_rest
    (folder / "whole.pdf").write_bytes(b"x")
    assert look(1.0) == []
    assert look(2.5, changed=False) == ["whole.pdf"]


def test_a_file_that_was_there_before_is_taken_too(at_rest) -> None:
    folder, _, look = at_rest
    (folder / "old.pdf").write_bytes(b"x")
    assert [look(1.0, changed=False), look(2.5, changed=False)] == [[], ["old.pdf"]]


def test_a_changed_file_or_job_is_handed_out_again_when_the_first_is_done(at_rest) -> None:
    folder, watched, look = at_rest
    (folder / "a.pdf").write_bytes(b"x")
    assert [look(1), look(3)] == [[], ["a.pdf"]]
    (folder / "a.pdf").write_bytes(b"xy")
    assert [look(1), look(3), look(3)] == [[], [], []], "its first state is still at work"
    watched.ended("a.pdf")
    assert look(3) == ["a.pdf"]
    watched.ended("a.pdf")
    (folder / "a.toml").write_text("")
    assert [look(1), look(3)] == [[], ["a.pdf"]]


def test_a_folder_that_goes_away_and_comes_back_is_waited_for(at_rest, tmp_path: Path) -> None:
    folder, _, look = at_rest
    folder.rename(tmp_path / "away")
    assert look(1) == []
    (tmp_path / "away").rename(folder)
    (folder / "a.pdf").write_bytes(b"x")
    assert [look(1), look(3)] == [[], ["a.pdf"]]


def test_a_watch_makes_what_comes_and_ends_with_ctrl_c(tmp_path: Path, begun) -> None:
    folder, out, away = tmp_path / "in", tmp_path / "out", tmp_path / "in" / "done"
    folder.mkdir()
    (folder / "broken.pdf").write_bytes(b"no PDF")
    run = begun(folder, "-o", out, "--watch", "--recursive", "--move-to", away)
    assert run.stdout is not None
    assert run.stdout.readline().split("  ")[1:2] == ["3"]
    whole = book(4, tmp_path / "whole.pdf").read_bytes()
    (folder / "deep").mkdir()
    with (folder / "deep" / "slow.pdf").open("wb") as handle:
        for part in range(4):
            handle.write(whole[part * len(whole) // 4 : (part + 1) * len(whole) // 4])
            handle.flush()
            time.sleep(1.0)
            assert not (out / "deep").exists(), "taken before it stood still"
    assert "deep/slow.pdf" in run.stdout.readline()
    told = json.loads((out / "summary.json").read_text())
    assert [(entry["name"], entry["code"] in (0, 1)) for entry in told["books"]] == [
        ("broken.pdf", False), ("deep/slow.pdf", True),
    ]  # fmt: skip
    until = time.monotonic() + 10
    while not (away / "deep" / "slow.pdf").exists():
        assert time.monotonic() < until
        time.sleep(0.05)
    assert (away / "deep" / "slow.pdf").read_bytes() == whole
    assert (folder / "broken.pdf").exists(), "what has no report is left for somebody to look at"
    os.kill(run.pid, signal.SIGINT)
    said, told_err = run.communicate(timeout=30)
    assert run.returncode == ExitCode.UNREADABLE and "Traceback" not in told_err
    assert "Index:" in said and not processes_in(out)


def test_nothing_is_moved_over_another_file_nor_when_it_has_changed(tmp_path: Path) -> None:
    folder, done = tmp_path / "in", tmp_path / "done"
    folder.mkdir()
    done.mkdir()
    (done / "a.pdf").write_text("of last week")
    for name in ("a.pdf", "a.toml", "b.pdf"):
        (folder / name).write_text("")
    clock = Clock()
    watched = Watched(lambda: books_in(folder, tmp_path / "out"), clock=clock)
    watched.look()
    clock.now += 3
    a, b = watched.look()
    (folder / "b.pdf").write_text("a newer version")
    watched.put_away(a, done)
    watched.put_away(b, done)
    assert sorted(path.name for path in done.iterdir()) == ["a (2).pdf", "a.pdf", "a.toml"]
    assert (done / "a.pdf").read_text() == "of last week"
    assert [path.name for path in folder.iterdir()] == ["b.pdf"]
