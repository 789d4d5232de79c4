# SPDX-License-Identifier: AGPL-3.0-or-later
"""The choice between plans, what is said of it, and what is said when nothing fits."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from unittest import mock

import pytest

from foldproof.errors import AskedWrong, ExitCode, NoPlan
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup import rates, search
from foldproof.makeup.capability import capability
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import Plan
from foldproof.units import pt_to_mm

HOUSE = load_house(None)
DEMY = (140.0, 216.0)


def best(pages: int, trim: tuple[float, float] = DEMY, **job: object) -> Plan:
    return plans(pages, trim, Job.model_validate(job), HOUSE, title="A book")[0]


def refused(pages: int, trim: tuple[float, float] = DEMY, **job: object) -> NoPlan:
    with pytest.raises(NoPlan) as nothing:
        best(pages, trim, **job)
    assert nothing.value.exit_code is ExitCode.NO_PLAN
    return nothing.value


def test_a_hundred_and_fifty_pages() -> None:
    plan = best(150)
    assert [section.pages for section in plan.sections] == [16] * 8 + [8, 16]
    assert (plan.blanks_front, plan.blanks_back, plan.grain_along_spine) == (0, 2, True)
    assert plan.offers == ("2 pages more cost nothing.", "6 pages less save the 8-page section.")
    subjects = [sentence.split(":")[0] for sentence in plan.assumptions]
    assert subjects == ["Binding", "Sections", "Blanks", "Stock", "Fold", "Grain", "Sheet", "Press"]
    assert "8 of 16 pages, then 1 of 8, then 1 of 16" in plan.assumptions[1]


def test_what_costs_least_comes_first() -> None:
    """The rule of the choice: money first, where the house states every price."""
    made = plans(150, DEMY, Job(), HOUSE, title="A book", most=None)
    totals = [plan.cost.total for plan in made if plan.cost is not None and plan.cost.total is not None]
    assert len(totals) == len(made) and totals == sorted(totals)
    alike = [(plan.press.name, tuple(sorted(plan.sheet_mm)), plan.grain, plan.sections[0].pages) for plan in made]
    assert len(alike) == len(set(alike)) > 5
    assert plans(150, DEMY, Job(), HOUSE, title="A book") == made[:5]


def test_without_prices_plates_come_first_then_paper_then_time() -> None:
    press = [one.model_copy(update={"plate_price": None}) for one in HOUSE.presses]
    house = HOUSE.model_copy(update={"presses": tuple(press)})
    made = plans(150, DEMY, Job(), house, title="A book", most=None)
    assert all(plan.cost is not None and plan.cost.total is None for plan in made)
    ranks = [
        (plan.plates, sum(run.gross_sheets * run.sheet_mm[0] * run.sheet_mm[1] for run in plan.runs)) for plan in made
    ]
    assert ranks == sorted(ranks)


def test_grain_of_an_octavo_runs_the_short_way_of_its_sheet() -> None:
    """imp-grain-octavo: the grain must run the short way of the sheet, so that it runs along the spine."""
    job = Job.model_validate({"paper": {"sheet": "640 x 900 mm"}, "sections": {"fold": "16"}})
    made = plans(16, (210.0, 297.0), job, HOUSE, title="A book")
    assert {plan.grain for plan in made} == {"short"}


def test_grain_across_the_spine_is_planned_only_when_the_job_fixes_the_grain_and_is_said() -> None:
    asked: dict[str, object] = {"paper": {"sheet": "640 x 900 mm", "grain": "long"}, "sections": {"pages": 16}}
    plan = best(16, (210.0, 297.0), **asked)
    assert not plan.grain_along_spine
    assert "ACROSS the spine" in plan.assumptions[5]
    fixed = best(16, (210.0, 297.0), paper={"sheet": "640 x 900 mm", "grain": "short"})
    assert fixed.grain_along_spine


def test_a_fixed_grain_is_no_leave_to_lay_it_across_where_it_goes_along() -> None:
    """Common practice, no source: grain along the spine comes before money.  Across it this book costs less."""
    plan = best(64, (148.0, 210.0), paper={"sheet": "640 x 900 mm", "grain": "short"})
    assert plan.grain_along_spine and all(run.grain_along_spine for run in plan.runs)


def test_a_paper_held_with_the_wrong_grain_only() -> None:
    held = tuple(sheet for sheet in HOUSE.stocks[0].sheets if sheet.size == (640.0, 900.0) and sheet.grain == "long")
    stock = HOUSE.stocks[3].model_copy(update={"sheets": held})
    house = HOUSE.model_copy(update={"stocks": (stock,), "usual_stock": stock.name})
    asked = Job.model_validate({"sections": {"pages": 16}})
    with pytest.raises(NoPlan, match="do not fit with the grain along the spine") as nothing:
        plans(16, (210.0, 297.0), asked, house, title="A book")
    assert any("grain across the spine" in way for way in nothing.value.would)


def test_a_bought_sheet_says_how_its_grain_must_lie() -> None:
    assert "must be so bought" in best(150, paper={"sheet": "610 x 860 mm"}).assumptions[5]


def test_thin_paper_is_folded_to_thirty_twos() -> None:
    plan = best(160, paper={"stock": "Wick Thin 60"})
    assert [section.pages for section in plan.sections] == [32] * 5


def test_sixty_four_pages_are_two_thirty_twos_or_on_bible_paper_one_fold() -> None:
    nested = best(128, (105.0, 148.0), sections={"pages": 64})
    assert [len(section.pieces) for section in nested.sections] == [2, 2]
    assert max(place.depth for place in nested.places) == 15
    folded = best(128, (105.0, 148.0), sections={"pages": 64}, paper={"stock": "Wick Bible 40"})
    assert [len(section.pieces) for section in folded.sections] == [1, 1]
    assert len(folded.instructions.sheets[0].sections[0].folds) == 5
    assert max(place.depth for place in folded.places) == 15


@pytest.mark.parametrize("pages", [4, 6, 8, 12, 16, 24, 32, 64])
def test_every_size_of_section_that_a_job_may_ask_for(pages: int) -> None:
    plan = best(pages * 3, (105.0, 148.0), sections={"pages": pages}, book={"binding": "glued"})
    assert [section.pages for section in plan.sections] == [pages] * 3


def test_a_six_in_a_roll_is_not_sewn() -> None:
    nothing = refused(60, sections={"fold": "6 roll"})
    assert "'6 roll' cannot be sewn" in str(nothing) and "no other half" in str(nothing)
    assert "cannot be sewn" in str(refused(60, sections={"pages": 6}))
    assert best(60, sections={"fold": "6 roll"}, book={"binding": "glued"}).sections[0].pages == 6


def test_a_page_that_no_sheet_takes_says_by_how_much_and_what_would() -> None:
    """Worked by hand: a 16 of A4 is 856 x 614; with 2 x 5 and 10 + 5 of margins 866 x 629, the sheet 700 x 500."""
    nothing = refused(150, (210.0, 297.0), press={"name": "Taper 740"}, sections={"pages": 16})
    assert "166 mm too wide and 129 mm too high" in str(nothing)
    assert "a sheet of at least 866 x 629 mm on a press that takes it" in nothing.would
    assert "sections of 8, 4 pages" in nothing.would
    assert "press Beacon 1620 or Lamplighter 1020" in nothing.would
    assert any(way.startswith("a trim of at most") for way in nothing.would)
    smaller = next(way for way in nothing.would if way.startswith("a trim of at most"))
    width, height = (float(side) for side in re.findall(r"\d+", smaller))
    assert best(150, (width, height), press={"name": "Taper 740"}, sections={"pages": 16}).sections


@pytest.mark.parametrize("trim", [(5080.0, 5080.0), (10.0, 10.0), (2000.0, 50.0), (0.0, 100.0)])
def test_odd_trims_end_in_a_sentence(trim: tuple[float, float]) -> None:
    assert str(refused(10, trim)).endswith(".")


def test_paper_too_heavy_for_the_fold() -> None:
    nothing = refused(150, sections={"pages": 32}, paper={"stock": "Glaze Silk 135"})
    assert "folds 32 pages up to 90 g/m2, and the paper has 135 g/m2" in str(nothing)
    assert any("16" in way for way in nothing.would)


def test_a_press_that_the_house_has_not() -> None:
    with pytest.raises(AskedWrong, match="Beacon"):
        best(10, press={"name": "Beacon 1621"})


def test_a_house_whose_scheme_does_not_fold() -> None:
    odd = HOUSE.schemes[0].model_copy(update={"folds": ("left 2 under",)})
    broken = HOUSE.model_copy(update={"schemes": (odd, *HOUSE.schemes[1:])})
    with pytest.raises(AskedWrong, match="moves 2 of 2 panels"):
        plans(16, DEMY, Job(), broken, title="A book")


def test_a_stitched_book_too_thick_for_its_wire() -> None:
    assert "no stitch holds" in str(refused(300, book={"binding": "stitched"}))
    assert "ask the binder" in best(150, book={"binding": "stitched"}).assumptions[0]


@pytest.mark.parametrize("pages", [1, 2, 3, 4, 5, 9, 17])
@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched"])
def test_books_of_few_pages(pages: int, binding: str) -> None:
    plan = best(pages, book={"binding": binding})
    assert plan.blanks_back <= 3
    assert len(plan.places) == pages + plan.blanks_back


def test_short_sections_share_a_sheet_with_the_others() -> None:
    """A 4 and an 8 side by side are no wider than a 16: in a short run two formes less outweigh the paper."""
    press = {"name": "Lamplighter 1020", "way": "two formes"}
    plan = best(156, paper={"sheet": "640 x 900 mm"}, press=press, sections={"pages": 16}, run={"copies": 200})
    shared = {
        tuple(sorted({2 * section.columns * section.rows for section in sheet.sections}))
        for sheet in plan.instructions.sheets
    }
    assert shared == {(16,), (4, 8)}
    assert plan.sheets == 10


def test_instructions_come_back_whole_from_json() -> None:
    plan = best(150)
    told = plan.instructions
    again = FoldingInstructions.from_json(told.as_json())
    assert again.as_json() == told.as_json()
    assert again.gathering == told.gathering


def test_what_each_press_carries() -> None:
    """Worked by hand: A6 in panels of 109 x 158; a 64 of 8 x 4 turned is 632 x 872; two of them on 1400 x 1000."""
    table = {(row.press, row.trim): row for row in capability(HOUSE)}
    assert len(table) == len({row[0] for row in table}) * len({row[1] for row in table})
    row = table["Beacon 1620", "A6"]
    assert (row.pages_a_side, row.scheme, row.across, row.up, row.sheet_mm) == (64, "64", 2, 1, (1400.0, 1000.0))
    assert max(row.pages_a_side for row in table.values()) == 64
    # what the table promises can be planned
    for row in (table["Beacon 1620", "4.25 x 6.87 in"], table["Lamplighter 1020", "A4"]):
        made = plans(
            2 * row.pages_a_side,
            row.trim_mm,
            Job.model_validate({"sections": {"fold": row.scheme}, "press": {"name": row.press}}),
            HOUSE,
            title="A book",
        )
        assert made[0].sheets == 1


def test_the_work_of_a_choice_does_not_grow_with_the_pages() -> None:
    """What goes on a sheet is counted in sections of a class, up to the sheet's cells, so that 2,400 pages want no more
    kinds of sheets priced than 1,200.  The time is measured in tests/bench.
    """

    def priced(pages: int) -> int:
        with mock.patch.object(search, "sheet_rate", side_effect=rates.sheet_rate) as asked:
            assert len(plans(pages, DEMY, Job(), HOUSE, title="A book")[0].places) == pages
        return asked.call_count

    assert 0 < priced(2400) <= 1.05 * priced(1200)


def test_the_same_plan_whatever_the_hash_seed() -> None:
    script = (
        "import hashlib; from foldproof.job.load import load_house; from foldproof.job.model import Job;"
        "from foldproof.makeup.choose import plans;"
        "made = plans(150, (140.0, 216.0), Job(), load_house(None), title='A book');"
        "print(hashlib.sha256(repr(made).encode()).hexdigest())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "1", "77")
    }
    assert len(said) == 1


@pytest.mark.corpus
def test_every_book_of_the_corpus_plans(corpus: Path, tool: Callable[[str], str]) -> None:
    """Pages and sizes as an independent program tells them."""
    for book in sorted((corpus / "books").glob("*.pdf")):
        told = subprocess.run([tool("pdfinfo"), str(book)], capture_output=True, text=True, check=True).stdout
        pages = int(re.search(r"Pages:\s+(\d+)", told)[1])  # type: ignore[index]
        width, height = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", told).groups()  # type: ignore[union-attr]
        plan = best(pages, (pt_to_mm(float(width)), pt_to_mm(float(height))))
        assert plan.pages == pages and plan.grain_along_spine and plan.blanks_back <= 3, book.name
        # 16s, or smaller ones where those cost less: never larger on a paper above the house's thin_below
        assert max(section.pages for section in plan.sections) <= 16 + 8 + 4, book.name
        assert all(section.columns * section.rows <= 8 for s in plan.instructions.sheets for section in s.sections)
