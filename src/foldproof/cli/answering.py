# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stdout carries: the format that was asked for, whole, and nothing else; of a run that failed, why it did."""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from foldproof.errors import FoldproofError, told

#: what an answer may be, for programs; people read the sentence on stderr
_FOR_PROGRAMS = ("json", "junit", "sarif")


@contextlib.contextmanager
def answering(form: str, name: str, file: Path | None = None) -> Iterator[None]:
    """The work of a command, whose answer is printed after it.

    Meanwhile whatever is written to stdout, by a library in C or by a process that was started, goes to stderr.  An
    error that ends the work is told in the format that was asked for, on stdout or in ``file``, and goes on.

    Args:
        name: of the file that the work is about, without a folder.
    """
    try:
        with _stdout_kept_clean():
            yield
    except Exception as fault:
        if form in _FOR_PROGRAMS:
            from foldproof.report.failed import failed_in_format

            answer(failed_in_format(form, name, told(fault)), file, in_vain=True)
        raise


def answer(text: str, file: Path | None = None, *, in_vain: bool = False) -> None:
    """Print an answer, or write it to a file.

    Args:
        in_vain: an error is being told already: that the file does not take it is not told as well.

    Raises:
        NotWritten: the file does not take it.
    """
    if file is None:
        print(text)
        return
    from foldproof.files import write_text

    with contextlib.suppress(*([FoldproofError] if in_vain else [])):
        write_text(file, text + "\n")


@contextlib.contextmanager
def _stdout_kept_clean() -> Iterator[None]:
    if sys.stdout is None:
        yield
        return
    sys.stdout.flush()
    try:
        stdout = os.dup(1)
    except OSError:  # closed by whoever started us
        yield
        return
    try:
        os.dup2(_elsewhere(), 1)
        yield
    finally:
        # what Python or a library in C still holds back belongs to the time before, too
        with contextlib.suppress(OSError, ValueError):
            sys.stdout.flush()
        ctypes.CDLL(None).fflush(None)
        os.dup2(stdout, 1)
        os.close(stdout)


def _elsewhere() -> int:
    try:
        os.fstat(2)
    except OSError:
        return os.open(os.devnull, os.O_WRONLY)
    return 2
