# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof check`` as a gate: many books, a folder of reports, and the pre-commit hook in a scratch repository."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest
import yaml

ROOT = Path(__file__).parents[2]
HOOKS = ROOT / ".pre-commit-hooks.yaml"


@pytest.fixture
def books(tmp_path: Path) -> dict[str, Path]:
    """One that passes, one with an empty page in its middle, and one that is no PDF."""
    made = {name: tmp_path / "books" / f"{name}.pdf" for name in ("good", "blank", "broken")}
    made["good"].parent.mkdir()
    for name in ("good", "blank"):
        with pikepdf.new() as pdf:
            for number in range(8):
                pdf.add_blank_page(page_size=(397, 612))
                if name == "good" or number != 4:
                    page = pdf.pages[-1]
                    page.TrimBox = [0, 0, 397, 612]
                    page.Contents = pdf.make_stream(b"0 0 0 1 k 60 %d 200 20 re f" % (100 + 30 * number))
            pdf.save(made[name])
    made["broken"].write_text("no PDF")
    return made


def test_a_folder_gets_every_report_of_the_check(books: dict[str, Path], tmp_path: Path, foldproof) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "sheets.pdf").write_text("of an earlier run")
    done = foldproof("check", books["good"], "-o", out, "--quiet")
    assert done.returncode == 0, done.stderr
    assert sorted(path.name for path in out.iterdir()) == [
        "findings.json", "findings.sarif", "junit.xml", "letter.txt", "report.html", "report.pdf", "sheets.pdf",
    ]  # fmt: skip
    assert json.loads((out / "findings.json").read_text())["manuscript"]["pages"] == 8
    assert (out / "letter.txt").read_text().startswith('About: "good"')
    assert "good.pdf: all well" in done.stdout


def test_a_name_with_an_ending_is_a_file(books: dict[str, Path], tmp_path: Path, foldproof) -> None:
    target = tmp_path / "findings.sarif"
    done = foldproof("check", books["good"], "-o", target, "--format", "sarif", "--quiet")
    assert done.returncode == 0 and json.loads(target.read_text())["version"] == "2.1.0"
    printed = foldproof("check", books["good"], "--format", "letter", "--quiet")
    assert printed.stdout.rstrip().endswith("Your printer")


def test_the_worst_of_several_books_decides(books: dict[str, Path], foldproof) -> None:
    done = foldproof("check", books["broken"], books["good"], "--quiet")
    assert done.returncode == 3 and "good.pdf: all well" in done.stdout, "one bad book does not hide the others"
    assert "broken.pdf" in done.stderr
    refused = foldproof("check", books["good"], books["blank"], "--format", "json")
    assert refused.returncode == 2 and "foldproof batch" in refused.stderr


@pytest.fixture
def pre_commit() -> str:
    beside = Path(sys.executable).parent / "pre-commit"
    found = str(beside) if beside.is_file() else shutil.which("pre-commit")
    if found is None or shutil.which("git") is None:
        pytest.skip("pre-commit and git are wanted to run a hook")
    return found


def test_the_hook_is_well_formed(pre_commit: str) -> None:
    subprocess.run([pre_commit, "validate-manifest", str(HOOKS)], check=True, capture_output=True)


def test_the_hook_keeps_a_bad_book_from_being_committed(
    books: dict[str, Path], tmp_path: Path, pre_commit: str
) -> None:
    # as published, but run by the program that is tested here instead of one that pre-commit would install
    (hook,) = yaml.safe_load(HOOKS.read_text("utf-8"))
    hook.pop("minimum_pre_commit_version")
    local = {"repos": [{"repo": "local", "hooks": [{**hook, "language": "system"}]}]}
    repo = tmp_path / "repo"
    repo.mkdir()
    (repo / ".pre-commit-config.yaml").write_text(yaml.safe_dump(local))
    (repo / "notes.txt").write_text("no book")
    folder = Path(sys.executable).parent
    environment = {
        **os.environ, "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}", "PRE_COMMIT_HOME": str(tmp_path / "home"),
        "GIT_AUTHOR_NAME": "M. Wick", "GIT_AUTHOR_EMAIL": "wick@example.org", "GIT_COMMITTER_NAME": "M. Wick",
        "GIT_COMMITTER_EMAIL": "wick@example.org",
    }  # fmt: skip

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(words, cwd=repo, env=environment, capture_output=True, text=True, check=False)

    run("git", "init", "-q")
    run(pre_commit, "install")
    shutil.copy(books["good"], repo)
    run("git", "add", ".")
    done = run("git", "commit", "-m", "A good book")
    assert done.returncode == 0, done.stdout + done.stderr
    shutil.copy(books["broken"], repo)
    run("git", "add", ".")
    refused = run("git", "commit", "-m", "A broken book")
    assert refused.returncode != 0
    assert "broken.pdf is not a PDF" in refused.stdout + refused.stderr
    assert run("git", "log", "--oneline").stdout.count("\n") == 1
