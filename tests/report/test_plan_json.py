# SPDX-License-Identifier: AGPL-3.0-or-later
"""plan.json and lists of plans: how each sheet is printed, what the run costs, what stands on a sheet twice."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

import jsonschema
import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job, PressChoice
from foldproof.makeup.choose import plans
from foldproof.report.as_json import plan_json, plans_json, schema, written

DEMY = (140.0, 216.0)
HOUSE = load_house(None)
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
#: four pages carry colour
COLOURED = [PROCESS if n in (0, 33, 70, 120) else ("Black",) for n in range(200)]


@pytest.fixture(scope="module")
def coloured() -> dict[str, Any]:
    plan = plans(200, DEMY, Job(), HOUSE, title="A <b>book</b>", most=1, inks=COLOURED)[0]
    return json.loads(written(plan_json(plan)))  # type: ignore[no-any-return]


def test_inks_of_a_side_are_those_of_the_pages_that_stand_on_it(coloured: dict[str, Any]) -> None:
    carried: dict[tuple[int, str], set[str]] = {}
    for place in (*coloured["places"], *coloured["again"]):
        if place["page"] is not None:
            carried.setdefault((place["sheet"], place["side"]), set()).update(COLOURED[place["page"] - 1])
    for run in coloured["runs"]:
        front, back = (carried.get((run["sheet"], side), set()) for side in ("front", "back"))
        if run["way"] in ("work and turn", "work and tumble"):
            front = back = front | back
            assert run["plates"] == len(run["inks_front"]), "one set of plates prints both sides"
        else:
            assert run["plates"] == len(run["inks_front"]) + len(run["inks_back"])
        assert set(run["inks_front"]) == front and set(run["inks_back"]) == back
    assert sum(run["plates"] for run in coloured["runs"]) == sum(
        line["quantity"] for line in coloured["cost"]["lines"] if line["what"] == "plates"
    )


def test_every_section_stands_so_often_on_its_sheet_as_its_run_says(coloured: dict[str, Any]) -> None:
    copies = {run["sheet"]: run["copies_on"] for run in coloured["runs"]}
    assert max(copies.values()) > 1, "the book was chosen to have one"
    stand = Counter((place["position"], place["sheet"]) for place in (*coloured["places"], *coloured["again"]))
    assert all(times == copies[sheet] for (_, sheet), times in stand.items())
    assert [run["sheet"] for run in coloured["runs"]] == list(range(1, len(coloured["instructions"]["sheets"]) + 1))


def test_amounts_of_the_written_cost_follow_from_its_own_lines(coloured: dict[str, Any]) -> None:
    cost = coloured["cost"]
    assert cost["currency"] == "crowns" and cost["copies"] == coloured["run_copies"] == 1500
    for line in cost["lines"]:
        # written quantities keep four places, so that a price times one is right to 0.00005 x price
        assert line["amount"] == pytest.approx(line["quantity"] * line["price"], abs=0.005 + 0.00005 * line["price"])
    assert cost["total"] == round(sum(line["amount"] for line in cost["lines"]), 2)


def test_paper_that_is_paid_for_is_that_of_the_gross_sheets(coloured: dict[str, Any]) -> None:
    # mm2 x g/m2 x 1e-9 = kg
    kg = sum(
        run["gross_sheets"] * run["sheet_mm"][0] * run["sheet_mm"][1] * run["grammage"] * 1e-9
        for run in coloured["runs"]
    )
    assert sum(line["quantity"] for line in coloured["cost"]["lines"] if line["what"] == "paper") == pytest.approx(
        kg, abs=1e-3
    )
    assert all(run["net_sheets"] < run["gross_sheets"] for run in coloured["runs"])
    assert all(run["net_sheets"] == -(-1500 // run["copies_on"]) for run in coloured["runs"])


def test_a_price_that_the_house_does_not_state_is_null_and_so_is_the_sum() -> None:
    presses = tuple(press.model_copy(update={"plate_price": None}) for press in HOUSE.presses)
    house = HOUSE.model_copy(update={"presses": presses})
    data = plan_json(plans(150, DEMY, Job(), house, title="x", most=1)[0])
    jsonschema.validate(json.loads(written(data)), schema("plan"), cls=jsonschema.Draft202012Validator)
    plates = [line for line in data["cost"]["lines"] if line["what"] == "plates"]
    assert plates and all(line["price"] is None and line["amount"] is None for line in plates)
    assert data["cost"]["total"] is None


def test_printed_folios_stand_beside_the_pages_where_they_are_known() -> None:
    plan = plans(20, DEMY, Job(book=Book(binding="stitched")), HOUSE, title="x", most=1)[0]
    folios = ("", "ii", *(str(n) for n in range(1, 19)))
    data = plan_json(plan, folios=folios)
    jsonschema.validate(json.loads(written(data)), schema("plan"), cls=jsonschema.Draft202012Validator)
    assert {place["page"]: place["folio"] for place in data["places"] if place["page"]} == {
        n: folio or None for n, folio in enumerate(folios, 1)
    }
    assert all(place["folio"] is None for place in plan_json(plan)["places"])


def test_a_list_of_plans_is_valid_and_its_schema_refuses_another() -> None:
    job = Job(press=PressChoice(name="Lamplighter 1020"))
    data = json.loads(written(plans_json(plans(48, DEMY, job, HOUSE, title="x", most=3))))
    published = schema("plans")
    jsonschema.Draft202012Validator.check_schema(published)
    jsonschema.validate(data, published, cls=jsonschema.Draft202012Validator)
    assert len(data["plans"]) == 3
    for spoilt in (
        {**data, "plans": []},
        {**data, "more": 1},
        {**data, "plans": [{**data["plans"][0], "runs": [{"sheet": 1}]}]},
        {**data, "plans": [{k: v for k, v in data["plans"][0].items() if k != "cost"}]},
    ):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoilt, published, cls=jsonschema.Draft202012Validator)
