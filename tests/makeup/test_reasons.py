# SPDX-License-Identifier: AGPL-3.0-or-later
"""Why a plan won: every figure of the sentences, reckoned again from the costs of whole plans."""

from __future__ import annotations

import re
from collections import defaultdict

import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job, Paper, PressChoice
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan

DEMY = (140.0, 216.0)
HOUSE = load_house(None)
COLOURED = [("Cyan", "Magenta", "Yellow", "Black") if n in (0, 33, 70, 120) else ("Black",) for n in range(200)]

BOOKS = {
    "sewn": (150, Job(), None),
    "glued": (158, Job(book=Book(binding="glued")), None),
    "stitched": (40, Job(book=Book(binding="stitched")), None),
    "coloured": (200, Job(), COLOURED),
    "one press": (150, Job(press=PressChoice(name="Taper 740")), None),
}


def by_bench(plan: Plan) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    assert plan.cost is not None
    for line in plan.cost.lines:
        assert line.amount is not None
        found[line.what] += line.amount
    return found


def said_lines(sentence: str) -> dict[str, float]:
    return {
        what: float(amount.replace(",", ""))
        for what, amount in re.findall(r"([a-z-]+(?: time)?) ([+-][\d,]+\.\d\d)", sentence)
    }


@pytest.mark.parametrize("name", BOOKS)
def test_what_the_next_costs_more_is_the_difference_of_the_two_plans(name: str) -> None:
    pages, job, inks = BOOKS[name]
    made = plans(pages, DEMY, job, HOUSE, title="x", most=3, inks=inks)
    best = made[0]
    assert best.cost is not None and best.cost.total is not None
    assert f"{best.cost.total:,.2f} crowns for {best.run_copies:,} copies" in best.reasons[0]
    for other, told in zip(made[1:], best.reasons[1:3], strict=True):
        assert other.cost is not None and other.cost.total is not None
        # sums and differences by hand from the lines of both costs
        differences = {
            what: round(by_bench(other)[what] - by_bench(best)[what], 2) for what in by_bench(other) | by_bench(best)
        }
        assert said_lines(told) == {what: value for what, value in differences.items() if value}
        dearer = round(other.cost.total - best.cost.total, 2)
        assert dearer > 0, "the winner costs the least"
        assert f"{dearer:,.2f} crowns dearer" in told
        assert round(sum(differences.values()), 2) == dearer
        assert f"on {other.press.name}, " in told
        plates = other.plates - best.plates
        if plates:
            word = "plate" if abs(plates) == 1 else "plates"
            assert f"{abs(plates)} {word} {'more' if plates > 0 else 'less'}" in told
        # the other says the same of itself
        assert other.reasons[0].startswith(f"Against sections of {max(s.pages for s in best.sections)}") or (
            name == "stitched"
        )
        assert f"{dearer:,.2f} crowns dearer" in other.reasons[0]


@pytest.mark.parametrize("name", ["sewn", "glued", "stitched"])
def test_pages_less_that_would_beat_it_are_planned_and_cost_what_is_said(name: str) -> None:
    pages, job, _ = BOOKS[name]
    best = plans(pages, DEMY, job, HOUSE, title="x", most=1)[0]
    told = [line for line in best.reasons if "would make it" in line]
    assert told
    for line in told:
        found = re.match(r"(\d+) pages? (less|more) would make it ([\d,.]+) crowns cheaper", line)
        assert found is not None
        change = int(found[1]) * (-1 if found[2] == "less" else 1)
        # the changed book is planned from the start
        other = plans(pages + change, DEMY, job, HOUSE, title="x", most=1)[0]
        assert best.cost and other.cost and best.cost.total and other.cost.total
        assert other.sections[0].pages == best.sections[0].pages or name == "stitched"
        assert round(best.cost.total - other.cost.total, 2) == float(found[3].replace(",", ""))


def test_without_prices_plates_and_paper_stand_for_money() -> None:
    presses = tuple(press.model_copy(update={"plate_price": None}) for press in HOUSE.presses)
    made = plans(150, DEMY, Job(), HOUSE.model_copy(update={"presses": presses}), title="x", most=2)
    best, other = made
    assert best.cost is not None and other.cost is not None and best.cost.total is None
    assert "the house does not state every price" in best.reasons[0]
    assert f"{best.plates} plates" in best.reasons[0]
    assert "dearer" not in " ".join(best.reasons) and "crowns" not in " ".join(best.reasons)
    kg = [sum(line.quantity for line in plan.cost.lines if line.what == "paper") for plan in made if plan.cost]
    assert f"{kg[0]:,.1f} kg of paper" in best.reasons[0]
    assert f"{abs(kg[1] - kg[0]):,.1f} kg of paper {'more' if kg[1] > kg[0] else 'less'}" in best.reasons[1]


def test_what_the_job_names_is_said_to_be_out_of_the_choice() -> None:
    job = Job(press=PressChoice(name="Taper 740"), paper=Paper(sheet="500 x 700 mm"))  # type: ignore[arg-type]
    best = plans(150, DEMY, job, HOUSE, title="x", most=1)[0]
    assert best.reasons[-1] == "The job itself names the press and sheet; others were not weighed."
    assert "weighed" not in " ".join(plans(150, DEMY, Job(), HOUSE, title="x", most=1)[0].reasons)


@pytest.mark.parametrize(("pages", "binding"), [(6, "leaflet"), (3, "sewn"), (8, "stitched")])
def test_a_small_book_is_not_held_against_itself(pages: int, binding: str) -> None:
    job = Job(book=Book(binding=binding))  # type: ignore[arg-type]
    made = plans(pages, DEMY, job, HOUSE, title="x", most=5)
    assert len({(p.press.name, p.sheet_mm, p.grain, tuple(s.pieces for s in p.sections), p.plates) for p in made}) == 5
    largest = max(section.pages for section in made[0].sections)
    assert f"sections of {largest} on {made[0].press.name}" in made[1].reasons[0]
    assert "the same cost" not in " ".join(made[0].reasons)


def test_rare_inks_that_were_weighed_together_are_owned_up_to() -> None:
    inks = [("Black", f"Spot {n % 7}") for n in range(700)]
    best = plans(700, DEMY, Job(), HOUSE, title="x", most=1, inks=inks)[0]
    assert best.cost is not None and best.cost.total is not None
    found = re.search(r"at most ([\d,.]+) crowns", best.reasons[0])
    assert found is not None and float(found[1].replace(",", "")) >= best.cost.total
    assert "about " in best.reasons[1]


def test_of_two_that_cost_the_same_it_is_said_what_decided() -> None:
    # a leaflet fits on its sheet with the grain either way: money, plates and paper are equal
    job = Job(book=Book(binding="leaflet"))
    best, other = plans(4, (99.0, 210.0), job, HOUSE, title="x", most=2)
    assert best.cost and other.cost and best.cost.total == other.cost.total and best.plates == other.plates
    assert "comes first in the house file" in best.reasons[0]
    decided = "the same cost; {} one comes first in the house file, all else being equal."
    assert best.reasons[1].endswith(decided.format("this")) and other.reasons[0].endswith(decided.format("that"))
