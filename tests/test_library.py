# SPDX-License-Identifier: AGPL-3.0-or-later
"""foldproof.check and foldproof.make, called as other people's programs call them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import textwrap
import threading
from pathlib import Path

import pikepdf
import pytest

import foldproof
from foldproof.desk import MAY_BE_LEFT
from tests.build import Picture, book

EXPORTED = {
    "AskedWrong", "Checked", "ExitCode", "Finding", "FoldproofError", "InUse", "Made", "NeedsPassword", "NoPlan",
    "NotWritten", "OurFault", "OverLimit", "Severity", "Unreadable", "Verdict", "Watch", "check", "make",
}  # fmt: skip


@pytest.fixture(scope="module")
def interior(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return book(8, tmp_path_factory.mktemp("interior") / "book.pdf", trim_mm=(140, 216), bleed_mm=3)


@pytest.fixture(scope="module")
def stopped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Page 3 has a picture of 42 ppi, 100 pixels on 60 mm; any-book stops under 50."""
    return book(
        8, tmp_path_factory.mktemp("stopped") / "book.pdf", trim_mm=(140, 216), bleed_mm=3,
        each=lambda i: {"pictures": [Picture((30, 40, 90, 80), pixels=(100, 66))]} if i == 2 else {},
    )  # fmt: skip


def script(text: str, *words: object, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *map(str, words)], input=textwrap.dedent(text), capture_output=True, text=True,
        timeout=180, check=False, **more,  # type: ignore[call-overload]
    )  # fmt: skip


def test_the_root_costs_nothing_and_names_everything() -> None:
    done = script("import foldproof, sys; print(*sorted(sys.modules))", "-")
    loaded = {name.split(".")[0] for name in done.stdout.split()}
    assert not loaded & {
        "pymupdf",
        "pikepdf",
        "pypdf",
        "typer",
        "typst",
        "pydantic",
        "attr",
        "attrs",
        "numpy",
        "pebble",
    }
    assert set(foldproof.__all__) >= EXPORTED and set(dir(foldproof)) >= EXPORTED
    for name in EXPORTED:
        assert getattr(foldproof, name).__doc__
    with pytest.raises(AttributeError, match="nonsense"):
        foldproof.nonsense  # noqa: B018


def test_a_book_is_checked_and_nothing_is_written(interior: Path, capfd: pytest.CaptureFixture[str]) -> None:
    before = sorted(interior.parent.iterdir())
    checked = foldproof.check(interior, workers=1)
    assert checked.code is foldproof.ExitCode.WELL and checked.well
    assert (checked.path, checked.pages, checked.files) == (interior, 8, ())
    assert checked.new == checked.findings and checked.gone == ()
    assert sorted(interior.parent.iterdir()) == before
    assert capfd.readouterr() == ("", ""), "a library prints nothing"
    with pytest.raises(AttributeError):
        checked.code = foldproof.ExitCode.STOPPED  # type: ignore[misc]


def test_the_command_line_says_the_same_to_the_byte(stopped: Path, tmp_path: Path, foldproof) -> None:
    import foldproof as library

    checked = library.check(str(stopped), out=tmp_path / "here", workers=2)
    assert checked.code is library.ExitCode.STOPPED and checked.worst() is library.Severity.STOP
    assert [f.page for f in checked.findings if f.severity is library.Severity.STOP] == [3]
    done = foldproof("check", stopped, "-o", tmp_path / "there", "--format", "sarif", "--quiet")
    assert done.returncode == int(checked.code) and done.stdout == checked.text("sarif") + "\n"
    assert [path.name for path in checked.files] == sorted(path.name for path in (tmp_path / "there").iterdir())
    for path in checked.files:
        assert path.read_bytes() == (tmp_path / "there" / path.name).read_bytes()


def test_a_book_is_made(interior: Path, tmp_path: Path) -> None:
    seen: list[tuple[str, int]] = []

    class Watching:
        def stage(self, name: str, total: int) -> None:
            seen.append((name, total))

        def advance(self, steps: int) -> None: ...

        def say(self, line: str) -> None: ...

    made = foldproof.make(interior, tmp_path / "out", workers=1, watch=Watching(), only_warn=True)
    assert made.code is foldproof.ExitCode.WELL and made.verdict is foldproof.Verdict.PROVED
    assert made.plan is not None and made.plan.pages == 8 and made.refusal is None
    assert made.sheets == tmp_path / "out" / "sheets.pdf" and made.sheets in made.files
    assert {path.relative_to(tmp_path / "out").parts[0] for path in made.files} <= MAY_BE_LEFT
    assert all(path.is_file() for path in made.files)
    assert made.proof is not None and len(made.proof.pages) == 8
    assert [name for name, _ in seen] == ["read", "check", "mend", "make up", "impose", "prove", "print"]
    assert len(made.overrides) == 1 and "--only-warn" in made.overrides[0]


def test_what_no_plan_fits_is_an_outcome_of_make(tmp_path: Path) -> None:
    # a trim larger than the largest sheet of the house (1,020 mm; foldproof house)
    huge = book(4, tmp_path / "huge.pdf", trim_mm=(1200, 1600))
    made = foldproof.make(huge, tmp_path / "out", workers=1)
    assert made.code is foldproof.ExitCode.NO_PLAN and made.plan is None and made.sheets is None
    assert made.verdict is None and made.refusal is not None and made.refusal.says


def test_it_works_from_another_thread(stopped: Path, interior: Path, tmp_path: Path) -> None:
    got: list[object] = []

    def work(path: Path, out: Path) -> None:
        try:
            got.append((foldproof.make(path, out, workers=1).code, out.name))
        except BaseException as raised:
            got.append(raised)

    threads = [
        threading.Thread(target=work, args=(path, tmp_path / name))
        for path, name in ((interior, "well"), (stopped, "stopped"))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(150)
    assert set(got) == {(foldproof.ExitCode.WELL, "well"), (foldproof.ExitCode.STOPPED, "stopped")}


_SCRIPT = """
import sys
import foldproof
print("once", flush=True)
made = foldproof.make(sys.argv[1], sys.argv[2], workers=2)
print(made.code.name, made.verdict)
"""


@pytest.mark.parametrize("how", ["file", "stdin", "prompt"])
def test_a_script_needs_no_guard(interior: Path, tmp_path: Path, how: str) -> None:
    if how == "file":
        (tmp_path / "script.py").write_text(_SCRIPT)
        done = script("", tmp_path / "script.py", interior, tmp_path / "out")
    elif how == "stdin":
        done = script(_SCRIPT, "-", interior, tmp_path / "out")
    else:
        # line by line, as a prompt and a notebook run it: no file that a child could run again
        done = script(_SCRIPT, "-i", "-q", "-", interior, tmp_path / "out")
    assert done.stdout.split() == ["once", "WELL", "proved"], "the workers do not run the script again"
    assert done.returncode == 0, done.stderr


def test_errors_are_its_own(interior: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(foldproof.Unreadable) as unreadable:
        foldproof.check(tmp_path / "missing.pdf")
    assert unreadable.value.exit_code is foldproof.ExitCode.UNREADABLE
    for wrong in (
        {"spec": "nonsense"},
        {"job": tmp_path / "no.toml"},
        {"baseline": tmp_path / "no.json"},
        {"workers": 0},
    ):
        with pytest.raises(foldproof.AskedWrong):
            foldproof.check(interior, **wrong)  # type: ignore[arg-type]
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(foldproof.NotWritten):
        foldproof.make(interior, tmp_path / "file" / "out")
    monkeypatch.setattr("foldproof.library.look_over", lambda *_, **__: 1 / 0)
    with pytest.raises(foldproof.OurFault, match="ZeroDivisionError") as ours:
        foldproof.check(interior)
    assert isinstance(ours.value.__cause__, ZeroDivisionError)
    assert issubclass(foldproof.OurFault, foldproof.FoldproofError)


def test_a_locked_book_takes_a_password_or_its_file(interior: Path, tmp_path: Path) -> None:
    locked = tmp_path / "locked.pdf"
    with pikepdf.open(interior) as pdf:
        pdf.save(locked, encryption=pikepdf.Encryption(user="wick", owner="lamp"))
    with pytest.raises(foldproof.NeedsPassword):
        foldproof.check(locked)
    file = tmp_path / "password.txt"
    file.write_text("wick\n")
    assert foldproof.check(locked, password="wick", workers=1).pages == 8
    assert foldproof.check(locked, password_file=file, workers=1).pages == 8
    with pytest.raises(foldproof.AskedWrong, match="give either"):
        foldproof.check(locked, password="wick", password_file=file)


def test_a_book_that_cannot_be_read_says_so_in_the_folder_of_the_check(tmp_path: Path) -> None:
    broken = tmp_path / "broken.pdf"
    broken.write_text("no PDF")
    out = tmp_path / "out"
    out.mkdir()
    for name in ("findings.json", "report.html", "sheets.pdf"):
        (out / name).write_text("of an earlier run")
    with pytest.raises(foldproof.Unreadable):
        foldproof.check(broken, out=out)
    # reports of the earlier file are not those of this one; sheets are no business of the check
    assert sorted(path.name for path in out.iterdir()) == ["findings.sarif", "junit.xml", "sheets.pdf"]
    run = json.loads((out / "findings.sarif").read_text("utf-8"))["runs"][0]
    assert run["invocations"][0]["executionSuccessful"] is False and run["results"][0]["level"] == "error"
    made = tmp_path / "made"
    with pytest.raises(foldproof.Unreadable):
        foldproof.make(broken, made)
    assert not made.exists()


_TYPED = """
from pathlib import Path

import foldproof


class Watching:
    def stage(self, name: str, total: int) -> None: ...
    def advance(self, steps: int) -> None: ...
    def say(self, line: str) -> None: ...


def gate(book: Path) -> int:
    try:
        checked: foldproof.Checked = foldproof.check(book, spec="any-book", workers=2, watch=Watching())
    except foldproof.FoldproofError as error:
        return int(error.exit_code)
    found: tuple[foldproof.Finding, ...] = checked.new
    worst: foldproof.Severity | None = checked.worst()
    print(checked.text("junit"), [f.page for f in found], worst)
    made = foldproof.make(str(book), "out", baseline="findings.json")
    if made.verdict is foldproof.Verdict.PROVED and made.plan is not None:
        reveal_type(made.sheets)
        return made.plan.sheets
    return int(made.code)
"""


def test_a_strict_type_checker_takes_a_program_of_theirs(tmp_path: Path) -> None:
    (tmp_path / "gate.py").write_text(_TYPED)
    command = [sys.executable, "-m", "mypy", "--strict", "--cache-dir", "cache", "--follow-imports=silent", "gate.py"]
    env = {k: v for k, v in os.environ.items() if k != "MYPYPATH"}

    def run() -> subprocess.CompletedProcess[str]:
        return subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False, timeout=300)

    done = run()
    assert done.returncode == 0, done.stdout + done.stderr
    assert '"pathlib._local.Path | None"' in done.stdout or "pathlib.Path | None" in done.stdout
    # and it is no heap of Any
    (tmp_path / "gate.py").write_text(_TYPED.replace('spec="any-book"', "spec=3").replace("checked.new", "checked.gnu"))
    wrong = run()
    assert wrong.returncode == 1 and 'has no attribute "gnu"' in wrong.stdout and '"int"' in wrong.stdout
