# SPDX-License-Identifier: AGPL-3.0-or-later
"""The command line: one module a command, no logic.

The modules import what they need where they use it: a question about a check or a slip on the command line is answered
without loading the libraries that read and render PDFs.
"""

from __future__ import annotations

import gc
import os
import sys
from pathlib import Path

from foldproof.cli.stopping import heard, listen, tell


def _is_text(word: str) -> bool:
    # Bytes of a name that are no UTF-8 come as lone surrogates, which neither a PDF library nor JSON takes.
    try:
        word.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _open_ends() -> None:
    """Where the three streams were closed by whoever started us, nothing else may take their numbers.

    Without a stderr every line that is meant for it would be printed on stdout.
    """
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if sys.stderr is None:
        sys.stderr = open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115 - for good


def main() -> None:
    """Entry point of the console script ``foldproof``."""
    # as in the workers (workers.collect_seldom, which is not imported here for its weight)
    gc.set_threshold(100_000, 20, 50)
    listen()
    _open_ends()
    for stream in (sys.stdout, sys.stderr):
        # Names of files may hold what the terminal's own letters cannot write.
        if stream is not None and hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        Path.cwd()
    except FileNotFoundError:
        print(
            "foldproof: the current folder has been removed; go to one that is there, then ask again.", file=sys.stderr
        )
        sys.exit(2)
    for word in sys.argv[1:]:
        if not _is_text(word):
            print(f'foldproof: "{word}" is not UTF-8; rename the file, then ask again.', file=sys.stderr)
            sys.exit(2)
    try:
        # Typer is imported here, not with the package: spawned workers import the package too.
        from foldproof.cli.app import app

        app()
    except (KeyboardInterrupt, ImportError, SystemExit) as end:
        # Commands tell of a stop themselves.  This is for one before any has begun, which is ours alone to tell, and
        # for one that falls between two of our steps, which Typer ends without a word.
        stopped = heard and (not isinstance(end, SystemExit) or end.code == 130)
        if not stopped:
            raise
        tell()
        sys.exit(130)
