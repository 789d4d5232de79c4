# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a printer is told to look at first: the page by the lay, the marks where they stand, the darkest place."""

from __future__ import annotations

from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pymupdf
import pytest
from attrs import evolve

from foldproof.geometry import Rect
from foldproof.job.model import Job, Marks
from foldproof.makeup.plan import Plan, Press, Side
from foldproof.quantities.model import InkCover, InkCovers
from foldproof.tickets import press_sheet
from foldproof.tickets.bench import frame_data
from foldproof.tickets.diagram import drawings
from foldproof.tickets.press import lay_on, press_look
from foldproof.tickets.press_marks import LOOKED_AT, mark_places, where
from foldproof.tickets.typeset import pdf
from foldproof.tickets.write import _SOURCES
from tests import build
from tests.impose.sheets import DATE, SWITCHES, impose, mupdf
from tests.tickets.test_ticket_runs import run
from tests.tickets.twice import work_and_turn
from tests.tickets.works import work_of


def laid_at(samples: ModuleType, lay: str, pages: int = 30) -> Plan:
    """The octavo of two sections on a press that lays at one side; 620 x 480 mm."""
    plan = samples.plan(pages)
    press = Press("Lantern two", 12.0, 6.0, 6.0, lay)
    return evolve(plan, press=press, runs=tuple(run(n, press=press) for n in range(1, plan.sheets + 1)))


def point(look: dict[str, Any], what: str) -> dict[str, Any]:
    return next(point for point in look["points"] if point["what"].startswith(what))


@pytest.mark.parametrize(("lay", "front", "back"), [("left", "4", "3"), ("right", "1", "2")])
def test_the_page_by_the_lay(lay: str, front: str, back: str, samples: ModuleType) -> None:
    """Front ``4 13 16 1`` and back ``2 15 14 3`` at the gripper edge (handbook imp-16-octavo); turned side to side the
    lay edge is at the other side of the back as printed, so that the pages in the two corners back one another."""
    plan = laid_at(samples, lay, 32)
    look = press_look(work_of(plan), plan.kinds[0])
    corner = point(look, "page in the corner")["where"]
    assert [words.split(",")[0] for words in corner] == [front, back]
    # typed in the sample: outer margin 22 mm and 4 mm of fore-edge trim, foot 14 + 5 mm
    assert corner[0].endswith("its head to the tail; trim from 26\xa0/\xa019")
    # the second sheet carries pages 17 to 32
    assert [(row[0], row[1], row[3]) for row in look["rows"]] == [
        ("1", front, back), ("2", str(16 + int(front)), str(16 + int(back))),
    ]  # fmt: skip
    for side, wanted in zip(look["sides"], (lay, "left" if lay == "right" else "right"), strict=True):
        (callout,) = [c for c in side["callouts"] if c["n"] == point(look, "page in the corner")["n"]]
        assert callout["edge"] == wanted
        assert (callout["at_mm"][0] < 310) is (wanted == "left")


def test_a_wrong_plan_tells_another_page(samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 32)
    swap = {3: 0, 0: 3}
    places = tuple(
        evolve(p, page=swap.get(p.page, p.page), position=swap.get(p.position, p.position)) for p in plan.places
    )
    wrong = evolve(plan, places=tuple(sorted(places, key=lambda place: place.position)))
    look = press_look(work_of(wrong), wrong.kinds[0])
    assert point(look, "page in the corner")["where"][0].startswith("1,")


def test_folios_and_blanks_by_the_lay(samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 19)
    folios = tuple("" if n < 4 else str(n - 3) for n in range(19))
    rows = press_look(work_of(plan, folios=folios), plan.kinds[0])["rows"]
    # page 4 bears no folio, page 20 is not there: 19 pages in two sections of 16
    assert [row[1] for row in rows] == ["PDF 4", "blank"]


def test_the_side_lay_stays_where_a_sheet_turns_head_to_tail(samples: ModuleType) -> None:
    plan = laid_at(samples, "right", 16)
    (sheet,) = plan.instructions.sheets
    assert lay_on(plan, 1, Side.BACK) == "left"
    tumbled = evolve(plan, instructions=evolve(plan.instructions, sheets=(evolve(sheet, turn="head to tail"),)))
    assert lay_on(tumbled, 1, Side.BACK) == "right"


def test_the_darkest_place_is_told_from_the_lay(samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 16)
    covers = tuple(
        InkCover(1, side, "Black", (0.05,) * 20, 0.05, spot, dark)
        for side, spot, dark in (("front", (100.0, 70.0), 187.4), ("back", (200.0, 300.0), 92.0))
    )
    look = press_look(work_of(plan, ink=InkCovers({1: 32.0}, covers)), plan.kinds[0])
    # front, lower row from 14 mm up: 22 + 144 mm hold page 4; back, upper row 7 10 11 6, from 166 to 310 mm page 10;
    # the lay edge is at the right of the back: 620 - 200 = 420
    assert point(look, "darkest")["where"] == ["100\xa0/\xa070: 187\xa0%, page 4", "420\xa0/\xa0300: 92\xa0%, page 10"]
    n = point(look, "darkest")["n"]
    assert [side["spot"] for side in look["sides"]] == [
        {"n": n, "at_mm": (100.0, 70.0)}, {"n": n, "at_mm": (200.0, 300.0)},
    ]  # fmt: skip


def test_a_side_that_was_not_measured_is_said(samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 32)
    one = (InkCover(1, "front", "Black", (0.05,) * 20, 0.05, (100.0, 70.0), 187.4),)
    look = press_look(work_of(plan, ink=InkCovers({1: 32.0}, one)), plan.kinds[0])
    assert look["rows"][0][2].startswith("100") and look["rows"][0][4] == "not measured"
    assert look["rows"][1][2] == "not measured"
    assert not any(p["what"].startswith("darkest") for p in press_look(work_of(plan), plan.kinds[0])["points"])


def test_one_set_of_plates_is_told_once(samples: ModuleType) -> None:
    plan = work_and_turn(samples)
    plan = evolve(plan, runs=(run(1, way="work and turn", copies_on=2, sheet_mm=plan.sheet_mm),))
    look = press_look(work_of(plan), plan.kinds[0])
    assert look["places"] == ["front, across / up"]
    assert all(len(point["where"]) == 1 for point in look["points"])
    front, back = look["sides"]
    assert back["marks"] == front["marks"] and back["callouts"] == []


# --- marks ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def written(samples: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, list[Any]]:
    """A book of blank pages on sheets with all marks, as MuPDF draws them at 144 to the inch: ink alone is a mark."""
    folder = tmp_path_factory.mktemp("marks")
    book = build.book(32, folder / "a.pdf", trim_mm=(140, 216), bleed_mm=3, each=lambda _: {"text": "", "folio": None})
    plan = laid_at(samples, "left", 32)
    impose(book, plan, folder / "sheets.pdf", Job())
    return plan, mupdf(folder / "sheets.pdf", pymupdf.csGRAY, dpi=144)


def boxes(plan: Plan, pixels: Any, number: int, side: Side) -> Iterator[tuple[str, Any]]:
    """Name and pixels of every mark that is said to stand on a side."""
    for mark in mark_places(plan, Job(), DATE, {number})[number, side]:
        each, box = 144 / 25.4, mark.box_mm.grown(0.1)
        rows = slice(int((480 - box.y1) * each), int((480 - box.y0) * each) + 1)
        yield mark.name, (rows, slice(int(box.x0 * each), int(box.x1 * each) + 1))


def test_marks_stand_where_they_are_said_to(written: tuple[Plan, list[Any]]) -> None:
    """Every box holds ink on the written sheet; and nothing but the words beside the lay signs stands outside."""
    plan, sides = written
    seen = set()
    for index, (number, side) in enumerate((n, side) for n in (1, 2) for side in Side):
        ink = sides[index][:, :, 0] < 200
        left = ink.copy()
        for name, part in boxes(plan, ink, number, side):
            assert ink[part].any(), (number, side, name)
            left[part] = False
            seen.add(name)
        # "gripper edge" and "side lay" in letters of 6 pt, of 61,000 pixels of ink in all
        assert 0 < left.sum() < 700
    # a sheet that is not slit and has no slit marks
    assert seen == set(LOOKED_AT) - {"slit"}


@pytest.mark.parametrize("switch", [name for name in SWITCHES if name != "slit"])
def test_marks_that_are_switched_off_are_said_to_be_missing(switch: str, samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 16)
    off = Job(marks=Marks.model_validate({switch: False}))
    look = press_look(work_of(plan, job=off), plan.kinds[0])
    assert LOOKED_AT[switch][0] in look["missing"]
    assert LOOKED_AT[switch][0] not in press_look(work_of(plan), plan.kinds[0])["missing"]
    assert [p["n"] for p in look["points"]] == [str(n) for n in range(1, len(look["points"]) + 1)]


def test_places_are_told_from_lay_and_gripper() -> None:
    small, long = Rect(10, 20, 14, 24), Rect(100, 300, 400, 304)
    assert where([small, long], "left", 620) == "12\xa0/\xa022; 100 to 400\xa0/\xa0302"
    # from the right edge: 620 - 12, and 620 - 400 to 620 - 100
    assert where([small, long], "right", 620) == "608\xa0/\xa022; 220 to 520\xa0/\xa0302"
    assert where([small] * 7, "left", 620) == "7, the first at 12\xa0/\xa022"
    assert where([], "left", 620) == "none"


def test_numbers_on_the_drawings_are_those_of_the_list(samples: ModuleType) -> None:
    plan = laid_at(samples, "left", 32)
    sides = [(n, side.value) for n in (1, 2) for side in Side]
    covers = tuple(InkCover(n, side, "Black", (0.1,) * 20, 0.1, (300.0, 250.0), 200.0) for n, side in sides)
    work = work_of(plan, ink=InkCovers({1: 32.0, 2: 32.0}, covers), date=DATE)
    entries = [press_sheet.entry(work, drawing) for drawing in drawings(plan)]
    document = pymupdf.open(stream=pdf(_SOURCES, frame_data(plan.title, entries, DATE)))
    look = entries[0].body["look"]
    circled = [
        span["text"]
        for page in document
        for block in page.get_text("dict")["blocks"]
        for line in block.get("lines", ())
        for span in line["spans"]
        if span["size"] == pytest.approx(9.5, abs=0.01) and span["text"].isdigit()
    ]
    # in the list once each; on the drawings what is led to, on each side
    wanted = [point["n"] for point in look["points"]]
    for side in look["sides"]:
        wanted += [callout["n"] for callout in side["callouts"]] + [side["spot"]["n"]]
    assert sorted(circled) == sorted(wanted)
    for page in document:
        for x0, y0, x1, y1, word, *_ in page.get_text("words"):
            assert x0 > 35 and x1 < page.rect.width - 35 and y0 > 0 and y1 < page.rect.height, word
