# SPDX-License-Identifier: AGPL-3.0-or-later
"""Page labels (ISO 32000-1, 12.4.2)."""

from __future__ import annotations

from pathlib import Path

import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.manuscript.labels import numeral
from foldproof.manuscript.read import read
from tests.build import book, raw_pdf


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "book.pdf"


def test_the_example_of_the_standard(target: Path) -> None:
    # the example of 12.4.2: i, ii, iii, iv, 1, 2, 3, A-8, A-9
    labels = Dictionary(
        Nums=Array([0, Dictionary(S=Name.r), 4, Dictionary(S=Name.D), 7, Dictionary(S=Name.D, P="A-", St=8)])
    )
    made = read(book(9, target, labels=labels))
    assert [page.label for page in made.pages] == ["i", "ii", "iii", "iv", "1", "2", "3", "A-8", "A-9"]


def test_no_labels_no_label(target: Path) -> None:
    assert [page.label for page in read(book(2, target)).pages] == [None, None]


def test_a_prefix_alone_and_a_gap_in_front(target: Path) -> None:
    # table 159: without /S the label is the prefix alone; a tree begins at 0; pages before its first entry have none
    made = read(book(4, target, labels=Dictionary(Nums=Array([1, Dictionary(P="Cover"), 3, Dictionary(S=Name.A)]))))
    assert [page.label for page in made.pages] == [None, "Cover", "Cover", "A"]


@pytest.mark.parametrize(
    ("number", "style", "said"),
    [
        # classical numerals: 1994 and 3999 as any handbook sets them
        (1, "r", "i"), (4, "r", "iv"), (9, "R", "IX"), (40, "r", "xl"), (90, "R", "XC"), (400, "R", "CD"),
        (1994, "R", "MCMXCIV"), (3999, "r", "mmmcmxcix"),
        # table 159: A to Z for the first 26 pages, AA to ZZ for the next 26, and so on
        (1, "A", "A"), (26, "a", "z"), (27, "a", "aa"), (52, "A", "ZZ"), (53, "a", "aaa"),
        (7, "D", "7"), (7, "", ""),
        # no folio is a million letters long: figures past 10,000
        (10_001, "r", "10001"), (2_000_000_000, "a", "2000000000"),
    ],
)  # fmt: skip
def test_numerals(number: int, style: str, said: str) -> None:
    assert numeral(number, style) == said


def test_a_tree_of_labels_that_runs_in_circles(target: Path) -> None:
    # 7.9.7: number trees have kids; one that is its own kid is read once
    made = read(
        raw_pdf(
            target,
            {
                1: "<< /Type /Catalog /Pages 2 0 R /PageLabels 4 0 R >>",
                2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
                3: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] >>",
                4: "<< /Kids [4 0 R 5 0 R 99 0 R 7] >>",
                5: "<< /Nums [0 << /S /R /P (\\376\\377\\000P\\000-) /St 5 >> 1 (odd) /X 3] /Kids [4 0 R] >>",
            },
        )
    )
    assert made.pages[0].label == "P-V"
