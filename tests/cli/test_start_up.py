# SPDX-License-Identifier: AGPL-3.0-or-later
"""A question or a slip is answered without loading what reads and renders PDFs; inputs and others' files are spared."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from foldproof.batch.folders import folders_for
from foldproof.cli.app import app
from foldproof.errors import ExitCode
from foldproof.preflight.registry import CHECKS
from tests.build import book

HEAVY = {"pymupdf", "pikepdf", "pypdf", "typst", "numpy", "PIL"}


@pytest.mark.parametrize(
    "words",
    [["explain"], ["explain", "bleed"], ["explain", "--format", "json"], ["make", "--nonsense"], ["--help"], ["house"]],
)
def test_a_question_loads_no_pdf_library(words: list[str]) -> None:
    script = (
        "import sys, atexit; sys.argv[0] = 'foldproof'\n"
        "atexit.register(lambda: print('LOADED', *sorted({n.split('.')[0] for n in sys.modules})))\n"
        "from foldproof.cli import main; main()"
    )
    done = subprocess.run([sys.executable, "-c", script, *words], capture_output=True, text=True, check=False)
    loaded = set(done.stdout.split("LOADED", 1)[1].split())
    assert "typer" in loaded and not loaded & HEAVY


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_explain_says_whose_figure_every_limit_is(check) -> None:
    # in this process: a hundred starts of the command line say no more; what it says in its own is held below
    told = " ".join(CliRunner().invoke(app, ["explain", check.id]).stdout.split())
    assert told
    for name in check.limits:
        assert f"{name} = " in told
        assert " ".join(check.limit_sources[name].split()) in told


def test_explain_says_the_same_in_a_process_of_its_own(foldproof) -> None:
    check = max(CHECKS, key=lambda one: len(one.limits))
    assert (
        foldproof("explain", check.id).stdout.split() == CliRunner().invoke(app, ["explain", check.id]).stdout.split()
    )


def test_books_of_a_batch_never_share_a_folder() -> None:
    names = ["A.PDF", "A.pdf", "a.pdf.pdf", "a\u0308.pdf", "\u00e4.pdf", "..pdf", "...pdf", "index.html.pdf", "b.pdf"]
    folders = folders_for(names)
    assert len({folder.casefold() for folder in folders}) == len(names)
    assert folders[-1] == "b"
    assert not {"", ".", "..", "index.html", "summary.json"} & set(folders)


def test_a_batch_of_odd_names_loses_no_book(tmp_path: Path, foldproof) -> None:
    folder = tmp_path / "books"
    folder.mkdir()
    source = tmp_path / "source.pdf"
    book(4, source, trim_mm=(140, 216), bleed_mm=3)
    good = ["-rf.pdf", "line\nend.pdf", "Twice.PDF", "Twice.pdf", "..pdf"]
    for name in good:
        (folder / name).write_bytes(source.read_bytes())
    (folder / "broken.pdf").write_bytes(source.read_bytes()[:200])
    done = foldproof("batch", ".", cwd=folder)
    assert done.returncode == ExitCode.UNREADABLE, done.stderr
    of_books = [line for line in done.stdout.splitlines() if line.partition("  ")[0].endswith(f"/{len(good) + 1}")]
    assert len(of_books) == len(good) + 1
    assert len(list((tmp_path / "books-made").glob("*/sheets.pdf"))) == len(good)
    assert (tmp_path / "books-made" / "summary.json").exists() and (tmp_path / "books-made" / "index.html").exists()


def test_an_output_never_falls_on_an_input(tmp_path: Path, foldproof) -> None:
    source = tmp_path / "book.pdf"
    book(4, source, trim_mm=(140, 216), bleed_mm=3)
    (tmp_path / "plan.json").write_text("{}")
    (tmp_path / "sheets").mkdir()
    inside = tmp_path / "sheets" / "sheet-001.pdf"
    inside.write_bytes(source.read_bytes())
    before = hashlib.sha256(source.read_bytes()).hexdigest()
    for words in (
        ["check", "book.pdf", "-o", "book.pdf"],
        ["prove", "book.pdf", "--plan", "plan.json", "-o", "plan.json"],
        ["make", "sheets/sheet-001.pdf", "-o", "."],
    ):
        assert foldproof(*words, cwd=tmp_path).returncode == ExitCode.ASKED_WRONG
    assert hashlib.sha256(source.read_bytes()).hexdigest() == before
    assert (tmp_path / "plan.json").read_text() == "{}" and inside.exists()


def test_a_folder_of_others_is_not_cleared_away(tmp_path: Path, foldproof) -> None:
    source = tmp_path / "book.pdf"
    book(4, source, trim_mm=(140, 216), bleed_mm=3)
    (tmp_path / "sheets").mkdir()
    own = tmp_path / "sheets" / "notes.txt"
    own.write_text("keep")
    assert foldproof("make", "book.pdf", "-o", ".", "-q", cwd=tmp_path).returncode in (0, 1)
    assert own.read_text() == "keep"
    done = foldproof("make", "book.pdf", "-o", ".", "-q", "--split-sheets", cwd=tmp_path)
    assert done.returncode == ExitCode.NOT_WRITTEN and own.read_text() == "keep"


def test_a_name_that_is_no_text_is_asked_wrong(tmp_path: Path) -> None:
    name = bytes(tmp_path) + b"/\xff.pdf"
    done = subprocess.run([sys.executable, "-m", "foldproof", "make", name], capture_output=True, check=False)
    assert done.returncode == ExitCode.ASKED_WRONG and b"UTF-8" in done.stderr
