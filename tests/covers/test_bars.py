# SPDX-License-Identifier: AGPL-3.0-or-later
"""Bars in a raster: written by zxing-cpp's own writer, measured by us.  No PDF takes part."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from foldproof.covers.bars import MODULES, find, measure
from tests.covers.building import EAN, OTHER_EAN, modules_of

#: pixels a module, of the drawn symbol; free modules before and behind it
PX, BEFORE, BEHIND = 9, 14, 10


def symbol(ean: str = EAN, px: int = PX, before: int = BEFORE, behind: int = BEHIND) -> NDArray[np.uint8]:
    """A raster: a dark frame, the free room, the bars, the free room, a dark frame."""
    row = np.array([0 if bit == "1" else 255 for bit in modules_of(ean)], dtype=np.uint8).repeat(px)
    free = [np.full(n * px, 255, np.uint8) for n in (before, behind)]
    dark = np.zeros(3 * px, np.uint8)
    middle = np.tile(np.concatenate([dark, free[0], row, free[1], dark]), (60 * px, 1))
    light = np.full((8 * px, middle.shape[1]), 255, np.uint8)
    return np.concatenate([light, middle, light])


def _reflectance(lightness: NDArray[np.uint8]) -> NDArray[np.float64]:
    return lightness / 255.0


@pytest.mark.parametrize("turns", range(4))
def test_every_quarter_turn_is_read_and_turned_back(turns: int) -> None:
    found = find(np.ascontiguousarray(np.rot90(symbol(), turns)))
    assert found is not None and (found.digits, found.valid) == (EAN, True)
    assert found.turns == -turns % 4


def test_a_symbol_that_leans_is_read_and_not_measured() -> None:
    leaning = np.array(Image.fromarray(symbol()).rotate(20, expand=True, fillcolor=255))
    found = find(leaning)
    assert found is not None and found.digits == EAN and found.turns is None


def test_places_are_those_that_were_drawn() -> None:
    drawn = symbol()
    first = (3 + BEFORE) * PX
    got = measure(_reflectance(drawn), first + 3, first + MODULES * PX - 4, drawn.shape[0] // 2)
    assert got is not None
    assert (got.first, got.last) == pytest.approx((first, first + MODULES * PX), abs=0.6)
    assert got.module == pytest.approx(PX, abs=0.02)
    assert got.quiet == pytest.approx((BEFORE * PX, BEHIND * PX), abs=1)
    assert (got.top, got.bottom) == (8 * PX, 68 * PX)
    assert (got.light, got.dark, got.inverted) == (1.0, 0.0, False)


def test_exchanged_light_and_dark_are_told() -> None:
    drawn = 255 - symbol()
    assert find(drawn) is not None
    first = (3 + BEFORE) * PX
    got = measure(_reflectance(drawn), first, first + MODULES * PX, drawn.shape[0] // 2)
    assert got is not None and got.inverted
    assert got.module == pytest.approx(PX, abs=0.02)


def test_a_raster_without_bars_holds_none() -> None:
    plain = np.full((400, 900), 255, np.uint8)
    assert find(plain) is None
    assert measure(_reflectance(plain), 100, 800, 200) is None


def test_the_number_of_a_book_goes_before_another() -> None:
    # 5901234123457: the worked example of general works of reference; no book's number
    two = np.concatenate([symbol("5901234123457"), symbol(OTHER_EAN)])
    found = find(two)
    assert found is not None and found.digits == OTHER_EAN
