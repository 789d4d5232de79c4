# SPDX-License-Identifier: AGPL-3.0-or-later
"""Running the command line while something is done to it, and holding what it says against its row of the table."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from attrs import frozen

from tests.faults.table import rows

ROWS = rows("outside")


@frozen
class Told:
    """How a run ended."""

    code: int
    out: str
    said: str  #: on stderr


def told_by(
    *words: object,
    at: Mapping[str, Callable[[], object]] | None = None,
    before: Sequence[str] = (),
    quiet: bool = True,
    seconds: float = 240,
    **more: Any,
) -> Told:
    """Run ``foldproof WORDS`` to its end.

    Args:
        at: what is done when a stage is told on stderr to have begun, by the stage's name.
        before: a command that runs it.
    """
    hushed = ["-q"] if quiet and words[0] in ("make", "check", "batch") else []
    command = [*before, sys.executable, "-m", "foldproof", str(words[0]), *hushed, *map(str, words[1:])]
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="backslashreplace") as out:
        run = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE, text=True, errors="backslashreplace",
            **more,
        )  # fmt: skip
        assert run.stderr is not None
        said = []
        todo = dict(at or {})
        for line in run.stderr:
            said.append(line)
            for stage in [stage for stage in todo if line.startswith(stage)]:
                todo.pop(stage)()
        code = run.wait(seconds)
        out.seek(0)
        assert not todo, f"it ended before {list(todo)}: {said}"
        return Told(code, out.read(), "".join(said))


def holds(row: str, told: Told, where: str = "said") -> None:
    """The code and the sentence of a row; one sentence, and no traceback.

    Args:
        where: ``"said"`` on stderr alone, ``"out"`` on stdout (a line of a batch), ``"either"``.
    """
    asked = ROWS[row]
    assert told.code == asked["code"], told
    assert "Traceback" not in told.said + told.out, told
    text = {"said": told.said, "out": told.out, "either": told.said + told.out}[where]
    assert re.search(asked["says"], text), told
    if where == "said":
        ours = [line for line in told.said.splitlines() if line.startswith("foldproof: ")]
        assert len(ours) == 1 and told.said.splitlines()[-1] == ours[0], told


def digests(folder: Path) -> dict[str, str]:
    """Every file below a folder, hidden ones too, with the digest of its bytes."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def not_ours(path: Path) -> list[str]:
    """Give a path to somebody else where we are root.

    Returns:
        A command before a run, so that the system asks it for permissions as it asks anybody: root is asked for none.
    """
    if os.geteuid() != 0:
        path.chmod(path.stat().st_mode & 0o555)
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("setpriv (util-linux) is not installed, and root may write anywhere")
    os.chown(path, 65534, 65534)
    return ["setpriv", "--bounding-set", "-dac_override,-dac_read_search"]
