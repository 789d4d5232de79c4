# SPDX-License-Identifier: AGPL-3.0-or-later
"""A short fuzz of books built here, and whether its watch sees what it must see; ``make fuzz`` does thousands."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from random import Random

import pikepdf
import pytest

from tests.fuzz import on_bytes, on_content, on_objects
from tests.fuzz.driver import MISDEEDS
from tests.fuzz.mutate import mutant
from tests.fuzz.outside import asked_of_the_system
from tests.fuzz.sources import Source, sources
from tests.fuzz.syntax import taken_apart
from tests.fuzz.watch import ROOT, Limits, watched

#: what each misdeed must be told as
_TOLD = {
    "hang": "longer than", "eat": "MB", "die": "SIGSEGV", "raise": "KeyError", "stray": "tmp/stray",
    "leave": ".foldproof-left", "print": "a word too many", "touch": "in/",
}  # fmt: skip


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Sequence[Source]:
    return sources(tmp_path_factory.mktemp("sources"), None)


def test_a_seed_is_a_file(books: Sequence[Source]) -> None:
    assert mutant(7, books) == mutant(7, books)
    assert len({mutant(seed, books).data for seed in range(40)}) == 40


def test_taken_apart_and_written_a_book_is_the_same_book(books: Sequence[Source]) -> None:
    """Held by pikepdf: pages and what their streams say."""
    for source in books:
        with pikepdf.open(io.BytesIO(source.data)) as was, pikepdf.open(io.BytesIO(_again(source))) as now:
            assert not now.get_warnings()
            assert [p.Contents.read_bytes() for p in now.pages] == [p.Contents.read_bytes() for p in was.pages]


def _again(source: Source) -> bytes:
    return taken_apart(source.data).bytes()


@pytest.mark.parametrize("change", sorted({*on_objects.MUTATORS, *on_content.MUTATORS}, key=lambda c: c.__name__))
def test_every_change_to_parts_changes_some_book(change: on_objects.Objects, books: Sequence[Source]) -> None:
    for seed in range(20):
        raw = taken_apart(books[seed % len(books)].data)
        before = raw.bytes()
        change(Random(seed), raw)
        if raw.bytes() != before:
            return
    pytest.fail(f"{change.__name__} changed nothing")


@pytest.mark.parametrize("change", sorted({*on_bytes.MUTATORS}, key=lambda c: c.__name__))
def test_every_change_to_bytes_changes_some_book(change: on_bytes.Bytes, books: Sequence[Source]) -> None:
    assert any(change(Random(seed), books[0].data, books[1].data) != books[0].data for seed in range(5))


def test_most_spoilt_books_can_still_be_opened(books: Sequence[Source]) -> None:
    """Or only the reader would be tested.  Held by pikepdf, which mends what it can."""
    opened = 0
    for seed in range(150):
        try:
            with pikepdf.open(io.BytesIO(mutant(seed, books).data), suppress_warnings=True) as pdf:
                opened += len(pdf.pages) > 0
        except (pikepdf.PdfError, pikepdf.PasswordError, RuntimeError, ValueError):
            pass
    assert opened > 150 / 2


def test_a_short_run(tmp_path: Path) -> None:
    """Every stage, under watch, and a part by hand and in a batch."""
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "fuzz" / "run.py", "--files", "8", "--seed", "1", "--drivers", "1",
         "--sample", "3", "--keep", tmp_path / "kept"],
        capture_output=True, text=True, cwd=tmp_path, timeout=300, check=False,
        env={**os.environ, "FOLDPROOF_SHARED": str(tmp_path / "none")},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "8 files" in done.stdout and "went wrong: none" in done.stdout


def test_the_watch_sees_every_misdeed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.fuzz.watch.SHARED", None)
    wrong = dict(enumerate(MISDEEDS, start=2))
    # two drivers: one goes on while the other hangs
    runs = {run.seed: run for run in watched([*wrong, 1], tmp_path, Limits(20, 1000), 2, misdeeds=wrong)}
    assert runs[1].wrong == []
    assert {kind: [_TOLD[kind] in told for told in runs[seed].wrong] for seed, kind in wrong.items()} == {
        kind: [True] for kind in MISDEEDS
    }


def test_a_write_outside_is_found_in_what_the_system_was_asked() -> None:
    """Lines as strace -f -y prints them."""
    trace = """1 openat(AT_FDCWD</x/cwd>, "/etc/passwd", O_RDONLY) = 3</etc/passwd>
1 openat(AT_FDCWD</x/cwd>, "a", O_WRONLY|O_CREAT, 0666) = 3</x/cwd/a>
1 openat(AT_FDCWD</x/cwd>, "/x/out/a", O_WRONLY|O_CREAT, 0666) = 3
2 unlinkat(5</x/tmp/f>, "manuscript.pdf", 0) = 0
2 unlinkat(5</x/home>, "b", 0) = 0
2 rename("/x/out/1", "/y/2") = 0
2 mkdir("/x/gone", 0777) = -1 ENOENT (No such file or directory)
3 connect(7<socket:[1]>, {sa_family=AF_INET, sin_port=htons(53)}, 16) = 0
"""
    found = list(asked_of_the_system(trace, Path("/x")))
    assert found[:3] == [f"it writes to {path}" for path in ("/x/cwd/a", "/x/home/b", "/y/2")]
    assert len(found) == 4 and "network" in found[3]
