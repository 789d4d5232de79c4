# SPDX-License-Identifier: AGPL-3.0-or-later
"""Run lengths side by side: every figure against the plan and the quantities it stands for, and how bad input ends."""

from __future__ import annotations

import json
import re
import subprocess
import sys

import jsonschema
import pytest
from attrs import evolve

from foldproof.errors import AskedWrong
from foldproof.job.copies import MOST_LENGTHS, run_lengths
from foldproof.job.model import House
from foldproof.makeup.cost import CostLine
from foldproof.quantities.reckon import reckon
from foldproof.report.as_json import schema
from foldproof.report.estimate import Estimated, Length, lengths, missing_words, plans_words, rows
from foldproof.report.estimate_forms import estimate_html, estimate_json, estimate_text
from foldproof.report.plan_facts import Row
from tests.quantities.made import HOUSE, PROCESS, job_of, plan_of

COPIES = (100, 1000, 5000)
NASTY = 'Night & <script>alert("x")</script>'


def made_for(copies: tuple[int, ...], house: House = HOUSE, pages: int = 64, **tables: object) -> list[Estimated]:
    made = []
    for number in copies:
        job = job_of("sewn", number, **tables)
        plan = plan_of(pages, job, house, PROCESS)
        made.append(Estimated(plan, reckon(plan, job, house), job))
    return made


@pytest.fixture(scope="module")
def made() -> list[Estimated]:
    return made_for(COPIES)


@pytest.fixture(scope="module")
def three(made: list[Estimated]) -> list[Length]:
    return lengths(made, HOUSE)


def row(found: tuple[Row, ...], name: str) -> Row:
    (only,) = [one for one in found if one.name == name]
    return only


def figure(cell: str) -> float:
    return float(cell.replace(",", ""))


def test_every_run_length_stands_under_its_own_copies(three: list[Length]) -> None:
    found = rows(three)
    for nth, (copies, column) in enumerate(zip(COPIES, three, strict=True)):
        assert column.copies == column.plan.run_copies == column.quantities.copies == copies
        bought = sum(run.gross_sheets for run in column.plan.runs)
        assert figure(row(found, "sheets to order").cells[nth]) == bought
        assert figure(row(found, "reams").cells[nth]) == pytest.approx(bought / 500, abs=0.006)
        assert figure(row(found, "plates").cells[nth]) == column.plan.plates
        assert column.quantities.packing is not None
        per = figure(row(found, "books in a carton").cells[nth])
        assert figure(row(found, "cartons").cells[nth]) == -(-copies // per)
    more = [value for value in row(found, "paper, kg").numbers if value is not None]
    assert more == sorted(more)


def test_the_sum_is_that_of_the_lines_and_a_copy_its_share(three: list[Length]) -> None:
    found = rows(three)
    for nth, column in enumerate(three):
        by_hand = sum(line.amount or 0 for line in column.cost.lines)
        assert all(
            line.amount == pytest.approx(line.quantity * (line.price or 0), abs=0.006) for line in column.cost.lines
        )
        assert figure(row(found, "total, crowns").cells[nth]) == pytest.approx(by_hand, abs=0.006)
        assert figure(row(found, "a copy, crowns").cells[nth]) == pytest.approx(by_hand / column.copies, abs=0.0006)
        assert column.plan.cost is not None and by_hand > sum(line.amount or 0 for line in column.plan.cost.lines)
    each = row(found, "a copy, crowns").numbers
    assert list(each) == sorted(each, reverse=True)  # a plate is paid for once


def test_case_casing_in_and_cartons_by_hand(three: list[Length]) -> None:
    """Of 1000 copies 1006 cases are made (1000 / 0.995) at 900 an hour of 74 crowns, cased in at 1200; cartons at 0.6
    or 0.4; boards at 0.9 a sheet, cloth at 3.2 a metre, as the shipped house states them."""
    lines = {line.what: line for line in three[1].cost.lines}
    assert lines["case making"].amount == pytest.approx(1006 / 900 * 74, abs=0.006)
    assert lines["casing-in"].amount == pytest.approx(1006 / 1200 * 74, abs=0.006)
    packed = three[1].quantities.packing
    assert packed is not None
    assert lines["cartons"].amount == pytest.approx(packed.cartons * {"Box 440": 0.6, "Box 320": 0.4}[packed.carton])
    assert lines["board"].amount == pytest.approx(lines["board"].quantity * 0.9, abs=0.006)
    # no sheet of 700 x 1000 mm holds more than 4 x 5 boards of about 140 x 222 mm: 2012 boards are 101 sheets or more
    assert 101 <= lines["board"].quantity <= 140
    assert lines["cloth"].amount == pytest.approx(lines["cloth"].quantity * 3.2, abs=0.006)


def test_which_plan_makes_which_run_length(three: list[Length], made: list[Estimated]) -> None:
    assert len({column.name for column in three}) > 1, "the book no longer changes its plan with the run"
    assert row(rows(three), "plan").cells == tuple(column.name for column in three)
    said = plans_words(three)
    assert len(said) == len({column.name for column in three})
    for column in three:
        (mine,) = [line for line in said if line.startswith(f"Plan {column.name},")]
        assert f"{column.copies:,}" in mine
    alike = lengths([made[0], made[0]], HOUSE)
    assert [one.name for one in alike] == ["A", "A"] and not [r for r in rows(alike) if r.name == "plan"]
    assert plans_words(alike)[0].startswith("One plan is the best")


def test_lines_that_are_reckoned_elsewhere_are_added(made: list[Estimated], three: list[Length]) -> None:
    ink = CostLine("ink", 2.0, "kg", 11.0, 22.0, "told")
    more = lengths(made, HOUSE, [[ink]] * len(made))
    for one, with_ink in zip(three, more, strict=True):
        assert one.cost.total is not None and with_ink.cost.total == pytest.approx(one.cost.total + 22)


def test_a_price_that_is_not_stated_is_named_and_there_is_no_sum() -> None:
    house = HOUSE.model_copy(
        update={
            "presses": tuple(press.model_copy(update={"plate_price": None}) for press in HOUSE.presses),
            "cartons": tuple(carton.model_copy(update={"price": None}) for carton in HOUSE.cartons),
            "finishing": HOUSE.finishing.model_copy(update={"hour_price": None, "casing_per_hour": None}),
        }
    )
    columns = lengths(made_for((200, 2000), house), house)
    found = rows(columns)
    assert row(found, "total, crowns").cells == row(found, "a copy, crowns").cells == ("not known", "not known")
    press = columns[0].plan.runs[0].press.name
    said = " ".join(missing_words(columns))
    assert f"{press} states no plate_price" in said and "[finishing] states no hour_price" in said
    assert "Casing-in: [finishing] states no speed" in said and "states no price." in said
    cells = row(found, "plates, crowns").cells
    assert cells[0] == f"{columns[0].plan.plates:,}.00 plates, no price stated"
    assert row(found, "casing-in, hours").cells == ("not known", "not known")
    assert "crowns" not in row(found, "cartons").name and figure(row(found, "cartons").cells[1]) > 0


# --- forms ------------------------------------------------------------------------------------------------------------


def test_a_table_is_no_wider_than_it_may_be_and_holds_every_figure(made: list[Estimated], three: list[Length]) -> None:
    many = [three[nth % 3] for nth in range(20)]
    for width in (118, 80, 40):
        text = estimate_text(many, made[0].job, width)
        assert max(map(len, text.splitlines())) <= width
        heads = re.findall(r"^copies(.*)$", text, re.M)
        assert [figure(word) for line in heads for word in line.split()] == [column.copies for column in many]
        totals = re.findall(r"^total, crowns(.*)$", text, re.M)
        assert [figure(w) for line in totals for w in line.split()] == [column.cost.total for column in many]


def test_the_page_holds_the_same_and_escapes_what_it_is_given(made: list[Estimated]) -> None:
    named = [evolve(one, plan=evolve(one.plan, title=NASTY)) for one in made]
    page = estimate_html([*lengths(named, HOUSE)] * 3, made[0].job).decode("utf-8")
    assert "<script>alert" not in page and "&lt;script&gt;" in page
    assert page.count("<table") == 2 and page.count('<th scope="col">') == 9 + 2
    assert page.endswith("</html>\n") and "style-src 'sha256-" in page
    assert page == estimate_html([*lengths(named, HOUSE)] * 3, made[0].job).decode("utf-8")


def test_data_is_as_its_schema_says(three: list[Length], made: list[Estimated]) -> None:
    data = json.loads(estimate_json(three, made[0].job))
    published = schema("estimate")
    jsonschema.Draft202012Validator.check_schema(published)
    jsonschema.validate(data, published, cls=jsonschema.Draft202012Validator)
    for one, column in zip(data["run_lengths"], three, strict=True):
        assert one["copies"] == column.copies and one["cost"]["total"] == column.cost.total
        assert one["counts"][-1]["comes_out"] == column.copies
        assert sum(order["gross"] for order in one["orders"]) == sum(run.gross_sheets for run in column.plan.runs)
        assert one["a_copy"] == pytest.approx(one["cost"]["total"] / column.copies, abs=1e-4)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**data, "more": 1}, published)


# --- the command line -------------------------------------------------------------------------------------------------


def test_run_lengths_as_they_are_written() -> None:
    assert run_lengths("500,1000,3000") == (500, 1000, 3000)
    assert run_lengths(" 3000 , 1") == (3000, 1)
    assert len(run_lengths(",".join(str(n) for n in range(1, MOST_LENGTHS + 1)))) == MOST_LENGTHS


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0", '"0" is no number'), ("abc", '"abc" is no number'), ("-5", '"-5" is no number'), ("", "an empty place"),
        ("500,,2", "an empty place"), ("1.5", '"1.5" is no number'), ("1,000", '"000" is no number'),
        ("٥٠٠", "is no number"), ("5 00", '"5 00" is no number'), ("500,500", "500 is named twice"),
        ("10000001", "are more than 10,000,000"), ("9" * 5000, "are more than"), ("x" * 5000, "is no number"),
        (",".join(str(n) for n in range(1, 22)), "21 run lengths are too many"),
    ],
)  # fmt: skip
def test_what_is_no_list_of_run_lengths_is_told_in_a_sentence(text: str, says: str) -> None:
    with pytest.raises(AskedWrong) as told:
        run_lengths(text)
    words = str(told.value)
    assert says in words and words.startswith("--copies: ") and words.endswith(".")
    assert len(words) < 160 and "\n" not in words


def plan(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "foldproof", "plan", "--pages", "48", "--trim", "140 x 216 mm", *words],
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip


def test_the_command_sets_run_lengths_side_by_side() -> None:
    printed = plan("--copies", "500,1000")
    assert printed.returncode == 0 and printed.stderr == ""
    assert re.search(r"^copies +500 +1,000$", printed.stdout, re.M) and "total, crowns" in printed.stdout


def test_the_command_ends_with_2_where_it_is_asked_wrong() -> None:
    wrong = plan("--copies", "500,0")
    assert wrong.returncode == 2 and wrong.stdout == ""
    assert wrong.stderr.count("\n") == 1 and '"0" is no number of copies' in wrong.stderr
