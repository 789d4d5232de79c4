# SPDX-License-Identifier: AGPL-3.0-or-later
"""The working folder of a run: one run at a time, nothing left of a killed one, nothing over its size."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from foldproof.desk import bench, publish
from foldproof.errors import ExitCode, InUse, OverLimit
from tests.build import book

HOLDER = """
import sys, time
from pathlib import Path
from foldproof.desk import bench
with bench(Path(sys.argv[1]), Path("none.pdf")) as folder:
    (folder / "half.pdf").write_text("half")
    print("held", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def held(tmp_path: Path):
    """Another process that works in a folder."""
    out = tmp_path / "out"
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(out)], stdout=subprocess.PIPE, text=True)
    assert holder.stdout is not None and holder.stdout.readline() == "held\n"
    yield out, holder
    holder.kill()
    holder.wait()


def test_two_runs_never_write_into_one_folder(held, tmp_path: Path, foldproof) -> None:
    out, _ = held
    book(8, tmp_path / "book.pdf")
    before = sorted(path.name for path in out.iterdir())
    done = foldproof("make", tmp_path / "book.pdf", "-o", out, "-q", "--workers", "1")
    assert done.returncode == ExitCode.NOT_WRITTEN
    assert "Another run is writing into" in done.stderr and done.stderr.count("\n") == 1
    assert sorted(path.name for path in out.iterdir()) == before


def test_what_a_killed_run_left_is_cleared_away(held) -> None:
    out, holder = held
    assert len(list(out.glob(".foldproof-*"))) == 1
    with pytest.raises(InUse), bench(out, Path("none.pdf")):
        pass
    os.kill(holder.pid, signal.SIGKILL)
    holder.wait()
    with bench(out, Path("none.pdf")) as folder:
        assert list(out.glob(".foldproof-*")) == [folder]
    assert not list(out.iterdir())


def test_outputs_over_their_size_are_not_moved(tmp_path: Path) -> None:
    out = tmp_path / "out"
    with bench(out, Path("none.pdf")) as folder:
        (folder / "sheets.pdf").write_bytes(b"x" * 1001)
        with pytest.raises(OverLimit, match="more than the"):
            publish(folder, out, most_bytes=1000)
        assert not (out / "sheets.pdf").exists()
        publish(folder, out, most_bytes=1001)
    assert [path.name for path in out.iterdir()] == ["sheets.pdf"]
