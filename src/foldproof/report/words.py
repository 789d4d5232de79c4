# SPDX-License-Identifier: AGPL-3.0-or-later
"""Numbers and lists as people read them; text made safe for any output."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

# What XML 1.0 cannot hold (production [2] Char of the recommendation), lone surrogates among it; the bidirectional
# overrides, which would let a title rewrite the line it stands in, and the controls from U+0080, which a terminal may
# take for commands (ECMA-48), go with them.
_UNFIT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")

_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def clean(text: str) -> str:
    """Text without characters that an output could not hold; each becomes U+FFFD."""
    return _UNFIT.sub("\ufffd", text)


def ranges(numbers: Iterable[int], most: int | None = None) -> str:
    """Numbers as compact ranges: ``"1–4, 7, 9–12"``; past ``most`` ranges the rest is counted."""
    ordered = sorted(set(numbers))
    runs: list[tuple[int, int]] = []
    for number in ordered:
        if runs and number == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    shown = runs if most is None or len(runs) <= most else runs[:most]
    text = ", ".join(str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in shown)
    left = sum(b - a + 1 for a, b in runs[len(shown) :])
    return f"{text} and {left} more" if left else text


def pages(numbers: Iterable[int], most: int | None = None) -> str:
    """``"page 7"`` or ``"pages 1–4, 7"``."""
    known = set(numbers)
    return f"{'page' if len(known) == 1 else 'pages'} {ranges(known, most)}"


def count(number: int, one: str, many: str | None = None) -> str:
    """``"1 page"``, ``"3 pages"``, ``"2,415 pages"``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def in_words(number: int) -> str:
    """Small numbers as words, as a sentence wants them; others as figures."""
    return _SMALL[number] if 0 <= number < len(_SMALL) else f"{number:,}"


def listed(items: Sequence[str], last: str = "and") -> str:
    """``"a, b and c"``, or with another word before the last."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def sentence(text: str, *, capital: bool = True) -> str:
    """With a capital, if wanted, and a full stop."""
    text = text.strip()
    if not text:
        return text
    first = text[0].upper() if capital else text[0]
    return first + text[1:] + ("" if text[-1] in ".!?" else ".")


def figure(value: float | str | None, unit: str = "") -> str:
    """A measured value or limit with its unit; at most two places (none for ppi), trailing noughts dropped."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{value:.0f}" if unit == "ppi" else f"{value:.2f}".rstrip("0").rstrip(".")
        text = "0" if text == "-0" else text
    else:
        text = str(value)
    return f"{text} {unit}" if unit and text else text
