# SPDX-License-Identifier: AGPL-3.0-or-later
"""Names of gathered sections: figures, or the letters of the trade and their doubling; and of the pieces of a sheet."""

from __future__ import annotations

from typing import Literal

#: 23 letters: no J, no U, no W (J. Carter, ABC for Book Collectors, 7th ed. 1995; handbook sig-carter)
ALPHABET = "ABCDEFGHIKLMNOPQRSTVXYZ"

Style = Literal["figures", "letters"]


def signature_letters(count: int, style: Style = "letters") -> tuple[str, ...]:
    """The signatures of ``count`` sections in the order of the gathering.

    ``"figures"``: 1, 2, 3 … ``"letters"``: A to Z without J, U and W, then 2A, 2B … 2Z, 3A … (AA and AAA, as the trade
    writes them short; handbook sig-carter).  The custom to leave A to the title sheet and not to print it there
    (handbook sig-title) is not followed: every section carries its mark, or the gatherer would have to know the custom.

    Raises:
        ValueError: ``count`` is below nought.
    """
    if count < 0:
        raise ValueError(f"a book has no {count} sections")
    if style == "figures":
        return tuple(str(number) for number in range(1, count + 1))
    out = []
    for index in range(count):
        round_, place = divmod(index, len(ALPHABET))
        out.append(f"{round_ + 1 if round_ else ''}{ALPHABET[place]}")
    return tuple(out)


def leaf_signature(signature: str, leaf: int) -> str:
    """The mark on one leaf of a section, counted from 1: ``"B"`` on the first, ``"B3"`` on the third.

    From the second leaf on the number of the leaf follows the letter (handbook sig-second, sig-leaves; in arabic
    figures).  After a figure it stands behind a full point, ``"2.3"``, so that nobody takes leaf 3 of section 1 for
    section 13 (a rule of our own).
    """
    if leaf == 1:
        return signature
    return f"{signature}{'.' if signature[-1:].isdigit() else ''}{leaf}"


def piece_letter(nth: int) -> str:
    """A piece of a sheet, 0-based: A, B … Z, AA, AB …"""
    letters = ""
    nth += 1
    while nth:
        nth, rest = divmod(nth - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
