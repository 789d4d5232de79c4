# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small books in a folder, and a batch in a process of its own that a test can kill."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.build import book

#: what tells times, and what a batch remembers them in: the rest is the same however the batch ran
TIMED = ("times.json", ".batch")


@pytest.fixture(scope="session")
def interiors(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of four small books, one broken file, a job of one's own, a shared job, and a folder within."""
    folder = tmp_path_factory.mktemp("books") / "interiors"
    (folder / "later").mkdir(parents=True)
    for number, name in enumerate(("-rf.pdf", "a & b.pdf", "c\nd.pdf", "later/e.pdf")):
        book(4 + 4 * number, folder / name)
    (folder / "broken.pdf").write_bytes(b"%PDF-1.7\nnothing\n")
    (folder / "a & b.toml").write_text('[book]\nbinding = "stitched"\n')
    (folder / "later" / "job.toml").write_text('[book]\nreading = "right to left"\n')
    return folder


@pytest.fixture
def begun() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """``foldproof batch …`` that goes on while the test does something to it; gone at the end of the test."""
    running: list[subprocess.Popen[str]] = []

    def begin(*words: object, **more: object) -> subprocess.Popen[str]:
        child = subprocess.Popen(
            [sys.executable, "-m", "foldproof", "batch", *map(str, words)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
            start_new_session=True, **more,  # type: ignore[call-overload]
        )  # fmt: skip
        running.append(child)
        return child

    yield begin
    for child in running:
        child.kill()
        child.communicate()


def digests(out: Path) -> dict[str, str]:
    """Every file that does not tell times, with the digest of its bytes; hidden ones too."""
    return {
        str(path.relative_to(out)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.relative_to(out).parts[0] not in TIMED
    }


def processes_in(folder: Path) -> list[int]:
    """Living processes that work on something in this folder: their command line or an open file says so."""
    found = []
    for process in Path("/proc").iterdir():
        if not process.name.isdigit():
            continue
        try:
            links = [str(handle.readlink()) for handle in (process / "fd").iterdir()]
            words = (process / "cmdline").read_bytes().decode(errors="replace")
        except OSError:
            continue
        if any(link.startswith(str(folder)) for link in links) or str(folder) in words:
            found.append(int(process.name))
    return found
