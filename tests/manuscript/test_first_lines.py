# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first line of text of a page, without its running head and folio."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from foldproof.manuscript.first_lines import LETTERS, first_lines
from foldproof.manuscript.model import Observations, PageObjects
from foldproof.manuscript.read import read
from foldproof.workers import Lost
from tests.build import book, text_at

BODY = [f"Line {n} of the chapter, as long as the others, to be read by lamplight." for n in range(1, 12)]


class Inline:
    """Stands in for the worker processes: one job after the other, here."""

    def map(self, function: Any, jobs: Sequence[Any], *, seconds: float) -> Iterator[tuple[int, Any]]:
        for index, job in enumerate(jobs):
            yield index, function(job)


class Killed(Inline):
    """A worker that goes down with page 2."""

    def map(self, function: Any, jobs: Sequence[Any], *, seconds: float) -> Iterator[tuple[int, Any]]:
        for index, job in enumerate(jobs):
            yield index, Lost("it crashed") if any(page.index == 1 for page in job.pages) else function(job)


def block(lines: Sequence[str], top_mm: float = 190.0, size: float = 10.0) -> str:
    return "".join(text_at(line, 15, top_mm - 5 * n, size) for n, line in enumerate(lines))


def seen(folios: Sequence[str | None]) -> Observations:
    return Observations(objects=tuple(PageObjects(n, (), (), 3, 0, folio) for n, folio in enumerate(folios)), ink=())


def lines_of(path: Path, pages: Sequence[dict[str, Any]], folios: Sequence[str | None], **more: Any) -> tuple[str, ...]:
    """What is told of pages (trim 140 x 216 mm) with such content."""
    book(len(pages), path, each=lambda n: {"text": "", "folio": None, **pages[n]})
    return first_lines(seen(folios), read(path), more.pop("wanted", range(len(pages))), more.pop("workers", Inline()))


def test_a_plain_page_begins_with_its_first_line(tmp_path: Path) -> None:
    assert lines_of(tmp_path / "a.pdf", [{"content": block(BODY), "folio": "7"}], ["7"]) == (
        "Line 1 of the chapter, as long as the others, to be read by…",
    )


@pytest.mark.parametrize(
    ("head", "folio"),
    [
        # the folio at an end of the line, the head set off from the text by a white line
        (text_at("12   The Lamps of Merrowby", 15, 203, 10), "12"),
        (text_at("The Lamps of Merrowby   xii", 15, 203, 10), "xii"),
        # smaller than the text
        (text_at("The Lamps of Merrowby", 15, 203, 8), None),
        # a folio alone above the text
        (text_at("12", 70, 203, 10), "12"),
        (text_at("- 12 -", 70, 203, 10), None),
    ],
)
def test_running_head_and_folio_are_left_out(head: str, folio: str | None, tmp_path: Path) -> None:
    [line] = lines_of(tmp_path / "a.pdf", [{"content": head + block(BODY)}], [folio])
    assert line.startswith("Line 1 of the chapter")


def test_a_head_on_several_pages_is_left_out_though_it_looks_like_text(tmp_path: Path) -> None:
    head = "The Lamps of Merrowby"
    bodies = ["They lit the quay", "She trimmed the wicks"]
    pages = [{"content": text_at(head, 15, 195, 10) + block([body, *BODY])} for body in bodies]
    assert list(lines_of(tmp_path / "a.pdf", pages, [None, None])) == bodies


def test_a_chapter_title_is_a_first_line(tmp_path: Path) -> None:
    content = text_at("Of Wicks and Oil", 15, 200, 18) + block(BODY, 180)
    assert lines_of(tmp_path / "a.pdf", [{"content": content}], [None]) == ("Of Wicks and Oil",)


def test_the_number_of_a_chapter_is_told_with_its_title(tmp_path: Path) -> None:
    content = text_at("XIV", 60, 180, 14) + text_at("The Salt Stair", 50, 170, 14) + block(BODY, 150)
    assert lines_of(tmp_path / "a.pdf", [{"content": content}], [None]) == ("XIV The Salt Stair",)


def test_text_close_under_the_head_edge_is_text(tmp_path: Path) -> None:
    assert lines_of(tmp_path / "a.pdf", [{"content": block(BODY, 208)}], [None])[0].startswith("Line 1")


def test_only_the_pages_asked_for_are_read(tmp_path: Path) -> None:
    pages = [{"text": f"Lamp {n}"} for n in range(4)]
    assert lines_of(tmp_path / "a.pdf", pages, [None] * 4, wanted=(0, 2)) == ("Lamp 0", "", "Lamp 2", "")


def test_an_empty_page_and_a_figure_have_none(tmp_path: Path) -> None:
    pages = [{}, {"folio": "2"}]
    assert lines_of(tmp_path / "a.pdf", pages, [None, "2"]) == ("", "")


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_a_turned_page_reads_as_a_reader_sees_it(rotate: int, tmp_path: Path) -> None:
    page = {"content": block(BODY), "rotate": rotate, "origin_pt": (31, -17)}
    assert lines_of(tmp_path / "a.pdf", [page], [None])[0].startswith("Line 1 of the chapter")


def test_a_page_that_brings_its_reader_down_has_no_line(tmp_path: Path) -> None:
    pages = [{"text": f"Lamp {n}"} for n in range(4)]
    assert lines_of(tmp_path / "a.pdf", pages, [None] * 4, workers=Killed()) == ("Lamp 0", "", "Lamp 2", "Lamp 3")


def test_a_long_line_is_cut_at_a_word(tmp_path: Path) -> None:
    [line] = lines_of(tmp_path / "a.pdf", [{"content": text_at("lamp " * 40, 15, 150, 3)}], [None])
    assert len(line) <= LETTERS and line.endswith("lamp…")
