# SPDX-License-Identifier: AGPL-3.0-or-later
"""A batch on a cluster ends as on one machine, to the byte, whatever becomes of the workers."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from foldproof.batch.books import books_in
from foldproof.batch.local import run_here
from foldproof.batch.model import Begun, BookTask, Ended, Event, Stage, Steps, Wishes
from foldproof.batch.run import Pool, Tally, run
from foldproof.batch.spread import run_on
from foldproof.files import BENCH
from tests.build import book
from tests.case.test_die_emblem import SQUARE, emblem
from tests.cluster.conftest import Yard, alive, asked_of, connected, descendants, soon

SECRET = "kept-from-all-disks"

#: what tells times, and what a batch remembers them in
TIMED = ("times.json", ".batch")


@pytest.fixture(scope="module")
def interiors(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A long book, a locked one, small ones, a job, a job that is wrong, and a broken file."""
    folder = tmp_path_factory.mktemp("books") / "interiors"
    folder.mkdir()
    book(4, folder / "a\nb.pdf")
    book(24, folder / "long.pdf")
    book(4, folder / "wrong.pdf")
    (folder / "broken.pdf").write_bytes(b"%PDF-1.7\nnothing\n")
    (folder / "a\nb.toml").write_text('[book]\nbinding = "stitched"\n')
    # its job names a file, which has to come along
    (folder / "long.toml").write_text('[stamping]\nink = "Gold"\ntitle = "Lamps"\nemblem = "art/lamp.pdf"\n')
    (folder / "art").mkdir()
    emblem(folder / "art" / "lamp.pdf", SQUARE)
    (folder / "wrong.toml").write_text('[book]\nbindin = "stitched"\n')
    with pikepdf.open(book(4, folder / "locked.pdf"), allow_overwriting_input=True) as pdf:
        pdf.save(encryption=pikepdf.Encryption(owner="", user=SECRET))
    (folder / "password.txt").write_text(SECRET + "\n")
    return folder


@pytest.fixture(scope="module")
def undisturbed(interiors: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What the batch comes to on this machine."""
    out = tmp_path_factory.mktemp("here") / "out"
    events(interiors, out, lambda work: run_here(work, 2))
    made = outputs(out)
    assert "long/die.pdf" in made
    return made


def tasks(folder: Path, out: Path) -> tuple[BookTask, ...]:
    out.mkdir(exist_ok=True)
    return books_in(folder, out, wishes=Wishes(password_file=folder / "password.txt"))


def events(folder: Path, out: Path, pool: Pool) -> list[Event]:
    return list(run(tasks(folder, out), Tally(out), pool, resume=False))


def outputs(out: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(out)): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.relative_to(out).parts[0] not in TIMED
    }


def on(yard: Yard, split_pages: int = 1000) -> Pool:
    return run_on(yard.address, 2, lambda line: None, split_pages)


def benches(folder: Path) -> list[Path]:
    return list(folder.rglob(f"{BENCH}*"))


def kept_by_workers(yard: Yard) -> list[Path]:
    """Files and folders in the stores of the workers."""
    return list(yard.folder.glob("dask-scratch-space*/*/foldproof-*/*"))


def test_the_same_bytes_over_a_shared_folder_with_a_long_book_read_by_all(
    yard: Yard, interiors: Path, undisturbed: dict[str, bytes], tmp_path: Path
) -> None:
    assert soon(lambda: len(connected(yard)) == 2)
    heard = events(interiors, tmp_path / "out", on(yard, split_pages=20))
    assert outputs(tmp_path / "out") == undisturbed
    begun = [event for event in heard if isinstance(event, Begun)]
    ended = [event for event in heard if isinstance(event, Ended)]
    assert len(ended) == 5 and len(begun) == 4  # one of them could not be asked for
    assert {0, 1} <= {event.slot for event in begun}
    stages = {event.name for event in heard if isinstance(event, Stage)}
    assert {"read", "check", "impose", "prove", "print"} <= stages
    assert sum(event.steps for event in heard if isinstance(event, Steps)) >= 32
    assert "pages-" in yard.log.read_text()
    assert not kept_by_workers(yard)


def test_the_same_bytes_where_no_worker_sees_the_folder(
    yard: Yard, interiors: Path, undisturbed: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The path of both folders means something else in every process: the folder that this one stands in."""
    shutil.copytree(interiors, tmp_path / "interiors")
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)
    here = Path("/proc/self/cwd")
    events(here / "interiors", here / "out", on(yard, split_pages=20))
    assert outputs(tmp_path / "out") == undisturbed
    assert not benches(tmp_path)
    assert not kept_by_workers(yard)
    seen = [file for file in yard.folder.rglob("*") if file.is_file()]
    assert not [file for file in (*seen, yard.log) if SECRET.encode() in file.read_bytes()]


def test_the_same_bytes_with_a_worker_that_has_a_file_system_of_its_own(
    yards: Callable[[], Yard], interiors: Path, undisturbed: dict[str, bytes], tmp_path: Path
) -> None:
    """One worker, of one thread, over whose view of the folder another is laid; and a long book waits for its pages."""
    shutil.copytree(interiors, tmp_path / "work" / "interiors")
    hide = ("unshare", "--mount", "sh", "-c", 'mount -t tmpfs none "$0" && exec "$@"', str(tmp_path / "work"))
    if subprocess.run([*hide, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this user may not mount anything")
    own = yards()
    own.worker("--no-nanny", before=hide)
    events(tmp_path / "work" / "interiors", tmp_path / "work" / "out", on(own, split_pages=20))
    assert outputs(tmp_path / "work" / "out") == undisturbed
    assert not benches(tmp_path)


def test_a_worker_killed_in_the_middle_shows_in_nothing(
    yard: Yard, interiors: Path, undisturbed: dict[str, bytes], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    workers = set(asked_of(yard, os.getpid).values())
    killed: list[int] = []
    for event in run(tasks(interiors, out), Tally(out), on(yard), resume=False):
        if isinstance(event, Stage) and event.name == "impose" and not killed:
            # the worker of a book that is at work at this moment
            worker = min(worker for pid in processes_in(out) for worker in workers & ancestors(pid))
            killed = [worker, *descendants(worker)]
            os.kill(worker, signal.SIGKILL)
    assert len(killed) > 2
    assert outputs(out) == undisturbed
    assert soon(lambda: not any(alive(pid) for pid in killed), 10)
    assert not benches(out)


def processes_in(folder: Path) -> list[int]:
    """Living processes that hold a file in a folder open."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if any(str(handle.readlink()).startswith(str(folder)) for handle in (process / "fd").iterdir()):
                found.append(int(process.name))
        except OSError:
            continue
    return found


def ancestors(pid: int) -> set[int]:
    """All processes from which one descends."""
    found = set()
    while pid > 1:
        pid = int(Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[1])
        found.add(pid)
    return found


def test_ctrl_c_ends_the_books_on_the_workers_too(yard: Yard, interiors: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with subprocess.Popen(
        [sys.executable, "-m", "foldproof", "batch", interiors, "-o", out, "--quiet", "--cluster", yard.address],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    ) as child:  # fmt: skip
        assert soon(lambda: bool(list(out.glob(f"long/{BENCH}*"))), 60)
        os.killpg(child.pid, signal.SIGINT)
        _, errors = child.communicate(timeout=30)
    assert child.returncode == 130
    assert "Traceback" not in errors and "--resume goes on from here" in errors
    assert not benches(out) and not processes_in(out)
    assert not (out / "summary.json").exists()


def test_a_cluster_that_is_started_here_leaves_nothing(
    interiors: Path, undisturbed: dict[str, bytes], tmp_path: Path, foldproof
) -> None:
    (tmp_path / "tmp").mkdir()
    done = foldproof(
        "batch", interiors, "-o", tmp_path / "out", "--cluster", "local", "--workers", "2", "--quiet",
        "--password-file", interiors / "password.txt", env={"TMPDIR": str(tmp_path / "tmp")},
    )  # fmt: skip
    assert done.returncode == json.loads(undisturbed["summary.json"])["code"], done.stdout + done.stderr
    assert done.stderr == ""
    assert outputs(tmp_path / "out") == undisturbed
    assert not list((tmp_path / "tmp").iterdir())
    assert not processes_in(tmp_path)


@pytest.mark.corpus
def test_books_of_the_corpus(yard: Yard, corpus: Path, tmp_path: Path) -> None:
    """Files of others: one that is damaged and longer than is split here, one that is locked, one like any."""
    folder = tmp_path / "interiors"
    folder.mkdir()
    (folder / "password.txt").write_text("none of theirs\n")
    for name in ("qpdf__leading-junk.pdf", "pypdf__encrypted-file.pdf", "qpdf__copy-foreign-objects-in.pdf"):
        (folder / name).symlink_to(corpus / "hard" / name)
    events(folder, tmp_path / "here", lambda work: run_here(work, 2))
    events(folder, tmp_path / "far", on(yard, split_pages=20))
    assert outputs(tmp_path / "far") == outputs(tmp_path / "here")


def test_a_scheduler_that_goes_away_ends_the_batch_with_a_sentence(yard: Yard, interiors: Path, tmp_path: Path) -> None:
    """The last test of this module: it takes its cluster along."""
    out = tmp_path / "out"
    with subprocess.Popen(
        [sys.executable, "-m", "foldproof", "batch", interiors, "-o", out, "--quiet", "--cluster", yard.address],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as child:  # fmt: skip
        assert soon(lambda: bool(list(out.glob(f"long/{BENCH}*"))), 60)
        yard.scheduler.kill()
        _, errors = child.communicate(timeout=60)
    assert child.returncode == 6
    assert errors == (
        f"foldproof: The cluster at {yard.address} went away; start its scheduler again, then ask again for what is "
        "not made.\n"
    )
