# SPDX-License-Identifier: AGPL-3.0-or-later
"""What several modules want of the same file, made once in a run of the tests, whichever of its processes asks first.

Kept under the temporary folder of the run, which no other run sees: nothing is ever taken from an earlier one.
"""

from __future__ import annotations

import fcntl
import gc
import hashlib
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from attrs import frozen

from foldproof.manuscript.model import Manuscript, Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.workers import Workers

T = TypeVar("T")
#: what both passes are asked for when a book is looked at once for all
BLEED_MM, NEEDS = 3.0, frozenset({"structure", "objects", "ink"})


@frozen
class Once:
    """Kept results by what was made and of which bytes."""

    folder: Path

    def __call__(self, what: str, path: Path, make: Callable[[], T]) -> T:
        """The result of ``make``, kept as ``what`` of the file at ``path``: of these bytes under this very name.

        Others who want the same wait until it is there.  A ``make`` that fails leaves nothing: the next tries again.
        """
        name = hashlib.sha256(f"{what}\0{path.resolve()}\0{_digest(path)}".encode()).hexdigest()
        kept = self.folder / f"{name}.pickle"
        with (self.folder / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not kept.exists():
                made, half = make(), kept.with_suffix(".half")
                half.write_bytes(pickle.dumps(made, pickle.HIGHEST_PROTOCOL))
                half.rename(kept)
                return made
        gc.disable()  # what is loaded here lives on: looking through it while it grows takes longer than the loading
        try:
            found: T = pickle.loads(kept.read_bytes())
        finally:
            gc.enable()
        return found


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def looked_at(once: Once, path: Path, workers: Workers) -> tuple[Manuscript, Observations]:
    """A book as ``foldproof check BOOK.pdf`` sees it: its structure, and both passes over all of its pages."""

    def look() -> tuple[Manuscript, Observations]:
        manuscript = read(path)
        trim_mm = book_trim_mm(manuscript, None)
        return manuscript, observe(
            manuscript, workers, trim_mm=trim_mm, bleed_mm=BLEED_MM, needs=NEEDS, advance=lambda _: None
        )

    return once("looked at", path, look)
