# SPDX-License-Identifier: AGPL-3.0-or-later
"""Dividing a book into sections."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foldproof.makeup.sections import SHORT_SIZES, Unit, divide


def _sizes(pages: int, ordinary: int = 16, **more: bool) -> list[int]:
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
        (24, [8, 16]),
        (12, [4, 8]),
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
        assert division.units[-1].pages == ordinary
    assert division.blanks < division.units[-1].pages


@given(st.integers(1, 3000), st.sampled_from([6, 12, 16, 32]))
def test_stitched_books_are_one_unit_of_the_same_pages(pages: int, ordinary: int) -> None:
    gathered = divide(pages, Unit((ordinary,)), SHORT_SIZES)
    nested = divide(pages, Unit((ordinary,)), SHORT_SIZES, one_unit=True)
    assert len(nested.units) == 1
    assert sorted(nested.units[0].pieces) == sorted(unit.pages for unit in gathered.units)
    assert nested.units[0].pieces[0] == max(nested.units[0].pieces)


def test_a_short_section_goes_last_when_the_job_says_so() -> None:
    assert _sizes(150, short_last=True) == [16] * 9 + [8]


def test_a_house_that_folds_no_fours_leaves_more_blanks() -> None:
    division = divide(145, Unit((16,)), [8])
    assert [unit.pages for unit in division.units] == [16] * 8 + [8, 16]
    assert division.blanks == 7


def test_sixty_four_as_two_thirty_twos() -> None:
    division = divide(128, Unit((32, 32)), SHORT_SIZES)
    assert [unit.pieces for unit in division.units] == [(32, 32), (32, 32)]
