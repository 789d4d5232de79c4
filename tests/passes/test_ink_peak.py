# SPDX-License-Identifier: AGPL-3.0-or-later
"""The heaviest square of a page: against every square there is, and on built pages whose answer is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from foldproof.manuscript.seen import InkPeak
from foldproof.pdf.ink_cover import cover
from foldproof.pdf.ink_edges import Ink
from foldproof.pdf.ink_grid import Grid
from foldproof.pdf.ink_peak import Square, ink_peak
from tests.build import Fill, Picture, text_at
from tests.passes.looking import look

SIDE = 14  # 5 mm at 72 dpi are 14.17 pixels; the nearest even number


def pages(count: int) -> list[NDArray[np.uint8]]:
    """Rasters of odd sizes and 4 to 7 plates, with slabs of ink and of noise."""
    some = np.random.default_rng(3)
    made = []
    for number in range(count):
        plates, wide, high = int(some.choice([4, 4, 4, 5, 7])), int(some.integers(3, 120)), int(some.integers(3, 120))
        samples = np.zeros((high, wide + 5, plates), np.uint8)
        for _ in range(int(some.integers(1, 5))):
            x, y = int(some.integers(0, wide)), int(some.integers(0, high))
            part = samples[y : y + int(some.integers(1, 60)), x : x + int(some.integers(1, 60))]
            if number % 3:
                np.maximum(part, some.integers(0, 256, plates, dtype=np.uint8), out=part)
            else:
                part[...] = some.integers(0, 256, part.shape, dtype=np.uint8)
        # as in the pass: a part of a wider raster
        made.append(samples[:, 2 : 2 + wide])
    return [samples for samples in made if samples.any()]


def found(samples: NDArray[np.uint8]) -> tuple[InkPeak, dict[str, float]]:
    high, wide, plates = samples.shape
    names = [f"plate {number}" for number in range(plates)]
    stains = samples.view(np.uint32)[:, :, 0] if plates == 4 else np.bitwise_or.reduce(samples, axis=2)
    grid = Grid(wide, high, 1.0, 1.0, (float(wide), float(high)))
    ink, square = Ink.of(stains), Square.on(grid)
    assert square.side == SIDE
    covered = cover(samples, ink, names, square.half)
    return ink_peak(samples, covered.cells, square, grid, names), covered.coverage


def test_against_every_square_there_is() -> None:
    exact = heavy = 0
    for samples in pages(300):
        if Ink.of(samples.max(axis=2)).blank:  # under 1.6 %: no ink
            continue
        peak, coverage = found(samples)
        high, wide, plates = samples.shape
        for number in range(plates):
            assert coverage.get(f"plate {number}", 0.0) == pytest.approx(samples[:, :, number].mean() / 255, abs=1e-5)
        down, across = min(SIDE, high), min(SIDE, wide)
        full = 255 * down * across
        sums = sliding_window_view(samples.sum(axis=2, dtype=np.int64), (down, across)).sum(axis=(2, 3))
        best = sums.max() / full
        # below one full plate squares of whole cells stand for all
        assert peak.total <= best + 1e-4
        assert peak.total >= (best - 1e-4 if best > 1 else best / 2.25 - 1e-4)
        exact += best > 1
        # the place holds what is said of it
        x, y = round(peak.place_mm.x0 / 25.4 * 72), round(high - peak.place_mm.y1 / 25.4 * 72)
        assert sums[y, x] / full == pytest.approx(peak.total, abs=1e-4)
        assert sum(part for _, part in peak.by_ink) == pytest.approx(peak.total, abs=1e-3)
        assert [tenth for tenth, _ in peak.over] == pytest.approx(
            [2 + n / 10 for n in range(int(np.ceil(best * 10 - 1e-9)) - 20)] if best > 2 else []
        )
        for tenth, part in peak.over:
            covered = np.zeros((high, wide), bool)
            for row, column in zip(*np.nonzero(sums * 10 > round(tenth * 10) * full), strict=True):
                covered[row : row + down, column : column + across] = True
            assert part == pytest.approx(covered.mean(), abs=1e-5)
            heavy += 1
    assert exact > 100
    assert heavy > 100


@pytest.mark.parametrize(
    ("side_mm", "part"),
    # a square of 300 % as large as the mean's own, and of 4 mm on bare paper: (4 / 5)^2 of it
    [(12.0, 1.0), (5.3, 1.0), (4.0, 16 / 25)],
)
def test_a_dark_square_on_bare_paper(tmp_path: Path, side_mm: float, part: float) -> None:
    box = (60.2, 90.7, 60.2 + side_mm, 90.7 + side_mm)
    _, ink = look(tmp_path / "a.pdf", fills=[Fill(box, "0.8 0.7 0.6 0.9 k"), Fill((10, 150, 130, 200), "0 0 0 1 k")])
    assert ink.peak is not None
    # 14 pixels are 4.94 mm, and edges of the square lie between pixels
    assert ink.peak.total == pytest.approx(max(3.0 * part, 1.0), abs=0.09 if part < 1 else 0.01)
    assert box[0] - 1.5 <= ink.peak.place_mm.x0 and ink.peak.place_mm.x1 <= box[2] + 1.5
    assert box[1] - 1.5 <= ink.peak.place_mm.y0 and ink.peak.place_mm.y1 <= box[3] + 1.5
    assert [name for name, _ in ink.peak.by_ink] == ["Cyan", "Magenta", "Yellow", "Black"]


def test_how_much_of_the_page_is_too_heavy(tmp_path: Path) -> None:
    """Two grounds of 40 x 50 mm: 360 % and 250 %."""
    fills = [Fill((10, 10, 50, 60), "0.9 0.9 0.9 0.9 k"), Fill((80, 10, 120, 60), "0.9 0.8 0.8 0 k")]
    _, ink = look(tmp_path / "a.pdf", fills=fills)
    assert ink.peak is not None
    over, ground = dict(ink.peak.over), 40 * 50 / (140 * 216)
    # squares that lie partly on bare paper are over 250 % as well, a millimetre round it
    assert over[2.0] == pytest.approx(2 * ground, rel=0.15)
    assert over[3.4] == pytest.approx(ground, rel=0.05)
    assert max(over) == 3.5  # nothing is over 360 %


def test_ink_in_the_bleed_is_cut_off(tmp_path: Path) -> None:
    fills = [Fill((-3, -3, 0, 219), "1 1 1 1 k"), Fill((20, 20, 60, 60), "0.5 0.5 0.5 0 k")]
    _, ink = look(tmp_path / "a.pdf", fills=fills)
    assert ink.peak is not None
    assert ink.peak.total == pytest.approx(1.5, abs=0.02)


def test_a_page_smaller_than_the_square(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", trim_mm=(4, 3), fills=[Fill((0, 0, 4, 3), "0.5 0.5 0.5 0.5 k")])
    assert ink.peak is not None
    assert ink.peak.total == pytest.approx(2, abs=0.02)


def test_black_text_is_less_than_a_plate(tmp_path: Path) -> None:
    lines = "".join(text_at("The lamplighter comes at dusk and goes at dawn", 20, 30 + 4 * n) for n in range(20))
    _, ink = look(tmp_path / "a.pdf", content=lines)
    assert ink.peak is not None
    assert 0.1 < ink.peak.total < 0.5
    assert [name for name, _ in ink.peak.by_ink] == ["Black"]
    assert ink.peak.over == ()


def test_blank_pages_have_none(tmp_path: Path) -> None:
    _, ink = look(tmp_path / "a.pdf", pictures=[Picture((-3, 20, -1, 60), space="DeviceCMYK")])
    assert ink.blank
    assert ink.peak is None
