# SPDX-License-Identifier: AGPL-3.0-or-later
"""What must be the same on both ends for the results to be the same."""

from __future__ import annotations

import functools
import hashlib
from importlib import metadata
from pathlib import Path

#: the program, and the libraries whose version shows in a result
MUST_AGREE = ("foldproof", "pikepdf", "PyMuPDF", "pypdf", "pillow", "typst", "numpy")

#: what is compared besides: between two releases the version stays and the program does not
SOURCE = "foldproof from source"


@functools.cache
def versions() -> tuple[tuple[str, str], ...]:
    """Name and version of each, as installed here; of the program the digest of its modules too."""
    return (*((name, metadata.version(name)) for name in MUST_AGREE), (SOURCE, _source()))


def _source() -> str:
    folder = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for module in sorted(folder.rglob("*.py")):
        digest.update(module.relative_to(folder).as_posix().encode() + b"\0" + module.read_bytes() + b"\0")
    return digest.hexdigest()[:12]


def told_apart(worker: str, theirs: tuple[tuple[str, str], ...]) -> str:
    """A sentence that names the first version that differs on both ends."""
    there = dict(theirs)
    for name, here in versions():
        if there.get(name) != here:
            has = f"{name} {there[name]}" if there.get(name) else f"no {name}"
            return f"The worker at {worker} has {has} and this machine {name} {here}; install the same on both."
    return f"The worker at {worker} has other versions than this machine; install the same on both."
