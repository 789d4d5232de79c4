# SPDX-License-Identifier: AGPL-3.0-or-later
"""What every ticket has, whatever its bench: head, code, size of type, boxes; on every page that it runs to."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pymupdf
import pytest
import zxingcpp
from attrs import evolve

from foldproof.makeup.plan import SheetKind
from foldproof.quantities.model import Count, Work
from foldproof.tickets.bench import Bench, breakable, due, short
from foldproof.tickets.labels import Labels
from foldproof.tickets.write import benches_of, ticket_data, write_tickets
from tests.tickets.crowded import crowded
from tests.tickets.works import work_of

LONG = (
    "An Account of the Several Lamps, Lanterns, Beacons and Other Lights Kept by the Wharfingers of the Row, with"
    " Remarks upon their Trimming, in Twenty Chapters, and a Table of Tides"
)
BOOKS: dict[str, dict[str, Any]] = {
    "two sections": {},
    "a long title": {"pages": 48, "title": LONG},
    "a title without a space": {"pages": 16, "title": "W" * 200},
    "a hundred and fifty sections": {"pages": 2400},
}


@pytest.fixture(scope="module", params=BOOKS)
def set_book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, samples: ModuleType):  # type: ignore[no-untyped-def]
    """The work of a book and its tickets."""
    given = dict(BOOKS[request.param])
    work = work_of(samples.plan(**given), first_lines=(LONG,) * given.get("pages", 30), date="2026-11-28")
    path = tmp_path_factory.mktemp("tickets") / "tickets.pdf"
    write_tickets(work, path)
    return work, path


def heads_of(path: Path) -> list[str]:
    """The name of the bench on every page; a name may be two words."""
    with pymupdf.open(path) as document:
        return [page.get_text().split("\n")[0].strip().split("page")[0].strip() for page in document]


def test_no_word_lies_on_another_or_off_the_page(set_book: tuple[Work, Path]) -> None:
    assert crowded(set_book[1]) == []


def test_every_page_says_whose_it_is(set_book: tuple[Work, Path]) -> None:
    work, path = set_book
    with pymupdf.open(path) as document:
        pages = [re.sub(r"\s+", " ", page.get_text()) for page in document]
    names, heads = [bench.name for bench in benches_of(work)], heads_of(path)
    counts = Counter(heads)
    assert list(dict.fromkeys(heads)) == list(dict.fromkeys(names))
    for number, (text, name) in enumerate(zip(pages, heads, strict=True), 1):
        assert f"ticket page {number} of {len(pages)}" in text
        assert work.plan.title[:12] in text.replace("\u200b", "")
        if counts[name] > 1:
            assert f"of {counts[name]}" in text.split(name, 1)[1][:20]


def test_there_is_a_code_for_every_page(set_book: tuple[Work, Path]) -> None:
    """No bench runs on to more pages than it said: else two pages would have one code."""
    work, path = set_book
    codes = ticket_data(work)["codes"]
    names = {bench.name: bench.bench for bench in benches_of(work)}
    pages: Counter[str] = Counter()
    for name in heads_of(path):
        pages[names[name]] += 1
    assert {bench: (count, len(codes[bench])) for bench, count in pages.items() if count > len(codes[bench])} == {}


def test_the_code_names_job_bench_and_page(samples: ModuleType, tmp_path: Path) -> None:
    """Read from the raster by zxing-cpp, which had no part in making it."""
    write_tickets(work_of(samples.plan()), tmp_path / "tickets.pdf")
    seen: Counter[str] = Counter()
    benches = {"Casing in": "casing-in"}
    with pymupdf.open(tmp_path / "tickets.pdf") as document:
        for page, name in zip(document, heads_of(tmp_path / "tickets.pdf"), strict=True):
            seen[name] += 1
            # the head alone: 41 mm of the page
            clip = pymupdf.Rect(0, 0, page.rect.width, 41 * 72 / 25.4)
            pixels = page.get_pixmap(dpi=110, colorspace=pymupdf.csGRAY, clip=clip)
            grey = np.frombuffer(pixels.samples, np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]
            [code] = zxingcpp.read_barcodes(np.ascontiguousarray(grey), formats=zxingcpp.BarcodeFormat.DataMatrix)
            # the typographic apostrophe is no ASCII, and the title is cut at 24 letters
            assert code.text == f"FT1|The Lamplighter?s Almana|{benches.get(name, name.lower())}|{seen[name]}"


def test_type_is_read_at_arms_length(samples: ModuleType, tmp_path: Path) -> None:
    """Words of 10 pt and more, most of them 11; figures in drawings may be smaller.  The key figures are 14 pt."""
    work = work_of(samples.plan())
    write_tickets(work, tmp_path / "tickets.pdf")
    letters: Counter[float] = Counter()
    by_size: dict[str, float] = {}
    with pymupdf.open(tmp_path / "tickets.pdf") as document:
        for page in document:
            for block in page.get_text("dict")["blocks"]:
                for line in block.get("lines", ()):
                    for span in line["spans"]:
                        letters[round(span["size"], 1)] += len(span["text"].strip())
                        said = span["text"].strip()
                        by_size[said] = max(by_size.get(said, 0.0), span["size"])
    whole = sum(letters.values())
    assert sum(count for size, count in letters.items() if size < 9.9) < 0.01 * whole
    assert sum(count for size, count in letters.items() if size >= 10.9) > 0.6 * whole
    for bench in benches_of(work):
        for _, value in bench.facts:
            if value and len(value) <= 22:
                assert by_size[value] >= 14, (bench.bench, value)


def test_all_of_it_is_black_on_white(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(work_of(samples.plan()), tmp_path / "tickets.pdf")
    with pymupdf.open(tmp_path / "tickets.pdf") as document:
        for page in document:
            pixels = page.get_pixmap(dpi=30)
            shown = np.frombuffer(pixels.samples, np.uint8).reshape(-1, 3).astype(int)
            assert (shown.max(axis=1) - shown.min(axis=1)).max() <= 2, page.number + 1


def test_kinds_beyond_the_twelfth_are_named(samples: ModuleType, tmp_path: Path) -> None:
    plan = samples.plan(16 * 14)
    work = work_of(evolve(plan, kinds=tuple(SheetKind(f"lot {n}", "octavo", (n,)) for n in range(1, 15))))
    for bench in ("press", "folding"):
        entries = [entry for entry in benches_of(work) if entry.bench == bench]
        assert [entry.what for entry in entries] == [f"lot {n}: sheet {n}" for n in range(1, 13)]
        assert entries[-1].body["says"][-1] == (
            "2 more kinds of sheet are not drawn here; plan.json holds them: lot 13, sheet 13; lot 14, sheet 14."
        )
    write_tickets(work, tmp_path / "tickets.pdf", tmp_path / "single")
    assert len([path for path in (tmp_path / "single").iterdir() if "press" in path.name]) == 1
    assert crowded(tmp_path / "tickets.pdf") == []


def test_quantities_are_told_once_for_each_sheet(samples: ModuleType) -> None:
    """What goes through twice comes out of the second pass; sheets that go through alike are named by their number."""
    work = work_of(samples.plan(48))
    counts = (
        Count("press", "each of sheets 1 to 2, pass 1 of 2", 1130, 50, 20, 1060, (1, 2)),
        Count("press", "each of sheets 1 to 2, pass 2 of 2", 1060, 20, 10, 1030, (1, 2)),
        Count("press", "sheet 3", 1200, 50, 90, 1060, (3,)),
        Count("gathering", "books", 1030, 0, 10, 1020),
    )
    work = evolve(work, quantities=evolve(work.quantities, counts=counts))
    assert due(work, "press", (1, 2)) == ("1,130 of each of 2", "1,030 of each of 2")
    assert due(work, "press", (2,)) == ("1,130", "1,030")
    assert due(work, "press", (1, 2, 3)) == ("1,130 to 1,200 of each of 3", "1,030 to 1,060 of each of 3")
    assert due(work, "gathering") == ("1,030", "1,020")
    assert due(work, "sewing") == ("", "")


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ([1, 2, 3, 4], "1 to 4"),
        ([29, 30, None, None], "29 to 30, 2 blanks"),
        ([None, 1, 2], "1 blank, 1 to 2"),
        # a page that came instead of another breaks the run
        ([1, 2, 9, 4], "1 to 2, 9, 4"),
        ([16, 15], "16, 15"),
        ([], ""),
    ],
)
def test_pages_are_told_run_by_run(found: list[int | None], said: str, samples: ModuleType) -> None:
    assert Labels(samples.plan()).found(found) == said


@pytest.mark.parametrize(
    ("text", "letters", "said"),
    [
        ("The Lamps", 20, "The Lamps"),
        ("The Lamps of Merrowby, a Tale", 22, "The Lamps of Merrowby…"),
        ("  The \n Lamps ", 20, "The Lamps"),
        ("Lampslampslamps", 9, "Lampslam…"),
    ],
)
def test_long_text_is_cut_at_a_word(text: str, letters: int, said: str) -> None:
    assert short(text, letters) == said and len(said) <= letters


def test_a_long_word_may_break() -> None:
    assert breakable("a lamp") == "a lamp"
    assert breakable("w" * 24).split("\u200b") == ["w" * 8] * 3


def test_a_bench_without_danger_has_no_box_of_cautions() -> None:
    assert Bench("stock", "Stock", "", "stock").as_data(first=True)["cautions"] == []
