# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof plan``: what is printed, what is written, how it ends."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from foldproof.report.as_json import schema
from tests.build import Fill
from tests.build import book as a_book

QUOTE = ("--pages", "48", "--trim", "140 x 216 mm", "--most", "2")


def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "foldproof", "plan", *map(str, words)], capture_output=True, text=True, timeout=300
    )


def test_a_table_is_printed_plain_and_narrow_enough() -> None:
    done = run(*QUOTE)
    assert done.returncode == 0 and done.stderr == ""
    assert max(map(len, done.stdout.splitlines())) <= 120
    assert "total, crowns" in done.stdout and "plan 2" in done.stdout and "\x1b" not in done.stdout


@pytest.mark.parametrize("how", ["by name", "by format", "stdout"])
def test_json_is_valid_however_it_is_asked_for(tmp_path: Path, how: str) -> None:
    target = tmp_path / ("plans.json" if how == "by name" else "plans")
    words = ("--format", "json") if how != "by name" else ()
    done = run(*QUOTE, *words, *(("-o", target) if how != "stdout" else ()))
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout if how == "stdout" else target.read_text("utf-8"))
    jsonschema.validate(data, schema("plans"), cls=jsonschema.Draft202012Validator)
    assert [plan["pages"] for plan in data["plans"]] == [48, 48]
    assert [path.name for path in tmp_path.iterdir()] == ([target.name] if how != "stdout" else [])


def test_a_page_is_written_whole_and_twice_the_same(tmp_path: Path) -> None:
    first, second = tmp_path / "a.html", tmp_path / "b.html"
    for target in (first, second):
        done = run(*QUOTE, "-o", target)
        assert (done.returncode, done.stdout) == (0, "")
        assert str(target) in done.stderr
    assert first.read_bytes() == second.read_bytes()
    assert first.read_bytes().startswith(b"<!DOCTYPE html>") and first.read_bytes().endswith(b"</html>\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.html", "b.html"]


def test_an_older_file_stays_where_nothing_fits_and_the_code_says_so(tmp_path: Path) -> None:
    target = tmp_path / "plans.html"
    target.write_text("older", "utf-8")
    done = run("--pages", "48", "--trim", "900 x 1300 mm", "-o", target)
    assert done.returncode == 4
    assert target.read_text("utf-8") == "older"


def test_what_cannot_be_written_or_asked_ends_in_its_code(tmp_path: Path) -> None:
    assert run(*QUOTE, "-o", tmp_path).returncode == 2
    assert run().returncode == 2
    job = tmp_path / "job.toml"
    job.write_text('[book]\ntrim = "140 x 216 mm"\n', "utf-8")
    done = run("--pages", "48", "--job", job, "-o", job)
    assert done.returncode == 2 and "written over" in done.stderr
    stands = tmp_path / "a file"
    stands.write_text("", "utf-8")
    assert run(*QUOTE, "-o", stands / "plans.html").returncode == 6
    assert run(tmp_path / "none.pdf").returncode == 3


def test_a_book_is_read_for_its_inks_with_progress_on_stderr(tmp_path: Path) -> None:
    cyan = {"fills": [Fill((20.0, 20.0, 60.0, 60.0), "1 0 0 0 k")]}
    book = a_book(8, tmp_path / "book.pdf", each=lambda index: cyan if index == 3 else {})
    done = run(book, "--format", "json", "--most", "1")
    assert done.returncode == 0, done.stderr
    assert "check: 8" in done.stderr
    (plan,) = json.loads(done.stdout)["plans"]
    inks = {ink for sheet in plan["runs"] for ink in (*sheet["inks_front"], *sheet["inks_back"])}
    assert inks == {"Cyan", "Black"}
    quiet = run(book, "--format", "json", "--most", "1", "-q")
    assert quiet.stderr == "" and quiet.stdout == done.stdout
