# SPDX-License-Identifier: AGPL-3.0-or-later
"""Hostile files through the command line, with all reports: passwords, limits, and that nothing is fetched or run."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import site
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from foldproof.desk import MAY_BE_LEFT
from foldproof.errors import ExitCode
from tests.faults import bombs, doings, locked, matter, nests, trees
from tests.faults.running import BY_COMMAND, written
from tests.faults.table import rows
from tests.measured import measured

ROOT = Path(__file__).parents[2]
Command = Callable[..., CompletedProcess[str]]
ALL = {**locked.FAULTS, **trees.FAULTS, **bombs.FAULTS, **nests.FAULTS, **matter.FAULTS, **doings.FAULTS}
#: what lies on disk, besides the outputs of make
REPORTS = {"findings.json", "report.html", "report.pdf", "letter.txt", "junit.xml", "findings.sarif"}


def test_every_row_has_a_fault_and_every_fault_a_row() -> None:
    """All faults of these modules are parameters of a test in test_inside_*.py."""
    assert set(rows("inside")) == set(ALL)
    tests = "".join(path.read_text("utf-8") for path in Path(__file__).parent.glob("test_inside_*.py"))
    for module in (locked, trees, bombs, nests, matter, doings):
        name = module.__name__.rpartition(".")[2]
        assert f"{name}.FAULTS" in tests or f"from tests.faults.{name} import FAULTS" in tests


# --- passwords ---


@pytest.fixture(scope="module")
def lantern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return locked.FAULTS["lock: AES, 256 bits, password not given"](tmp_path_factory.mktemp("locked") / "book.pdf")


def test_the_right_password_opens_the_book(lantern: Path, tmp_path: Path, foldproof: Command) -> None:
    (tmp_path / "word").write_text(locked.PASSWORD + "\r\nnot this line\n", encoding="utf-8")
    out = tmp_path / "out"
    done = foldproof("make", lantern, "-o", out, "--quiet", "--password-file", tmp_path / "word")
    assert done.returncode == ExitCode.STOPPED, done.stderr  # that it is locked is a finding
    assert REPORTS | {"sheets.pdf", "proof.json", "plan.json"} <= {one.name for one in out.iterdir()}
    for one in filter(Path.is_file, out.rglob("*")):
        assert locked.PASSWORD.encode() not in one.read_bytes(), "no output holds the password"


@pytest.mark.parametrize(
    ("content", "code", "says"),
    [
        (None, ExitCode.ASKED_WRONG, r"The password file .*word cannot be read: no such file or directory\."),
        (b"", ExitCode.ASKED_WRONG, r"The password file .*word is empty; put the password in its first line\."),
        (b"\nweir lantern\n", ExitCode.ASKED_WRONG, r"The password file .*word is empty"),
        (b"weir lantern \xdf\n", ExitCode.ASKED_WRONG, r"The password file .*word is no UTF-8 text"),
        (b"weir", ExitCode.UNREADABLE, r"book\.pdf is locked, and the password given does not open it\."),
        (b"the owner's ", ExitCode.UNREADABLE, r"book\.pdf is locked, and the password given does not open it\."),
    ],
    ids=["missing", "empty", "empty first line", "Latin-1", "wrong", "wrong by a blank"],
)  # fmt: skip
def test_another_password_file(
    content: bytes | None, code: int, says: str, lantern: Path, tmp_path: Path, foldproof: Command
) -> None:
    if content is not None:
        (tmp_path / "word").write_bytes(content)
    for command in ("make", "check"):
        done = foldproof(command, lantern, "-o", tmp_path / "out", "--password-file", tmp_path / "word")
        assert done.returncode == code, done.stderr
        told = [line for line in done.stderr.splitlines() if line.startswith("foldproof: ")]
        assert len(told) == 1 and re.search(says, told[0]), done.stderr
        assert "Traceback" not in done.stderr and not done.stdout
        # a gate's viewers are told of a book that cannot be read
        told_to_gates = command == "check" and code == ExitCode.UNREADABLE
        left = {path.name for path in (tmp_path / "out").iterdir()} if (tmp_path / "out").exists() else set()
        assert left == ({"findings.sarif", "junit.xml"} if told_to_gates else set())


# --- whole runs, with limits round them ---


@pytest.mark.parametrize("name", BY_COMMAND)
def test_the_command_ends_as_the_table_says(name: str, tmp_path: Path) -> None:
    path, out, row = ALL[name](tmp_path / "book.pdf"), tmp_path / "out", rows("inside")[name]
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    words = ("make", path, "-o", out, "--quiet", "--workers", "2")
    done = measured(sys.executable, "-m", "foldproof", *words, seconds=300)
    assert done.returncode == row["code"], done.stderr
    assert "Traceback" not in done.stderr
    left = {one.name for one in out.iterdir()} if out.exists() else set()
    assert left <= MAY_BE_LEFT, "something half-written was left"
    if row["left"] == "nothing":
        told = [line for line in done.stderr.splitlines() if line.startswith("foldproof: ")]
        assert len(told) == 1 and re.search(row["says"], told[0]) and not left
    else:
        assert left >= REPORTS
        findings, faults = written(out)
        assert any(re.search(row["says"], said) for said in (*findings, *faults)) or not row["says"]
    assert ("sheets.pdf" in left) == (row["left"] == "all outputs")
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before
    assert {one.name for one in tmp_path.iterdir()} <= {"book.pdf", "out"}
    assert done.peak_mb < 1_500
    assert done.cpu_s < 60


# --- nothing is fetched, nothing is run ---


@pytest.fixture
def secret() -> Iterator[Path]:
    path = Path(os.fsdecode(doings.SECRET))
    path.write_text("the lamps of Merrowby are out", encoding="utf-8")
    yield path
    path.unlink()


def _alone() -> list[str]:
    """In a network of its own, without any but itself; nothing where the system does not allow that."""
    for words in (["unshare", "-n"], ["unshare", "-rn"]):
        if shutil.which("unshare") and subprocess.run([*words, "true"], capture_output=True).returncode == 0:
            return words
    return []


#: what a run may open besides its inputs and outputs: the interpreter, its libraries, what the system hands to programs
_MAY = (
    "/usr/", "/lib", "/proc/", "/sys/", "/dev/null", "/dev/urandom", "/dev/shm/", "/etc/ld.so.", "/etc/localtime",
    "/etc/mime.types", "/etc/ssl/openssl.cnf",
)  # fmt: skip


def test_nothing_outside_is_opened_connected_to_or_run(
    tool: Callable[[str], str], tmp_path: Path, secret: Path
) -> None:
    books = tmp_path / "books"
    books.mkdir()
    for number, make in enumerate(doings.FAULTS.values()):
        make(books / f"{number}.pdf")
    log, temporary = tmp_path / "log", tmp_path / "tmp"
    temporary.mkdir()
    calls = "trace=network,open,openat,openat2,execve,creat"
    done = subprocess.run(
        [*_alone(), tool("strace"), "-f", "-qq", "-s", "300", "-e", calls, "-o", str(log), sys.executable, "-c",
         "import sys; from tests.faults.running import all_through; all_through(sys.argv[1])", str(books)],
        cwd=ROOT, env={**os.environ, "TMPDIR": str(temporary), "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
        timeout=500,
    )  # fmt: skip
    if "Operation not permitted" in done.stderr and not done.stdout:
        pytest.skip("strace may not trace here")
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == [f"{number}.pdf" for number in range(len(doings.FAULTS))], "all went through"
    lines = log.read_text("utf-8", "replace").splitlines()
    assert sum('books/0.pdf"' in line for line in lines) > 2, "the log shows what is opened"
    sockets = [line for line in lines if re.search(r"\b(connect|bind|sendto|sendmsg|listen)\(|AF_INET", line)]
    assert not sockets, sockets[:5]
    run = {found[1] for line in lines if (found := re.search(r'execve\("([^"]+)".* = 0$', line))}
    assert {Path(one).resolve() for one in run} <= {Path(sys.executable).resolve()}, run
    homes = [
        str(tmp_path),
        str(ROOT),
        sys.prefix,
        sys.base_prefix,
        tempfile.gettempdir() + "/foldproof-",
        *site.getsitepackages(),
    ]
    opened = {found[1] for line in lines if (found := re.search(r'open(?:at)?\((?:[^"]*, )?"([^"]+)".* = \d+', line))}
    outside = {
        one for one in opened
        if one.startswith("/") and not one.startswith((*_MAY, *homes, *(str(Path(home).resolve()) for home in homes)))
    }  # fmt: skip
    assert not outside, sorted(outside)[:20]
    tried = [line for line in lines if re.search(r"foldproof-secret|/etc/passwd|/bin/sh|weir\.icc|cmd\.exe", line)]
    assert not tried, tried[:5]
    for one in books.rglob("*"):
        if one.is_file():
            assert b"lamps of Merrowby are out" not in one.read_bytes(), f"{one} holds what lay outside"


def test_a_book_is_made_without_any_network(tmp_path: Path) -> None:
    alone = _alone()
    if not alone:
        pytest.skip("no network of one's own to be had")
    path = doings.FAULTS["action: SubmitForm"](tmp_path / "book.pdf")
    done = subprocess.run(
        [*alone, sys.executable, "-m", "foldproof", "make", str(path), "-o", str(tmp_path / "out"), "--quiet"],
        capture_output=True, text=True, timeout=200,
    )  # fmt: skip
    assert done.returncode == rows("inside")["action: SubmitForm"]["code"], done.stderr
    assert (tmp_path / "out" / "sheets.pdf").exists()
