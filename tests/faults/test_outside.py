# SPDX-License-Identifier: AGPL-3.0-or-later
"""What goes wrong around a book, done to it for real: each row of outside.toml has its function here or in
test_outside_stops.py."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.build import book
from tests.faults.outside import Told, digests, holds, not_ours, told_by

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight pages."""
    return book(8, tmp_path_factory.mktemp("small") / "small.pdf")


@pytest.fixture(scope="module")
def undisturbed(small: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Digests of its outputs as they come when nothing is wrong."""
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    assert told_by("make", small, "-o", out).code in (0, 1)
    return digests(out)


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Callable[..., Path]]:
    """A file system of its own: ``mounted("size=1m")``."""
    places: list[Path] = []

    def mount(options: str) -> Path:
        place = tmp_path / f"disk-{len(places)}"
        place.mkdir()
        done = subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)], capture_output=True)
        if done.returncode:
            pytest.skip("this user may not mount a file system")
        places.append(place)
        return place

    yield mount
    for place in places:
        subprocess.run(["umount", "-l", str(place)], check=True)


# --- where the outputs go ---------------------------------------------------------------------------------------------


def test_out_is_read_only(small: Path, mounted: Callable[..., Path]) -> None:
    disk = mounted("size=4m")
    (disk / "out").mkdir()
    (disk / "out" / "sheets.pdf").write_text("of an earlier run")
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    for out in (disk / "out", disk / "new" / "out"):
        holds("out_is_read_only", told_by("make", small, "-o", out))
    assert digests(disk) == {"out/sheets.pdf": digests(disk)["out/sheets.pdf"]}


def test_out_is_not_allowed(small: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "theirs"
    theirs.mkdir(mode=0o755)
    mine = not_ours(theirs)
    for out in (theirs, theirs / "out"):
        holds("out_is_not_allowed", told_by("make", small, "-o", out, before=mine))
    assert not list(theirs.iterdir())


@pytest.mark.parametrize("size_kb", [64, 256, 600, 1200])
def test_disk_full(size_kb: int, mounted: Callable[..., Path], tmp_path: Path) -> None:
    """The outputs of this book take some 1.5 MB; what is there of an earlier run takes 24 kB."""
    source = book(48, tmp_path / "book.pdf", trim_mm=(140, 216), bleed_mm=3)
    disk = mounted(f"size={size_kb}k")
    out = disk / "out"
    out.mkdir()
    (out / "sheets.pdf").write_bytes(b"s" * 20_000)
    (out / "mine.txt").write_text("not of any run")
    before = digests(disk)
    holds("disk_full", told_by("make", source, "-o", out))
    assert digests(disk) == before and {path.name for path in out.iterdir()} == {"sheets.pdf", "mine.txt"}


def test_no_file_can_be_made(small: Path, mounted: Callable[..., Path]) -> None:
    disk = mounted("size=16m,nr_inodes=3")
    holds("no_file_can_be_made", told_by("make", small, "-o", disk / "out"))
    assert not list(disk.iterdir())


def test_out_is_a_file(small: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "nowhere").symlink_to("none")
    for out in (tmp_path / "file", tmp_path / "file" / "below", tmp_path / "nowhere", "/dev/null"):
        holds("out_is_a_file", told_by("make", small, "-o", out))
    assert {path.name for path in tmp_path.iterdir()} == {"file", "nowhere"}
    assert (tmp_path / "file").read_text() == "mine"


def test_output_is_the_input(small: Path, tmp_path: Path) -> None:
    for name in ("sheets.pdf", "report.pdf", "sheets/one.pdf"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True, parents=True)
        shutil.copy(small, path)
        (tmp_path / "link.pdf").unlink(missing_ok=True)
        (tmp_path / "link.pdf").symlink_to(path)
        for manuscript in (path, tmp_path / "link.pdf"):
            holds("output_is_the_input", told_by("make", manuscript, "-o", tmp_path))
        assert path.read_bytes() == small.read_bytes()
        path.unlink()


def test_two_runs_in_one_folder(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    hold = (
        "import sys; from pathlib import Path; from foldproof.files import locked\n"
        "Path(sys.argv[1]).mkdir()\n"
        "with locked(Path(sys.argv[1])): print('held', flush=True); input()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", hold, str(out)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )  # fmt: skip
    assert holder.stdout is not None and holder.stdout.readline() == "held\n"
    for command in ("make", "check"):
        holds("two_runs_in_one_folder", told_by(command, small, "-o", out))
    assert not list(out.iterdir())
    holder.communicate("\n")
    assert told_by("make", small, "-o", out).code in (0, 1)


# --- the manuscript ---------------------------------------------------------------------------------------------------


def test_input_is_no_file(small: Path, tmp_path: Path) -> None:
    (tmp_path / "folder.pdf").mkdir()
    os.mkfifo(tmp_path / "pipe.pdf")
    (tmp_path / "empty.pdf").write_bytes(b"")
    (tmp_path / "round.pdf").symlink_to("round.pdf")
    paths = [tmp_path / name for name in ("folder.pdf", "pipe.pdf", "empty.pdf", "round.pdf", "none.pdf")]
    for path in (*paths, Path("/dev/zero")):
        holds("input_is_no_file", told_by("make", path, "-o", tmp_path / "out"))
    theirs = tmp_path / "theirs.pdf"
    shutil.copy(small, theirs)
    theirs.chmod(0o000)
    holds("input_is_no_file", told_by("make", theirs, "-o", tmp_path / "out", before=not_ours(theirs)))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ["make", "check"])
@pytest.mark.parametrize("what", ["input_is_replaced", "input_is_cut_short", "input_is_removed"])
def test_input_changes_while_it_is_read(what: str, command: str, tmp_path: Path) -> None:
    path = book(64, tmp_path / "book.pdf", trim_mm=(140, 216), bleed_mm=3)
    newer = book(64, tmp_path / "newer.pdf", say=lambda index: f"Another page {index}", trim_mm=(140, 216), bleed_mm=3)
    content, out = newer.read_bytes(), tmp_path / "out"

    def change() -> None:
        if what == "input_is_replaced":
            newer.replace(path)
        elif what == "input_is_cut_short":
            os.truncate(path, path.stat().st_size // 2)
        else:
            path.unlink()

    told = told_by(command, path, "-o", out, at={"check": change}, quiet=False)
    holds(what, told)
    # a gate's viewers are told of the error too
    told_to_gates = {"findings.sarif", "junit.xml"} if command == "check" else set()
    assert ({path.name for path in out.iterdir()} if out.exists() else set()) == told_to_gates
    if what == "input_is_replaced":
        assert path.read_bytes() == content


# --- names ------------------------------------------------------------------------------------------------------------

NAMES = (
    "a\nb.pdf", "lamp \U0001f56f\ufe0f.pdf", "x" * 251 + ".pdf", "\u00e9" * 125 + "y.pdf", "-rf.pdf",
    "; echo $(touch ran) `touch ran` & .pdf", "\x1b[31mred\x07.pdf", "\u202efdp.exe.pdf",
)  # fmt: skip


def test_odd_names(small: Path, tmp_path: Path) -> None:
    """Alone, with the folder that a name gives when none is asked for; all of them through a batch."""
    for name in ("a\nb.pdf", "-rf.pdf", "; echo $(touch ran) `touch ran` & .pdf"):
        folder = tmp_path / f"alone-{NAMES.index(name)}"
        (folder / "in").mkdir(parents=True)
        shutil.copy(small, folder / "in" / name)
        told = told_by("make", "--", Path("..", "in", "..", "in", name), cwd=folder / "in")
        assert told.code in (0, 1), told
        assert {path.name for path in folder.iterdir()} == {"in"}
        assert {path.name for path in (folder / "in").iterdir()} == {name, f"{name[:-4]}-made"}
    folder = tmp_path / "all"
    folder.mkdir()
    for name in NAMES:
        shutil.copy(small, folder / name)
    told = told_by("batch", folder, "-o", tmp_path / "out", seconds=400)
    assert told.code in (0, 1), told
    # nothing of a name reaches the terminal as a command to it
    assert not {"\x1b", "\x07", "\u202e"} & set(told.said + told.out)
    made = {path.name for path in (tmp_path / "out").iterdir() if path.is_dir()} - {".batch"}
    assert len(made) == len(NAMES)
    assert {path.name for path in tmp_path.iterdir() if not path.name.startswith("alone")} == {"all", "out"}


def test_name_is_no_text(small: Path, tmp_path: Path) -> None:
    path = os.fsencode(tmp_path / "name-") + b"\xff\xfe.pdf"
    shutil.copy(os.fsencode(small), path)
    holds("name_is_no_text", told_by("make", os.fsdecode(path), "-o", tmp_path / "out"))
    holds("name_is_no_text", told_by("batch", tmp_path, "-o", tmp_path / "out"), where="out")
    assert not list(tmp_path.glob("out/*/")) or {p.name for p in tmp_path.glob("out/*/")} == {".batch"}


# --- the system -------------------------------------------------------------------------------------------------------


def test_no_handles(small: Path, tmp_path: Path) -> None:
    def few() -> None:
        resource.setrlimit(resource.RLIMIT_NOFILE, (12, 12))

    holds("no_handles", told_by("make", small, "-o", tmp_path / "out", preexec_fn=few))
    assert not (tmp_path / "out").exists()


def test_no_home_no_temp(small: Path, tmp_path: Path, undisturbed: dict[str, str]) -> None:
    bare = {key: value for key, value in os.environ.items() if key not in ("HOME", "TMPDIR", "USER", "LANG")}
    told = told_by("make", small, "-o", tmp_path / "out", env={**bare, "TMPDIR": str(tmp_path / "none")})
    assert told.code in (0, 1), told
    assert digests(tmp_path / "out") == undisturbed


def test_current_folder_is_gone(small: Path, tmp_path: Path) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    told = told_by("make", small, "-o", tmp_path / "out", cwd=gone, preexec_fn=gone.rmdir)
    holds("current_folder_is_gone", told)
    assert not (tmp_path / "out").exists()


def test_no_network(small: Path, tmp_path: Path, undisturbed: dict[str, str]) -> None:
    alone = ["unshare", "-n"]
    if subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this user may not make a network namespace")
    assert told_by("make", small, "-o", tmp_path / "out", before=alone).code in (0, 1)
    assert digests(tmp_path / "out") == undisturbed


def test_no_address_is_asked_for(small: Path, tmp_path: Path) -> None:
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed")
    trace = tmp_path / "trace"
    watched = ["strace", "-f", "-qq", "-e", "trace=socket,connect,sendto", "-o", str(trace)]
    if subprocess.run([*watched, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this user may not trace a process")
    told = told_by("make", small, "-o", tmp_path / "out", before=watched, seconds=300)
    assert told.code in (0, 1), told
    # sockets of this machine alone: multiprocessing uses them between a run and its workers
    asked = [
        line for line in trace.read_text(errors="replace").splitlines() if "AF_INET" in line or "AF_NETLINK" in line
    ]
    assert not asked, asked[:3]


def test_batch_disk_full(small: Path, mounted: Callable[..., Path], tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    for number in range(4):
        shutil.copy(small, folder / f"{number}.pdf")
    calm = tmp_path / "calm"
    assert told_by("batch", folder, "-o", calm).code in (0, 1)
    of_one_kb = sum(path.stat().st_size for path in (calm / "0").iterdir()) // 1024
    # room for one book, its bench counted, and for a part of the next
    disk = mounted(f"size={of_one_kb * 2 + 80}k")
    told = told_by("batch", folder, "-o", disk / "out", "--workers", "1", seconds=240)
    holds("batch_disk_full", told, where="either")
    assert not list((disk / "out").rglob(".foldproof-*"))
    subprocess.run(["mount", "-o", "remount,size=64m", str(disk)], check=True)
    assert told_by("batch", folder, "-o", disk / "out", "--resume", seconds=240).code in (0, 1)
    assert {
        name: digest for name, digest in digests(disk / "out").items() if not name.startswith((".batch", "times"))
    } == {name: digest for name, digest in digests(calm).items() if not name.startswith((".batch", "times"))}


def test_a_run_that_is_well_says_what_it_is_told_here() -> None:
    """``holds`` itself would notice: another code, another sentence, a traceback, two sentences."""
    row = "out_is_a_file"
    right = Told(6, "", "foldproof: Cannot write to x: file exists. Choose another folder with -o.\n")
    holds(row, right)
    for wrong in (
        Told(70, "", right.said), Told(6, "", "foldproof: no.\n"), Told(6, "", right.said + "Traceback\n"),
        Told(6, "", right.said * 2),
    ):  # fmt: skip
        with pytest.raises(AssertionError):
            holds(row, wrong)
