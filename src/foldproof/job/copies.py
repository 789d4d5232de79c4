# SPDX-License-Identifier: AGPL-3.0-or-later
"""Run lengths as they are written on a command line.  Pure."""

from __future__ import annotations

import re

from foldproof.errors import AskedWrong

#: run lengths that stand side by side, and the longest
MOST_LENGTHS, MOST_COPIES = 20, 10_000_000
_WHOLE = re.compile(r"[1-9][0-9]*")
_FOR_EXAMPLE = "write whole numbers with commas between them, such as 500,1000,3000"


def run_lengths(text: str) -> tuple[int, ...]:
    """``"500,1000,3000"`` as numbers of copies, in the order in which they are written.

    Raises:
        AskedWrong: something of it is no number of copies, is named twice, or is more than anybody prints; or there are
            more than :data:`MOST_LENGTHS`.
    """
    words = [word.strip() for word in text.split(",")]
    if len(words) > MOST_LENGTHS:
        raise AskedWrong(f"--copies: {len(words)} run lengths are too many side by side; give {MOST_LENGTHS} at most.")
    lengths: list[int] = []
    for word in words:
        if not _WHOLE.fullmatch(word):
            said = f'"{_short(word)}" is' if word else "an empty place is"
            raise AskedWrong(f"--copies: {said} no number of copies; {_FOR_EXAMPLE}.")
        if len(word) > len(str(MOST_COPIES)) or int(word) > MOST_COPIES:
            raise AskedWrong(f"--copies: {_short(word)} are more than {MOST_COPIES:,} copies; give fewer.")
        if int(word) in lengths:
            raise AskedWrong(f"--copies: {word} is named twice; name each number of copies once.")
        lengths.append(int(word))
    return tuple(lengths)


def _short(word: str) -> str:
    return word if len(word) <= 24 else f"{word[:23]}…"
