# SPDX-License-Identifier: AGPL-3.0-or-later
"""What tests share: where the outside material lies, and how to run the command line as a user does."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from foldproof.manuscript.model import Manuscript, Observations
from foldproof.workers import Workers
from tests.passes import once as of_once
from tests.passes.once import Once

ROOT = Path(__file__).parents[1]
#: outside material, never part of the project: tests that read it skip where it is absent
SHARED = Path(os.environ.get("FOLDPROOF_SHARED", ROOT.parent / "shared"))

sys.path.insert(0, str(Path(__file__).parent))

# Tests start hundreds of commands: where nothing may keep what it compiled, each would compile the whole project anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

#: the modules and folders that take longest, the longest first: a run that is spread begins with them, so that
#: none is begun last and keeps the whole run waiting.  A name that is not there any more does no harm.
LONGEST = (
    "cli/test_readme_gate.py", "faults/test_inside_matter.py", "cli/test_long_books.py", "cli/test_books.py",
    "fuzz/test_fuzz.py", "faults/test_inside_bombs.py", "matrix", "test_benches.py", "covers/test_faults.py",
    "tickets/test_finishing_pages.py", "tickets/test_plates.py", "quantities/test_ink.py",
    "cluster/test_books.py", "cluster/test_hands.py", "faults/test_outside.py", "faults/test_outside_stops.py",
    "batch/test_resume.py", "batch/test_limits.py",
    "batch/test_batch.py", "verdicts/test_verdicts.py", "preflight/test_standards.py",
    "cli/test_broken_files.py", "manuscript/test_independent.py", "cli/test_stops.py",
    "prove/test_books.py", "impose/test_content.py", "prove/test_proof.py", "makeup/test_fold_properties.py",
    "cli/test_start_up.py", "fixtures/test_demo.py", "browser/test_report_page.py", "cli/test_same_bytes.py",
    "planted/test_planted.py", "passes/test_ink_against_tiffsep.py", "workers/test_workers.py",
    "preflight/test_pages_files.py", "preflight/test_pictures.py", "passes/test_against_others.py",
    "manuscript/test_facts_independent.py", "browser/test_hostile_text.py", "browser/test_batch_index.py",
)  # fmt: skip


# A shell that runs the tests in the background lets them ignore Ctrl-C, nohup a closed terminal, and with them all that
# they start: some of it is to be stopped so.  (A process may not ask for it outside its first thread.)
for number, usual in ((signal.SIGINT, signal.default_int_handler), (signal.SIGHUP, signal.SIG_DFL)):
    if signal.getsignal(number) is signal.SIG_IGN:
        with contextlib.suppress(ValueError):
            signal.signal(number, usual)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Longest modules first where a run is spread; the tests of a module stay as they stand."""
    if "PYTEST_XDIST_WORKER" not in os.environ:
        return
    here = Path(__file__).parent
    place = {here / name: number for number, name in enumerate(LONGEST)}
    items.sort(key=lambda item: place.get(item.path, place.get(item.path.parent, len(LONGEST))))


def pytest_collection_finish(session: pytest.Session) -> None:
    """Leave what collecting made out of every later search for lost circles.

    Reading a file ends with such a search (``foldproof.pdf.memory``).  In a run of the command line it takes a few
    milliseconds; beside the thousands of tests that stand here for the whole run it would take a quarter of a second,
    at every file.
    """
    _set_aside()


def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> None:
    """Likewise what a module keeps once it is through: its cached books, the libraries that it imported."""
    if nextitem is not None and nextitem.path != item.path:
        _set_aside()


def _set_aside() -> None:
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def shared() -> Path:
    if not SHARED.is_dir():
        pytest.skip("no ../shared beside the project")
    return SHARED


@pytest.fixture(scope="session")
def corpus(shared: Path) -> Path:
    if not (shared / "corpus").is_dir():
        pytest.skip("no ../shared/corpus beside the project")
    return shared / "corpus"


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Once:
    """Results that all processes of this run of the tests share."""
    base = tmp_path_factory.getbasetemp()
    # each process of a run that is spread has a folder of its own in that of the run
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "once"
    folder.mkdir(exist_ok=True)
    return Once(folder)


@pytest.fixture(scope="session")
def looked_at(once: Once) -> Iterator[Callable[[Path], tuple[Manuscript, Observations]]]:
    """A book read and looked at whole, objects and inks; once in a run, however many modules ask."""
    with Workers(2) as workers:
        yield lambda path: of_once.looked_at(once, path, workers)


@pytest.fixture(scope="session")
def pdfimages_list(once: Once, tool: Callable[[str], str]) -> Callable[[Path], str]:
    """What ``pdfimages -list`` (poppler) prints of a file; on a long book that takes it ten seconds."""

    def listed(path: Path) -> str:
        command = [tool("pdfimages"), "-list", str(path)]

        def run() -> str:
            return subprocess.run(command, capture_output=True, text=True, check=True, timeout=300).stdout

        return once("pdfimages -list", path, run)

    return listed


@pytest.fixture(scope="session")
def tool() -> Callable[[str], str]:
    """Path of an independent tool; skips the test where the tool is not installed."""

    def find(name: str) -> str:
        found = shutil.which(name)
        if found is None:
            pytest.skip(f"{name} is not installed")
        return found

    return find


@pytest.fixture(scope="session")
def foldproof() -> Callable[..., subprocess.CompletedProcess[str]]:
    """The command line in a process of its own: ``foldproof("make", book, "-o", out)``."""

    def run(*words: object, seconds: float = 120, **more: object) -> subprocess.CompletedProcess[str]:
        env = {**os.environ, **dict(more.pop("env", {}))}  # type: ignore[call-overload]
        return subprocess.run(
            [sys.executable, "-m", "foldproof", *map(str, words)],
            capture_output=True, text=True, timeout=seconds, stdin=subprocess.DEVNULL, env=env, check=False, **more,  # type: ignore[call-overload]
        )  # fmt: skip

    return run
