# SPDX-License-Identifier: AGPL-3.0-or-later
"""Jobs packed so that the files they name may lie elsewhere on the machine that does them.

A job is pickled with every path of a file that is there taken out and a number put in its place; the numbers stand for
digests.  Whoever unpacks it puts in the paths where the same bytes lie.
"""

from __future__ import annotations

import contextlib
import io
import os
import pickle
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from attrs import field, frozen

from foldproof.files import sha256_of
from foldproof.workers import Lost, run_named


@frozen
class FileRef:
    """A file by its content."""

    sha256: str
    size: int
    path: str  #: where it lies for the one who packed it; a worker that shares the folder finds it there too


@frozen
class Parcel:
    """One job for a station."""

    key: str  #: under which the scheduler knows the task
    holder: str  #: the sender's name at the stations
    function: str  #: as ``workers.name_of`` tells
    #: kept out of every log: a job may hold a password
    job: bytes = field(repr=False)
    files: tuple[FileRef, ...]
    seconds: float
    versions: tuple[tuple[str, str], ...]
    mark: int = 0  #: how far the sender had got with carrying files when it was sent


@frozen
class Errand:
    """A parcel as the process that does it gets it: with the places of its files."""

    function: str
    job: bytes = field(repr=False)
    places: tuple[str, ...]


@frozen
class Done:
    """The job came to an end of its own; ``answer`` is for ``workers.value_of``."""

    answer: bytes = field(repr=False)


@frozen
class Missing:
    """A station does not have these files and does not see them where they are said to lie."""

    worker: str  #: address
    files: tuple[FileRef, ...]
    mark: int  #: of the parcel


@frozen
class Unlike:
    """A station has other versions than the parcel asks for."""

    worker: str
    versions: tuple[tuple[str, str], ...]


@frozen
class Unable:
    """A station cannot do anything at all: a sentence."""

    says: str


Answer = Done | Lost | Missing | Unlike | Unable


class Luggage:
    """Digests of files, each reckoned once as long as the file stays as it is."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[tuple[int, ...], FileRef]] = {}

    def ref(self, path: Path) -> FileRef:
        """The file by its content.

        Raises:
            OSError: it cannot be read.
        """
        absolute = str(path.absolute())
        now = seal(path.stat())
        known = self._known.get(absolute)
        if known is None or known[0] != now:
            known = (now, FileRef(sha256_of(path), now[0], absolute))
            self._known[absolute] = known
        return known[1]


def seal(stat: os.stat_result) -> tuple[int, ...]:
    """What of a file's entry changes when the file does; its size first."""
    return stat.st_size, stat.st_mtime_ns, stat.st_ino, stat.st_dev


def packed(job: object, luggage: Luggage) -> tuple[bytes, tuple[FileRef, ...]]:
    """A job without its files, and the files; one that cannot be read stays a path, and whoever opens it says why."""
    stream = io.BytesIO()
    packer = _Packer(stream, luggage)
    packer.dump(job)
    return stream.getvalue(), tuple(packer.files)


def carry_out(errand: Errand) -> bytes:
    """What a worker process does with an errand: unpack the job, run the function; nothing is raised."""
    return run_named(errand.function, lambda: unpacked(errand.job, errand.places))


def unpacked(job: bytes, places: Sequence[str]) -> Any:
    """The job with the files where they lie here."""
    return _Unpacker(io.BytesIO(job), places).load()


class _Packer(pickle.Pickler):
    def __init__(self, stream: io.BytesIO, luggage: Luggage) -> None:
        super().__init__(stream, protocol=pickle.HIGHEST_PROTOCOL)
        self.files: list[FileRef] = []
        self._luggage = luggage
        self._numbers: dict[Path, int | None] = {}

    def persistent_id(self, obj: object) -> int | None:
        if not isinstance(obj, Path):
            return None
        if obj not in self._numbers:
            self._numbers[obj] = None
            with contextlib.suppress(OSError):
                if obj.is_file():
                    self.files.append(self._luggage.ref(obj))
                    self._numbers[obj] = len(self.files) - 1
        return self._numbers[obj]


class _Unpacker(pickle.Unpickler):
    def __init__(self, stream: io.BytesIO, places: Sequence[str]) -> None:
        super().__init__(stream)
        self._places = places

    def persistent_load(self, number: int) -> Path:
        return Path(self._places[number])
