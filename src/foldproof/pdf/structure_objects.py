# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plain values from PDF objects that may be of any type, missing, or malformed.

Nothing here raises for what a file says: what cannot be read as asked comes back as ``None`` or an empty value.
Lookups go through the library's C++ core at 0.5 to 3 us each (a miss is the dearest), so callers ask :func:`keys_of`
once.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import lru_cache
from typing import Any

import pikepdf

from foldproof.pdf.structure_model import Corners

_ESCAPED = re.compile(rb"#([0-9A-Fa-f]{2})")
#: what neither XML 1.0 (2.2) nor a line of text can hold: control characters and lone surrogates
_UNFIT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_NUMBERS = (int, Decimal, float)  # a truth value is none, though Python thinks so
_SPACE = re.compile(r"[\t\r\n\u2028\u2029]+")


def keys_of(thing: Any) -> frozenset[str]:
    """Keys of a dictionary or stream dictionary, with slash; none for anything else."""
    if isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
        return frozenset(thing.keys())
    return frozenset()


def entry(thing: Any, key: str) -> Any:
    """Value of a key; ``None`` when it is missing, null, or ``thing`` holds no keys."""
    if not isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
        return None
    return thing.get(key)


def members(thing: Any) -> list[Any]:
    """Members of an array; none for anything else."""
    # as_list() first: iterating over the array itself takes twice as long
    return list(thing.as_list()) if isinstance(thing, pikepdf.Array) else []


def object_id(thing: Any) -> tuple[int, int] | None:
    """Object and generation number; ``None`` for what stands directly in another object."""
    found: tuple[int, int] = getattr(thing, "objgen", (0, 0))
    return found if found[0] else None


def number(thing: Any) -> float | None:
    """A finite number, else ``None``."""
    if type(thing) not in _NUMBERS:
        return None
    try:
        value = float(thing)
    except OverflowError:
        return None
    return value if math.isfinite(value) else None


def whole(thing: Any, otherwise: int) -> int:
    """An integer, also one written as a real number."""
    value = number(thing)
    return int(value) if value is not None and value == int(value) else otherwise


def corners(thing: Any) -> Corners | None:
    """A rectangle as written: an array of four numbers (ISO 32000-1, 7.9.5)."""
    written = members(thing)
    if len(written) != 4:
        return None
    a, b, c, d = written  # spelt out: a file may hold fifty thousand of them
    if type(a) not in _NUMBERS or type(b) not in _NUMBERS or type(c) not in _NUMBERS or type(d) not in _NUMBERS:
        return None
    try:
        a, b, c, d = float(a), float(b), float(c), float(d)
    except OverflowError:
        return None
    return (a, b, c, d) if math.isfinite(a + b + c + d) else None


def name(thing: Any) -> str:
    """A name without its slash, ``""`` for anything else.

    Names are bytes, by recommendation UTF-8 (ISO 32000-1, 7.3.5); others are read byte by byte, so that they stay
    apart.
    """
    if not isinstance(thing, pikepdf.Name):
        return ""
    try:
        return plain(str(thing)[1:])
    except UnicodeDecodeError:
        raw = _ESCAPED.sub(lambda found: bytes([int(found[1], 16)]), thing.unparse()[1:])
        return plain(raw.decode("latin-1"))


def text(thing: Any) -> str:
    """A text string (ISO 32000-1, 7.9.2.2), ``""`` for anything else."""
    if not isinstance(thing, pikepdf.String):
        return ""
    try:
        return plain(str(thing))
    except UnicodeDecodeError:
        return plain(bytes(thing).decode("latin-1"))


@lru_cache(maxsize=4096)
def plain(words: str) -> str:
    """Text that every output can carry: on one line, no control characters, nothing that UTF-8 has no bytes for."""
    return _UNFIT.sub("", _SPACE.sub(" ", words)).strip()
