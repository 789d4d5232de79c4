# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a batch remembers of the books it has made, so that it can go on where it was stopped.

A small file a book in ``OUT/.batch``, written whole when the book has ended.  What counts is content: the digest of
the manuscript and of all that was asked, and the digests of the outputs as they lie there now.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from pathlib import Path
from typing import Any

import attrs
from attrs import evolve, frozen

from foldproof.batch.keys import asked_for, key_of
from foldproof.batch.model import BookEnd, BookTask, BookTimes, Done
from foldproof.errors import ExitCode, FoldproofError
from foldproof.files import sha256_of, write_bytes

FOLDER = ".batch"
_SCHEMA = "foldproof/batch-record/1"

#: ends that say nothing of the book itself, or that a next try may change: such a book is always made again
_TRIED_AGAIN = (
    ExitCode.ASKED_WRONG, ExitCode.NOT_WRITTEN, ExitCode.OVER_LIMIT, ExitCode.OUR_FAULT, ExitCode.INTERRUPTED,
)  # fmt: skip


@frozen
class Records:
    """The records of one folder of outputs."""

    out: Path

    def begin(self) -> None:
        """Forget everything: a batch that is not to go on with an earlier one.

        Raises:
            OSError: the folder does not let go of it.
        """
        folder = self.out / FOLDER
        if folder.exists():
            shutil.rmtree(folder)

    def keep(self, done: Done) -> None:
        """Remember a book that has ended.

        Raises:
            NotWritten: the folder does not take the record.
        """
        if not done.key or ExitCode(done.end.code) in _TRIED_AGAIN:
            self._path(done.end.name).unlink(missing_ok=True)
            return
        record = {"schema": _SCHEMA, **attrs.asdict(done)}
        write_bytes(self._path(done.end.name), json.dumps(record, indent=1).encode("ascii") + b"\n")

    def done(self, task: BookTask) -> Done | None:
        """The book as it was made by an earlier run, if nothing has changed since: neither what goes in nor what came
        out."""
        try:
            known = _read(json.loads(self._path(task.name).read_text(encoding="ascii")))
        except (OSError, ValueError, KeyError, TypeError):
            return None
        if known.end.folder != task.folder:
            return None
        if known.end.code == ExitCode.UNREADABLE and task.wishes.password_file is not None:
            return None  # the password, which takes no part in the key, may be another
        try:
            if known.key != key_of(asked_for(task)):
                return None
            if any(sha256_of(task.out / name) != digest for name, digest in known.end.files):
                return None
        except (FoldproofError, OSError):
            return None
        return evolve(known, times=evolve(known.times, kept=True))

    def _path(self, name: str) -> Path:
        return self.out / FOLDER / f"{hashlib.sha256(name.encode('utf-8', 'surrogatepass')).hexdigest()[:32]}.json"


def _read(record: dict[str, Any]) -> Done:
    if record["schema"] != _SCHEMA:
        raise ValueError("a record of another version")
    end = record["end"]
    return Done(
        BookEnd(**{**end, "says": tuple(end["says"]), "files": tuple((name, digest) for name, digest in end["files"])}),
        BookTimes(**record["times"]),
        record["key"],
    )
