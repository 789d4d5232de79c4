# SPDX-License-Identifier: AGPL-3.0-or-later
"""The sentences of a plan: whole, in number and order, and no more of them than the book asks for."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import pytest

from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.preflight.checks.grain import CHECK
from foldproof.preflight.model import Severity
from tests.preflight.facts import facts

HOUSE = load_house(None)
DEMY, A4, SLIP = (140.0, 216.0), (210.0, 297.0), (99.0, 210.0)
BLACK, FOUR = ("Black",), ("Cyan", "Magenta", "Yellow", "Black")
OUTER = {1, 4, 5, 8, 9, 12, 13, 16}

#: pages, trim, job, and the inks of each page where they are not black
BOOKS: dict[str, tuple[int, tuple[float, float], dict[str, Any], list[tuple[str, ...]] | None]] = {
    "plain": (150, DEMY, {}, None),
    "one page": (1, DEMY, {}, None),
    "an eight round a sixteen": (24, DEMY, {}, None),
    "an eight and a four": (12, DEMY, {}, None),
    "wrapped": (156, DEMY, {"sections": {"short": "wrapped"}}, None),
    "inside": (156, DEMY, {"sections": {"short": "inside"}}, None),
    "last": (156, DEMY, {"sections": {"short": "last"}}, None),
    "stitched": (40, DEMY, {"book": {"binding": "stitched"}}, None),
    "stitched and thick": (150, DEMY, {"book": {"binding": "stitched"}}, None),
    "leaflet": (8, SLIP, {"book": {"binding": "leaflet"}}, None),
    "leaflet in colour": (6, SLIP, {"book": {"binding": "leaflet"}}, [FOUR] * 6),
    "glued": (160, DEMY, {"book": {"binding": "glued"}}, None),
    "from the right": (161, DEMY, {"book": {"reading": "right to left", "blanks_front": 2}}, None),
    "grain across": (160, A4, {"paper": {"sheet": "640 x 900 mm", "grain": "long"}, "sections": {"pages": 16}}, None),
    "bought sheet": (150, DEMY, {"paper": {"sheet": "610 x 860 mm"}}, None),
    "two in one": (128, (105.0, 148.0), {"sections": {"pages": 64}}, None),
    "thin": (160, DEMY, {"paper": {"stock": "Wick Thin 60"}}, None),
    "offcut": (60, DEMY, {"sections": {"fold": "24 with offcut"}}, None),
    "four in colour": (200, DEMY, {}, [FOUR if n in (9, 40, 41, 150) else BLACK for n in range(200)]),
    "a lip": (64, DEMY, {"book": {"binding": "stitched"}, "bindery": {"lip": "low folio"}}, None),
    "sixes": (160, DEMY, {"book": {"binding": "glued"}, "sections": {"pages": 6}}, None),
    "one side": (16, DEMY, {"press": {"way": "two formes"}}, [BLACK if n in OUTER else () for n in range(1, 17)]),
    "an insert": (150, DEMY, {"insert": [{"first_page": 33, "pages": 8, "stock": "Glaze Silk 115"}]}, None),
}


@cache
def made(name: str) -> Plan:
    pages, trim, job, inks = BOOKS[name]
    return planned(pages, trim, inks=inks, **job)


def planned(
    pages: int, trim: tuple[float, float] = DEMY, *, house: House = HOUSE, inks: Any = None, **job: Any
) -> Plan:
    return plans(pages, trim, Job.model_validate(job), house, title="A book", most=1, inks=inks)[0]


def about(plan: Plan, subject: str) -> str:
    (told,) = (sentence for sentence in plan.assumptions if sentence.startswith(f"{subject}: "))
    return told.removeprefix(f"{subject}: ")


@pytest.mark.parametrize("name", BOOKS)
def test_sentences_are_whole(name: str) -> None:
    plan = made(name)
    said = (*plan.assumptions, *plan.offers, *plan.refused, *plan.rules)
    for sentence in said:
        assert re.fullmatch(r"[A-Z0-9].*[^.,;: ]\.", sentence), sentence
        assert not re.search(r"\.\.|,,|;;|  | [.,;:]|\(\)|None|\{|\}", sentence), sentence
        # one of a thing is one; eight, eleven and eighteen begin with a vowel
        assert not re.search(r"\b1 (pages|plates|sheets|inks|sections|leaves|blanks)\b", sentence), sentence
        assert not re.search(r"\b([2-9]|\d\d+) (page|plate|sheet)\b", sentence), sentence
        assert not re.search(r"\ba (8|11|18)\b|\ban ([1-79]|1[02-79])\b", sentence), sentence
    assert len(set(said)) == len(said)
    subjects = [sentence.split(":")[0] for sentence in plan.assumptions if not sentence.startswith("Insert")]
    assert subjects == ["Binding", "Sections", "Blanks", "Stock", "Fold", "Grain", "Sheet", "Press"]


def test_every_size_of_sheet_is_told_once_with_how_many_there_are() -> None:
    for name in BOOKS:
        plan = made(name)
        told = about(plan, "Sheet")
        for run in plan.runs:
            short, long = sorted(round(side) for side in run.sheet_mm)
            assert f"{short} x {long} mm" in told or f"{long} x {short} mm" in told, told
        assert f"{plan.sheets} sheet" in told
        one_sided = sum(not all(run.inks) for run in plan.runs)
        assert ("on one side" in told) == bool(one_sided)


def test_every_press_and_way_is_told() -> None:
    for name in BOOKS:
        told = about(made(name), "Press")
        for run in made(name).runs:
            # a sheet with a bare side has one forme, whatever the way could print
            way = run.way if all(run.inks) else "one forme a sheet"
            assert run.press.name in told and (way in told or run.way == "one side")


def test_why_sections_are_of_their_size() -> None:
    assert about(made("plain"), "Sections").endswith(" (16s on paper above 60 g/m2).")
    assert about(made("thin"), "Sections").endswith(" (32s on paper up to 60 g/m2).")
    assert about(made("one page"), "Sections") == "1 of 4 pages, since the book is smaller than one ordinary section."
    assert about(made("an eight round a sixteen"), "Sections") == "1 of 24 pages (16 in 8); 16s on paper above 60 g/m2."
    # a leaflet is no book of sections, and the job's own words want no reason
    assert about(made("leaflet"), "Sections") == "1 of 8 pages."
    assert about(made("sixes"), "Sections") == "27 of 6 pages."
    wrapped, inside = about(made("wrapped"), "Sections"), about(made("inside"), "Sections")
    assert "1 of 28 (16 in 8 in 4)" in wrapped and "1 of 28 (4 in 8 in 16)" in inside


def test_a_fold_with_an_offcut_is_told_in_two_parts() -> None:
    told = about(made("offcut"), "Fold")
    assert '16 pages by scheme "24 with offcut" (right under, bottom over, left under)' in told
    assert '8 pages from the offcut of scheme "24 with offcut" (right under, left under)' in told


def test_blanks_in_front_and_at_the_end() -> None:
    assert about(made("from the right"), "Blanks") == "2 in front, as the job says, and 1 at the end; 161 pages in 164."


def test_grain_across_the_spine_is_told_and_is_a_finding_of_the_check() -> None:
    plan = made("grain across")
    assert "ACROSS the spine" in about(plan, "Grain")
    for name in BOOKS:
        one = made(name)
        found = list(CHECK.run(facts(grain_along_spine=one.grain_along_spine, stock=one.stock), {}))
        assert [finding.severity for finding in found] == ([Severity.QUERY] if name == "grain across" else [])
    (finding,) = CHECK.run(facts(grain_along_spine=plan.grain_along_spine, stock=plan.stock), {})
    assert f'"{plan.stock}" runs across the spine' in finding.problem


def test_only_what_was_wanted_is_told_as_refused() -> None:
    """Folds of leaflets have eight pages too: no matter in a sewn book of 8s that nobody asked for."""
    eights = made("bought sheet")
    assert {section.pages for section in eights.sections} == {8} and not eights.refused
    asked = planned(160, sections={"pages": 8})
    assert any("'8 gate' cannot be sewn" in sentence for sentence in asked.refused)
    # 5 mm of head against 6 of bolt: the 16 and the 8 that would have gone before the 4 are told of, once each
    deep = HOUSE.model_copy(update={"allowances": HOUSE.allowances.model_copy(update={"bolt_min": 6.0})})
    fours = planned(32, house=deep)
    assert {section.pages for section in fours.sections} == {4}
    assert [re.findall(r"^Scheme '(\w+)' has bolts", sentence) for sentence in fours.refused][:2] == [["16"], ["8"]]
