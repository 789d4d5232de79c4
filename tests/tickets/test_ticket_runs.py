# SPDX-License-Identifier: AGPL-3.0-or-later
"""Tickets of books that are printed on several presses and stocks, in every way, with folios of their own."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType
from typing import Any

import pypdf
import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import WAYS
from foldproof.makeup.plan import Plan, Press, SheetKind, SheetRun
from foldproof.quantities.model import Work
from foldproof.tickets.write import write_tickets
from tests.tickets.crowded import crowded
from tests.tickets.twice import work_and_tumble, work_and_turn
from tests.tickets.works import entries, facts_of, work_of

INKS = ("Cyan", "Magenta", "Yellow", "Black")
FOLIOS = ("i", "ii", "", "iv", *(str(page) for page in range(1, 60)))


def run(sheet: int, **changes: Any) -> SheetRun:
    made = SheetRun(
        sheet=sheet,
        press=Press("Lantern two", 12.0, 6.0, 6.0),
        way="two formes",
        stock="Row Book Wove 100",
        grammage=100.0,
        caliper_mm=0.13,
        grain="short",
        grain_along_spine=True,
        sheet_mm=(620.0, 480.0),
        copies_on=1,
        inks=(("Black",), ("Black",)),
        folder="Wharf folder",
        net_sheets=1000,
        gross_sheets=1130,
    )
    return evolve(made, **changes)


#: the shipped house, with the presses and the folder that these sheets are for
_SHOP = load_house(None)
HOUSE = _SHOP.model_copy(
    update={
        "presses": (
            *_SHOP.presses,
            *(_SHOP.presses[0].model_copy(update={"name": name}) for name in ("Lantern two", "Lantern four")),
        ),
        "folders": (*_SHOP.folders, _SHOP.folders[0].model_copy(update={"name": "Wharf folder"})),
    }
)


def work(plan: Plan, **given: Any) -> Work:
    return work_of(plan, house=HOUSE, **given)


def of_several_presses(samples: ModuleType) -> Plan:
    """Four sheets: two alike, one with a coloured front on a press that lays at the right, one on another stock."""
    coloured = run(2, inks=(INKS, ("Black",)), press=Press("Lantern four", 14.0, 6.0, 6.0, "right"), gross_sheets=1210)
    heavy = run(3, way="perfecting", stock="Hearth Art 115", grammage=115.0, caliper_mm=0.1)
    return evolve(samples.plan(62), runs=(run(1), coloured, heavy, run(4)))


def text_of(path: Path) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(path).pages]


def test_sheets_of_one_kind_on_several_presses_and_stocks(samples: ModuleType) -> None:
    [entry] = entries(work(of_several_presses(samples)), "press")
    told, body = facts_of(entry), entry["body"]
    assert told["press"] == "Lantern two; Lantern four"
    assert told["stock"] == "Row Book Wove 100, 100 g/m²; Hearth Art 115, 115 g/m²"
    assert told["gripper"].startswith("12 mm or 14 mm")
    # 4 x 1,000; 1,130 + 1,210 + 1,130 + 1,130 = 4,600
    assert told["sheets, in all"] == "4,000 net, 4,600 gross, for 1,000 copies"
    assert body["heads"] == ["sheets", "press", "stock", "way", "front", "back", "plates", "net", "gross"]
    wove, art = "Row Book Wove 100, 100 g/m²", "Hearth Art 115, 115 g/m²"
    # plates: two of one ink a sheet; the coloured sheet four and one
    assert body["rows"] == [
        ["1, 4", "Lantern two", wove, "two formes", "Black", "Black", "4", "2,000", "2,260"],
        ["2", "Lantern four", wove, "two formes", "Cyan, Magenta, Yellow, Black", "Black", "5", "1,000", "1,210"],
        ["3", "Lantern two", art, "perfecting", "Black", "Black", "2", "1,000", "1,130"],
    ]
    # the heavier paper: 0.62 m x 0.48 m x 115 g/m2 x 500 sheets = 17.1 kg
    assert entry["cautions"][0].startswith("500 sheets weigh about 17.1 kg")


def test_kinds_name_their_own_press_stock_and_lay(samples: ModuleType) -> None:
    plan = of_several_presses(samples)
    kinds = (SheetKind("text", "octavo", (1, 3, 4)), SheetKind("plates", "octavo", (2,)))
    made = work(evolve(plan, kinds=kinds))
    text, plates = entries(made, "press")
    assert (facts_of(text)["press"], facts_of(plates)["press"]) == ("Lantern two", "Lantern four")
    sides = text["body"]["sides"], plates["body"]["sides"]
    assert "at the left" in sides[0][0]["caption"] and "at the right" in sides[0][1]["caption"]
    # the second press lays at the right: the back of a sheet turned side to side at the left
    assert "at the right" in sides[1][0]["caption"] and "at the left" in sides[1][1]["caption"]
    assert (sides[0][0]["gripper_mm"], sides[1][0]["gripper_mm"]) == (12.0, 14.0)
    text, plates = entries(made, "folding")
    assert "side lay at the right" in plates["body"]["caption"]
    # fold 3 lies 166 mm from the left of a sheet 620 mm wide: 454 from the right
    assert (text["body"]["size_rows"][2][2], plates["body"]["size_rows"][2][2]) == ("166", "454")


@pytest.mark.parametrize("way", WAYS)
def test_every_way_to_print_is_told_in_words(way: str, samples: ModuleType) -> None:
    inks = (("Black",), ()) if way == "one side" else (("Black",), ("Black",))
    plan = evolve(samples.plan(16), runs=(run(1, way=way, inks=inks),))
    [entry] = entries(work(plan), "press")
    body = entry["body"]
    assert body["says"][0].startswith(f"{way.capitalize()}:")
    captions = " ".join(side["caption"] for side in body["sides"])
    assert ("from the same plates" in captions) is (way in ("work and turn", "work and tumble"))
    assert ("nothing printed" in captions) is (way == "one side")
    [row] = body["rows"]
    back = {"work and turn": "same plates", "work and tumble": "same plates", "one side": "nothing"}.get(way, "Black")
    # one forme of one ink, or two
    assert row[1:4] == ["Black", back, "2" if back == "Black" else "1"]


@pytest.mark.parametrize("made", [work_and_turn, work_and_tumble])
def test_copies_and_pieces_turned_over(made: Any, samples: ModuleType) -> None:
    plan = made(samples)
    way = made.__name__.replace("_", " ")
    plan = evolve(plan, runs=(run(1, way=way, copies_on=2, sheet_mm=plan.sheet_mm, net_sheets=500, gross_sheets=590),))
    [press], [folding] = entries(work(plan), "press"), entries(work(plan), "folding")
    assert facts_of(press)["copies"] == "2 of each section on a sheet"
    body = folding["body"]
    assert body["says"] == [
        "Turn over, side to side, before folding: 1B.",
        "Printed again for other copies of the book, to be laid on the same pile: 1B as 1A.",
    ]
    # both fold to the same section: outside 1 and 16, middle 8 and 9 (handbook imp-16-octavo)
    assert body["checks"] == [["1", "1A (1)", "1", "16", "8 and 9"], ["1", "1B (1, copy)", "1", "16", "8 and 9"]]
    # and show the same after every fold, so the piles are drawn once
    assert [piece["id"] for piece in body["seen"]] == ["1A, 1B"]
    note = "Before folding, turn the piece over, side to side"
    assert [piece["note"] for piece in body["pieces"]] == [
        "",
        f"{note}." if way == "work and turn" else f"{note}, then half round.",
    ]
    # the same plates print both sides: both drawings show the same pages in the same places
    front, back = press["body"]["sides"]
    placed = [
        sorted((p["page"], p["turn"], *(round(v, 3) for v in p["rect_mm"])) for p in side["pages"])
        for side in (front, back)
    ]
    assert placed[0] == placed[1] and len(placed[0]) == 16


def test_the_printed_folio_stands_beside_the_page_of_the_pdf(samples: ModuleType) -> None:
    made = work(samples.plan(30), folios=FOLIOS)
    [gathering], [folding], [press] = (entries(made, bench) for bench in ("gathering", "folding", "press"))
    assert [row[3] for row in gathering["body"]["rows"]] == [
        "i to 12 (PDF 1 to 16)",
        "13 to 26 (PDF 17 to 30), 2 blanks",
    ]
    checks = folding["body"]["checks"]
    assert checks[0][2:] == ["i (PDF 1)", "12 (PDF 16)", "4 (PDF 8) and 5 (PDF 9)"]
    assert checks[1][2:] == ["13 (PDF 17)", "blank", "20 (PDF 24) and 21 (PDF 25)"]
    folios = {p["page"]: p["folio"] for side in press["body"]["sides"] for p in side["pages"]}
    assert (folios[1], folios[3], folios[16]) == ("i", "", "12")
    assert "small ones their printed folios" in press["body"]["says"][-1]


def test_folios_that_are_the_pages_of_the_pdf_are_said_once(samples: ModuleType) -> None:
    # page 16 bears none; all others their own number
    folios = tuple(str(page) if page != 16 else "" for page in range(1, 31))
    made = work(samples.plan(30), folios=folios)
    assert entries(made, "folding")[0]["body"]["checks"][0][2:] == ["1", "PDF 16", "8 and 9"]
    assert not any("folios" in says for says in entries(made, "press")[0]["body"]["says"])


def test_the_sizes_from_the_lay_stand_on_the_folding_ticket(samples: ModuleType) -> None:
    [entry] = entries(work(samples.plan()), "folding")
    # the sums stand in test_lay_sizes.py
    assert entry["body"]["size_rows"] == [
        ["1A", "fold 1, right under", "310", "", "288", ""],
        ["1A", "fold 2, top over", "", "240", "", "226"],
        ["1A", "fold 3, left over", "166", "", "144", ""],
        ["1A", "first page, trimmed", "594", "19, 235", "572", "5, 221"],
    ]


def test_a_leaflet_has_tickets_too(samples: ModuleType, tmp_path: Path) -> None:
    plan = samples.plan(16)
    plan = evolve(plan, binding="leaflet", instructions=evolve(plan.instructions, binding="leaflet"))
    made = work(plan)
    assert entries(made, "folding")[0]["body"]["size_rows"][0] == [
        "1A", "cut to size", "26, 594", "19, 461", "4, 572", "5, 447",
    ]  # fmt: skip
    write_tickets(made, tmp_path / "tickets.pdf")
    # it is cut flat before it is folded, and one piece is not gathered
    first_words = [text.split()[0] for text in text_of(tmp_path / "tickets.pdf")]
    assert list(dict.fromkeys(first_words)) == ["Traveller", "Press", "Cutting", "Folding", "Packing"]


BOOKS = {
    "several presses": of_several_presses,
    "work and turn": lambda samples: evolve(
        work_and_turn(samples), runs=(run(1, way="work and turn", copies_on=2, sheet_mm=(1240.0, 480.0)),)
    ),
    "many colourings": lambda samples: evolve(
        samples.plan(150),
        runs=tuple(
            run(
                n,
                inks=((*INKS[: n % 4], "Black, very long name of an ink"), INKS),
                net_sheets=123456,
                gross_sheets=234567,
            )
            for n in range(1, 11)
        ),
    ),
}


@pytest.mark.parametrize("book", BOOKS)
def test_no_word_lies_on_another(book: str, samples: ModuleType, tmp_path: Path) -> None:
    folios = tuple(f"{page + 88}" for page in range(150))
    write_tickets(work(BOOKS[book](samples), folios=folios), tmp_path / "tickets.pdf")
    assert crowded(tmp_path / "tickets.pdf") == []
