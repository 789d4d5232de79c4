# SPDX-License-Identifier: AGPL-3.0-or-later
"""Writing so that nothing is lost: every output is written beside its place and moved there whole."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import io
import os
import signal
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import Any, BinaryIO, cast

from foldproof.errors import InUse, NotWritten

try:
    import fcntl
except ImportError:  # not a POSIX system
    fcntl = None  # type: ignore[assignment]


#: how the names of files and folders begin on which outputs are made before they are moved into place
BENCH = ".foldproof-"


@contextlib.contextmanager
def locked(folder: Path, seconds: float = 0.0) -> Iterator[None]:
    """Keep a folder to this process; nothing is left of it, and the system lets go when the process dies.

    Args:
        seconds: how long to wait for another process that has it.

    A file system that knows no locks gives none.

    Raises:
        InUse: another process has it.
        OSError: the folder cannot be opened.
    """
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        until = time.monotonic() + seconds
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except OSError as refused:
                if refused.errno not in (errno.EWOULDBLOCK, errno.EACCES):
                    break
                if time.monotonic() >= until:
                    raise InUse(
                        f"Another run is writing into {folder}; wait for its end, or choose another folder with -o."
                    ) from None
                time.sleep(0.05)
        yield
    finally:
        os.close(handle)


def sha256_of(path: Path) -> str:
    """Hex digest of a file's bytes."""
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


@contextlib.contextmanager
def unbroken() -> Iterator[None]:
    """Puts Ctrl-C and other stops off until the block is done: for moving files and clearing up, never for work.

    A handler alone would not do: it runs between any two lines of the main thread, those of a ``finally`` too.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    late: list[int] = []

    def note(number: int, frame: FrameType | None) -> None:
        late.append(number)

    numbers = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in numbers}
    for number, handler in before.items():
        if callable(handler):
            signal.signal(number, note)
    try:
        yield
    finally:
        for number, handler in before.items():
            if callable(handler):
                signal.signal(number, handler)
        if late:
            signal.raise_signal(late[0])


def _shown(target: Path) -> Path:
    """The place where a file was to go in the end: not the hidden bench on which it is made."""
    return target.parent.parent / target.name if target.parent.name.startswith(BENCH) else target


@contextlib.contextmanager
def placed(target: Path) -> Iterator[Path]:
    """A path beside ``target`` to write to; moved onto it when the block ends well, removed when it does not.

    Raises:
        NotWritten: the folder does not take the file (read-only, full, gone).
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=BENCH, suffix=target.suffix, dir=target.parent)
        os.close(handle)
    except OSError as refused:
        raise NotWritten(
            f"Cannot write {_shown(target)}: {_reason(refused)}. Choose another folder with -o."
        ) from refused
    beside = Path(name)
    try:
        yield beside
        os.chmod(beside, 0o644)
        os.replace(beside, target)
    except OSError as refused:
        raise NotWritten(
            f"Cannot write {_shown(target)}: {_reason(refused)}. Choose another folder with -o."
        ) from refused
    finally:
        with unbroken(), contextlib.suppress(FileNotFoundError):
            beside.unlink()


class _Patient(io.RawIOBase):
    """Takes every byte, and keeps to itself until the end that the disk did not."""

    def __init__(self, inner: io.BufferedWriter) -> None:
        self.inner = inner
        self.refused: OSError | None = None

    def writable(self) -> bool:
        return True

    def write(self, data: Any, /) -> int:
        if self.refused is None:
            try:
                self.inner.write(data)
            except OSError as refused:
                self.refused = refused
        return memoryview(data).nbytes


@contextlib.contextmanager
def patient(path: Path) -> Iterator[BinaryIO]:
    """A stream to ``path`` for a library that must not meet an error while it writes.

    qpdf writes from destructors as well, where an error ends the whole process.  Here a full disk, and Ctrl-C, are told
    when the block has ended.

    Raises:
        OSError: the disk did not take all of it.
    """
    with unbroken(), path.open("wb") as inner:
        stream = _Patient(inner)
        yield cast(BinaryIO, stream)
        if stream.refused is not None:
            raise stream.refused


def write_bytes(target: Path, content: bytes) -> None:
    """Write a whole file or none.

    Raises:
        NotWritten: see :func:`placed`.
    """
    with placed(target) as beside:
        beside.write_bytes(content)


def write_text(target: Path, content: str) -> None:
    """As :func:`write_bytes`, UTF-8, line ends as given."""
    write_bytes(target, content.encode("utf-8"))


def _reason(refused: OSError) -> str:
    return (refused.strerror or str(refused)).lower()
