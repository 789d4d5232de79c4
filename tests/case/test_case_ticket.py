# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ticket of the case bench: its numbers, its drawings measured as with a rule, its pages read back with MuPDF."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from itertools import combinations
from types import ModuleType
from typing import Any

import pymupdf
import pytest

from foldproof.case.cutting import most_pieces
from foldproof.case.cutting_case import case_cutting
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.quantities.model import Work
from foldproof.tickets.bench import DEFER, frame_data
from foldproof.tickets.case import benches, case_ticket, cases_wanted
from foldproof.tickets.cut_plan import cut_plan_data
from foldproof.tickets.typeset import pdf
from tests.case.made import BACKED, DINGWORD, tiny
from tests.report import samples as book
from tests.tickets.finished import LONG, by_hand, made, work_on

HOUSE = load_house(None)
SOURCES = (
    *(("foldproof.tickets", f"{name}.typ") for name in ("sheet", "bench", "finish", "case")),
    ("tests.tickets", "case_only.typ"),
)
BOOKS: dict[str, Callable[[ModuleType], Work]] = {
    "a real one": lambda _: made(150, {"stamping": {"ink": "Foil"}}),
    "tiny, a long title": lambda samples: by_hand(samples, (40.0, 30.0), 16, title=LONG),
    "thick": lambda samples: by_hand(samples, (330.0, 440.0), 2400, {"cover": {"rounding": "rounded and backed"}}),
    "too large": lambda samples: by_hand(samples, (1200.0, 900.0), 64),
}


@pytest.fixture(scope="module")
def shelf() -> Callable[[str], tuple[Work, pymupdf.Document]]:
    @cache
    def taken(name: str) -> tuple[Work, pymupdf.Document]:
        work = BOOKS[name](book)
        return work, pymupdf.open("pdf", pdf(SOURCES, frame_data(work.plan.title, benches(work), work.date)))

    return taken


def boxes(drawing: dict[str, Any], style: str) -> list[tuple[float, float, float, float]]:
    """Left, top, right, bottom of the boxes of a style, mm of the ticket."""
    found = []
    for shape in drawing["shapes"]:
        if shape["style"] == style and len(shape["points_mm"]) == 4:
            xs, ys = zip(*shape["points_mm"], strict=True)
            found.append((min(xs), min(ys), max(xs), max(ys)))
    return found


def scale_in(caption: str) -> float:
    found = re.search(r"(?i)scale ([\d.]+):([\d.]+)", caption)
    assert found is not None
    return float(found[2]) / float(found[1])


@pytest.mark.parametrize("case", [DINGWORD, BACKED, tiny()], ids=["flat", "backed", "tiny"])
def test_the_open_case_measured(case: Any) -> None:
    """Boards and strip of the picture, times its scale."""
    told = case_ticket(case, case_cutting(case, HOUSE, 500))
    scale = scale_in(told["caption"])
    left, right = sorted(boxes(told["drawing"], "paper"))
    (strip,) = boxes(told["drawing"], "grey")
    for box, size in ((left, case.board_mm), (right, case.board_mm), (strip, case.strip_mm)):
        assert ((box[2] - box[0]) * scale, (box[3] - box[1]) * scale) == pytest.approx(size)
    assert (strip[0] - left[2]) * scale == pytest.approx(case.joint_mm)
    assert (right[2] - left[0]) * scale == pytest.approx(case.open_mm[0])


def test_a_cut_plan_measured() -> None:
    """A worked example: 700 x 1,000 in sixteen of 146.5 x 236, 4 rows of 4."""
    layout = most_pieces((700, 1000), (146.5, 236), turn=False, what="board", grain="up")
    assert layout is not None
    plan = cut_plan_data(layout)
    scale = scale_in(plan["caption"])
    (sheet,) = boxes(plan["drawing"], "grey")
    assert ((sheet[2] - sheet[0]) * scale, (sheet[3] - sheet[1]) * scale) == pytest.approx((700, 1000))
    pieces = boxes(plan["drawing"], "white")
    assert len(pieces) == 16
    for x0, y0, x1, y1 in pieces:
        assert ((x1 - x0) * scale, (y1 - y0) * scale) == pytest.approx((146.5, 236))
        assert sheet[0] <= x0 and x1 <= sheet[2] and sheet[1] <= y0 and y1 <= sheet[3] + 1e-9
    # every stroke of the knife is a line of the drawing, and every step a number in it
    lines = [shape for shape in plan["drawing"]["shapes"] if shape["style"] in ("outline", "fine", "hair")]
    assert sum(len(shape["points_mm"]) == 2 for shape in lines) >= len(layout.cuts)
    # the sheet's side is taken off in one, then rows, then boards
    numbers = {word["text"] for word in plan["drawing"]["words"]} & set("123456789")
    assert numbers == {number for number, _ in plan["steps"]} == {"1", "2", "3"}


def test_a_sheet_that_is_the_piece() -> None:
    layout = most_pieces((700, 1000), (700, 1000), turn=False)
    assert layout is not None
    assert cut_plan_data(layout)["steps"] == [["–", "No cut: the sheet is the piece."]]


def test_what_is_cut_for_a_job() -> None:
    """case-dingword, 500 cases: 16 boards out of a sheet of 700 x 1,000 mm, 63 sheets; two cloths across 1,000 mm."""
    told = case_ticket(DINGWORD, case_cutting(DINGWORD, HOUSE, 500))
    assert [row[1:3] for row in told["rows"]] == [
        ["146.5 x 236 mm", "1,000"],
        ["24.5 x 236 mm", "500"],
        ["371.5 x 270 mm", "500"],
    ]
    boards, cloth = told["cuts"]
    assert boards["head"].startswith("63 sheets of Grey Board 2.5: 16 boards and ")
    assert "In all 63 sheets for 1,000 boards and 500 strips" in boards["words"]
    assert cloth["head"].startswith("67.5 m of Wharf Buckram, 1000 mm wide: 250 lengths of 270 mm, 2 cloths each")


@pytest.mark.parametrize("name", BOOKS)
def test_the_sizes_stand_on_the_page(name: str, shelf: Any) -> None:
    work, document = shelf(name)
    case = work.case
    assert case is not None
    text = " ".join(" ".join(page.get_text() for page in document).split())
    for size in (*case.board_mm, *case.strip_mm, *case.cloth_mm, *case.open_mm):
        assert f"{size:.1f}".removesuffix(".0") in text
    assert "Take care." in text and " ".join(DEFER.split()) in text and "guillotine" in text
    assert f"{cases_wanted(work.quantities):,}" in text


@pytest.mark.parametrize("name", BOOKS)
def test_no_word_lies_on_another_or_off_the_page(name: str, shelf: Any) -> None:
    """Boxes of words as MuPDF finds them, shrunk across their lines: ascenders and descenders may meet."""
    pages = list(shelf(name)[1])
    assert len(pages) <= 3
    for page in pages:
        found = []
        for block in page.get_text("dict")["blocks"]:
            for span in (span for line in block.get("lines", ()) for span in line["spans"]):
                if not span["text"].strip(" \u200b"):
                    continue
                x0, y0, x1, y1 = span["bbox"]
                # 12 points of white are what an office printer needs (common practice, no source)
                assert pymupdf.Rect(12, 12, page.rect.width - 12, page.rect.height - 12).contains(span["bbox"])
                level = x1 - x0 >= y1 - y0 or len(span["text"]) < 3
                dx, dy = (0.3, 0.28 * (y1 - y0)) if level else (0.28 * (x1 - x0), 0.3)
                found.append((pymupdf.Rect(x0 + dx, y0 + dy, x1 - dx, y1 - dy), span["text"]))
        for (a, one), (b, other) in combinations(found, 2):
            assert not a.intersects(b), (page.number + 1, one, other)
        for path in page.get_drawings():
            assert page.rect.contains(path["rect"])


def test_as_many_cases_as_blocks_come_to_casing_in(shelf: Any) -> None:
    work, _ = shelf("a real one")
    (blocks,) = [count.goes_in for count in work.quantities.counts if count.bench == "casing-in"]
    assert cases_wanted(work.quantities) == blocks > work.quantities.copies


def test_a_book_without_a_case_has_no_such_bench() -> None:
    assert benches(work_on(book.plan(), Job.model_validate({"cover": {"kind": "paper"}}), HOUSE)) == ()


def test_why_there_is_no_case() -> None:
    bare = HOUSE.model_copy(update={"cloths": ()})
    (bench,) = benches(work_on(book.plan(), Job(), bare))
    assert bench.body["notes"] == [["No case.", f"No case is reckoned: {bare.name} states no cloth; put a [[cloth]] in"
                                    " its file."]]  # fmt: skip
    assert pdf(SOURCES, frame_data("A", (bench,), ""))[:5] == b"%PDF-"
