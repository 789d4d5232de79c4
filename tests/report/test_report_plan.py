# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the report says of the make-up: presses, ways, plates by side, cost, rules and reasons."""

from __future__ import annotations

import re
from collections import Counter
from html import unescape
from pathlib import Path
from types import ModuleType

import pymupdf
import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Job, PressChoice
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.report.model import Format
from foldproof.report.write import write_reports

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


@pytest.fixture(scope="module")
def plan() -> Plan:
    job = Job(press=PressChoice(way="work and turn"))
    inks = [PROCESS if n == 3 else ("Black",) for n in range(30)]
    return plans(30, (140.0, 216.0), job, load_house(None), title="The Almanack", most=1, inks=inks)[0]


@pytest.fixture(scope="module")
def written(samples: ModuleType, plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    results = samples.results(folder / "almanack.pdf", plan=plan, proof=None)
    write_reports(results, folder, formats={Format.HTML, Format.PDF})
    return folder


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(scope="module", params=["report.html", "report.pdf"])
def words(request: pytest.FixtureRequest, written: Path) -> str:
    path = written / request.param
    if path.suffix == ".html":
        return flat(
            unescape(re.sub(r"<(style|script)>.*?</\1>|<[^>]+>", " ", path.read_text("utf-8"), flags=re.DOTALL))
        )
    with pymupdf.open(path) as opened:
        # hyphens that the layout set, and lines that it broke
        return flat(" ".join(page.get_text().replace("-\n", "-") for page in opened))


def test_the_first_lines_tell_plates_sheets_and_cost(plan: Plan, words: str) -> None:
    first = words.partition("All pages")[0]
    cost = plan.cost
    assert cost is not None and cost.total is not None
    assert f"Cost: {cost.total:,.2f} crowns for 1,500 copies, {cost.total / 1500:,.3f} a copy." in first
    assert f"Plates: {plan.plates}, by the inks of each side." in first
    assert f"To be bought: {sum(run.gross_sheets for run in plan.runs):,} sheets." in first
    assert all(flat(line).rstrip(".") in first for line in plan.assumptions)


def test_cost_and_choice_stand_in_a_chapter_of_their_own(plan: Plan, words: str) -> None:
    chapter = words.rpartition("Cost and choice")[2].partition("Checks")[0]
    assert plan.cost is not None
    for line in plan.cost.lines:
        assert f"{line.amount:,.2f}" in chapter
    assert "Prices of Lantern Row Press, the house that comes with the program: an invented shop." in chapter
    for said in plan.rules:
        assert flat(said) in chapter
    for said in plan.reasons:
        assert flat(said).replace(" ", "") in chapter.replace(" ", "")


def test_each_kind_of_sheet_says_how_it_is_printed(plan: Plan, words: str) -> None:
    for run in plan.runs:
        assert f"{run.press.name}, {run.way}" in words
        assert f"{run.gross_sheets:,}" in words
    coloured = [run for run in plan.runs if "Cyan" in (*run.inks[0], *run.inks[1])]
    assert coloured and "Cyan, Magenta, Yellow, Black" in words
    copies = [s for sheet in plan.instructions.sheets for s in sheet.sections if s.copy_of]
    assert copies, "the book was chosen to have a sheet with a section twice"
    assert f"{copies[0].id} as {copies[0].copy_of}" in words


def test_pages_that_stand_twice_are_drawn_twice(plan: Plan, written: Path) -> None:
    text = (written / "report.html").read_text("utf-8")
    sides = {(place.sheet, place.side.value) for place in plan.again}
    assert sides, "the book was chosen to have a sheet with a section twice"
    drawn = 0
    for sheet, side in sides:
        drawing = text.partition(f'aria-label="Sheet {sheet}, {side} ')[2].partition("</svg>")[0]
        if drawing:  # one sheet of each kind is drawn
            drawn += 1
            stand = Counter(
                "blank" if place.page is None else str(place.page + 1)
                for place in (*plan.places, *plan.again)
                if (place.sheet, place.side.value) == (sheet, side)
            )
            # printed folios stand there too, in italics
            shown = re.findall(r'<text y="[^"]*" font-size="[^"]*" fill="#1d1b18"[^>]*>(\d+|blank)</text>', drawing)
            assert Counter(shown) == stand
    assert drawn
