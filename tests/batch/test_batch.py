# SPDX-License-Identifier: AGPL-3.0-or-later
"""Many books: one line each, one bad book stops no other, the worst code is the batch's."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from foldproof.batch.books import books_in
from foldproof.batch.folders import folders_for
from foldproof.batch.model import BookEnd, worst
from foldproof.errors import AskedWrong, ExitCode
from tests.batch.conftest import digests
from tests.build import book


@pytest.fixture(scope="module")
def whole(interiors: Path, tmp_path_factory: pytest.TempPathFactory, foldproof) -> tuple[Path, object]:
    """One run over the whole folder."""
    out = tmp_path_factory.mktemp("whole") / "out"
    return out, foldproof("batch", interiors, "-o", out, "--workers", "2", "--recursive", seconds=240)


def test_one_bad_book_stops_no_other(whole: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    out, done = whole
    assert done.returncode == ExitCode.UNREADABLE, done.stdout + done.stderr
    told = json.loads((out / "summary.json").read_text())
    codes = {entry["name"]: entry["code"] for entry in told["books"]}
    assert set(codes) == {"-rf.pdf", "a & b.pdf", "c\nd.pdf", "later/e.pdf", "broken.pdf"}
    assert codes.pop("broken.pdf") == ExitCode.UNREADABLE
    assert set(codes.values()) <= {0, 1}
    assert "Traceback" not in done.stderr
    # a line a book, whatever its name holds
    lines = [line for line in done.stdout.splitlines() if line[:2].strip("/").isdigit() and "/5  " in line]
    assert len(lines) == 5


def test_a_book_has_its_own_job_or_that_of_its_folder(whole: tuple[Path, object]) -> None:
    out, _ = whole
    plans = {name: json.loads((out / name / "plan.json").read_text()) for name in ("-rf", "a & b", "later/e")}
    assert [plans[name]["binding"] for name in ("-rf", "a & b")] == ["sewn", "stitched"]
    assert plans["later/e"]["reading"] == "right to left" and plans["-rf"]["reading"] == "left to right"


def test_a_book_in_a_batch_is_the_book_alone(whole: tuple[Path, object], interiors: Path, tmp_path: Path, foldproof):
    out, _ = whole
    foldproof("make", interiors / "a & b.pdf", "--job", interiors / "a & b.toml", "-o", tmp_path / "out", "-q")
    assert digests(tmp_path / "out") == digests(out / "a & b")


def test_nothing_is_left_but_outputs(whole: tuple[Path, object]) -> None:
    out, _ = whole
    assert {p.name for p in out.iterdir()} == {
        "-rf", "a & b", "c\nd", "later", ".batch", "index.html", "summary.json", "junit.xml", "times.json",
    }  # fmt: skip
    assert not list(out.rglob(".foldproof-*"))


def test_a_slip_in_what_all_books_are_asked_is_the_batchs(interiors: Path, tmp_path: Path, foldproof) -> None:
    for words in (("--house", "none.toml"), ("--spec", "none"), ("--password-file", tmp_path / "none")):
        done = foldproof("batch", interiors, "-o", tmp_path / "out", *words)
        assert done.returncode == ExitCode.ASKED_WRONG and done.stderr.count("\n") == 1, done.stderr
        assert not (tmp_path / "out").exists()


def test_what_is_asked_wrong_is_told_in_a_sentence(interiors: Path, tmp_path: Path, foldproof) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    for words, says in (
        ((tmp_path / "none",), "is no folder"),
        ((empty,), "holds no PDF"),
        ((interiors, "-o", interiors), "holds the manuscripts"),
        ((interiors, "--move-to", empty), "--move-to goes with --watch"),
    ):
        done = foldproof("batch", *words)
        assert done.returncode == ExitCode.ASKED_WRONG and says in done.stderr and done.stderr.count("\n") == 1
    assert not list(empty.iterdir())


def test_a_temporary_folder_of_a_long_name_is_borne(tmp_path: Path, foldproof) -> None:
    """A socket's address has 108 bytes (unix(7)), and processes of a book are asked for over one."""
    (tmp_path / "in").mkdir()
    book(4, tmp_path / "in" / "a.pdf")
    long = tmp_path / ("t" * 120)
    long.mkdir()
    done = foldproof("batch", tmp_path / "in", "-o", tmp_path / "out", env={"TMPDIR": str(long)})
    assert done.returncode in (0, 1), done.stdout + done.stderr
    assert not list(long.iterdir())


def test_a_second_batch_waits_for_no_folder(interiors: Path, tmp_path: Path, begun) -> None:
    out = tmp_path / "out"
    first = begun(interiors, "-o", out, "--workers", "1")
    while not (out / "a & b").exists() and not (out / "-rf").exists():
        assert first.poll() is None
    second = begun(interiors, "-o", out)
    _, told = second.communicate(timeout=30)
    assert second.returncode == ExitCode.NOT_WRITTEN and "Another run is writing into" in told
    assert first.poll() is None


def test_the_worst_code_is_that_of_the_batch() -> None:
    # a fault of ours is worse than a book that is not proved, that worse than one that cannot be read
    def ended(*codes: int) -> ExitCode:
        return worst([BookEnd(str(n), "", code, ()) for n, code in enumerate(codes)])

    assert ended() is ExitCode.WELL
    assert ended(0, 1, 0) is ExitCode.STOPPED
    assert ended(1, 4, 3) is ExitCode.UNREADABLE
    assert ended(3, 7) is ExitCode.OVER_LIMIT
    assert ended(3, 5, 1) is ExitCode.NOT_PROVED
    assert ended(0, 99) is ExitCode.OUR_FAULT


def test_never_two_books_in_one_folder() -> None:
    assert folders_for(["a.pdf", "b.pdf"]) == ("a", "b")
    assert folders_for(["A.pdf", "a.PDF"]) == ("A.pdf", "a.PDF (2)")
    assert folders_for(["caf\u00e9.pdf", "cafe\u0301.pdf"]) == ("caf\u00e9.pdf", "cafe\u0301.pdf (2)")
    # names of the batch's own files, and folders that hold other books
    assert folders_for(["index.html.pdf", "..pdf", "later.pdf"], taken=["later"]) == (
        "index.html.pdf", "..pdf", "later.pdf",
    )  # fmt: skip
    long = "\u00e9" * 124 + "x.pdf"
    made = folders_for([long, long.upper()])
    assert len(set(made)) == 2 and all(len(name.encode()) <= 255 for name in made)


def test_shadows_of_files_outputs_and_links_to_folders_are_left_out(tmp_path: Path) -> None:
    folder = tmp_path / "in"
    for name in ("one.pdf", "._one.pdf", "..pdf", "deep/two.PDF", "out/one/sheets.pdf", "note.txt"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        book(4, folder / name)
    (folder / "round").symlink_to(folder)
    assert [task.name for task in books_in(folder, folder / "out")] == ["..pdf", "one.pdf"]
    every = books_in(folder, folder / "out", recursive=True)
    assert [task.name for task in every] == ["..pdf", "deep/two.PDF", "one.pdf"]
    assert [task.out for task in every] == [
        folder / "out" / "..pdf", folder / "out" / "deep" / "two", folder / "out" / "one",
    ]  # fmt: skip


def test_the_nearest_job_above_counts(tmp_path: Path) -> None:
    for name in ("in/a/b/one.pdf", "in/a/two.pdf", "in/c/three.pdf"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"")
    (tmp_path / "job.toml").write_text("above the folder: none of ours")
    (tmp_path / "in" / "a" / "job.toml").write_text("")
    jobs = {task.name: task.job for task in books_in(tmp_path / "in", tmp_path / "out", recursive=True)}
    assert jobs == {
        "a/b/one.pdf": tmp_path / "in/a/job.toml",
        "a/two.pdf": tmp_path / "in/a/job.toml",
        "c/three.pdf": None,
    }
    with pytest.raises(AskedWrong, match="is no folder"):
        books_in(tmp_path / "none", tmp_path / "out")
