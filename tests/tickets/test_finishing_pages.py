# SPDX-License-Identifier: AGPL-3.0-or-later
"""The binder's tickets as they are printed, read back with MuPDF: nothing cut, nothing on something else."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import ModuleType

import pymupdf
import pytest

from foldproof.quantities.model import Work
from foldproof.tickets import packing, sewing
from foldproof.tickets.cautions import DEFER
from tests.tickets.finished import LONG, benches, by_hand, made, tickets

Shelf = Callable[[str], tuple[Work, pymupdf.Document]]
DEMY = (140.0, 216.0)
SELF = {"cover": {"endpapers": "self", "rounding": "rounded and backed"}, "book": {"reading": "right to left"}}
BOOKS: dict[str, Callable[[ModuleType], Work]] = {
    "a real one": lambda _: made(150, {"stamping": {"ink": "Foil"}}),
    "one section, a long title": lambda samples: by_hand(samples, DEMY, 16, title=LONG),
    "150 sections": lambda samples: by_hand(samples, DEMY, 2400),
    "wide": lambda samples: by_hand(samples, (1200.0, 900.0), 64),
    "tiny": lambda samples: by_hand(samples, (40.0, 30.0), 16),
    "pieces set one in another, right to left": lambda samples: by_hand(samples, (210.0, 148.0), 2400, SELF, pieces=2),
    "glued": lambda samples: by_hand(samples, DEMY, 400, {"book": {"binding": "glued"}}),
    "stitched, flaps": lambda samples: by_hand(
        samples, DEMY, 64, {"book": {"binding": "stitched"}, "cover": {"flaps": "60 mm"}}
    ),
    "covered": lambda samples: by_hand(samples, (105.0, 148.0), 320, {"cover": {"kind": "paper", "flaps": "60 mm"}}),
}
#: they run on for more pages where many pieces are listed; two at the most else
MOST_PAGES = {"sewing": 3}


@pytest.fixture(scope="module")
def shelf(samples: ModuleType) -> Shelf:
    """Every book and its tickets, each set once."""

    @cache
    def taken(book: str) -> tuple[Work, pymupdf.Document]:
        work = BOOKS[book](samples)
        return work, tickets(work)

    return taken


def text_of(page: pymupdf.Page) -> str:
    return " ".join(page.get_text().split())


@pytest.mark.parametrize("book", BOOKS)
def test_no_word_lies_on_another_or_off_the_page(book: str, shelf: Shelf) -> None:
    """Boxes of words as MuPDF finds them, shrunk across their lines: ascenders and descenders may meet."""
    for page in shelf(book)[1]:
        # the white edge that an office printer needs (common practice, no source)
        paper = pymupdf.Rect(12, 12, page.rect.width - 12, page.rect.height - 12)
        boxes = []
        for block in page.get_text("dict")["blocks"]:
            for line in block.get("lines", ()):
                level = abs(line["dir"][0]) > 0.5
                for span in line["spans"]:
                    if not span["text"].strip(" \u200b"):
                        continue
                    x0, y0, x1, y1 = span["bbox"]
                    inset = 0.28 * ((y1 - y0) if level else (x1 - x0))
                    dx, dy = (0.3, inset) if level else (inset, 0.3)
                    boxes.append((pymupdf.Rect(x0 + dx, y0 + dy, x1 - dx, y1 - dy), span["text"]))
        assert boxes
        for index, (box, text) in enumerate(boxes):
            assert box in paper, (page.number + 1, text)
            for other, beside in boxes[index + 1 :]:
                assert not box.intersects(other), (page.number + 1, text, beside)


@pytest.mark.parametrize("book", BOOKS)
def test_no_line_is_drawn_off_the_page(book: str, shelf: Shelf) -> None:
    for page in shelf(book)[1]:
        drawn = [path["rect"] for path in page.get_drawings()]
        assert drawn
        for rect in drawn:
            # a level or upright line has an empty rectangle
            assert rect.x0 >= 12 and rect.y0 >= 12 and rect.x1 <= page.rect.width - 12
            assert rect.y1 <= page.rect.height - 12


@pytest.mark.parametrize("book", BOOKS)
def test_every_bench_stands_on_its_own(book: str, shelf: Shelf) -> None:
    work, document = shelf(book)
    pages: dict[str, list[str]] = {}
    for page in document:
        pages.setdefault(page.get_text().split("\n")[0].strip(), []).append(text_of(page))
    for bench in benches(work):
        [named] = [said for name, said in pages.items() if name.startswith(bench.name)]
        assert len(named) <= MOST_PAGES.get(bench.bench, 1), bench.bench
        whole = " ".join(named)
        assert all(work.plan.title[:20] in said for said in named)
        assert DEFER[:30] in whole and "Take care." in whole
        for name, value in bench.facts:
            if value and len(value) < 40:
                assert value in whole, (bench.bench, name, value)
        for head, _ in bench.body.get("notes", ()):
            assert head in whole, (bench.bench, head)


def test_words_are_large_enough_for_an_arms_length(shelf: Shelf) -> None:
    """11 pt and more for what is read, 14 pt for key figures; names and captions may be 10 pt."""
    document = shelf("a real one")[1]
    for page in document:
        for block in page.get_text("dict")["blocks"]:
            for line in block.get("lines", ()):
                for span in line["spans"]:
                    assert span["size"] >= 9.9, span["text"]
    [thread] = [v for n, v in sewing.sewing(shelf("a real one")[0]).facts if n == "thread for one book"]
    page = next(page for page in document if page.get_text().startswith("Sewing"))
    sizes = [
        span["size"]
        for block in page.get_text("dict")["blocks"]
        for line in block.get("lines", ())
        for span in line["spans"]
        if span["text"].strip() == thread
    ]
    assert sizes and min(sizes) >= 14


def test_every_piece_that_is_set_in_another_is_listed(shelf: Shelf) -> None:
    work, document = shelf("pieces set one in another, right to left")
    whole = " ".join(text_of(page) for page in document)
    for section in work.plan.sections:
        outer, inner = section.pieces
        assert f"{inner} into {outer}" in whole


def test_a_long_title_is_cut_at_a_word_on_the_label(samples: ModuleType) -> None:
    [bench] = packing.benches(by_hand(samples, DEMY, 16, title=LONG))
    first = bench.body["label"][0]
    assert first.endswith("…") and LONG.startswith(first[:-1]) and len(first) <= 60


def test_the_same_bytes_again(samples: ModuleType) -> None:
    one, two = (tickets(by_hand(samples, (105.0, 148.0), 32)).tobytes(no_new_id=True) for _ in range(2))
    assert one == two


def test_a_title_cannot_become_a_command(samples: ModuleType) -> None:
    document = tickets(by_hand(samples, (105.0, 148.0), 16, title='#panic("x") $ [ ] \\ *b*'))
    assert '#panic("x")' in text_of(document[0])
