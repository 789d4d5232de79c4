# SPDX-License-Identifier: AGPL-3.0-or-later
"""What must be the same on both ends for the results to be the same."""

from __future__ import annotations

import functools
from importlib import metadata

#: the program, and the libraries whose version shows in a result
MUST_AGREE = ("foldproof", "pikepdf", "PyMuPDF", "pypdf", "pillow", "typst", "numpy")


@functools.cache
def versions() -> tuple[tuple[str, str], ...]:
    """Name and version of each, as installed here."""
    return tuple((name, metadata.version(name)) for name in MUST_AGREE)


def told_apart(worker: str, theirs: tuple[tuple[str, str], ...]) -> str:
    """A sentence that names the first version that differs on both ends."""
    there = dict(theirs)
    for name, here in versions():
        if there.get(name) != here:
            has = f"{name} {there[name]}" if there.get(name) else f"no {name}"
            return f"The worker at {worker} has {has} and this machine {name} {here}; install the same on both."
    return f"The worker at {worker} has other versions than this machine; install the same on both."
