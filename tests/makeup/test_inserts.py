# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages of another stock between, round and inside sections: real books, planned, written, folded again and proved.

Thickness of a leaf: Hearth Book 90, 90 g/m2 x 1.3 cm3/g / 1000 = 0.117 mm (ISO 534); Glaze Silk 135 as it is stated,
0.122 mm.  Push-out: sharp folds, one thickness for every leaf outside, each of its own stock (handbook creep-arc).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from foldproof.errors import NoPlan
from foldproof.makeup.plan import Plan
from tests.makeup.real_books import FRAME_MM, HOUSE, TRIM_MM, Made, frames, made, planned, proved_whole

TEXT_MM, SILK_MM = 90 * 1.3 / 1000, 0.122
SILK = "Glaze Silk 135"


def insert(first_page: int, pages: int, how: str = "between", **more: Any) -> dict[str, Any]:
    return {"first_page": first_page, "pages": pages, "how": how, "stock": SILK, **more}


def stock_of(plan: Plan) -> dict[int, str]:
    """PDF page: name of the stock it is printed on."""
    return {place.page + 1: plan.run_of(place.sheet).stock for place in plan.places if place.page is not None}


def on_silk(plan: Plan) -> list[int]:
    return sorted(page for page, stock in stock_of(plan).items() if stock == SILK)


def held_apart(one: Made) -> None:
    """No sheet carries both; the bindery is told which pile to take, and how thick its leaves are."""
    for sheet in one.told.sheets:
        run = one.plan.run_of(sheet.number)
        assert (sheet.stock, sheet.caliper_mm) == (run.stock, run.caliper_mm)
        assert sheet.caliper_mm == pytest.approx(SILK_MM if sheet.stock == SILK else TEXT_MM)
        stocks = stock_of(one.plan)
        on_it = {
            p.page + 1 for p in (*one.plan.places, *one.plan.again) if p.sheet == sheet.number and p.page is not None
        }
        assert {stocks[page] for page in on_it} <= {sheet.stock}


def trimmed_alike(one: Made, pushes: dict[int, float]) -> None:
    """Inner and outer margin of every frame, trimmed with the block, are 8 mm: push-out as reckoned by hand."""
    read = frames(one)
    assert set(read) == set(pushes)
    for page, frame in read.items():
        assert frame.inner_mm + pushes[page] == pytest.approx(FRAME_MM, abs=0.003), page
        assert TRIM_MM[0] - pushes[page] - frame.outer_mm == pytest.approx(FRAME_MM, abs=0.003), page


def nested(first: int, pages: int, each_mm: float, round_mm: float = 0.0) -> dict[int, float]:
    """Push-out of the pages of one folded piece whose first page is ``first``, ``round_mm`` lying round it."""
    leaves = pages // 2
    return {first + n: round_mm + min(n // 2, leaves - 1 - n // 2) * each_mm for n in range(pages)}


def test_sixteen_pages_of_pictures_between_sections(tmp_path: Path) -> None:
    """Pages 65 to 80 of a book of 160, after four 16s of the text; each section pushes out by its own paper alone."""
    one = made(tmp_path, 160, insert=[insert(65, 16)])
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == list(range(65, 81))
    assert [section.pages for section in one.plan.sections] == [16] * 10
    pushes = {}
    for section in range(10):
        pushes |= nested(16 * section + 1, 16, SILK_MM if section == 4 else TEXT_MM)
    trimmed_alike(one, pushes)
    assert pushes[71] == pytest.approx(0.366)  # 3 x 0.122
    assert pushes[55] == pytest.approx(0.351)  # 3 x 0.117
    assert "Insert: pages 65 to 80 on Glaze Silk 135, between sections." in one.plan.assumptions
    # which pages could go where an insert stands is no matter of their number: nothing is promised
    assert not any("less save" in offer for offer in one.plan.offers)
    # 72 leaves of the text and 8 of the insert: 72 x 0.117 + 8 x 0.122 = 9.4 mm
    assert one.plan.bulk_mm == pytest.approx(9.4)


def test_four_pages_wrapped_round_a_sixteen(tmp_path: Path) -> None:
    """Its first leaf before the sixteen, its second behind: the sixteen is pushed out by one leaf of the wrap."""
    one = made(tmp_path, 68, insert=[insert(33, 4, "round", holds=16)])
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == [33, 34, 51, 52]
    assert [section.pages for section in one.plan.sections] == [16, 16, 20, 16]
    pushes = {**nested(1, 16, TEXT_MM), **nested(17, 16, TEXT_MM), **nested(53, 16, TEXT_MM)}
    pushes |= {33: 0.0, 34: 0.0, 51: 0.0, 52: 0.0, **nested(35, 16, TEXT_MM, SILK_MM)}
    trimmed_alike(one, pushes)
    assert pushes[41] == pytest.approx(0.122 + 3 * 0.117) == pytest.approx(0.473)
    assert "Insert: pages 33, 34, 51 and 52 on Glaze Silk 135, round 16 pages." in one.plan.assumptions


def test_four_pages_inside_a_sixteen(tmp_path: Path) -> None:
    """Four leaves of the sixteen, 4 x 0.117 = 0.468 mm, lie round the insert; the sixteen itself does not feel it."""
    one = made(tmp_path, 68, insert=[insert(41, 4, "inside")], sections={"pages": 16})
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == [41, 42, 43, 44]
    assert [section.pages for section in one.plan.sections] == [16, 16, 20, 16]
    halves = nested(33, 16, TEXT_MM)
    pushes = {**nested(1, 16, TEXT_MM), **nested(17, 16, TEXT_MM), **nested(53, 16, TEXT_MM)}
    pushes |= {page if page < 41 else page + 4: push for page, push in halves.items()}
    pushes |= nested(41, 4, SILK_MM, 4 * TEXT_MM)
    trimmed_alike(one, pushes)
    assert pushes[41] == pytest.approx(0.468)
    assert "Insert: pages 41 to 44 on Glaze Silk 135, inside 16 pages." in one.plan.assumptions


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_stitched_with_its_insert_at_the_centre(tmp_path: Path, reading: str) -> None:
    """40 pages of text, 10 leaves on either side of the stitch: the insert stands out by 10 x 0.117 = 1.17 mm."""
    one = made(tmp_path, 44, book={"binding": "stitched", "reading": reading}, insert=[insert(21, 4, "inside")])
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == [21, 22, 23, 24]
    pushes = {page if page < 21 else page + 4: push for page, push in nested(1, 40, TEXT_MM).items()}
    trimmed_alike(one, {**pushes, **nested(21, 4, SILK_MM, 10 * TEXT_MM)})


def test_stitched_with_its_insert_round_all_of_it(tmp_path: Path) -> None:
    """A cover of 4 pages: the text is pushed out by its one leaf and its own, 0.122 + 9 x 0.117 = 1.175 mm at most."""
    one = made(tmp_path, 44, book={"binding": "stitched"}, insert=[insert(1, 4, "round")])
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == [1, 2, 43, 44]
    pushes = nested(3, 40, TEXT_MM, SILK_MM)
    assert max(pushes.values()) == pytest.approx(1.175)
    trimmed_alike(one, {**pushes, 1: 0.0, 2: 0.0, 43: 0.0, 44: 0.0})


def test_blanks_in_front_move_the_sections_and_not_the_insert(tmp_path: Path) -> None:
    """2 blank pages and 30 of text make two 16s before page 31; after the insert 23 pages of text and 1 blank."""
    one = made(tmp_path, 61, book={"blanks_front": 2}, insert=[insert(31, 8)], sections={"pages": 16})
    proved_whole(one)
    held_apart(one)
    assert on_silk(one.plan) == list(range(31, 39))
    assert [place.position for place in one.plan.places if place.page is None] == [0, 1, 63]
    # never first or last: beside the insert the 8 is neither (common practice, no source)
    assert [section.pages for section in one.plan.sections] == [16, 16, 8, 8, 16]
    assert one.plan.rules == ("The short section of 8 next to an insert: never first or last (custom of the trade).",)


def test_two_inserts_of_two_stocks_glued(tmp_path: Path) -> None:
    other = "Glaze Silk 115"
    inserts = [insert(33, 8), insert(57, 4, "round", holds=16, stock=other)]
    one = made(tmp_path, 100, book={"binding": "glued"}, insert=inserts, sections={"pages": 16})
    proved_whole(one)
    stocks = stock_of(one.plan)
    assert [page for page in stocks if stocks[page] == SILK] == list(range(33, 41))
    assert [page for page in stocks if stocks[page] == other] == [57, 58, 75, 76]
    assert {run.stock for run in one.plan.runs} == {"Hearth Book 90", SILK, other}


def test_an_insert_of_the_texts_own_stock_has_sheets_of_its_own(tmp_path: Path) -> None:
    one = made(tmp_path, 40, insert=[{"first_page": 17, "pages": 8}])
    proved_whole(one)
    sheets = {place.sheet for place in one.plan.places if place.page is not None and 16 <= place.page < 24}
    others = {place.sheet for place in one.plan.places if place.page is not None and not 16 <= place.page < 24}
    assert not sheets & others
    assert "Insert: pages 17 to 24 on Hearth Book 90, between sections." in one.plan.assumptions


# --- what cannot stand ------------------------------------------------------------------------------------------------

STITCHED = {"binding": "stitched"}


@pytest.mark.parametrize(
    ("pages", "book", "inserts", "says", "would"),
    [
        # 30 pages of text are 7 fours and 2 pages: 2 blanks, in the middle of the book
        (66, {}, [insert(31, 8)], "do not fill whole sections: 2 blank pages", "at page 29"),
        (66, {}, [insert(31, 8)], "The 30 pages of text before the insert at page 31", "at page 33"),
        (80, {}, [insert(33, 16), insert(41, 8)], "has 16 pages, and the next insert begins at page 41", "page 49"),
        (60, {}, [insert(57, 8)], "ends 4 pages after the last page of the book", "ends at page 60"),
        (34, {}, [insert(17, 4, "round", holds=16)], "after the last page of the book, page 34", "page 34"),
        # 44 pages, 4 of them the insert: 40 of text, the centre after 20
        (44, STITCHED, [insert(9, 4)], "lies at the centre, at page 21", 'first_page = 21, how = "inside"'),
        (44, STITCHED, [insert(5, 4, "round")], "or round all of it", 'first_page = 1, how = "round"'),
        (48, STITCHED, [insert(21, 4), insert(1, 4, "round")], "takes one insert", 'binding = "sewn"'),
        # 2 blanks in front, 40 pages of text and 2 blanks at the end: the centre after 22, of them 20 pages
        (44, {**STITCHED, "blanks_front": 2}, [insert(19, 4)], "at the centre, at page 21", "first_page = 21"),
        (100, {}, [insert(17, 20)], "has 20 pages, and the house folds no sewn piece of so many", "16 pages"),
        (100, {}, [insert(17, 4, "round", holds=20)], "holds 20 pages, and the house folds no sewn piece", "24 pages"),
        (8, {"binding": "leaflet"}, [insert(3, 4)], "A leaflet is one piece of paper", 'binding = "sewn"'),
        (8, {}, [insert(1, 8)], "are all of its 8 pages", "as the stock of the paper"),
    ],
)  # fmt: skip
def test_what_cannot_stand_is_refused_with_what_would(
    pages: int, book: dict[str, Any], inserts: list[dict[str, Any]], says: str, would: str
) -> None:
    with pytest.raises(NoPlan) as refused:
        planned(pages, book=book, insert=inserts)
    assert says in str(refused.value)
    assert any(would in one for one in refused.value.would), refused.value.would


def test_what_would_go_goes() -> None:
    """The pages that the refusals name are no guess."""
    assert on_silk(planned(66, insert=[insert(29, 8)])) == list(range(29, 37))
    assert on_silk(planned(66, insert=[insert(33, 8)])) == list(range(33, 41))
    assert planned(80, insert=[insert(33, 16), insert(49, 8)]).pages == 80
    stitched = planned(44, book={**STITCHED, "blanks_front": 2}, insert=[insert(21, 4)])
    assert on_silk(stitched) == [21, 22, 23, 24]


def test_an_insert_inside_asks_for_half_a_section_before_it() -> None:
    with pytest.raises(NoPlan) as refused:
        planned(100, insert=[insert(5, 4, "inside")], sections={"pages": 16})
    assert "only 4 pages stand before it, and half a section has 8" in str(refused.value)


def test_an_insert_too_heavy_to_fold_so_names_the_folder() -> None:
    """32 pages of 135 g/m2: the house folds 32s up to 90 g/m2 (folder Moth of the shipped house)."""
    with pytest.raises(NoPlan) as refused:
        planned(96, insert=[insert(33, 32)], sections={"pages": 16})
    assert "folds 32 pages up to" in str(refused.value)
    assert "135 g/m2" in str(refused.value)


def test_an_insert_counts_in_the_thickness_of_what_is_stitched() -> None:
    """200 pages of 80 g/m2 bulky paper (0.144 mm) are 100 leaves; 12 mm is what a stitch holds: refused by the text."""
    with pytest.raises(NoPlan, match="no stitch holds"):
        planned(200, book={"binding": "stitched"}, paper={"stock": "Hearth Bulky 80"}, insert=[insert(99, 4)])
    # 100 leaves of 0.12 mm are 12.0 mm and would go; with two of 0.30 mm they are 98 x 0.12 + 0.60 = 12.36 mm
    stocks = tuple(s.model_copy(update={"caliper": 0.30}) if s.name == SILK else s for s in HOUSE.stocks)
    house = HOUSE.model_copy(update={"stocks": stocks})
    book = {"binding": "stitched"}
    paper = {"stock": "Hearth Book 90", "caliper": "0.12 mm"}
    assert planned(200, house=house, book=book, paper=paper).pages == 200
    with pytest.raises(NoPlan, match=r"12\.4 mm"):
        planned(200, house=house, book=book, paper=paper, insert=[insert(99, 4)])
