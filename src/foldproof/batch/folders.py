# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which folder each book of a batch is made in: never two in one."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import count

#: names that a batch gives to files of its own, and names that are no folder of their own
_TAKEN = ("", ".", "..", "index.html", "summary.json")


def folders_for(names: Sequence[str]) -> tuple[str, ...]:
    """A folder name for every file name, in the same order.

    The file's name without its ending; where two books would share a folder (``A.pdf`` and ``A.PDF``), both keep their
    endings.  Names that differ only in case or in how accents are written count as one, since some file systems hold
    them for one.
    """
    stems = Counter(_same(_stem(name)) for name in names)
    taken = {_same(name) for name in _TAKEN} | {_same(_stem(n)) for n in names if stems[_same(_stem(n))] == 1}
    made = []
    for name in names:
        stem = _stem(name)
        if stems[_same(stem)] == 1 and stem not in _TAKEN:
            made.append(stem)
            continue
        folder = next(tried for tried in _tries(name) if _same(tried) not in taken)
        taken.add(_same(folder))
        made.append(folder)
    return tuple(made)


def _tries(name: str) -> Iterator[str]:
    yield name
    for number in count(2):
        yield f"{name} ({number})"


def _stem(name: str) -> str:
    head, dot, _ = name.rpartition(".")
    return head if dot else name


def _same(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()
