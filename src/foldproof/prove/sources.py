# SPDX-License-Identifier: AGPL-3.0-or-later
"""The manuscript and the sheets, read for the proof in worker processes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from attrs import frozen

from foldproof.errors import Unreadable
from foldproof.pdf.proof_read import PageRead, PagesJob, SideRead, SidesJob
from foldproof.pdf.proof_render import CountJob, count_drawn
from foldproof.workers import Lost, Workers

T = TypeVar("T")
R = TypeVar("R")

#: pages read in one job: a process that reads any has to read the whole cross-reference first
_RUN = 3000
#: sides read in one job
_SIDES = 400
#: seconds that reading a run may take: a hundred times what it does take
_READING_S = 60.0


@frozen
class Source:
    """The manuscript as the proof's readers take it."""

    path: Path
    password: str | None
    pages: int
    note: str | None
    #: the first run of its pages, read where they were counted
    first: tuple[PageRead, ...]


def as_it_is(manuscript: Path, password: str | None, workers: Workers) -> Source | None:
    """The manuscript, where pypdf and MuPDF both read it and find the same number of pages."""
    try:
        counted, drawn, first = _first(manuscript, password, workers)
    except Unreadable:
        return None
    return Source(manuscript, password, counted, None, first) if counted == drawn else None


def mended_source(manuscript: Path, target: Path, password: str | None, workers: Workers) -> Source:
    """An unlocked copy with its structure put right."""
    from foldproof.pdf.proof_mending import mended_copy

    mended_copy(manuscript, target, password)
    try:
        counted, drawn, first = _first(target, None, workers)
    except Unreadable as odd:
        # the copy bears a name that nobody knows
        raise type(odd)(str(odd).replace(target.name, manuscript.name)) from None
    if counted != drawn:
        raise Unreadable(
            f"The two readers of the proof find {counted} and {drawn} pages in {manuscript.name}. "
            "Have it written anew by the program that made it."
        )
    note = f"{manuscript.name} is locked or damaged, so the proof read an unlocked copy with its structure put right."
    return Source(target, None, counted, note, first)


def _first(path: Path, password: str | None, workers: Workers) -> tuple[int, int, tuple[PageRead, ...]]:
    (both,) = _run(workers, count_and_read, [PagesJob(path, 0, _RUN, password)], path)
    return both


def pages_of(source: Source, workers: Workers) -> tuple[PageRead, ...]:
    runs = [PagesJob(source.path, i, i + _RUN, source.password) for i in range(_RUN, source.pages, _RUN)]
    return source.first + tuple(page for run in _run(workers, read, runs, source.path) for page in run)


def sides_of(sheets: Path, known: frozenset[bytes], workers: Workers) -> tuple[SideRead, ...]:
    (sides,) = _run(workers, count, [PagesJob(sheets, 0, 0)], sheets)
    runs = [SidesJob(sheets, i, i + _SIDES, known) for i in range(0, sides, _SIDES)]
    return tuple(side for run in _run(workers, read_sheets, runs, sheets) for side in run)


def _run(workers: Workers, function: Callable[[T], R], jobs: Sequence[T], path: Path) -> list[R]:
    """All results in order.

    Raises:
        Unreadable: a worker went down.
    """
    out: dict[int, R] = {}
    for index, result in workers.map(function, jobs, seconds=_READING_S):
        if isinstance(result, Lost):
            raise Unreadable(f"{path.name} cannot be read for the proof: {result.reason}.")
        out[index] = result
    return [out[index] for index in range(len(jobs))]


# --- jobs; they run in a worker, which alone loads the library that reads ---


def count_and_read(job: PagesJob) -> tuple[int, int, tuple[PageRead, ...]]:
    """How many pages pypdf finds and how many MuPDF, and a run of pages where they agree.

    One job of a worker: a process that counts has read the whole cross-reference, and another would read it again.

    Raises:
        NeedsPassword, Unreadable: one of the two cannot read the file.
    """
    counted, drawn = count(job), count_drawn(CountJob(job.path, job.password))
    return counted, drawn, read(job) if counted == drawn else ()


def count(job: PagesJob) -> int:
    """See :func:`foldproof.pdf.proof_pages.count_pages`."""
    from foldproof.pdf.proof_pages import count_pages

    return count_pages(job)


def read(job: PagesJob) -> tuple[PageRead, ...]:
    """See :func:`foldproof.pdf.proof_pages.read_pages`."""
    from foldproof.pdf.proof_pages import read_pages

    return read_pages(job)


def read_sheets(job: SidesJob) -> tuple[SideRead, ...]:
    """See :func:`foldproof.pdf.proof_sheets.read_sides`."""
    from foldproof.pdf.proof_sheets import read_sides

    return read_sides(job)
