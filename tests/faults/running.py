# SPDX-License-Identifier: AGPL-3.0-or-later
"""A file taken through every stage, as ``make`` does, and what came of it: told, left on disk, and what it cost."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from foldproof import pipeline
from foldproof.asking import ask
from foldproof.errors import ExitCode, told
from foldproof.manuscript import observe
from foldproof.report.model import Format
from foldproof.report.write import write_reports
from foldproof.workers import Workers
from tests.faults.table import rows

#: what each entry of the table's column "left" comes to, without the reports for people
LEFT = {
    "nothing": frozenset(),
    "the report": frozenset({"findings.json"}),
    "all outputs": frozenset({"findings.json", "plan.json", "proof.json", "sheets.pdf"}),
    "the report, and the sheets as sheets-NOT-PROVED.pdf": frozenset(
        {"findings.json", "plan.json", "proof.json", "sheets-NOT-PROVED.pdf"}
    ),
}
#: files that go through the command line instead, with every report (test_inside_commands)
BY_COMMAND = (
    "bomb: object stream", "circle: layer expression", "font: 65,535 of them", "names: NUL, line end, script",
    "page tree: every node twice", "annotations: one, a million times",
)  # fmt: skip
#: no process may take more, whatever a file of a few megabytes asks for
MOST_MB = 1500
#: processor seconds that a file may cost, all processes together, on top of what it is worth for its own size
MOST_CPU_S = 60.0
#: pages that never end are given up after this time here, so that the table is soon gone through
_SOON_S = 4.0


@dataclass(frozen=True)
class Came:
    """What came of a file."""

    code: int
    sentence: str  #: of the error that ended it, ``""`` when it came to an end of its own
    findings: tuple[str, ...]  #: ``"stop lost-pages 3: Page 3: ..."``
    faults: tuple[str, ...]  #: of the proof
    left: tuple[str, ...]  #: what lies in the folder of the outputs, hidden files too
    seconds: float  #: by the clock
    cpu_s: float  #: of this process and its workers
    peak_mb: int  #: the largest of the workers, and how much this process grew

    def tells(self, pattern: str) -> bool:
        """Whether any of it says that."""
        return any(re.search(pattern, said) for said in (self.sentence, *self.findings, *self.faults))


class Kept(Workers):
    """A pool that lives from file to file, as it does from stage to stage."""

    def __exit__(self, *_: object) -> None:
        pass

    def end(self) -> None:
        super().__exit__()


def _children() -> list[int]:
    found = []
    for task in Path("/proc/self/task").iterdir():
        with contextlib.suppress(OSError):
            found += [int(pid) for pid in (task / "children").read_text().split()]
    return found


def _status(pid: int | str, key: str) -> int:
    """Kilobytes."""
    with contextlib.suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith(key):
                return int(line.split()[1])
    return 0


def _forget_peaks() -> None:
    """Peaks are counted from here on (proc(5), clear_refs)."""
    for pid in ("self", *_children()):
        with contextlib.suppress(OSError):
            Path(f"/proc/{pid}/clear_refs").write_text("5")


@contextlib.contextmanager
def _peaks() -> Iterator[list[int]]:
    """The largest peak of any worker, looked at while it lives: one that is killed tells nothing afterwards."""
    import threading

    found, over = [0], threading.Event()

    def look() -> None:
        while not over.wait(0.05):
            found[0] = max([found[0], *(_status(pid, "VmHWM") for pid in _children())])

    watcher = threading.Thread(target=look, daemon=True)
    watcher.start()
    try:
        yield found
    finally:
        over.set()
        watcher.join()
        found[0] = max([found[0], *(_status(pid, "VmHWM") for pid in _children())])


def _cpu_s(hands: list[int]) -> float:
    times = os.times()
    total = times.user + times.system + times.children_user + times.children_system
    for pid in hands:
        with contextlib.suppress(OSError, IndexError):
            fields = Path(f"/proc/{pid}/stat").read_text().rsplit(") ", 1)[1].split()
            total += (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    return total


def put_through(
    path: Path, out: Path, workers: Workers, monkeypatch: pytest.MonkeyPatch, *, whole: bool = False, **asked: object
) -> Came:
    """Every stage on one file, in this process and its workers.

    Args:
        whole: print the report for people too; else findings, plan and proof alone, which say the same.
    """
    monkeypatch.setattr(pipeline, "_hands", lambda _: workers)
    if not whole:
        monkeypatch.setattr(pipeline, "write_reports", partial(write_reports, formats={Format.JSON}))
        monkeypatch.setattr(pipeline, "_tell_the_benches", lambda results, *_: results)
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    _forget_peaks()
    grown = _status("self", "VmRSS")
    start, cpu = time.monotonic(), _cpu_s(_children())
    sentence, code = "", ExitCode.WELL
    with _peaks() as peaks:
        try:
            code = pipeline.make(ask(path, out, workers=workers.count, **asked)).code  # type: ignore[arg-type]
        except Exception as fault:
            error = told(fault)
            sentence, code = str(error), error.exit_code
    seconds, cpu = time.monotonic() - start, _cpu_s(_children()) - cpu
    peak = max(peaks[0], _status("self", "VmHWM") - grown) // 1024
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before, "the manuscript was touched"
    left = tuple(sorted(one.name for one in out.iterdir())) if out.exists() else ()
    return Came(int(code), sentence, *written(out), left, seconds, cpu, peak)


def written(out: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    findings: list[str] = []
    faults: list[str] = []
    if (out / "findings.json").exists():
        listed = json.loads((out / "findings.json").read_text(encoding="utf-8"))
        findings = [f"{f['severity']} {f['check']} {f['page'] or '-'}: {f['problem']}" for f in listed["findings"]]
    if (out / "proof.json").exists():
        faults = [fault["says"] for fault in json.loads((out / "proof.json").read_text(encoding="utf-8"))["faults"]]
    return tuple(findings), tuple(faults)


@pytest.fixture(scope="module")
def pool(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kept]:
    """Two processes that have done a sound book, so that no time limit counts their start."""
    from tests.faults.trees import sound

    folder = tmp_path_factory.mktemp("sound")
    kept = Kept(2)
    with pytest.MonkeyPatch.context() as monkeypatch:
        came = put_through(sound(folder / "book.pdf"), folder / "out", kept, monkeypatch)
    assert came.code == ExitCode.WELL and not came.faults, came
    yield kept
    kept.end()


def hold(
    name: str, make: Callable[[Path], Path], folder: Path, workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> Came:
    """Make the fault, put the file through, and hold what came of it against its row of the table."""
    row = rows("inside")[name]
    if row.get("endless"):
        monkeypatch.setattr(observe, "_LOT_S", _SOON_S)
        monkeypatch.setattr(observe, "_ALONE_S", _SOON_S)
    path = make(folder / "book.pdf")
    try:
        came = put_through(path, folder / "out", workers, monkeypatch)
    finally:
        path.unlink()
    if row.get("endless") and came.code in (ExitCode.WELL, ExitCode.STOPPED):
        # a quick machine may come to the end of what another gives up: then the book is whole, and proved
        assert frozenset(came.left) == LEFT["all outputs"] and not came.sentence, came
        assert came.peak_mb < MOST_MB and came.cpu_s < MOST_CPU_S, came
        return came
    assert came.code == row["code"], came
    assert frozenset(came.left) == LEFT[row["left"]], came.left
    assert bool(came.sentence) == (row["left"] == "nothing"), came.sentence
    if came.sentence:
        assert came.sentence.startswith(str(path)) or path.name in came.sentence, "the sentence says where"
        assert came.sentence.endswith(".") and "\n" not in came.sentence and len(came.sentence) < 400, came.sentence
    assert not row["says"] or came.tells(row["says"]), came
    if not row["says"]:
        assert not came.findings or all(one.startswith("note") for one in came.findings), came.findings
    assert came.peak_mb < MOST_MB, came.peak_mb
    assert came.cpu_s < MOST_CPU_S, came.cpu_s
    return came


def all_through(folder: str) -> None:
    """Every book of a folder, with all its reports; prints the name of each that came to an end."""
    kept = Kept(1)
    for path in sorted(Path(folder).glob("*.pdf"), key=lambda path: int(path.stem)):
        with pytest.MonkeyPatch.context() as monkeypatch:
            put_through(path, Path(folder) / f"{path.stem}-made", kept, monkeypatch)
        print(path.name, flush=True)
    kept.end()
