# SPDX-License-Identifier: AGPL-3.0-or-later
"""Odd and broken files end with a documented code and a sentence; nothing is lost and nothing half-written."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from foldproof.desk import MAY_BE_LEFT
from foldproof.errors import ExitCode

HARD = Path(__file__).parents[3] / "shared" / "corpus" / "hard"
FILES = sorted(HARD.glob("*.pdf")) if HARD.is_dir() else []
DOCUMENTED = {int(code) for code in ExitCode} - {int(ExitCode.OUR_FAULT), int(ExitCode.INTERRUPTED)}


def told_in_a_sentence(stderr: str) -> bool:
    """One line, a capital or a name first, a full stop last, no traceback."""
    lines = [line for line in stderr.splitlines() if line.startswith("foldproof: ")]
    return len(lines) == 1 and lines[0].rstrip().endswith((".", "?", ".)")) and "Traceback" not in stderr


@pytest.mark.corpus
@pytest.mark.skipif(not FILES, reason="no ../shared/corpus beside the project")
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_hard_file_ends_well_told(path: Path, tmp_path: Path, foldproof) -> None:
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    out = tmp_path / "out"
    done = foldproof("make", path, "-o", out, "--quiet", "--workers", "1", seconds=30)
    assert done.returncode in DOCUMENTED, done.stderr
    assert "Traceback" not in done.stderr
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before
    left = {p.name for p in out.iterdir()} if out.exists() else set()
    assert left <= MAY_BE_LEFT, "something half-written was left"
    if done.returncode in (ExitCode.WELL, ExitCode.STOPPED):
        assert {"sheets.pdf", "plan.json", "proof.json", "findings.json", "report.html"} <= left
        assert not done.stderr.strip()
    elif done.returncode == ExitCode.UNREADABLE:
        assert told_in_a_sentence(done.stderr), done.stderr
        assert not left
    elif done.returncode == ExitCode.NO_PLAN:
        assert {"findings.json", "report.html"} <= left and "sheets.pdf" not in left
        assert done.stdout.strip()


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["make", "missing.pdf"], ExitCode.UNREADABLE, "missing.pdf"),
        (["make", "."], ExitCode.UNREADABLE, "folder"),
        (["make", "empty.pdf"], ExitCode.UNREADABLE, "empty.pdf"),
        (["make", "text.pdf"], ExitCode.UNREADABLE, "text.pdf"),
        (["make", "text.pdf", "--job", "nojob.toml"], ExitCode.ASKED_WRONG, "nojob.toml"),
        (["make", "text.pdf", "--job", "bad.toml"], ExitCode.ASKED_WRONG, "trim"),
        (["check", "text.pdf", "--spec", "nonsense"], ExitCode.ASKED_WRONG, "nonsense"),
        (["plan"], ExitCode.ASKED_WRONG, "--pages"),
        (["plan", "--pages", "16"], ExitCode.ASKED_WRONG, "trim"),
        (["plan", "--pages", "16", "--trim", "140"], ExitCode.ASKED_WRONG, "140"),
        (["plan", "--pages", "16", "--trim", "0 x 0 mm"], ExitCode.ASKED_WRONG, "0 x 0"),
        (["plan", "--pages", "16", "--trim", "3000 x 3000 mm"], ExitCode.NO_PLAN, "3000"),
        (["prove", "text.pdf", "--plan", "text.pdf"], ExitCode.ASKED_WRONG, "JSON"),
        (["explain", "blead"], ExitCode.ASKED_WRONG, "bleed"),
        (["batch", "missing"], ExitCode.ASKED_WRONG, "missing"),
        (["house", "bad.toml"], ExitCode.ASKED_WRONG, "bad.toml"),
        (["start", "text.pdf", "-o", "text.pdf"], ExitCode.ASKED_WRONG, "text.pdf"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_what_is_asked_wrong_is_told(words: list[str], code: ExitCode, says: str, tmp_path: Path, foldproof) -> None:
    (tmp_path / "empty.pdf").write_bytes(b"")
    (tmp_path / "text.pdf").write_text("not a PDF\n")
    (tmp_path / "bad.toml").write_text("[book]\ntrimm = '140 x 216 mm'\n")
    before = sorted(p.name for p in tmp_path.iterdir())
    done = foldproof(*words, cwd=tmp_path)
    assert done.returncode == code, done.stderr
    assert says in done.stderr
    assert told_in_a_sentence(done.stderr), done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == before


def test_an_unknown_option_is_asked_wrong(foldproof) -> None:
    done = foldproof("make", "--nonsense")
    assert done.returncode == ExitCode.ASKED_WRONG and "Traceback" not in done.stderr
