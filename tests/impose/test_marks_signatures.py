# SPDX-License-Identifier: AGPL-3.0-or-later
"""Signatures against the handbook: which letters, what follows them, which leaves."""

from __future__ import annotations

import pytest

from foldproof.makeup.signatures import leaf_signature, signature_letters


def test_letters_are_the_23_of_the_trade_and_then_doubled() -> None:
    """Handbook sig-carter (J. Carter, ABC for Book Collectors): A to Z without J, U, W; then AA, written 2A, 3A."""
    alphabet = "ABCDEFGHIKLMNOPQRSTVXYZ"
    assert len(alphabet) == 23
    found = signature_letters(23 * 3 + 1, "letters")
    assert "".join(found[:23]) == alphabet
    assert found[23:46] == tuple(f"2{letter}" for letter in alphabet)
    assert found[46] == "3A"
    assert found[-1] == "4A"
    assert len(set(found)) == len(found)


def test_figures_count_from_one() -> None:
    """Handbook sig-numerals, sig-figure: section n of sixteens begins on page 16 (n - 1) + 1: 1, 17, 33, 49."""
    assert signature_letters(4, "figures") == ("1", "2", "3", "4")
    assert [16 * (int(name) - 1) + 1 for name in signature_letters(4, "figures")] == [1, 17, 33, 49]
    assert signature_letters(0, "figures") == signature_letters(0) == ()
    with pytest.raises(ValueError, match="-1"):
        signature_letters(-1)


def test_further_leaves_carry_their_number() -> None:
    """Handbook sig-second: B2, C2 on the third page; sig-leaves: leaf after leaf.  The point after a figure is ours."""
    assert [leaf_signature("B", leaf) for leaf in (1, 2, 3)] == ["B", "B2", "B3"]
    assert leaf_signature("2A", 3) == "2A3"
    assert [leaf_signature("12", leaf) for leaf in (1, 3)] == ["12", "12.3"]
    marks = {leaf_signature(name, leaf) for name in signature_letters(140, "figures") for leaf in range(1, 17)}
    assert len(marks) == 140 * 16
