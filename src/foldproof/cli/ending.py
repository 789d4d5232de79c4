# SPDX-License-Identifier: AGPL-3.0-or-later
"""How every command ends: a sentence on stderr and a documented exit code, never a traceback."""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable
from typing import NoReturn, ParamSpec

import typer

from foldproof.cli.stopping import begun, heard, tell
from foldproof.errors import ExitCode, FoldproofError, NoPlan, NotWritten, OurFault, told
from foldproof.report.words import clean

P = ParamSpec("P")

#: set to anything, shows the traceback of a fault of ours
TRACE = "FOLDPROOF_TRACE"


def ends(body: Callable[P, ExitCode]) -> Callable[P, None]:
    """Turn a command's answer or error into its exit code."""

    @functools.wraps(body)
    def ended(*args: P.args, **kwargs: P.kwargs) -> None:
        begun.append(body.__name__)
        try:
            code = body(*args, **kwargs)
            if sys.stdout is not None:
                sys.stdout.flush()
        except KeyboardInterrupt:
            _stopped()
        except BrokenPipeError:
            # whoever read our output has gone; there is nobody to tell
            _deaf()
            raise typer.Exit(int(ExitCode.NOT_WRITTEN)) from None
        except typer.Exit:
            raise
        except Exception as fault:
            error = told(fault)
            if heard and isinstance(error, OurFault):
                _stopped()
            if isinstance(error, OurFault) and os.environ.get(TRACE):
                raise
            says(error)
            if isinstance(error, NotWritten) and isinstance(fault, OSError):
                _deaf()
            raise typer.Exit(int(error.exit_code)) from None
        raise typer.Exit(int(code))

    return ended


def _stopped() -> NoReturn:
    tell()
    raise typer.Exit(int(ExitCode.INTERRUPTED)) from None


def says(error: FoldproofError) -> None:
    """An error as its lines on stderr."""
    hint = f" Set {TRACE}=1 to see where, and tell us with the file." if isinstance(error, OurFault) else ""
    _tell(f"{error}{hint}")
    if isinstance(error, NoPlan):
        for line in error.would:
            _tell(f"  would fit: {line}", prefix="")


def _deaf() -> None:
    """Let go of a stdout that takes no more: Python would try it once more on its way out and end with 120."""
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _tell(line: str, prefix: str = "foldproof: ") -> None:
    # A sentence is one line and nothing but text: names of files may hold line ends, and commands to the terminal.
    print(prefix + clean(" ".join(line.splitlines())), file=sys.stderr)
