# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sections of one stock set one in another: a short one round or inside a full one, and two 32s; written and proved."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.makeup.real_books import FRAME_MM, TRIM_MM, Made, frames, made, proved_whole

TEXT_MM = 90 * 1.3 / 1000  # Hearth Book 90: 90 g/m2 of bulk 1.3 cm3/g (ISO 534)


def trimmed_alike(one: Made, sizes: list[int], leaf_mm: float) -> None:
    """Every frame 8 mm from the spine of its section and from the knife: one thickness a leaf outside (creep-arc)."""
    first = 1
    read = frames(one)
    for size in sizes:
        leaves = size // 2
        for n in range(size):
            if first + n not in read:
                continue
            push = min(n // 2, leaves - 1 - n // 2) * leaf_mm
            frame = read[first + n]
            assert frame.inner_mm + push == pytest.approx(FRAME_MM, abs=0.003), first + n
            assert TRIM_MM[0] - push - frame.outer_mm == pytest.approx(FRAME_MM, abs=0.003), first + n
        first += size


@pytest.mark.parametrize("binding", ["sewn", "glued"])
@pytest.mark.parametrize(
    ("where", "pages", "sizes", "nested"),
    [
        # 68 pages are four 16s and a 4, 72 four 16s and an 8; the last full one but one takes it
        ("wrapped", 68, [16, 16, 20, 16], (4, 16)),
        ("inside", 68, [16, 16, 20, 16], (16, 4)),
        ("wrapped", 72, [16, 16, 24, 16], (8, 16)),
        ("inside", 72, [16, 16, 24, 16], (16, 8)),
        # 76: a 4 and an 8
        ("wrapped", 76, [16, 16, 28, 16], (4, 8, 16)),
        ("inside", 76, [16, 16, 28, 16], (16, 8, 4)),
    ],
)
def test_a_short_section_round_or_inside_a_full_one(
    tmp_path: Path, binding: str, where: str, pages: int, sizes: list[int], nested: tuple[int, ...]
) -> None:
    one = made(tmp_path, pages, book={"binding": binding}, sections={"pages": 16, "short": where})
    proved_whole(one)
    assert [section.pages for section in one.plan.sections] == sizes
    names = one.plan.sections[2].pieces
    panels = {s.id: 2 * s.columns * s.rows for sheet in one.told.sheets for s in sheet.sections}
    assert tuple(panels[name] for name in names) == nested
    if binding == "sewn":
        trimmed_alike(one, sizes, TEXT_MM)
    how = "wrapped round" if where == "wrapped" else "set inside"
    assert any(how in rule and "as the job asks" in rule for rule in one.plan.rules)


def test_the_pages_of_a_four_wrapped_round_a_sixteen(tmp_path: Path) -> None:
    """Pages 33 and 34 before the sixteen, 51 and 52 behind it: two pages of either leaf."""
    one = made(tmp_path, 68, sections={"pages": 16, "short": "wrapped"})
    outer = one.plan.sections[2].pieces[0]
    assert [place.position + 1 for place in one.plan.places if place.section == outer] == [33, 34, 51, 52]


def test_the_pages_of_a_four_inside_a_sixteen(tmp_path: Path) -> None:
    one = made(tmp_path, 68, sections={"pages": 16, "short": "inside"})
    inner = one.plan.sections[2].pieces[1]
    assert [place.position + 1 for place in one.plan.places if place.section == inner] == [41, 42, 43, 44]


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_thirty_twos_set_in_thirty_twos(tmp_path: Path, reading: str) -> None:
    """Sixty-fours of two 32s each: 16 leaves on either side, the inner 32 pushed out by the outer one's eight.

    Wick Thin 60: 60 g/m2 x 1.25 / 1000 = 0.075 mm; the middle leaf stands out by 15 x 0.075 = 1.125 mm.
    """
    one = made(tmp_path, 128, book={"reading": reading}, paper={"stock": "Wick Thin 60"}, sections={"pages": 64})
    proved_whole(one)
    panels = {s.id: 2 * s.columns * s.rows for sheet in one.told.sheets for s in sheet.sections}
    assert [[panels[name] for name in section.pieces] for section in one.plan.sections] == [[32, 32]] * 2
    assert max(place.creep_mm for place in one.plan.places) == pytest.approx(1.125)
    trimmed_alike(one, [64, 64], 0.075)


def test_all_of_a_stitched_book_lies_one_in_another(tmp_path: Path) -> None:
    """52 pages: the outermost an ordinary section, since it carries the last pages (common practice, no source)."""
    one = made(tmp_path, 52, book={"binding": "stitched"}, sections={"pages": 16}, bindery={"lip": "none"})
    proved_whole(one)
    (section,) = one.plan.sections
    panels = {s.id: 2 * s.columns * s.rows for sheet in one.told.sheets for s in sheet.sections}
    assert [panels[name] for name in section.pieces] == [16, 4, 16, 16]
    trimmed_alike(one, [52], TEXT_MM)
