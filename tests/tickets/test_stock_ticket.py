# SPDX-License-Identifier: AGPL-3.0-or-later
"""The stock bench: sheets by stock, grain, and larger sheets cut to the press sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from foldproof.job.load import load_house
from foldproof.job.model import House, HouseStock, Job
from foldproof.makeup.choose import plans
from foldproof.quantities.model import StockOrder
from foldproof.tickets.stock import ParentCut, parent_for
from foldproof.tickets.write import write_tickets
from tests.tickets.crowded import crowded
from tests.tickets.works import entries, work_of

HOUSE = load_house(None)


def order(sheet_mm: tuple[float, float], grain: str = "long", stock: str = "Hearth Book 90") -> StockOrder:
    return StockOrder(stock, 90.0, sheet_mm, grain, (1,), 1000, 1130, 2.26, 30.0, None)


def house_of(*sheets: tuple[str, str]) -> House:
    stock = HouseStock.model_validate(
        {"name": "Hearth Book 90", "grammage": 90, "bulk": 1.3, "sheets": [{"size": s, "grain": g} for s, g in sheets]}
    )
    return HOUSE.model_copy(update={"stocks": (stock,)})


def made(job: dict[str, Any], pages: int = 64) -> Any:
    told = Job.model_validate(job)
    plan = plans(pages, (140.0, 216.0), told, HOUSE, title="The Wharfinger’s Year")[0]
    return work_of(plan, job=told, house=HOUSE)


def test_every_order_is_told_with_its_sums() -> None:
    work = made({})
    [entry] = entries(work, "stock")
    assert len(entry["body"]["orders"]) == len(work.quantities.orders) > 0
    for told, ordered in zip(entry["body"]["orders"], work.quantities.orders, strict=True):
        runs = [work.plan.run_of(number) for number in ordered.sheets]
        assert told["gross"] == f"{sum(run.gross_sheets for run in runs):,}"
        # a ream is 500 sheets (handbook ream-units); weight is area x grammage x sheets (handbook a4-5g)
        gross, (wide, high) = ordered.gross, ordered.sheet_mm
        assert told["reams"] == f"{gross / 500:,.1f}"
        kilos = gross * wide / 1000 * high / 1000 * ordered.grammage / 1000
        assert float(told["weight"].removesuffix(" kg")) == pytest.approx(kilos, abs=0.51)
        assert told["cut"] is None and told["cut_words"].startswith("As delivered")
    # behind the sheets for the press those of the endpapers, which this bench hands on too
    assert entry["due"][1].partition(" + ")[0] == f"{sum(o.gross for o in work.quantities.orders):,}"


@pytest.mark.parametrize(
    ("sheet_mm", "grain", "upright"),
    [
        # the grain along the longer side; a sheet 500 wide and 350 high has its longer side across
        ((500.0, 350.0), "long", False),
        ((500.0, 350.0), "short", True),
        ((350.0, 500.0), "long", True),
        ((350.0, 500.0), "short", False),
    ],
)
def test_the_arrow_lies_as_the_grain(sheet_mm: tuple[float, float], grain: str, upright: bool) -> None:
    from foldproof.tickets.stock import _order

    told = _order(made({}), order(sheet_mm, grain))
    assert told["grain_upright"] is upright
    assert f"along the {grain} side ({'up' if upright else 'across'} the sheet)" in told["grain"]


@pytest.mark.parametrize(
    ("held", "wanted", "cut"),
    [
        # 1000 / 500 = 2 across, 700 / 350 = 2 up, nothing left over
        ([("700 x 1000 mm", "long")], order((500.0, 350.0)), ParentCut((1000.0, 700.0), 2, 2)),
        # the grain of the parent runs along its shorter side, that of the piece along its longer: laid the other way
        ([("700 x 1000 mm", "short")], order((500.0, 350.0)), ParentCut((700.0, 1000.0), 1, 2)),
        # a sheet stood on end has its grain up: 700 / 350 = 2 across, 1000 / 500 = 2 up
        ([("700 x 1000 mm", "long")], order((350.0, 500.0)), ParentCut((700.0, 1000.0), 2, 2)),
        # the least left over wins: of 900 x 640 there comes but one
        (
            [("640 x 900 mm", "long"), ("700 x 1000 mm", "long")],
            order((500.0, 350.0)),
            ParentCut((1000.0, 700.0), 2, 2),
        ),
        # too small
        ([("350 x 480 mm", "long")], order((500.0, 350.0)), None),
        # a hair too small
        ([("700 x 999.9 mm", "long")], order((500.0, 350.0)), ParentCut((999.9, 700.0), 1, 2)),
    ],
)
def test_a_larger_sheet_is_cut_along_its_grain(
    held: list[tuple[str, str]], wanted: StockOrder, cut: ParentCut | None
) -> None:
    assert parent_for(house_of(*held), wanted) == cut


def test_no_way_to_cut_gives_more() -> None:
    """Every way in which a guillotine can part a sheet into pieces that may not be turned, tried out on small cases."""

    def most(wide: int, high: int, w: int, h: int) -> int:
        best = int(w <= wide and h <= high)
        for x in range(1, wide // 2 + 1):
            best = max(best, most(x, high, w, h) + most(wide - x, high, w, h)) if wide - x >= w else best
        for y in range(1, high // 2 + 1):
            best = max(best, most(wide, y, w, h) + most(wide, high - y, w, h)) if high - y >= h else best
        return best

    for wide, high, w, h in ((7, 5, 2, 2), (8, 6, 3, 2), (6, 6, 4, 2), (9, 4, 2, 3), (5, 5, 5, 1)):
        sheet = (f"{min(wide, high) * 100} x {max(wide, high) * 100} mm", "long" if wide > high else "short")
        # grain across both
        piece = order((w * 100.0, h * 100.0), "long" if w >= h else "short")
        found = parent_for(house_of(sheet), piece)
        laid = (wide, high) if found is None or found.sheet_mm == (wide * 100, high * 100) else (high, wide)
        assert (found.out if found else 0) == most(*laid, w, h), (wide, high, w, h)


def test_a_bought_size_is_told_with_the_cut_that_would_do(tmp_path: Path) -> None:
    work = made({"paper": {"sheet": "440 x 630 mm", "grain": "long"}})
    [entry] = entries(work, "stock")
    [told] = [o for o in entry["body"]["orders"] if o["cut"]]
    # 630 x 440 of 640 x 450, which the house holds: 1 - 630 x 440 / 288,000 = 3.75 %; two of 640 x 900 leave as much
    assert sorted(told["cut"]["sheet_mm"]) == [450.0, 640.0]
    assert "down to it (4 % left over)" in told["cut_words"]
    write_tickets(work, tmp_path / "tickets.pdf")
    assert crowded(tmp_path / "tickets.pdf") == []
