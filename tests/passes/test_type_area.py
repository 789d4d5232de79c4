# SPDX-License-Identifier: AGPL-3.0-or-later
"""The text block of a page: built ones, and pages of real books held against poppler's word boxes."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from attrs import astuple

from foldproof.manuscript.observe import Lot, look_at, turn_of
from foldproof.manuscript.read import read
from foldproof.manuscript.seen import TypeArea
from foldproof.pdf.interpreter import Book
from foldproof.units import pt_to_mm
from tests import build
from tests.build import PT
from tests.passes.looking import look

#: 51 letters of Courier at 9 pt
LINE = "The lamplighter goes his round when dusk comes down"
MEASURE_MM = len(LINE) * 0.6 * 9 / PT


def block(lines: int = 30, *, left: float = 20.0, head: float = 190.0, line: str = LINE) -> str:
    return "0 g\n" + "".join(build.text_at(line, left, head - 4.5 * n, 9) for n in range(lines))


def area(tmp_path: Path, content: str, **page: Any) -> TypeArea | None:
    objects, _ = look(tmp_path / "a.pdf", text="", content=content, face="cour", **page)
    found: TypeArea | None = objects.type_area
    return found


def test_a_block(tmp_path: Path) -> None:
    found = area(tmp_path, block())
    assert found is not None
    assert (found.left_mm, found.right_mm) == pytest.approx((20.0, 20.0 + MEASURE_MM), abs=0.02)
    # 0.7 em above the first baseline, 0.2 below the last
    assert found.head_mm == pytest.approx(190.0 + 0.7 * 9 / PT, abs=0.02)
    assert found.foot_mm == pytest.approx(190.0 - 29 * 4.5 - 0.2 * 9 / PT, abs=0.02)
    assert (found.lines, found.of, found.ragged) == (30, 30, False)


def test_head_and_folio_are_left_out(tmp_path: Path) -> None:
    around = build.text_at("The Lamplighter's Almanac", 20, 202, 9)
    assert area(tmp_path, around + block(), folio="12") == area(tmp_path, block())


def test_turned_pages_are_seen_upright(tmp_path: Path) -> None:
    upright = area(tmp_path, block())
    assert upright is not None
    pages: tuple[dict[str, Any], ...] = ({"rotate": 90}, {"rotate": 180}, {"rotate": 270}, {"user_unit": 2.0})
    for page in pages:
        found = area(tmp_path, block(), **page)
        assert found is not None and astuple(found) == pytest.approx(astuple(upright), abs=0.01)


def test_lines_without_an_edge_at_the_right(tmp_path: Path) -> None:
    rows = "".join(build.text_at(LINE[: 50 - 3 * (n % 12)], 20, 190 - 4.5 * n, 9) for n in range(24))
    found = area(tmp_path, f"0 g\n{rows}")
    assert found is not None and found.ragged and found.left_mm == pytest.approx(20.0, abs=0.02)


def test_a_few_words_are_no_block(tmp_path: Path) -> None:
    assert area(tmp_path, block(2)) is None
    assert area(tmp_path, "") is None


def test_type_set_across_is_no_block(tmp_path: Path) -> None:
    assert area(tmp_path, f"q 0 1 -1 0 400 0 cm {block()} Q") is None


def words_of(path: Path, page: int) -> list[tuple[float, float, float]]:
    """xMin, xMax and yMax of poppler's words, points."""
    ran = ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), str(path), "-"]
    text = subprocess.run(ran, capture_output=True, text=True, check=True).stdout
    found = re.findall(r'xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="([\d.]+)"', text)
    return [(float(x0), float(x1), float(y)) for x0, x1, y in found]


@pytest.mark.corpus
@pytest.mark.parametrize("name", ["r-intro", "kaytannollista-latexia-a5", "tex-by-topic"])
def test_edges_agree_with_poppler(name: str, corpus: Path, tool: Callable[[str], str]) -> None:
    """At both edges of the block so many words begin and end as lines are said to bear it out."""
    tool("pdftotext")
    path = corpus / "books" / f"{name}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    manuscript = read(path)
    some = range(30, 100, 10)
    turns = tuple(turn_of(manuscript.pages[index]) for index in some)
    looked = look_at(Lot(Book(path, manuscript.sha256), turns, 3.0, True, False))
    judged = 0
    for found in looked:
        block = found.objects.type_area if found.objects else None
        if block is None or block.ragged:
            continue
        judged += 1
        words = words_of(path, found.index + 1)
        # poppler's bounds are those of the glyphs' advances, as ours; lines within 1.2 pt are one heap
        starts = sum(abs(pt_to_mm(x0) - block.left_mm) < 0.5 for x0, _, _ in words)
        ends = sum(abs(pt_to_mm(x1) - block.right_mm) < 0.5 for _, x1, _ in words)
        assert min(starts, ends) >= 0.9 * block.lines, (found.index, block, starts, ends)
    assert judged >= 4
