# SPDX-License-Identifier: AGPL-3.0-or-later
"""Printed folios: read where neighbours bear them out, and never guessed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from foldproof.manuscript.folios import candidates, folios, odd_folios
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.seen import PrintedNumber
from foldproof.pdf.bands import Word
from foldproof.workers import Workers
from tests import build


def line(*texts: str, y: float = 20.0) -> list[Word]:
    return [Word(50.0 + 60 * n, y, 90.0 + 60 * n, y + 9, text) for n, text in enumerate(texts)]


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [
        (["12"], ["12"]),
        (["–", "12", "–"], ["12"]),
        (["[12]"], ["12"]),
        (["12", "The", "Lamplighter"], ["12"]),
        (["The", "Lamplighter", "12"], ["12"]),
        (["3", "Of", "Lamps", "57"], ["3", "57"]),
        (["The", "Lamplighter", "5", "/", "95"], ["95", "5"]),
        (["The", "Lamplighter", "5/95"], ["95", "5"]),
        (["Page", "5", "of", "95"], ["95", "5"]),
        (["95", "of", "5"], ["95", "5"]),
        (["Lamp", "96", "/", "95"], ["95"]),
        (["In", "1926", "they", "came"], []),
        (["xii"], ["xii"]),
        (["XIV"], ["XIV"]),
        (["iiii"], []),
        (["Xii"], []),
        (["3.2", "Wicks"], []),
        (["007"], []),
        (["0"], []),
    ],
)
def test_a_number_alone_or_at_an_end_of_its_line_may_be_the_folio(texts: list[str], wanted: list[str]) -> None:
    assert [c.text for c in candidates(line(*texts))] == wanted


@pytest.mark.parametrize(("text", "value"), [("iv", 4), ("ix", 9), ("xl", 40), ("xcix", 99), ("MCMXC", 1990)])
def test_roman_numerals(text: str, value: int) -> None:
    (found,) = candidates(line(text))
    assert found.value == value


def test_lines_are_told_apart_by_their_height() -> None:
    words = [*line("Lamps", "9", y=30.0), *line("12", y=12.0)]
    assert sorted(c.text for c in candidates(words)) == ["12", "9"]


def pages(*texts: str) -> list[tuple[PrintedNumber, ...]]:
    return [candidates(line(*text.split())) for text in texts]


def test_a_run_is_borne_out_by_its_neighbours() -> None:
    assert folios(pages("i", "ii", "iii", "1", "2", "3", "4")) == ["i", "ii", "iii", "1", "2", "3", "4"]


def test_a_page_without_a_number_has_none() -> None:
    assert folios(pages("1", "2", "", "4", "5")) == ["1", "2", None, "4", "5"]


def test_numbers_that_do_not_count_on_are_no_folios() -> None:
    assert folios(pages("7 Lamps", "7 Lamps", "7 Lamps", "7 Lamps")) == [None] * 4
    assert folios(pages("1998", "3", "88", "12")) == [None] * 4
    assert folios(pages("5")) == [None]


def test_the_chapter_number_beside_the_folio_is_not_taken() -> None:
    texts = [f"3 Of Lamps {n}" for n in range(40, 48)]
    assert folios(pages(*texts)) == [str(n) for n in range(40, 48)]


def test_one_misprint_among_right_folios_is_left_out() -> None:
    assert folios(pages("11", "12", "99", "14", "15")) == ["11", "12", None, "14", "15"]


def test_a_folio_before_the_number_of_all_pages() -> None:
    assert folios(pages(*[f"Lamps {n} / 95" for n in range(1, 9)])) == [str(n) for n in range(1, 9)]


def test_the_same_number_at_head_and_foot_is_one() -> None:
    twice = [candidates([*line(str(n), y=20.0), *line(str(n), y=600.0)]) for n in range(3, 9)]
    assert folios(twice) == [str(n) for n in range(3, 9)]


@pytest.mark.parametrize("misprint", ["57", "85", "6"])
def test_a_misprint_in_the_place_of_the_folio_is_told(misprint: str) -> None:
    read_as = pages(*["54", "55", "56", "57", misprint, "59", "60", "61"])
    printed = folios(read_as)
    assert printed == ["54", "55", "56", "57", None, "59", "60", "61"]
    odd = odd_folios(read_as, printed)
    assert [one.text if one else None for one in odd] == [None] * 4 + [misprint] + [None] * 3


def test_a_number_elsewhere_is_no_misprint() -> None:
    read_as = [candidates(line(str(n), y=20.0 if n != 58 else 90.0)) for n in (54, 55, 56, 57, 7, 59, 60, 61)]
    read_as[4] = candidates([Word(90.0, 60.0, 130.0, 69.0, "7")])
    printed = folios(read_as)
    assert odd_folios(read_as, printed) == [None] * 8


def test_two_numberings_that_both_count_on_leave_it_open() -> None:
    """Sheet numbers and page numbers side by side: unsure, so none."""
    assert folios(pages(*[f"{n} x {n + 100}" for n in range(1, 9)])) == [None] * 8


def test_folios_of_a_built_book(tmp_path: Path) -> None:
    """Turned pages, a page without one, an offset of 4; the number in the middle of the page is no folio."""
    path = build.book(
        12, tmp_path / "a.pdf", say=lambda i: str(900 - 7 * i),
        each=lambda i: {"folio": None if i < 4 or i == 9 else str(i - 3), "rotate": 90 * (i % 4)},
    )  # fmt: skip
    with Workers(1) as one:
        seen = observe(read(path), one, trim_mm=(140, 216), bleed_mm=3, needs={"objects"}, advance=lambda _: None)
    wanted = [None] * 4 + ["1", "2", "3", "4", "5", None, "7", "8"]
    assert [p.folio for p in seen.objects if p] == wanted


@pytest.mark.corpus
@pytest.mark.parametrize(
    ("book", "most_unread"),
    [("debian-install.ja", 2)],
)
def test_folios_of_real_books_against_their_page_labels(
    book: str, most_unread: int, corpus: Path, looked_at: Callable[[Path], tuple[Manuscript, Observations]]
) -> None:
    """/PageLabels of these books state the printed number (ISO 32000-1, 12.4.2): none may be read otherwise."""
    path = corpus / "books" / f"{book}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    manuscript, seen = looked_at(path)
    read_as = [p.folio if p else None for p in seen.objects]
    wrong = [
        (page.number, page.label, folio)
        for page, folio in zip(manuscript.pages, read_as, strict=True)
        if folio is not None and page.label is not None and folio.lower() != page.label.lower()
    ]
    assert wrong == []
    assert read_as.count(None) <= most_unread
