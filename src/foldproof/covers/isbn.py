# SPDX-License-Identifier: AGPL-3.0-or-later
"""ISBN arithmetic (ISO 2108, from memory): ten digits, thirteen digits, the check digit of each.  Pure."""

from __future__ import annotations

import re

#: what begins an ISBN of thirteen digits: the two prefixes that are given to books (ISO 2108, from memory)
PREFIXES = ("978", "979")
#: hyphens and dashes as they are typed, and spaces of any width
_BETWEEN = re.compile(r"[\s\u00ad\u2010-\u2015\u2212-]+")
_NAMED = re.compile(r"^\s*isbn(?:\s*-?\s*1[03])?\s*:?", re.IGNORECASE)


def ean_check_digit(twelve: str) -> str:
    """The thirteenth digit: the twelve weighed 1, 3, 1, 3 …, what is wanting to the next ten (ISO/IEC 15420; ISO 2108).

    Raises:
        ValueError: these are not twelve digits.
    """
    if not (len(twelve) == 12 and _are_digits(twelve)):
        raise ValueError(f"{twelve!r} is not twelve digits")
    weighed = sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(twelve))
    return str(-weighed % 10)


def isbn10_check_digit(nine: str) -> str:
    """The tenth digit: the nine weighed 10 to 2, what is wanting to the next eleven; ``"X"`` is ten (ISO 2108:1992).

    Raises:
        ValueError: these are not nine digits.
    """
    if not (len(nine) == 9 and _are_digits(nine)):
        raise ValueError(f"{nine!r} is not nine digits")
    missing = -sum(int(digit) * (10 - place) for place, digit in enumerate(nine)) % 11
    return "X" if missing == 10 else str(missing)


def bare(text: str) -> str:
    """An ISBN without hyphens, spaces and the word before it; an X in upper case."""
    return _BETWEEN.sub("", _NAMED.sub("", text)).upper()


def as_ean(text: str) -> str:
    """The thirteen digits that the bars of a book hold, from an ISBN of ten or thirteen digits, hyphens or not.

    Raises:
        ValueError: it is no ISBN; the message is a clause that says why.
    """
    digits = bare(text)
    if len(digits) == 10 and _are_digits(digits[:9]) and (_are_digits(digits[9]) or digits[9] == "X"):
        right = isbn10_check_digit(digits[:9])
        if digits[9] != right:
            raise ValueError(f"its last digit is {digits[9]}; by the other nine it must be {right}")
        return "978" + digits[:9] + ean_check_digit("978" + digits[:9])
    if not _are_digits(digits):
        raise ValueError("it holds other signs than digits and hyphens")
    if len(digits) != 13:
        raise ValueError(f"it has {len(digits)} digits, and an ISBN has 13, or 10")
    if not digits.startswith(PREFIXES):
        raise ValueError(f"it begins with {digits[:3]}, and an ISBN begins with 978 or 979")
    right = ean_check_digit(digits[:12])
    if digits[12] != right:
        raise ValueError(f"its last digit is {digits[12]}; by the other twelve it must be {right}")
    return digits


def _are_digits(text: str) -> bool:
    return bool(text) and text.isascii() and text.isdigit()
