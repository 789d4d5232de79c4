# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paper of endpapers, cover and jacket: sheets worked out by hand, layouts held against brute force, weights by area.

The examples are worked with the figures of the shipped house: pressing spoils 3 %, folding 1.1, gathering 0.6, sewing
0.5, trimming 0.4, casing-in 0.5, jacketing 0.5; a folder is set up with 40 sheets, Taper 740 with 220 a forme.  Two
folded sheets of endpapers a book, a cover before trimming, a jacket after all: common practice, no source.
"""

from __future__ import annotations

from math import ceil
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.case.cover_sizes import cover_sizes, jacket_sizes
from foldproof.case.parts import COVER, ENDPAPERS, JACKET, PaperParts, PartOrder, paper_parts
from foldproof.case.sizes import case_sizes
from foldproof.errors import AskedWrong
from foldproof.job.model import House, HouseStock, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.thickness import thickness
from foldproof.units import inch_to_mm
from tests.case.test_case_cutting import hold, most_by_trying
from tests.quantities.made import HOUSE, job_of, plan_of, usual

SILK = "Glaze Silk 135"


def parts_of(plan: Plan, job: Job, house: House = HOUSE) -> PaperParts:
    return paper_parts(plan, job, house, thickness(plan, job, house))


def asked(binding: str, copies: int, house: House = HOUSE, pages: int = 48, **tables: Any) -> PaperParts:
    job = job_of(binding, copies, **tables)
    return parts_of(plan_of(pages, job, house), job, house)


def only(parts: PaperParts, part: str) -> PartOrder:
    (found,) = [order for order in parts.orders if order.part == part]
    return found


def with_stock(*sheets: tuple[str, str], price: float | None = 2.0) -> House:
    """The shipped house with one more paper, "Moth Grey", in these sheets."""
    held = [{"size": size, "grain": grain} for size, grain in sheets]
    told = {"name": "Moth Grey", "grammage": 120, "bulk": 1.25, "sheets": held, "price_per_kg": price}
    return HOUSE.model_copy(update={"stocks": (*HOUSE.stocks, HouseStock.model_validate(told))})


GREY = {"cover": {"endpaper_stock": "Moth Grey"}}


# --- worked by hand -------------------------------------------------------------------------------------------------


def test_endpapers_by_hand() -> None:
    """1,000 copies: 1000 / 0.995 = 1005.03 cased, / 0.996 = 1009.06 trimmed: 1,010 books, 2,020 folds.

    2020 / 0.989 = 2042.5: 2,043 to be folded, and 40 to set the folder: 2,083 pieces.  A leaf of the untrimmed block is
    140 + 4 mm wide and 5 + 216 + 5 high, so a piece is 288 x 226 mm.  Of 640 x 900 mm with the grain along the 900 come
    2 x 3 = 6 (576 of 640, 678 of 900): 348 sheets.  Without spoilage 2,000 / 6 = 334.  Weight: 348 x 0.64 m x 0.9 m x
    120 g/m2 = 24.05 kg, at 2 a kilogramme 48.11.
    """
    order = only(asked("sewn", 1000, with_stock(("640 x 900 mm", "long")), **GREY), ENDPAPERS)
    assert (order.piece_mm, order.sheet_mm, order.grain) == ((288.0, 226.0), (640.0, 900.0), "long")
    assert (order.across, order.up, order.pieces, order.net, order.gross) == (2, 3, 2083, 334, 348)
    assert order.weight_kg == pytest.approx(348 * 0.64 * 0.9 * 0.120) and order.reams == pytest.approx(348 / 500)
    assert (order.price_per_kg, order.price, order.press) == (2.0, 48.11, "")
    for figure in ("1,010 books", "2,020", "1.1 %", "40", "2,083 pieces", "6 from a sheet", "348"):
        assert figure in order.says


def test_the_grain_lies_along_the_spine() -> None:
    """Grain along the 640 of 640 x 900: the sheet stands 900 wide and 640 high, 3 x 2 pieces of 288 x 226 go on it, and
    turned ones, which would go 3 x 2 on 640 x 900 as well, are not cut."""
    order = only(asked("sewn", 1000, with_stock(("640 x 900 mm", "short")), **GREY), ENDPAPERS)
    assert (order.sheet_mm, order.across, order.up) == ((900.0, 640.0), 3, 2)
    assert order.layout is not None and order.layout.grain == "up"
    assert {part.size_mm for part in order.layout.pieces} == {order.piece_mm}


def test_a_jacket_by_hand() -> None:
    """A sewn book in a case gets a jacket of some 470 x 222 mm; with 3 mm of bleed all round 228 mm high.

    Putting them on spoils 0.5 %: 1000 / 0.995 = 1005.03, 1,006 jackets for 1,000 books.  On 700 x 500 mm of Taper 740
    with the grain along the 700: 690 mm of it and 485 (500 less 10 at the gripper and 5 at the tail) take ink, and
    three jackets lie in it, 3 x 228 = 684 wide: 336 sheets that are good, 336 / 0.97 = 346.4: 347, and 220 to make the
    forme ready: 567.  Weight: 567 x 0.7 x 0.5 x 135 g = 26.79 kg, at 1.2 a kilogramme 32.15.
    """
    job = job_of("sewn", 1000, jacket={"stock": SILK, "flaps": "80 mm"}, cover={"endpapers": "none"})
    plan = plan_of(48, job)
    thick = thickness(plan, job, HOUSE)
    jacket = jacket_sizes(plan, job, HOUSE, thick, case_sizes(plan, job, HOUSE, thick))
    assert jacket is not None
    (order,) = parts_of(plan, job).orders
    wide, high = jacket.trimmed_mm
    assert order.piece_mm == pytest.approx((wide + 6, high + 6), abs=0.1) and high + 6 == 228
    assert 460 < order.piece_mm[0] < 485, "the example no longer holds"
    assert (order.part, order.press, order.sheet_mm, order.grain) == (JACKET, "Taper 740", (700.0, 500.0), "long")
    assert (order.across, order.up, order.net, order.gross) == (3, 1, 334, 567)
    assert order.weight_kg == pytest.approx(567 * 0.7 * 0.5 * 0.135) and order.price == 32.15
    assert order.pieces == 1006 and "1,000 copies; putting jackets on spoils 0.5 %. 1,006 jackets" in order.says
    assert order.layout is None


def test_a_house_that_states_no_spoilt_jackets_is_told_that_none_is_allowed_for() -> None:
    bare = HOUSE.allowances.model_copy(update={"spoil_jacketing": None})
    house = HOUSE.model_copy(update={"allowances": bare})
    order = only(asked("glued", 1000, house, jacket={"stock": SILK, "flaps": "80 mm"}), JACKET)
    assert order.pieces == 1000
    assert "does not state what is spoilt in putting jackets on: none is allowed for. 1,000 jackets" in order.says


@pytest.mark.parametrize(
    ("binding", "wanted", "wide", "high"),
    [
        # trimmed after they are covered: 1000 / 0.996 = 1004.02.  Panels and as much as the knives take off, 4 mm at
        # the fore-edge, 5 at head and foot; at the foot 3/16 in more (trim-perfect of the handbook)
        ("glued", 1005, 2 * (140 + 4), 5 + 216 + 5 + inch_to_mm(3 / 16)),
        # gathered with the sections: 1000 / 0.996 / 0.994 = 1010.1; the line opens them by a lip of 9 mm, cut off later
        ("stitched", 1011, 2 * (140 + 4 + 9), 5 + 216 + 5),
    ],
)
def test_covers_by_hand(binding: str, wanted: int, wide: float, high: float) -> None:
    job = job_of(binding, 1000, cover={"stock": SILK})
    plan = plan_of(48, job)
    cover = cover_sizes(plan, job, HOUSE, thickness(plan, job, HOUSE))
    (order,) = parts_of(plan, job).orders
    assert cover is not None and order.part == COVER and order.pieces == wanted
    assert order.piece_mm[0] == pytest.approx(wide + cover.spine_mm, abs=0.1)
    assert order.piece_mm[1] == pytest.approx(high, abs=0.1) and order.piece_mm[1] >= high
    press = next(one for one in HOUSE.presses if one.name == order.press)
    good = -(-wanted // order.out)
    # the press spoils 3 % of what goes into it, its make-ready apart
    assert order.gross == ceil(good / 0.97) + press.make_ready_sheets
    assert order.weight_kg == pytest.approx(order.gross * order.sheet_mm[0] * order.sheet_mm[1] * 135 / 1e9)


def test_flaps_are_not_trimmed_with_the_block() -> None:
    """Flaps of 60 mm: 2 x (140 + 60) + spine, and 3 mm of bleed on either side."""
    job = job_of("glued", 1000, cover={"stock": SILK, "flaps": "60 mm"})
    plan = plan_of(48, job)
    cover = cover_sizes(plan, job, HOUSE, thickness(plan, job, HOUSE))
    assert cover is not None
    assert only(parts_of(plan, job), COVER).piece_mm[0] == pytest.approx(400 + cover.spine_mm + 6, abs=0.1)


# --- against other ways ---------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 13), st.integers(1, 11)), min_size=1, max_size=4))
def test_no_sheet_and_no_cut_takes_less_paper(sheets: list[tuple[int, int]]) -> None:
    """The piece of 288 x 226 mm is 3 steps of 96 mm wide and 2 of 113 mm high, sheets are whole steps with their grain
    up: every cut at every step is tried out on every sheet."""
    plan, _ = usual("sewn")
    job = job_of("sewn", plan.run_copies, **GREY)
    laid = [(96 * wide, 113 * high) for wide, high in sheets]
    house = with_stock(*((f"{min(a, b)} x {max(a, b)} mm", "long" if b > a else "short") for a, b in laid))
    pieces = ceil(2 * ceil(plan.run_copies / 0.995 / 0.996) / 0.989) + 40
    outs = [most_by_trying(*steps, (3, 2), False) for steps in sheets]
    taken = [ceil(pieces / out) * a * b for out, (a, b) in zip(outs, laid, strict=True) if out]
    made = parts_of(plan, job, house)
    if not taken:
        assert made.orders == () and "comes out of no sheet of Moth Grey" in made.unknown[0]
        return
    (order,) = made.orders
    assert order.pieces == pieces
    assert order.gross * order.sheet_mm[0] * order.sheet_mm[1] == min(taken)
    assert order.layout is not None and len(order.layout.pieces) == order.out == outs[laid.index(order.sheet_mm)]
    hold(order.layout, {"fold": order.piece_mm}, turn=False)


@pytest.mark.parametrize("copies", [1, 37, 5000])
def test_printed_pieces_lie_where_the_press_prints(copies: int) -> None:
    parts = asked("glued", copies, cover={"stock": SILK}, jacket={"stock": SILK, "flaps": "90 mm"})
    assert [order.part for order in parts.orders] == [COVER, JACKET]
    for order in parts.orders:
        press = next(one for one in HOUSE.presses if one.name == order.press)
        (wide, high), (w, h) = order.sheet_mm, order.piece_mm
        assert wide <= press.sheet_max[0] and high <= press.sheet_max[1]
        upright = (order.grain == "long") == (high > wide)
        w, h = (w, h) if upright else (h, w)
        assert order.across * w <= wide - 2 * press.side and order.up * h <= high - press.gripper - press.tail
        assert order.out * (order.gross - press.make_ready_sheets) >= order.pieces >= copies


# --- what is left out -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("binding", "cover"),
    [
        ("sewn", {"endpapers": "none"}), ("sewn", {"endpapers": "self"}), ("sewn", {"kind": "none"}),
        ("glued", {"kind": "none"}), ("leaflet", {}),
    ],
)  # fmt: skip
def test_a_job_without_them_orders_nothing(binding: str, cover: dict[str, str]) -> None:
    plan, _ = usual(binding)
    assert parts_of(plan, job_of(binding, plan.run_copies, cover=cover)) == PaperParts((), ())


def test_what_is_not_stated_is_said_and_never_guessed() -> None:
    plan, _ = usual("sewn")
    job = job_of("sewn", plan.run_copies, **GREY, jacket={"stock": "Moth Grey", "flaps": "80 mm"})
    unpriced = parts_of(plan, job, with_stock(("700 x 1000 mm", "long"), price=None))
    assert [order.price for order in unpriced.orders] == [None, None]
    assert unpriced.unknown == ("What Moth Grey costs is not known: the house states no price of it.",)
    small = parts_of(plan, job, with_stock(("200 x 300 mm", "long")))
    assert small.orders == () and len(small.unknown) == 2
    assert "a fold of 288 x 226 mm, its grain along the 226 mm" in small.unknown[0]
    assert "no sheet of Moth Grey that the house states and a press of it prints" in small.unknown[1]
    bare = with_stock(("700 x 1000 mm", "long")).model_copy(update={"boards": ()})
    assert [order.part for order in parts_of(plan, job, bare).orders] == [ENDPAPERS]
    assert "jacket is not reckoned. No case is reckoned" in parts_of(plan, job, bare).unknown[0]
    with pytest.raises(AskedWrong, match=r'has no stock "Smoke"'):
        parts_of(plan, job_of("sewn", plan.run_copies, jacket={"stock": "Smoke"}))


def test_where_no_folder_takes_them_they_are_folded_by_hand() -> None:
    """The same 1,010 books, no set-up: 2,043 pieces."""
    house = with_stock(("640 x 900 mm", "long"))
    heavy = tuple(f.model_copy(update={"grammage_max": {64: 100.0}}) for f in house.folders)
    job = job_of("sewn", 1000, **GREY)
    plan = plan_of(48, job, house)
    order = only(parts_of(plan, job, house.model_copy(update={"folders": heavy})), ENDPAPERS)
    assert order.pieces == 2043 and "by hand" in order.says
    assert only(parts_of(plan, job, house), ENDPAPERS).pieces == 2083


def test_a_part_without_a_stock_of_its_own_is_of_the_text_and_says_so() -> None:
    plan, _ = usual("sewn")
    order = only(parts_of(plan, job_of("sewn", plan.run_copies)), ENDPAPERS)
    assert order.stock == plan.stock and "names no stock for the endpapers: that of the text" in order.says
