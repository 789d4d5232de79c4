# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a run is asked for and who watches it: the two things that every stage of the pipeline is handed."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Protocol

from attrs import field, frozen

from foldproof.errors import AskedWrong, InUse, NotWritten, OverLimit
from foldproof.files import BENCH, locked, unbroken
from foldproof.job.model import House, Job
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.preflight.known import Earlier
from foldproof.preflight.specs import Spec
from foldproof.preflight.words import counted
from foldproof.report.model import Settings
from foldproof.xjdf.read import told_by

#: the stages in their order, the same words in the log, in ``--help`` and in the report
STAGES = ("read", "check", "mend", "make up", "impose", "prove", "print")

#: names of the files that a run may leave in its folder
SHEETS = "sheets.pdf"
UNPROVED_SHEETS = "sheets-NOT-PROVED.pdf"
DUMMY = "dummy.pdf"
LATE, LATE_TOLD = "late.pdf", "late.json"
TICKETS, JOB_TICKET, INK_ZONES = "tickets.pdf", "job.xjdf", "ink-zones.xjdf"
CASE, DIE, COVER_DRAWING, JACKET_DRAWING = "case.pdf", "die.pdf", "cover.pdf", "jacket.pdf"
OUTPUTS = (
    SHEETS, UNPROVED_SHEETS, "mended.pdf", "plan.json", "findings.json", "proof.json", "report.html", "report.pdf",
    "letter.txt", TICKETS, DUMMY, LATE, LATE_TOLD, "junit.xml", "findings.sarif", JOB_TICKET, INK_ZONES, CASE, DIE,
    COVER_DRAWING, JACKET_DRAWING,
)  # fmt: skip

#: folders of single sheets and of single tickets, and what lies in them; other files there are not ours to clear away
SPLIT, BENCH_TICKETS = "sheets", "tickets"
_LIES_IN = {SPLIT: re.compile(r"sheet-\d{3,}\.pdf"), BENCH_TICKETS: re.compile(r"\d\d-[a-z-]+\.pdf")}
_GOES_WITH = {SPLIT: SHEETS, BENCH_TICKETS: TICKETS}

#: all that may be left there, the folders of single files among it
MAY_BE_LEFT = frozenset({*OUTPUTS, *_LIES_IN})

#: those of them that read and check alone can fill
REPORTS = ("findings.json", "report.html", "report.pdf", "letter.txt", "junit.xml", "findings.sarif")


@frozen
class Asked:
    """One manuscript and everything that was asked of it."""

    manuscript: Path
    out: Path
    job: Job
    house: House
    spec: Spec
    workers: int = 2
    #: address of a Dask scheduler whose workers read and compare the pages of a book of more than ``split_pages``
    cluster: str | None = None
    split_pages: int = 0
    password: str | None = field(default=None, repr=False)
    #: findings of severity ``stop`` do not change the exit code; recorded in the report
    only_warn: bool = False
    #: what an earlier run found: only what is new since then stops the book; recorded in the report
    baseline: Earlier | None = None
    #: plan.json of an earlier version of the manuscript, whose make-up is kept
    late: Path | None = None
    #: one PDF a sheet, beside ``sheets.pdf``
    split_sheets: bool = False
    #: file name of the job, ``""`` when everything was assumed
    job_name: str = ""
    #: a house file was given; the shipped house is assumed otherwise
    house_given: bool = False
    #: bytes that the outputs may take together; ``None``: as many as the disk holds
    most_bytes: int | None = None
    #: date printed on the sheets, ``YYYY-MM-DD``; empty: none is known
    date: str = ""


#: general libraries that take part in a run, in the order in which the report lists them
_LIBRARIES = ("pikepdf", "PyMuPDF", "pypdf", "pillow", "typst")


def settings_of(asked: Asked) -> Settings:
    """What the report says of how it was made: names, versions and overrides; no clock, no path."""
    overrides = []
    if asked.only_warn:
        overrides.append("Findings of severity stop were only warned about, as --only-warn asks.")
    if asked.baseline is not None:
        overrides.append(_held_against(asked.baseline, asked.spec))
    return Settings(
        version=metadata.version("foldproof"),
        job=asked.job_name or None,
        house=asked.house.name,
        house_given=asked.house_given,
        libraries=versions(),
        overrides=tuple(overrides),
        title=asked.job.book.title or "",
        author=asked.job.book.author or "",
    )


@cache
def versions() -> tuple[tuple[str, str], ...]:
    """Name and version of the libraries that take part."""
    return tuple((name, metadata.version(name)) for name in _LIBRARIES)


def _held_against(baseline: Earlier, spec: Spec) -> str:
    otherwise = "" if baseline.spec == spec.name else f' by the spec "{baseline.spec}"'
    return (
        f"Only what is new since {baseline.file} stops the book, as --baseline asks; that file was written of "
        f"{baseline.manuscript}{otherwise}, {counted(baseline.pages, 'page')}."
    )


def instructions_in(plan: Path) -> FoldingInstructions:
    """The folding instructions of a written ``plan.json``, or of a job ticket (``.xjdf``); nothing else is looked at.

    Raises:
        AskedWrong: the file is missing, no JSON or XJDF, or holds no instructions that can be read.
    """
    if plan.suffix.lower() == ".xjdf":
        return told_by(plan)
    try:
        data = json.loads(plan.read_text(encoding="utf-8"))
        return FoldingInstructions.from_json(data["instructions"])
    except OSError as refused:
        raise AskedWrong(f"The plan {plan} cannot be read: {(refused.strerror or str(refused)).lower()}.") from refused
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as odd:
        raise AskedWrong(f"{plan} is no JSON ({odd}); give the plan.json that was written with the sheets.") from odd
    except (KeyError, TypeError):
        raise AskedWrong(
            f'{plan} has no "instructions"; give the plan.json that was written with the sheets.'
        ) from None
    except ValueError as odd:
        raise AskedWrong(f"{plan}: {odd}.") from odd


class Watch(Protocol):
    """Somebody who watches a run: a progress display, plain lines, or nobody."""

    def stage(self, name: str, total: int) -> None:
        """A stage begins that has ``total`` steps (0: unknown)."""

    def advance(self, steps: int) -> None:
        """So many steps of the stage are done."""

    def say(self, line: str) -> None:
        """Something worth a line."""


class Nobody:
    """A watch that does not look."""

    def stage(self, name: str, total: int) -> None: ...

    def advance(self, steps: int) -> None: ...

    def say(self, line: str) -> None: ...


@contextlib.contextmanager
def bench(out: Path, manuscript: Path) -> Iterator[Path]:
    """A folder beside the outputs in which they are made; gone afterwards, whatever happens.

    The outputs' folder is locked meanwhile, and benches that a killed run left in it are cleared away.

    Raises:
        AskedWrong: an output would fall on the manuscript.
        InUse: another run is writing into the folder.
        NotWritten: the output folder cannot be made or written to.
    """
    whole = _whole(manuscript)
    if any(_whole(out / name) == whole for name in OUTPUTS):
        raise AskedWrong(f"{manuscript} would be overwritten by an output of the same name; choose another folder.")
    if _whole(out / SPLIT) in whole.parents:
        raise AskedWrong(f"{manuscript} lies where single sheets are written; choose another folder.")
    missing = [folder for folder in (out, *out.parents) if not folder.exists()]
    folder: Path | None = None
    with contextlib.ExitStack() as stack:
        try:
            try:
                with unbroken():
                    out.mkdir(parents=True, exist_ok=True)
                    stack.enter_context(locked(out))
                    for left in out.glob(f"{BENCH}*"):
                        # files of that name may belong to somebody who writes without a bench
                        if left.is_dir() and not left.is_symlink():
                            shutil.rmtree(left, ignore_errors=True)
                    folder = Path(tempfile.mkdtemp(prefix=BENCH, dir=out))
            except OSError as refused:
                raise _refused(f"to {out}", refused) from refused
            yield folder
        finally:
            with unbroken():
                if folder is not None:
                    shutil.rmtree(folder, ignore_errors=True)
                # A run that ends before anything is made leaves no empty folders of its making.
                with contextlib.suppress(OSError):
                    for made in missing:
                        made.rmdir()


def _whole(path: Path) -> Path:
    # Path.resolve takes a link to itself amiss; whoever opens it will say so
    return Path(os.path.realpath(path))


def withdraw(out: Path, seconds: float = 5.0) -> None:
    """Clear away what an earlier run, or a killed one, left in a folder of outputs; nothing else in it is touched.

    A folder that will not have it (gone, read-only, another run's for longer than ``seconds``) is left as it is.
    """
    with contextlib.suppress(OSError, InUse), unbroken(), locked(out, seconds):
        for left in out.glob(f"{BENCH}*"):
            shutil.rmtree(left, ignore_errors=True)
        _clear(out, OUTPUTS, ())
        out.rmdir()


def publish(folder: Path, out: Path, clears: Sequence[str] = OUTPUTS, most_bytes: int | None = None) -> tuple[str, ...]:
    """Move what was made into its place, and clear away what an earlier run left under names not made this time.

    ``clears``: the names that may be cleared away; folders of single sheets and tickets go with theirs.

    A stale ``sheets.pdf`` beside the report of a run that failed would be taken to the press.

    Raises:
        NotWritten: a file could not be moved.
        OverLimit: the files take more than ``most_bytes``; none is moved.
    """
    made = sorted(path.name for path in folder.iterdir())
    if most_bytes is not None:
        taken = sum(path.stat().st_size for path in folder.rglob("*"))
        if taken > most_bytes:
            raise OverLimit(
                f"The outputs take {taken / 1e6:.1f} MB, more than the {most_bytes / 1e6:.1f} MB allowed; allow more."
            )
    try:
        with unbroken():
            _clear(out, clears, made)
            for name in made:
                (folder / name).replace(out / name)
    except OSError as refused:
        raise _refused(str(out), refused) from refused
    return tuple(made)


def files_of(out: Path, made: Sequence[str]) -> list[str]:
    """The files among what was published, those in folders with ``/``."""
    found = []
    for name in made:
        path = out / name
        found += sorted(f"{name}/{inner.name}" for inner in path.iterdir()) if path.is_dir() else [name]
    return found


def _clear(out: Path, clears: Sequence[str], made: Sequence[str]) -> None:
    for name, ours in _LIES_IN.items():
        split = out / name
        if split.is_dir() and any(not ours.fullmatch(left.name) for left in split.iterdir()):
            if name in made:
                raise NotWritten(f"Cannot write {split}: it holds other files. Choose another folder with -o.")
        elif split.is_dir() and _GOES_WITH[name] in clears:
            shutil.rmtree(split)
    for name in clears:
        if name not in made:
            (out / name).unlink(missing_ok=True)


def _refused(what: str, refused: OSError) -> NotWritten:
    reason = (refused.strerror or str(refused)).lower()
    return NotWritten(f"Cannot write {what}: {reason}. Choose another folder with -o.")
