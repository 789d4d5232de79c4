# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which folder each book of a batch is made in: never two in one."""

from __future__ import annotations

import os
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from itertools import count

#: names that a batch gives to files of its own, and names that are no folder of their own
RESERVED = ("", ".", "..", ".batch", "index.html", "summary.json", "junit.xml", "times.json")

#: longest name in bytes that leaves room for a number; file systems in use take 255
_LONGEST = 240


def folders_for(names: Sequence[str], taken: Collection[str] = ()) -> tuple[str, ...]:
    """A folder name for every file name, in the same order.

    The file's name without its ending; where two books would share a folder (``A.pdf`` and ``A.PDF``), or the name is
    one of ``taken``, they keep their endings.  Names that differ only in case or in how accents are written count as
    one, since some file systems hold them for one.
    """
    stems = Counter(_same(_stem(name)) for name in names)
    barred = {_same(name) for name in (*RESERVED, *taken)}
    held = barred | {_same(_stem(name)) for name in names if stems[_same(_stem(name))] == 1}
    made = []
    for name in names:
        stem = _stem(name)
        if stems[_same(stem)] == 1 and _same(stem) not in barred:
            made.append(stem)
            continue
        folder = next(tried for tried in _tries(name) if _same(tried) not in held)
        held.add(_same(folder))
        made.append(folder)
    return tuple(made)


def _tries(name: str) -> Iterator[str]:
    yield name
    short = os.fsdecode(os.fsencode(name)[:_LONGEST]) if len(os.fsencode(name)) > _LONGEST else name
    # half a letter at the end comes back as surrogates
    short = short.encode("utf-8", "ignore").decode("utf-8") if short != name else name
    for number in count(2):
        yield f"{short} ({number})"


def _stem(name: str) -> str:
    head, dot, _ = name.rpartition(".")
    return head if dot else name


def _same(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()
