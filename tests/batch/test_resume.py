# SPDX-License-Identifier: AGPL-3.0-or-later
"""A batch that was killed goes on where it was, and ends as if nothing had happened, byte for byte."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import time
from pathlib import Path

import pytest

from foldproof.batch.books import books_in
from foldproof.batch.model import Wishes
from foldproof.batch.records import Records
from foldproof.errors import ExitCode
from tests.batch.conftest import digests, processes_in
from tests.build import book

KILLS = 10
#: corpus files that end with every code that the corpus has, of few pages each
FILES = (
    "hard/pdfium__bug_1265.pdf", "hard/qpdf__bad1.pdf", "hard/qpdf__boxes.pdf", "hard/pikepdf__pdfx.pdf",
    "hard/qpdf__issue-1688a.pdf",
)  # fmt: skip


@pytest.mark.parametrize("seed", [20261128])
def test_killed_ten_times_and_resumed(seed: int, corpus: Path, tmp_path: Path, begun, foldproof) -> None:
    """Every process of the batch is gone with it, whatever it was at; no half of anything is left in the end."""
    chance = random.Random(seed)
    folder = tmp_path / "in"
    folder.mkdir()
    for name in FILES:
        shutil.copy(corpus / name, folder)
    calm = tmp_path / "calm"
    start = time.monotonic()
    undisturbed = foldproof("batch", folder, "-o", calm, "--workers", "2", seconds=300)
    whole_s = time.monotonic() - start
    out = tmp_path / "out"
    for _ in range(KILLS):
        run = begun(folder, "-o", out, "--workers", "2", "--resume", "-q")
        # at any moment of a run, the first tenth of a second and the writing of the index among them
        time.sleep(chance.uniform(0.05, 0.6 * whole_s))
        run.send_signal(signal.SIGKILL)
        run.communicate()
        until = time.monotonic() + 5
        while left := processes_in(out):
            assert time.monotonic() < until, f"still at work: {left}"
            time.sleep(0.02)
    done = foldproof("batch", folder, "-o", out, "--workers", "2", "--resume", seconds=300)
    assert done.returncode == undisturbed.returncode, done.stderr
    assert digests(out) == digests(calm)
    assert not list(out.rglob(".foldproof-*"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, foldproof) -> Path:
    """A folder that was made once: ``in`` and ``out``."""
    base = tmp_path_factory.mktemp("made")
    (base / "in").mkdir()
    for name in ("a", "b", "c"):
        book(8, base / "in" / f"{name}.pdf")
    assert foldproof("batch", base / "in", "-o", base / "out", seconds=240).returncode in (0, 1)
    return base


def kept(out: Path) -> list[str]:
    return [entry["name"] for entry in json.loads((out / "times.json").read_text())["books"] if entry["kept"]]


def test_what_has_not_changed_is_kept_and_what_has_is_made_again(made: Path, foldproof) -> None:
    folder, out = made / "in", made / "out"
    before = digests(out)
    done = foldproof("batch", folder, "-o", out, "--resume")
    assert kept(out) == ["a.pdf", "b.pdf", "c.pdf"] and digests(out) == before, done.stdout
    # the same bytes written anew are the same book
    content = (folder / "a.pdf").read_bytes()
    (folder / "a.pdf").write_bytes(content)
    # another book, and another job
    book(12, folder / "b.pdf")
    (folder / "c.toml").write_text('[book]\nbinding = "glued"\n')
    foldproof("batch", folder, "-o", out, "--resume", seconds=240)
    assert kept(out) == ["a.pdf"]
    assert json.loads((out / "c" / "plan.json").read_text())["binding"] == "glued"
    # an output that somebody changed or took away is no output of ours
    (out / "a" / "plan.json").write_text("{}")
    (out / "b" / "sheets.pdf").unlink()
    foldproof("batch", folder, "-o", out, "--resume", seconds=240)
    assert kept(out) == ["c.pdf"]
    assert {name: digest for name, digest in digests(out).items() if name.startswith("a/")} == {
        name: digest for name, digest in before.items() if name.startswith("a/")
    }


def test_everything_that_decides_the_outputs_decides_whether_a_book_is_kept(made: Path, tmp_path: Path) -> None:
    folder, out = made / "in", made / "out"
    records = Records(out)
    house = tmp_path / "house.toml"
    shipped = Path(__file__).parents[2] / "src" / "foldproof" / "job" / "houses"
    house.write_text(next(shipped.glob("*.toml")).read_text())
    spec = tmp_path / "rules.toml"
    spec.write_text('title = "Rules of the house"\nextends = "one-colour-text-on-uncoated"\n')

    def known(wishes: Wishes) -> int:
        return sum(records.done(task) is not None for task in books_in(folder, out, wishes=wishes))

    all_books = len(books_in(folder, out))
    assert known(Wishes()) == all_books
    for changed in (
        Wishes(only_warn=True), Wishes(split_sheets=True), Wishes(house=house), Wishes(spec=str(spec)),
        Wishes(epoch="1700000000"),
    ):  # fmt: skip
        assert known(changed) == 0, changed


def test_a_damaged_record_is_no_record(made: Path) -> None:
    out = made / "out"
    (task, *_) = books_in(made / "in", out)
    records = Records(out)
    done = records.done(task)
    assert done is not None and done.times.kept
    (path,) = [p for p in (out / ".batch").iterdir() if json.loads(p.read_text())["end"]["name"] == task.name]
    text = path.read_text()
    for broken in (
        text[:40],
        "",
        "[]",
        text.replace("batch-record/1", "batch-record/0"),
        text.replace('"code"', '"cod"'),
    ):
        path.write_text(broken)
        assert records.done(task) is None
    path.write_text(text)
    assert records.done(task) is not None


def test_without_resume_everything_is_made_again(made: Path, foldproof) -> None:
    foldproof("batch", made / "in", "-o", made / "out", seconds=240)
    assert kept(made / "out") == []


def test_a_batch_that_is_stopped_says_how_to_go_on(made: Path, tmp_path: Path, begun, foldproof) -> None:
    out = tmp_path / "out"
    run = begun(made / "in", "-o", out, "--workers", "1")
    assert run.stdout is not None
    assert run.stdout.readline().startswith("1/3  ")
    os.kill(run.pid, signal.SIGINT)
    _, told = run.communicate(timeout=30)
    assert run.returncode == ExitCode.INTERRUPTED
    assert "1 of 3 books are done; --resume goes on from here." in told and "Traceback" not in told
    assert not list(out.rglob(".foldproof-*")) and not processes_in(out)
    assert not (out / "index.html").exists()
    foldproof("batch", made / "in", "-o", out, "--resume", seconds=240)
    assert len(kept(out)) == 1
