# SPDX-License-Identifier: AGPL-3.0-or-later
"""The pool of page workers over a cluster answers as the pool of this machine does."""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from foldproof.cluster.hands import Spread
from foldproof.errors import AskedWrong, NotWritten, Unreadable
from foldproof.workers import Lost, Workers
from tests.build import book
from tests.cluster.conftest import Yard, alive, connected, descendants, soon

# by the name under which a worker finds it
jobs = importlib.import_module("far_jobs")


@pytest.fixture(scope="module")
def spread(yard: Yard) -> Iterator[Spread]:
    with Spread(yard.address, 1) as hands:
        assert soon(lambda: len(connected(yard)) == 2)
        yield hands


@pytest.mark.parametrize(
    ("name", "numbers", "seconds"), [("square", 40, 20.0), ("die", 6, 20.0), ("deaf_loop", 4, 1.0), ("starve", 3, 20.0)]
)
def test_every_job_ends_as_on_one_machine(spread: Spread, name: str, numbers: int, seconds: float) -> None:
    function = getattr(jobs, name)
    with Workers(2) as here:
        expected = dict(here.map(function, range(numbers), seconds=seconds))
    assert dict(spread.map(function, range(numbers), seconds=seconds)) == expected


def test_what_a_job_raises_is_raised_here(spread: Spread) -> None:
    with pytest.raises(Unreadable, match="Page 3 is not a page"):
        list(spread.map(jobs.refuse, range(5), seconds=20))
    assert dict(spread.map(jobs.square, range(3), seconds=20)) == {0: 0, 1: 1, 2: 4}
    with pytest.raises(ValueError, match="top level"):
        list(spread.map(lambda n: n, range(3), seconds=1))


def test_both_workers_work_each_in_one_process_that_stays(spread: Spread) -> None:
    first = {pair for _, pair in spread.map(jobs.pair, range(12), seconds=20)}
    second = {pair for _, pair in spread.map(jobs.pair, range(12), seconds=20)}
    assert len({worker for _, worker in first}) == 2
    assert first == second


def test_what_is_to_be_done_alone_is_done_here_by_processes_that_stay(spread: Spread) -> None:
    done = [spread.alone(jobs.pair, 0, seconds=20) for _ in range(6)]
    assert all(not isinstance(one, Lost) and one[1] == os.getpid() for one in done)
    assert len(set(done)) <= spread.count


def test_a_map_left_early_stops_what_it_began(spread: Spread) -> None:
    for _ in spread.map(jobs.nap, [0.01, 60.0, 60.0, 60.0], seconds=90):
        break
    start = time.monotonic()
    assert dict(spread.map(jobs.square, range(4), seconds=20)) == {n: n * n for n in range(4)}
    assert time.monotonic() - start < 15


def test_a_file_that_the_worker_sees_is_read_in_its_place(spread: Spread, tmp_path: Path) -> None:
    file = tmp_path / "seen.bin"
    file.write_bytes(os.urandom(1000))
    for _, (place, digest, _) in spread.map(jobs.found, [jobs.Locked(file)] * 4, seconds=20):
        assert (place, digest) == (str(file), hashlib.sha256(file.read_bytes()).hexdigest())


def test_a_file_that_no_worker_sees_is_carried_once_to_each(
    spread: Spread, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its path means something else in every process: the folder that this one stands in."""
    monkeypatch.chdir(tmp_path)
    content = os.urandom(20_000_001)  # several pieces
    Path("carried file.bin").write_bytes(content)
    jobs_of_it = [jobs.Locked(Path("/proc/self/cwd/carried file.bin"), "open sesame")] * 8
    seen = [result for _, result in spread.map(jobs.found, jobs_of_it, seconds=30)]
    assert {digest for _, digest, _ in seen} == {hashlib.sha256(content).hexdigest()}
    places = {place for place, _, _ in seen}
    assert len(places) == len({worker for _, _, worker in seen}) == 2
    assert all(Path(place).name == "carried file.bin" and Path(place).is_file() for place in places)
    assert spread._cluster is not None
    carried = dict(spread._cluster._carried)
    assert {times for _, times in carried.values()} == {1}
    list(spread.map(jobs.found, jobs_of_it, seconds=30))
    assert spread._cluster._carried == carried
    # another content under the same path is another file
    Path("carried file.bin").write_bytes(b"new")
    ((_, (_, digest, _)),) = spread.map(jobs.found, jobs_of_it[:1], seconds=30)
    assert digest == hashlib.sha256(b"new").hexdigest()
    spread._cluster.forget()
    assert not any(Path(place).exists() for place in places)


def test_another_file_of_that_name_is_not_taken_for_ours(yard: Yard, tmp_path: Path) -> None:
    file = tmp_path / "a.bin"
    file.write_bytes(b"first")
    with Spread(yard.address, 1) as hands:
        assert hands._cluster is not None
        ref = hands._cluster.luggage.ref(file)
        file.write_bytes(b"other")
        os.utime(file, ns=(1, 1))
        places = hands._cluster.client.run(_places_of, ref)
    assert set(places.values()) == {()}


def _places_of(ref: object, dask_worker: object = None) -> tuple[str, ...]:
    from foldproof.cluster.station import station

    return station(dask_worker).places("test", [ref])[0]  # type: ignore[list-item]


def test_a_dask_worker_that_dies_has_its_job_done_by_another(spread: Spread, tmp_path: Path) -> None:
    assert dict(spread.map(jobs.kill_parent_once, [tmp_path / "absent"], seconds=60)) == {0: 1}
    assert (tmp_path / "absent.killed").exists()


def test_a_job_that_takes_every_worker_along_is_lost(spread: Spread) -> None:
    ((_, lost),) = spread.map(jobs.kill_parent, [1], seconds=60)
    assert isinstance(lost, Lost) and "went down" in lost.reason
    assert dict(spread.map(jobs.square, range(3), seconds=60)) == {0: 0, 1: 1, 2: 4}


def test_a_killed_dask_worker_leaves_no_child(spread: Spread, tmp_path: Path) -> None:
    waiting = spread.map(jobs.sit_far, [tmp_path], seconds=600)
    listener = threading.Thread(target=lambda: next(waiting, None), daemon=True)
    listener.start()
    assert soon(lambda: any(tmp_path.iterdir()))
    child, worker = map(int, next(tmp_path.iterdir()).name.split())
    assert child in descendants(worker)
    os.kill(worker, signal.SIGKILL)
    assert soon(lambda: not alive(child), 10)
    listener.join(60)  # the next worker on which it sits gives up on the file that tells of the first
    assert dict(spread.map(jobs.square, range(3), seconds=60)) == {0: 0, 1: 1, 2: 4}


def test_no_password_in_any_log_or_file_of_the_workers(
    spread: Spread, yard: Yard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("book.bin").write_bytes(b"x")
    secret = "a-secret-of-this-test"
    job = jobs.Locked(Path("/proc/self/cwd/book.bin"), secret)
    list(spread.map(jobs.found, [job] * 4, seconds=20))
    with pytest.raises(RuntimeError, match=r"no use: book\.bin"):
        list(spread.map(jobs.fail_with, [job], seconds=20))
    read = {}
    for file in yard.folder.rglob("*"):
        with contextlib.suppress(OSError):  # workers write and remove files of their own meanwhile
            read[file] = file.read_bytes()
    assert any(file.name == "book.bin" for file in read)
    assert not [file for file, content in read.items() if secret.encode() in content]
    assert "pages-" in yard.log.read_text()  # it does log what it does


# --- clusters that cannot be used; the last tests of this module, for they spoil its cluster ---


def test_nobody_answers(foldproof, tmp_path: Path) -> None:
    for address in ("nonsense", "tcp://127.0.0.1:99999"):
        with pytest.raises(AskedWrong, match=f"No cluster answers at {address}"):
            Spread(address, 1).__enter__()
    done = foldproof("check", book(4, tmp_path / "a.pdf"), "--quiet", "--cluster", "tcp://127.0.0.1:9")
    assert done.returncode == 2
    assert done.stderr == (
        "foldproof: No cluster answers at tcp://127.0.0.1:9; give the address that dask scheduler prints, as "
        "tcp://HOST:8786.\n"
    )


def test_workers_of_another_version_are_refused(yard: Yard, tmp_path: Path) -> None:
    old = tmp_path / "old" / "foldproof-0.0.9.dist-info"
    old.mkdir(parents=True)
    (old / "METADATA").write_text("Metadata-Version: 2.1\nName: foldproof\nVersion: 0.0.9\n")
    before = len(connected(yard))
    other = yard.worker("--no-nanny", PYTHONPATH=str(old.parent))
    assert soon(lambda: len(connected(yard)) > before)
    with pytest.raises(AskedWrong, match=r"has foldproof 0\.0\.9 and this machine foldproof \d.*install the same"):
        Spread(yard.address, 1).__enter__()
    other.kill()


def test_a_scheduler_that_goes_away_is_told(spread: Spread, yard: Yard) -> None:
    start = time.monotonic()
    with pytest.raises(NotWritten, match="went away"):
        for index, _ in spread.map(jobs.nap, [0.01, 60.0], seconds=90):
            assert index == 0
            yard.scheduler.kill()
    assert time.monotonic() - start < 30
