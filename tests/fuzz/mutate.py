# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a number to a spoilt file and to what is asked of it.  The same number and sources give the same bytes."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import pikepdf
from attrs import frozen

from tests.fuzz import on_bytes, on_content, on_objects
from tests.fuzz.sources import Source
from tests.fuzz.syntax import Raw, taken_apart

#: of a hundred files so many are spoilt in their bytes alone; the rest in what their objects or their streams say
_IN_BYTES = 22
#: of a hundred of the rest so many in their bytes as well
_IN_BOTH = 6


@frozen
class Mutant:
    """A spoilt file."""

    seed: int
    source: str
    #: names of what was done to it, in order
    how: tuple[str, ...]
    data: bytes
    #: a job file, ``""``: none
    job: str
    split_sheets: bool

    @property
    def name(self) -> str:
        return f"{self.seed:06d}"


def mutant(seed: int, sources: Sequence[Source]) -> Mutant:
    """The file of a seed."""
    rng = Random(seed)
    source, other = rng.choice(sources), rng.choice(sources)
    how: list[str] = []
    data = source.data
    if rng.randrange(100) >= _IN_BYTES and (raw := _raw(source)) is not None:
        data = _of_parts(rng, raw, how) or data
        if rng.randrange(100) < _IN_BOTH:
            data = _of_bytes(rng, data, other.data, how)
    else:
        data = _of_bytes(rng, data, other.data, how)
    return Mutant(seed, source.name, tuple(how), data or b"\0", *_asked(rng))


def _raw(source: Source) -> Raw | None:
    try:
        return taken_apart(source.data)
    except (pikepdf.PdfError, pikepdf.PasswordError, RuntimeError, ValueError):
        return None


def _of_parts(rng: Random, raw: Raw, how: list[str]) -> bytes | None:
    before = raw.bytes()
    for _ in range(rng.choice((1, 1, 2, 2, 3, 5))):
        room = on_content.MUTATORS if rng.random() < 0.45 else on_objects.MUTATORS
        change = rng.choice(room)
        change(rng, raw)
        how.append(change.__name__)
    after = raw.bytes()
    return None if after == before else after


def _of_bytes(rng: Random, data: bytes, other: bytes, how: list[str]) -> bytes:
    for _ in range(rng.choice((1, 1, 2, 3))):
        if data:
            change = rng.choice(on_bytes.MUTATORS)
            data = change(rng, data, other)
            how.append(change.__name__)
    return data


def _asked(rng: Random) -> tuple[str, bool]:
    """A job file, and whether each sheet is to be a file of its own."""
    book, mend = "", ""
    if rng.random() < 0.25:
        book += 'trim = "140 x 216 mm"\n'
    if rng.random() < 0.15:
        book += f'binding = "{rng.choice(("glued", "stitched", "leaflet"))}"\n'
    if rng.random() < 0.12:
        mend = f"repairs = {rng.choice((['drop-comments'], ['state-trim'], ['drop-comments', 'state-trim']))}\n"
    job = (f"[book]\n{book}" if book else "") + (f"[mend]\n{mend}" if mend else "")
    return job, rng.random() < 0.1
