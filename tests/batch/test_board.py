# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a person sees while a batch runs, on a terminal and in a pipe."""

from __future__ import annotations

import contextlib
import io
import os
import pty
import re
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from foldproof.batch.model import Begun, BookEnd, BookTask, BookTimes, Done, Ended, Stage, Steps
from foldproof.batch.pace import Pace
from foldproof.cli.batch_watching import display, one_line


def task(name: str, folder: Path, size: int) -> BookTask:
    (folder / name).write_bytes(b"x" * size)
    return BookTask(name, folder / name, name, folder / "out" / name)


def ended(slot: int, name: str, says: str = "all well.", kept: bool = False) -> Ended:
    return Ended(slot, Done(BookEnd(name, name, 0, (f"{name}: {says}",)), BookTimes(name, kept=kept)))


def test_pace_by_hand(tmp_path: Path) -> None:
    """One book of four alike is kept; of the three left one took 20 s, so that two take 40 s more."""
    now = [0.0]
    work = [task(name, tmp_path, 1000) for name in ("a.pdf", "b.pdf", "c.pdf", "d.pdf")]
    pace = Pace.of(work)
    pace.clock = lambda: now[0]
    pace.hear(ended(-1, "a.pdf", kept=True))
    assert pace.seconds_left() is None and pace.sentence() == "1 of 4 books, 0.0 pages a second"
    for event in (Begun(0, work[1]), Stage(0, "read", 0), Stage(0, "check", 50), Steps(0, 50)):
        pace.hear(event)
    pace.hear(Stage(0, "impose", 8))
    pace.hear(Steps(0, 8))  # sheets' sides are no pages
    now[0] = 20.0
    pace.hear(ended(0, "b.pdf"))
    assert pace.pages_a_second() == 2.5
    assert pace.seconds_left() == 40.0
    assert pace.sentence() == "2 of 4 books, 2.5 pages a second, about 40 s left"


def test_a_line_is_one_line_whatever_the_name(tmp_path: Path) -> None:
    line = one_line(ended(0, "a\nb\x1b[31m.pdf"), 1, 3)
    assert line.startswith("1/3  0  ") and "\n" not in line and "\x1b" not in line
    assert one_line(ended(-1, "a.pdf", kept=True), 2, 3) == "2/3  0  a.pdf: all well. (kept)"


@contextlib.contextmanager
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], str]]:
    """A terminal of 60 columns for stderr; what was written to it since the last look."""
    master, slave = pty.openpty()
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("TERM", "xterm")
    screen = os.fdopen(slave, "w", buffering=1)
    os.set_blocking(master, False)

    def seen() -> str:
        text = ""
        while True:
            try:
                text += os.read(master, 65536).decode()
            except BlockingIOError:
                return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", text)

    with monkeypatch.context() as patched:
        patched.setattr(sys, "stderr", screen)
        yield seen
    os.close(master)


def test_the_board_shows_what_every_place_is_at(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    work = [task(name, tmp_path, 1000) for name in ("the-lamps-of-merrowby.pdf", "b.pdf")]
    with terminal(monkeypatch) as seen, display(work, 2) as shown:
        for event in (Begun(0, work[0]), Begun(1, work[1]), Stage(0, "check", 1234), Steps(0, 32)):
            shown.hear(event)
        time.sleep(0.5)
        text = seen()
        shown.hear(ended(1, "b.pdf"))
    assert "0 of 2 books" in text
    assert re.search(r"the-lamps-of-merrowby.pdf +check +32 of 1,234", text)
    assert re.search(r"b\.pdf +read", text)
    assert all(len(line) <= 60 for line in text.replace("\r", "\n").splitlines())
    assert capsys.readouterr().out == "1/2  0  b.pdf: all well.\n", "stdout is not the terminal: a plain line"


def test_in_a_pipe_there_are_plain_lines(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys) -> None:
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    work = [task("a.pdf", tmp_path, 10)]
    with display(work, 2) as shown:
        shown.hear(Begun(0, work[0]))
        shown.hear(ended(0, "a.pdf"))
        shown.say("a word")
    assert capsys.readouterr().out == "1/1  0  a.pdf: all well.\n"
    assert sys.stderr.getvalue() == "a word\n"
