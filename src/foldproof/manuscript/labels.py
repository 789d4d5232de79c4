# SPDX-License-Identifier: AGPL-3.0-or-later
"""Page labels in words (ISO 32000-1, 12.4.2)."""

from __future__ import annotations

from bisect import bisect_right

from foldproof.pdf.structure_model import LabelRange

#: numbers past this are set in figures in any style: no folio is a thousand letters long
_LONGEST = 10_000
_ROMAN = (
    (1000, "m"), (900, "cm"), (500, "d"), (400, "cd"), (100, "c"), (90, "xc"),
    (50, "l"), (40, "xl"), (10, "x"), (9, "ix"), (5, "v"), (4, "iv"), (1, "i"),
)  # fmt: skip


def label_of(index: int, ranges: tuple[LabelRange, ...]) -> str | None:
    """The label of a page (0-based) from ranges in order; ``None`` before the first one."""
    at = bisect_right(ranges, index, key=lambda one: one.start) - 1
    if at < 0:
        return None
    one = ranges[at]
    return one.prefix + numeral(one.first + index - one.start, one.style)


def numeral(number: int, style: str) -> str:
    """A number of 1 or more in a style of table 159; ``""`` for a label that is a prefix alone.

    Letters are doubled and trebled, a to z, aa to zz, aaa to zzz.
    """
    if not style:
        return ""
    if style == "D" or number > _LONGEST:
        return str(number)
    if style in "Aa":
        made = chr(ord("a") + (number - 1) % 26) * ((number - 1) // 26 + 1)
    else:
        made = ""
        for value, sign in _ROMAN:
            made += sign * (number // value)
            number %= value
    return made.upper() if style.isupper() else made
