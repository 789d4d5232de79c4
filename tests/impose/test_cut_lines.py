# SPDX-License-Identifier: AGPL-3.0-or-later
"""Lines of the marks that are cut with an ellipsis where they are longer than their room."""

from __future__ import annotations

import pytest

from foldproof.pdf.sheets_font import mark_font


@pytest.mark.parametrize("room_pt", [12.0, 40.0, 97.3])
def test_a_line_is_cut_as_late_as_it_fits(room_pt: float) -> None:
    font, text = mark_font(), "The Lamps of Merrowby, seventh printing"
    cut = font.shortened(text, 6.0, room_pt)
    kept = cut.removesuffix("…")
    assert cut.endswith("…") and text.startswith(kept)
    assert font.width_pt(cut, 6.0) <= room_pt
    # one letter more, blanks apart, is too long
    more = text[: len(kept) + 1] if text[len(kept)] != " " else text[: len(kept) + 2]
    assert font.width_pt(more + "…", 6.0) > room_pt


def test_a_line_that_fits_stays_and_one_without_room_goes() -> None:
    font = mark_font()
    assert font.shortened("Merrowby", 6.0, 200.0) == "Merrowby"
    assert font.shortened("Merrowby", 6.0, 1.0) == ""


def test_a_line_of_half_a_million_letters_is_cut_at_once() -> None:
    """Damaged files name thousands of inks; cut letter by letter from the end this would take hours."""
    cut = mark_font().shortened("a1 · " * 100_000, 6.0, 300.0)
    assert 20 < len(cut) < 300
