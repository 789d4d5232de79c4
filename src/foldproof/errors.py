# SPDX-License-Identifier: AGPL-3.0-or-later
"""What can go wrong, as types, with the exit code each one ends in.

    FoldproofError
    ├── AskedWrong        2   the command line, job, house or spec is wrong
    ├── Unreadable        3   the manuscript cannot be read
    │   └── NeedsPassword 3   it is locked by a password
    ├── NoPlan            4   nothing the house has fits; says by how much and what would
    ├── NotWritten        6   outputs could not be written
    │   └── InUse         6   another run is writing there
    ├── OverLimit         7   more time, memory or room asked for than was allowed
    └── OurFault         70   a fault of ours

The message is one sentence or two: what is wrong, where, what to do.  Exit codes are a stable interface; the wording
is not.
"""

from __future__ import annotations

import errno
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
    OVER_LIMIT = 7  #: given up: over a limit of time, memory or size of outputs
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


class InUse(NotWritten):
    """Another run is writing into the same folder."""


class OverLimit(FoldproofError):
    """A book wanted more time, memory or room on disk than it was allowed, or than the system has."""

    exit_code = ExitCode.OVER_LIMIT


class OurFault(FoldproofError):
    """A fault of ours, caught at the edge."""


#: how bad a code is, the worst last; several books end with the worst of theirs
WORST_LAST = (
    ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.UNREADABLE, ExitCode.ASKED_WRONG, ExitCode.OVER_LIMIT,
    ExitCode.NOT_PROVED, ExitCode.NOT_WRITTEN, ExitCode.OUR_FAULT, ExitCode.INTERRUPTED,
)  # fmt: skip

#: what the system answers when it has no more of something to give
_SCARCE = {errno.EMFILE, errno.ENFILE, errno.ENOMEM, errno.EAGAIN}
#: what the system answers when a disk is full, read-only or failing: no fault of ours, whatever was being written
_DISK = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO}


def told(error: Exception) -> FoldproofError:
    """Any exception as one that a user is meant to read: itself, or the sentence and code that it stands for."""
    if isinstance(error, FoldproofError):
        return error
    if isinstance(error, MemoryError):
        return OverLimit("There was not enough memory to go on; give it more, or close what else runs.")
    if isinstance(error, OSError) and error.errno in _SCARCE:
        reason = (error.strerror or str(error)).lower()
        return OverLimit(
            f"The system would not give what a run needs: {reason}. Raise its limit, or end other programs."
        )
    if isinstance(error, OSError) and error.errno in _DISK:
        return NotWritten(f"Cannot write the outputs: {(error.strerror or str(error)).lower()}.")
    return OurFault(f"a fault of ours: {type(error).__name__}: {error}.")
