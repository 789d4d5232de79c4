# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paper of endpapers, cover, jacket, and what could not be reckoned, as stock ticket, traveller and estimate tell it.

That the figures are right, tests/case/test_parts.py holds against worked examples; here they are looked for.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from foldproof.case.parts import paper_parts
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.quantities.model import Work
from foldproof.report.as_json import schema
from foldproof.report.estimate import Estimated, left_out_words, lengths, missing_words, parts_words, rows
from foldproof.report.estimate_forms import estimate_json, estimate_text
from foldproof.tickets import traveller
from foldproof.tickets.write import write_tickets
from tests.quantities.test_reckon import bare
from tests.tickets.crowded import crowded
from tests.tickets.finished import LONG, made, work_on
from tests.tickets.works import entries

JACKET = {"stock": "Glaze Silk 135", "flaps": "80 mm"}


def again(work: Work, **tables: Any) -> Work:
    """The same plan under other tables of the job."""
    job = Job.model_validate(
        {"book": {"binding": work.plan.binding}, "run": {"copies": work.plan.run_copies}, **tables}
    )
    return work_on(work.plan, job, work.house)


@pytest.fixture(scope="module")
def novel() -> Work:
    return made(48, {"run": {"copies": 1000}, "cover": {"endpaper_stock": "Hearth Book 100"}, "jacket": JACKET})


@pytest.fixture(scope="module")
def lacking() -> Work:
    """A house that states no price, no speed, no board, no carton, under a title as long as they come."""
    told = Job.model_validate({"jacket": {"flaps": "80 mm"}})
    return work_on(plans(48, (140.0, 216.0), told, bare(), title=LONG, most=1)[0], told, bare())


def test_the_stock_ticket_holds_a_row_for_each(novel: Work) -> None:
    [entry] = entries(novel, "stock")
    ends, jacket = entry["body"]["parts"]
    # worked in tests/case/test_parts.py: 2,083 folds of 288 x 226 mm; 1,000 / 0.995 = 1,006 jackets 3 up on 336 good
    # sheets, 336 / 0.97 = 347 and 220 of make-ready
    assert ends["stock"] == "Endpapers: Hearth Book 100, 100 g/m²" and "2,083 folds of 288 x 226 mm" in ends["sheets"]
    assert jacket["stock"] == "Jacket: Glaze Silk 135, 135 g/m²" and jacket["gross"] == "567"
    assert "3 side by side, 1 one above the other" in jacket["cut_words"] and jacket["pieces"] is None
    assert "along the spine" in ends["grain"] and "along the spine" in jacket["grain"]
    # weight is area x grammage x sheets (handbook a4-5g)
    for told, grammage in ((ends, 100), (jacket, 135)):
        wide, high = told["size_mm"]
        kilos = float(told["gross"].replace(",", "")) * wide * high * grammage / 1e9
        assert float(told["weight"].removesuffix(" kg")) == pytest.approx(kilos, abs=0.51)
    cut = ends["pieces"]
    assert cut["across"] * cut["piece"][0] <= ends["size_mm"][0] and cut["up"] * cut["piece"][1] <= ends["size_mm"][1]
    assert re.search(r"\d cuts? (upright|level) as drawn", ends["cut_words"]) and entry["body"]["unknown"] == ""
    text = sum(order.gross for order in novel.quantities.orders)
    assert entry["due"][1] == f"{text:,} + {ends['gross']} + {jacket['gross']}"


def test_the_traveller_hands_them_on(novel: Work) -> None:
    [bench] = traveller.benches(novel)
    orders = paper_parts(novel.plan, novel.job, novel.house, novel.quantities.thickness).orders
    told = {row[1]: row[5] for row in bench.body["rows"] if row[0] in ("", "Stock")}
    assert told["sheets for endpapers, cut"] == f"{orders[0].gross:,}"
    assert told["sheets for jacket, counted"] == f"{orders[1].gross:,}"


def test_a_job_without_them_has_no_row_of_them(novel: Work) -> None:
    plain = again(novel, cover={"endpapers": "none"})
    [entry] = entries(plain, "stock")
    assert entry["body"]["parts"] == [] and " + " not in entry["due"][1]
    [bench] = traveller.benches(plain)
    assert not [row for row in bench.body["rows"] if "sheets for" in row[1]]
    columns = lengths([Estimated(plain.plan, plain.quantities, plain.job)], plain.house)
    data = json.loads(estimate_json(columns, plain.job))
    assert "parts" not in data["run_lengths"][0] and "ndpaper" not in estimate_text(columns, plain.job)


def test_what_is_not_reckoned_stands_on_stock_ticket_and_traveller(lacking: Work, tmp_path: Path) -> None:
    [entry] = entries(lacking, "stock")
    [bench] = traveller.benches(lacking)
    for said in (entry["body"]["unknown"], bench.body["unknown"]):
        for sentence in lacking.quantities.unknown:
            assert sentence in said
        assert "Paper of the jacket is not reckoned. No case is reckoned" in said
        assert said.count("What Hearth Book 90 costs is not known") == 1
    write_tickets(lacking, tmp_path / "tickets.pdf", tmp_path / "tickets")
    for name in ("01-traveller.pdf", "02-stock.pdf"):
        assert crowded(tmp_path / "tickets" / name) == []


def test_the_estimate_has_a_line_for_each_with_its_arithmetic(novel: Work) -> None:
    columns = lengths([Estimated(novel.plan, novel.quantities, novel.job)], novel.house)
    orders = {order.part: order for order in columns[0].parts}
    lines = {line.what: line for line in columns[0].cost.lines}
    for part, price in (("endpapers", 1.1), ("jacket", 1.2)):  # as the shipped house states them a kilogramme
        order, line = orders[part], lines[f"paper of the {part}"]
        kilos = order.gross * order.sheet_mm[0] * order.sheet_mm[1] * order.grammage / 1e9
        assert line.quantity == pytest.approx(kilos) and line.amount == pytest.approx(kilos * price, abs=0.006)
        [row] = [one for one in rows(columns) if one.name == f"{part}, sheets"]
        assert row.cells == (f"{order.gross:,}",)
    said = parts_words(columns)
    assert said[0].startswith("1,000 copies, endpapers: Hearth Book 100, ") and "2,083 pieces" in said[0]
    assert "1,006 jackets, 3 from a sheet of 700 x 500 mm = 336" in said[1] and "567." in said[1]
    text = estimate_text(columns, novel.job)
    assert "paper of the jacket, crowns" in text and "Endpapers, cover, jacket" in text
    # what is left is said: nothing of their paper
    left = left_out_words(novel.job, novel.plan)
    assert "paper of" not in left and "the jacket" not in left.replace("plates and printing of the jacket", "")
    data = json.loads(estimate_json(columns, novel.job))
    jsonschema.validate(data, schema("estimate"), cls=jsonschema.Draft202012Validator)
    assert [part["gross"] for part in data["run_lengths"][0]["parts"]] == [orders["endpapers"].gross, 567]


def test_a_paper_without_a_price_leaves_no_sum(lacking: Work) -> None:
    columns = lengths([Estimated(lacking.plan, lacking.quantities, lacking.job)], lacking.house)
    assert columns[0].cost.total is None
    assert "Paper of the endpapers: Hearth Book 90 states no price_per_kg." in missing_words(columns)
    assert "crowns" not in parts_words(columns)[0]
