# SPDX-License-Identifier: AGPL-3.0-or-later
"""What can go wrong, as types, with the exit code each one ends in.

    FoldproofError
    ├── AskedWrong        2   the command line, job, house or spec is wrong
    ├── Unreadable        3   the manuscript cannot be read
    │   └── NeedsPassword 3   it is locked by a password
    ├── NoPlan            4   nothing the house has fits; says by how much and what would
    ├── NotWritten        6   outputs could not be written
    └── OurFault         70   a fault of ours

The message is one sentence or two: what is wrong, where, what to do.  Exit codes are a stable interface; the wording
is not.
"""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """How a command ends.  Other people's scripts rest on these numbers."""

    WELL = 0  #: all well (notes and queries allowed)
    STOPPED = 1  #: a finding of severity ``stop``
    ASKED_WRONG = 2  #: the command line, job, house or spec is wrong
    UNREADABLE = 3  #: the manuscript cannot be read
    NO_PLAN = 4  #: no plan fits
    NOT_PROVED = 5  #: the sheets would not fold into the book
    NOT_WRITTEN = 6  #: outputs could not be written
    OUR_FAULT = 70  #: a fault of ours
    INTERRUPTED = 130  #: Ctrl-C (128 + SIGINT, the shell's own custom)


class FoldproofError(Exception):
    """Root of every error that a user is meant to read."""

    exit_code = ExitCode.OUR_FAULT


class AskedWrong(FoldproofError):
    """The command line, job, house or spec is wrong."""

    exit_code = ExitCode.ASKED_WRONG


class Unreadable(FoldproofError):
    """The manuscript cannot be read."""

    exit_code = ExitCode.UNREADABLE


class NeedsPassword(Unreadable):
    """The manuscript is locked by a password that was not given or is wrong."""


class NoPlan(FoldproofError):
    """Nothing that the house has fits; ``would`` lists what would."""

    exit_code = ExitCode.NO_PLAN

    def __init__(self, message: str, would: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.would = would


class NotWritten(FoldproofError):
    """Outputs could not be written."""

    exit_code = ExitCode.NOT_WRITTEN


class OurFault(FoldproofError):
    """A fault of ours, caught at the edge."""
