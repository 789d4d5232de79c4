# SPDX-License-Identifier: AGPL-3.0-or-later
"""Dividing a book into sections."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foldproof.makeup.sections import SHORT_SIZES, Unit, divide


def _sizes(pages: int, ordinary: int = 16, **more: Any) -> list[int]:
    return [unit.pages for unit in divide(pages, Unit((ordinary,)), SHORT_SIZES, **more).units]


@pytest.mark.parametrize(
    ("pages", "sizes"),
    [
        # the shop's own rule: nine 16s and an 8 with 2 blanks, not ten 16s
        (150, [16] * 8 + [8, 16]),
        (144, [16] * 9),
        (145, [16] * 8 + [4, 16]),
        (157, [16] * 10),
        (156, [16] * 8 + [4, 8, 16]),
        # beside a single full one a short section would be first or last: it is wrapped round it, and where there is
        # no full one the short ones are set one in another (common practice, no source)
        (24, [24]),
        (12, [12]),
        (5, [8]),
        (1, [4]),
    ],
)
def test_sixteens_and_a_shorter_one_next_to_the_last(pages: int, sizes: list[int]) -> None:
    assert _sizes(pages) == sizes


def test_full_sixteens_then_an_eight_then_a_four() -> None:
    """imp-lapped-order: most economic is a multiple of 16, then 16s and one 8, then 16s and a 4."""
    assert {size: len(_sizes(64 + size)) for size in (0, 8, 4)} == {0: 4, 8: 5, 4: 5}


@given(st.integers(1, 3000), st.sampled_from([4, 8, 12, 16, 24, 32, 64]))
def test_never_more_than_three_blanks_and_always_in_a_full_last_section(pages: int, ordinary: int) -> None:
    division = divide(pages, Unit((ordinary,)), SHORT_SIZES)
    assert 0 <= division.blanks <= 3
    assert division.capacity == pages + division.blanks
    if pages >= ordinary:
        # the last is a full one, or has a full one in it
        assert division.units[-1].pieces[-1] == ordinary
    assert division.blanks < division.units[-1].pages


@given(st.integers(1, 3000), st.sampled_from([6, 12, 16, 32]))
def test_stitched_books_are_one_unit_of_the_same_pages(pages: int, ordinary: int) -> None:
    gathered = divide(pages, Unit((ordinary,)), SHORT_SIZES)
    nested = divide(pages, Unit((ordinary,)), SHORT_SIZES, one_unit=True)
    assert len(nested.units) == 1
    assert sorted(nested.units[0].pieces) == sorted(piece for unit in gathered.units for piece in unit.pieces)
    assert nested.units[0].pieces[0] == max(nested.units[0].pieces)


def test_a_short_section_is_never_first_or_last_of_all() -> None:
    """Custom of the trade (common practice, no source): it lies between full ones, or round a single full one."""
    for pages in range(17, 200):
        units = divide(pages, Unit((16,)), SHORT_SIZES).units
        assert 16 in units[0].pieces and 16 in units[-1].pieces
    assert divide(24, Unit((16,)), SHORT_SIZES).units == (Unit((8, 16)),)
    assert divide(24, Unit((16,)), SHORT_SIZES, where="inside").units == (Unit((16, 8)),)
    assert divide(12, Unit((16,)), SHORT_SIZES).units == (Unit((8, 4)),)


def test_a_short_section_goes_last_when_the_job_says_so() -> None:
    assert _sizes(150, where="last") == [16] * 9 + [8]


def test_a_house_that_folds_no_fours_leaves_more_blanks() -> None:
    division = divide(145, Unit((16,)), [8])
    assert [unit.pages for unit in division.units] == [16] * 8 + [8, 16]
    assert division.blanks == 7


def test_sixty_four_as_two_thirty_twos() -> None:
    division = divide(128, Unit((32, 32)), SHORT_SIZES)
    assert [unit.pieces for unit in division.units] == [(32, 32), (32, 32)]
