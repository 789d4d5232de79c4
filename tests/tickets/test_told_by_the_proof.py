# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folding and gathering tell what was read from the written sheets, whatever the plan says of its pages."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import evolve

from foldproof.impose.write import write_sheets
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.manuscript.read import read
from foldproof.prove.model import Proof, Verdict
from foldproof.tickets.diagram import checks
from tests.build import book
from tests.prove.by_hand import proved
from tests.tickets.works import entries, work_of

JOB = Job.model_validate({"paper": {"sheet": "350 x 500 mm"}})
#: what imp-16-octavo of the handbook shows: page 1 in front, 16 behind, 8 and 9 in the middle; the next section 16 on
RIGHT = [[str(n), f"{n}A ({n})", str(a), str(a + 15), f"{a + 7} and {a + 8}"] for n, a in ((1, 1), (2, 17), (3, 33))]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Path, Path]:
    """Three octavo sections, a sheet each: plan, sheets and manuscript."""
    folder = tmp_path_factory.mktemp("written")
    book(48, folder / "book.pdf", trim_mm=(100, 150), bleed_mm=3)
    manuscript = read(folder / "book.pdf")
    plan = plans(48, (100.0, 150.0), JOB, load_house(None), title="Three Lamps")[0]
    assert [section.pieces for section in plan.sections] == [("1A",), ("2A",), ("3A",)]
    write_sheets(manuscript, plan, JOB, folder / "sheets.pdf", date="2026-11-28")
    return plan, folder / "sheets.pdf", folder / "book.pdf"


@pytest.fixture(scope="module")
def proof(written: tuple[Plan, Path, Path]) -> Proof:
    plan, sheets, manuscript = written
    return proved(sheets, plan.instructions, manuscript, pictures=False)


def spoilt(written: tuple[Plan, Path, Path], target: Path, how: Callable[[pikepdf.Pdf], None]) -> Proof:
    """The proof of sheets that something was done to after they were written."""
    plan, sheets, manuscript = written
    with pikepdf.open(sheets) as pdf:
        how(pdf)
        pdf.save(target)
    made = proved(target, plan.instructions, manuscript, pictures=False)
    assert made.verdict is Verdict.FAILED
    return made


def exchange(one: int, other: int) -> Callable[[pikepdf.Pdf], None]:
    """Two pages of the book stand in each other's place; sheets name the form of page n ``/Pn``."""

    def done(pdf: pikepdf.Pdf) -> None:
        holders = {
            number: page.obj.Resources.XObject
            for page in pdf.pages
            for number in (one, other)
            if f"/P{number}" in page.obj.Resources.XObject
        }
        first, second = holders[one][f"/P{one}"], holders[other][f"/P{other}"]
        holders[one][f"/P{one}"], holders[other][f"/P{other}"] = second, first

    return done


def first_sheet_twice(pdf: pikepdf.Pdf) -> None:
    """What stands on sheet 1 stands on sheet 2 as well, marks and all."""
    for side in (0, 1):
        pdf.pages[2 + side].obj.Contents = pdf.pages[side].obj.Contents
        pdf.pages[2 + side].obj.Resources = pdf.pages[side].obj.Resources


def second_sheet_turned(pdf: pikepdf.Pdf) -> None:
    """Sheet 2 is printed standing on its head, on both sides."""
    for page in (pdf.pages[2], pdf.pages[3]):
        _, _, wide, high = (float(value) for value in page.obj.MediaBox)
        page.contents_add(f"q -1 0 0 -1 {wide} {high} cm".encode(), prepend=True)
        page.contents_add(b"Q")


def told(plan: Plan, proof: Proof, bench: str, **given: Any) -> dict[str, Any]:
    [entry] = entries(work_of(plan, job=JOB, proof=proof, **given), bench)
    body: dict[str, Any] = entry["body"]
    return body


def piles(body: dict[str, Any]) -> list[tuple[str, list[str], list[str]]]:
    [piece] = body["seen"]
    return [
        (pile["words"], [page["text"] for page in pile["top"]], [page["text"] for page in pile["under"]])
        for pile in piece["piles"]
    ]


def spans(body: dict[str, Any]) -> list[list[list[float]]]:
    return [column["spans"] for column in body["spine"]["columns"]]


@pytest.fixture(scope="module")
def twice(written: tuple[Plan, Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Proof:
    return spoilt(written, tmp_path_factory.mktemp("twice") / "sheets.pdf", first_sheet_twice)


# --- folding ---


def test_three_pages_to_find(written: tuple[Plan, Path, Path], proof: Proof) -> None:
    assert proof.verdict is Verdict.PROVED
    body = told(written[0], proof, "folding")
    assert body["checks"] == RIGHT
    assert body["check_heads"][2:] == ["front, lower right", "back, lower left", "middle, left and right page"]
    # after the last fold the first page lies on one face of the pile and the last on the other
    _, top, under = piles(body)[-1]
    assert sorted((*top, *under)) == ["1", "16"]


@pytest.mark.parametrize(("one", "other"), [(1, 9), (16, 40), (8, 17)])
def test_pages_exchanged_on_the_sheets_change_the_numbers(
    one: int, other: int, written: tuple[Plan, Path, Path], proof: Proof, tmp_path: Path
) -> None:
    plan = written[0]
    wrong = told(plan, spoilt(written, tmp_path / "wrong.pdf", exchange(one, other)), "folding")
    right = told(plan, proof, "folding")
    swapped = {str(one): str(other), str(other): str(one)}
    for was, now in zip(right["checks"], wrong["checks"], strict=True):
        words = [[swapped.get(word, word) for word in cell.split()] for cell in was[2:]]
        assert [cell.split() for cell in now[2:]] == words
    assert wrong["checks"] != right["checks"] and piles(wrong) != piles(right)


def test_a_wrong_plan_does_not_come_into_it(written: tuple[Plan, Path, Path], proof: Proof) -> None:
    """The plan says that pages 1 and 9 stand in each other's place; the sheets were written otherwise."""
    plan = written[0]
    pages = {0: 8, 8: 0}
    wrong = evolve(plan, places=tuple(evolve(p, page=pages.get(p.page, p.page)) for p in plan.places))
    assert told(wrong, proof, "folding")["checks"] == RIGHT
    # the plan's own pages at the places that are to be found
    outside, middle = checks(wrong)["1A"].outside, checks(wrong)["1A"].middle
    named = [str((wrong.places[position].page or 0) + 1) for position in (*outside, *middle)]
    first = RIGHT[0]
    assert named != [first[2], first[3], *first[4].split(" and ")]


def test_without_a_proof_no_page_is_named(written: tuple[Plan, Path, Path]) -> None:
    [entry] = entries(work_of(written[0], job=JOB, proof=None), "folding")
    assert entry["body"]["checks"] == [] and entry["body"]["seen"] == []
    assert "not proved" in entry["body"]["check_words"] and "not proved" in entry["body"]["seen_words"]
    [entry] = entries(work_of(written[0], job=JOB, proof=None), "gathering")
    assert entry["body"]["spine"] is None
    assert [row[3] for row in entry["body"]["rows"]] == ["not proved"] * 3


# --- gathering ---


def test_bars_are_drawn_where_they_were_read(written: tuple[Plan, Path, Path], proof: Proof) -> None:
    plan = written[0]
    body = told(plan, proof, "gathering")
    mark = plan.instructions.collation
    assert mark is not None
    # what the bindery is told: first_mm below the head trim, and step_mm on from section to section; read at 288 dpi,
    # a pixel of which is 0.09 mm
    for number, [(top, foot)] in enumerate(spans(body)):
        assert top == pytest.approx(mark.first_mm + number * mark.step_mm, abs=0.2)
        assert foot - top == pytest.approx(mark.length_mm, abs=0.2)
    assert [row[3] for row in body["rows"]] == ["1 to 16", "17 to 32", "33 to 48"]
    # the back of a book that is read from left to right: its first section at the right
    columns = body["spine"]["columns"]
    assert columns[0]["x1"] == pytest.approx(1) and columns[-1]["x0"] == pytest.approx(0)
    assert all(later["x1"] == pytest.approx(one["x0"]) for one, later in pairwise(columns))


def test_a_section_twice_shows(written: tuple[Plan, Path, Path], proof: Proof, twice: Proof) -> None:
    plan = written[0]
    body = told(plan, twice, "gathering")
    right = spans(told(plan, proof, "gathering"))
    assert spans(body) == [right[0], right[0], right[2]], "two bars at one height, and a gap where the second was"
    assert [row[3] for row in body["rows"]] == ["1 to 16", "1 to 16", "33 to 48"]


def test_a_section_turned_shows(written: tuple[Plan, Path, Path], proof: Proof, tmp_path: Path) -> None:
    plan = written[0]
    body = told(plan, spoilt(written, tmp_path / "turned.pdf", second_sheet_turned), "gathering")
    right = spans(told(plan, proof, "gathering"))
    assert spans(body)[0] == right[0] and spans(body)[2] == right[2]
    assert spans(body)[1] != right[1]


def test_first_lines_are_those_of_the_pages_found(written: tuple[Plan, Path, Path], twice: Proof) -> None:
    plan = written[0]
    lines = tuple(f"The lamp of page {number} burned low" for number in range(1, 49))
    rows = told(plan, twice, "gathering", first_lines=lines)["rows"]
    assert [row[4] for row in rows] == [lines[0], lines[0], lines[32]]
