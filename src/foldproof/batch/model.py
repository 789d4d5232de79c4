# SPDX-License-Identifier: AGPL-3.0-or-later
"""The nouns of a batch: a book to be made, how it ended, what it took, and what a watcher hears meanwhile."""

from __future__ import annotations

from pathlib import Path

from attrs import field, frozen

from foldproof.errors import WORST_LAST, ExitCode

#: codes with which ``make`` leaves its outputs
REPORTED = (ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.NOT_PROVED)


@frozen
class Limits:
    """What one book may take."""

    seconds: float = 1800.0  #: by the clock
    memory_mb: int = 4096  #: resident, all of its processes together; in millions of bytes
    output_mb: int = 4096  #: all of its outputs together; in millions of bytes


@frozen
class Wishes:
    """What is asked for every book of a batch besides its own job; as the options of ``make``."""

    house: Path | None = None
    spec: str | None = None
    password_file: Path | None = field(default=None, repr=False)
    only_warn: bool = False
    split_sheets: bool = False
    epoch: str = ""  #: SOURCE_DATE_EPOCH, whose day is printed on the sheets; ``""``: the book's own date


@frozen
class BookTask:
    """One book of a batch; can be sent to another process or machine."""

    name: str  #: path from the folder of the batch, with ``/`` between its parts
    manuscript: Path
    folder: str  #: path of its outputs from OUT, with ``/`` between its parts
    out: Path
    job: Path | None = None
    wishes: Wishes = Wishes()
    limits: Limits = Limits()
    workers: int = 1  #: processes that read and compare its pages; does not change what is written
    #: ``Asked``, pickled, where the files that it comes from cannot be read again; kept out of every log, for it may
    #: hold a password
    asked: bytes | None = field(default=None, repr=False)
    #: address of a Dask scheduler whose workers help with a book of more than ``split_pages``; changes nothing either
    cluster: str | None = None
    split_pages: int = 0


@frozen
class BookEnd:
    """How one book ended.  The same book gives the same end: no clock, no path but those from the folder and OUT."""

    name: str
    folder: str
    code: int  #: an :class:`~foldproof.errors.ExitCode`
    says: tuple[str, ...]  #: the lines that ``make`` prints, or the sentence that it ended with
    pages: int | None = None
    stops: int | None = None  #: findings by severity; ``None``: the book was not checked
    queries: int | None = None
    notes: int | None = None
    sheets: int | None = None  #: press sheets; ``None``: no plan
    verdict: str | None = None  #: of the proof; ``None``: nothing was proved
    files: tuple[tuple[str, str], ...] = ()  #: what lies in its folder, with the SHA-256 of each


@frozen
class BookTimes:
    """What one book took.  Differs from run to run, and so stands in ``times.json`` alone."""

    name: str
    seconds: float = 0.0  #: by the clock
    cpu_seconds: float = 0.0  #: all of its processes together
    peak_mb: float = 0.0  #: resident, all of its processes together, in millions of bytes; looked at ten times a second
    tries: int = 1  #: how often it was begun: a process that the system kills is begun again
    kept: bool = False  #: done by an earlier run and kept as it was


@frozen
class Done:
    """The end of a book, with what it took and what it was made from."""

    end: BookEnd
    times: BookTimes
    key: str = ""  #: digest of everything that decides the outputs; ``""``: not known, so never taken for done


# --- what a watcher hears -------------------------------------------------------------------------------------------


@frozen
class Begun:
    """A book was taken up at a place of the pool."""

    slot: int
    task: BookTask


@frozen
class Stage:
    """The book at a place came to a stage; ``total`` steps, 0 when unknown."""

    slot: int
    name: str
    total: int


@frozen
class Steps:
    """So many steps of the stage are done since the last word."""

    slot: int
    steps: int


@frozen
class Ended:
    """The book at a place has ended; ``slot`` is -1 for one that was not begun in this run."""

    slot: int
    done: Done


@frozen
class Idle:
    """Nothing is at work, and more may come."""


Event = Begun | Stage | Steps | Ended | Idle


def worst(ends: list[BookEnd]) -> ExitCode:
    """The worst code of a batch; ``WELL`` of none."""
    ranks = {int(code): rank for rank, code in enumerate(WORST_LAST)}
    code = max((end.code for end in ends), key=lambda code: ranks.get(code, len(ranks)), default=0)
    return ExitCode(code) if code in ranks else ExitCode.OUR_FAULT
