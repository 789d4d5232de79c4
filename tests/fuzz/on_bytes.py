# SPDX-License-Identifier: AGPL-3.0-or-later
"""Damage to a file that knows nothing of PDF, or only where its cross-reference stands."""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

Bytes = Callable[[Random, bytes, bytes], bytes]

_ENTRY = re.compile(rb"\d{10} \d{5} [nf]")
_TRAILER = re.compile(rb"trailer\s*<<")
_START = re.compile(rb"startxref\s+(\d+)")


def flips(rng: Random, data: bytes, other: bytes) -> bytes:
    out = bytearray(data)
    for _ in range(rng.choice((1, 2, 5, 20))):
        out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def noise(rng: Random, data: bytes, other: bytes) -> bytes:
    """A run of bytes that says nothing."""
    out, start = bytearray(data), rng.randrange(len(data))
    length = rng.choice((1, 8, 64, 400))
    out[start : start + length] = rng.randbytes(min(length, len(out) - start))
    return bytes(out)


def cut_short(rng: Random, data: bytes, other: bytes) -> bytes:
    near_the_end = rng.random() < 0.6
    return data[: len(data) - rng.randrange(1, 1200)] if near_the_end else data[: rng.randrange(1, len(data))]


def cut_out(rng: Random, data: bytes, other: bytes) -> bytes:
    start = rng.randrange(len(data))
    return data[:start] + data[start + rng.choice((1, 4, 30, 700)) :]


def said_twice(rng: Random, data: bytes, other: bytes) -> bytes:
    start, to = rng.randrange(len(data)), rng.randrange(len(data))
    return data[:to] + data[start : start + rng.choice((4, 60, 2000))] + data[to:]


def spliced(rng: Random, data: bytes, other: bytes) -> bytes:
    """The head of one file and the tail of another."""
    return data[: rng.randrange(1, len(data))] + other[rng.randrange(len(other)) :]


def followed(rng: Random, data: bytes, other: bytes) -> bytes:
    """One whole file after another, as a careless append leaves them."""
    return data + other


def junk_round_it(rng: Random, data: bytes, other: bytes) -> bytes:
    before = rng.randbytes(rng.choice((0, 9, 900, 2000)))
    return before + data + rng.randbytes(rng.choice((0, 9, 900, 2000)))


def line_ends(rng: Random, data: bytes, other: bytes) -> bytes:
    """What a transfer as text does."""
    return data.replace(b"\n", b"\r\n") if rng.random() < 0.5 else data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def places_astray(rng: Random, data: bytes, other: bytes) -> bytes:
    """Entries of a cross-reference table that point beside their objects."""
    found = list(_ENTRY.finditer(data))
    if not found:
        return start_astray(rng, data, other)
    out = bytearray(data)
    for entry in rng.sample(found, min(len(found), rng.choice((1, 3, 50)))):
        place = rng.choice((0, int(entry[0][:10]) + rng.randint(-20, 20), len(data) + 5, rng.randrange(len(data))))
        line = b"%010d %05d %c" % (max(0, place), rng.choice((0, 0, 0, 7, 65535)), rng.choice(b"nnnf"))
        out[entry.start() : entry.end()] = line[:18]
    return bytes(out)


def start_astray(rng: Random, data: bytes, other: bytes) -> bytes:
    found = list(_START.finditer(data))
    if not found:
        return flips(rng, data, other)
    mark = rng.choice(found)
    place = rng.choice((b"0", b"-1", b"99999999999999999999", b"%d" % rng.randrange(len(data)), b"x"))
    return data[: mark.start(1)] + place + data[mark.end(1) :]


def round_and_round(rng: Random, data: bytes, other: bytes) -> bytes:
    """A chain of cross-references that never ends (/Prev to itself)."""
    found = list(_START.finditer(data))
    place = found[-1][1] if found else b"0"
    key = rng.choice((b"/Prev ", b"/XRefStm ", b"/Size -1 /Prev ", b"/Size 2147483648 /Prev "))
    if _TRAILER.search(data):
        return _TRAILER.sub(lambda start: start[0] + b" " + key + place, data)
    return data.replace(b"/Root", key + place + b" /Root")


MUTATORS: tuple[Bytes, ...] = (
    flips, flips, noise, cut_short, cut_out, said_twice, spliced, followed, junk_round_it, line_ends, places_astray,
    start_astray, round_and_round,
)  # fmt: skip
