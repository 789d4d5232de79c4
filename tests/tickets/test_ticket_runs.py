# SPDX-License-Identifier: AGPL-3.0-or-later
"""Tickets of books that are printed on several presses and stocks, in every way, with folios of their own."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType
from typing import Any

import pymupdf
import pypdf
import pytest
from attrs import evolve

from foldproof.job.model import WAYS
from foldproof.makeup.plan import Plan, Press, SheetKind, SheetRun
from foldproof.tickets.write import ticket_data, write_tickets
from tests.tickets.twice import work_and_tumble, work_and_turn

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


def of_several_presses(samples: ModuleType) -> Plan:
    """Four sheets: two alike, one with a coloured front on a press that lays at the right, one on another stock."""
    coloured = run(2, inks=(INKS, ("Black",)), press=Press("Lantern four", 14.0, 6.0, 6.0, "right"), gross_sheets=1210)
    heavy = run(3, way="perfecting", stock="Hearth Art 115", grammage=115.0, caliper_mm=0.1)
    return evolve(samples.plan(62), runs=(run(1), coloured, heavy, run(4)))


def text_of(path: Path) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(path).pages]


def test_sheets_of_one_kind_on_several_presses_and_stocks(samples: ModuleType) -> None:
    [kind] = ticket_data(of_several_presses(samples))["kinds"]
    told = kind["printing"]
    assert told["press"] == "Lantern two; Lantern four"
    assert told["stock"] == "Row Book Wove 100, 100 g/m²; Hearth Art 115, 115 g/m²"
    assert told["gripper"].startswith("12 mm or 14 mm")
    # 4 x 1,000; 1,130 + 1,210 + 1,130 + 1,130 = 4,600
    assert told["numbers"] == "4,000 net, 4,600 gross, for 1,000 copies"
    assert told["heads"] == ["sheets", "press", "stock", "way", "front", "back", "plates", "net", "gross"]
    wove, art = "Row Book Wove 100, 100 g/m²", "Hearth Art 115, 115 g/m²"
    # plates: two of one ink a sheet; the coloured sheet four and one
    assert told["rows"] == [
        ["1, 4", "Lantern two", wove, "two formes", "Black", "Black", "4", "2,000", "2,260"],
        ["2", "Lantern four", wove, "two formes", "Cyan, Magenta, Yellow, Black", "Black", "5", "1,000", "1,210"],
        ["3", "Lantern two", art, "perfecting", "Black", "Black", "2", "1,000", "1,130"],
    ]
    # the heavier paper: 0.62 m x 0.48 m x 115 g/m2 x 500 sheets = 17.1 kg
    assert kind["cautions"][0].startswith("500 sheets weigh about 17.1 kg")


def test_kinds_name_their_own_press_stock_and_lay(samples: ModuleType) -> None:
    plan = of_several_presses(samples)
    kinds = (SheetKind("text", "octavo", (1, 3, 4)), SheetKind("plates", "octavo", (2,)))
    text, plates = ticket_data(evolve(plan, kinds=kinds))["kinds"]
    assert (text["printing"]["press"], plates["printing"]["press"]) == ("Lantern two", "Lantern four")
    assert "at the left" in text["sides"][0]["caption"] and "at the right" in text["sides"][1]["caption"]
    # the second press lays at the right: the back of a sheet turned side to side at the left
    assert "at the right" in plates["sides"][0]["caption"] and "at the left" in plates["sides"][1]["caption"]
    assert (text["sides"][0]["gripper_mm"], plates["sides"][0]["gripper_mm"]) == (12.0, 14.0)
    assert "side lay at the right" in plates["fold_caption"]
    # fold 3 lies 166 mm from the left of a sheet 620 mm wide: 454 from the right
    assert (text["size_rows"][2][2], plates["size_rows"][2][2]) == ("166", "454")


def test_thickness_counts_every_leaf_with_its_own_caliper(samples: ModuleType) -> None:
    plan = samples.plan(32)
    first, second = plan.instructions.sheets
    told = evolve(plan.instructions, sheets=(first, evolve(second, caliper_mm=0.1)))
    # 8 leaves of 0.13 mm and 8 of 0.1 mm: 1.04 + 0.8 = 1.84
    assert ticket_data(evolve(plan, instructions=told))["bulk"] == (
        "about 1.8 mm (8 leaves of 0.1 mm; 8 leaves of 0.13 mm, unpressed)"
    )


@pytest.mark.parametrize("way", WAYS)
def test_every_way_to_print_is_told_in_words(way: str, samples: ModuleType, tmp_path: Path) -> None:
    inks = (("Black",), ()) if way == "one side" else (("Black",), ("Black",))
    plan = evolve(samples.plan(16), runs=(run(1, way=way, inks=inks),))
    write_tickets(plan, tmp_path / "tickets.pdf")
    press = text_of(tmp_path / "tickets.pdf")[0]
    assert f"{way.capitalize()}:" in press
    assert ("from the same plates" in press) is (way in ("work and turn", "work and tumble"))
    assert ("nothing printed" in press) is (way == "one side")
    [row] = ticket_data(plan)["kinds"][0]["printing"]["rows"]
    back = {"work and turn": "same plates", "work and tumble": "same plates", "one side": "nothing"}.get(way, "Black")
    # one forme of one ink, or two
    assert row[1:4] == ["Black", back, "2" if back == "Black" else "1"]


@pytest.mark.parametrize("made", [work_and_turn, work_and_tumble])
def test_copies_and_pieces_turned_over(made: Any, samples: ModuleType, tmp_path: Path) -> None:
    plan = made(samples)
    way = made.__name__.replace("_", " ")
    plan = evolve(plan, runs=(run(1, way=way, copies_on=2, sheet_mm=plan.sheet_mm, net_sheets=500, gross_sheets=590),))
    [kind] = ticket_data(plan)["kinds"]
    assert kind["printing"]["copies"] == "2 of each section on a sheet"
    assert kind["says"] == [
        "Turn over, side to side, before folding: 1B.",
        "Printed again for other copies of the book, to be laid on the same pile: 1B as 1A.",
    ]
    # both fold to the same section: outside 1 and 16, middle 8 and 9 (handbook imp-16-octavo)
    assert kind["checks"] == [["1", "1A (1)", "1 and 16", "8 and 9"], ["1", "1B (1, copy)", "1 and 16", "8 and 9"]]
    note = "Before folding, turn the piece over, side to side"
    assert [piece["note"] for piece in kind["pieces"]] == [
        "",
        f"{note}." if way == "work and turn" else f"{note}, then half round.",
    ]
    # the same plates print both sides: both drawings show the same pages in the same places
    front, back = kind["sides"]
    placed = [
        sorted((p["page"], p["turn"], *(round(v, 3) for v in p["rect_mm"])) for p in side["pages"])
        for side in (front, back)
    ]
    assert placed[0] == placed[1] and len(placed[0]) == 16
    write_tickets(plan, tmp_path / "tickets.pdf")
    assert [page.split()[0] for page in text_of(tmp_path / "tickets.pdf")] == [
        "Press", "Folding", "Gathering", "Trimming",
    ]  # fmt: skip


def test_the_printed_folio_stands_beside_the_page_of_the_pdf(samples: ModuleType, tmp_path: Path) -> None:
    data = ticket_data(samples.plan(30), FOLIOS)
    assert [row[2] for row in data["gathering"]["rows"]] == [
        "i to 12 (PDF 1 to 16)",
        "13 to 26 (PDF 17 to 30), 2 blanks",
    ]
    [kind] = data["kinds"]
    assert kind["checks"][0][2:] == ["i (PDF 1) and 12 (PDF 16)", "4 (PDF 8) and 5 (PDF 9)"]
    assert kind["checks"][1][2:] == ["13 (PDF 17) and blank", "20 (PDF 24) and 21 (PDF 25)"]
    folios = {p["page"]: p["folio"] for side in kind["sides"] for p in side["pages"]}
    assert (folios[1], folios[3], folios[16]) == ("i", "", "12")
    write_tickets(samples.plan(30), tmp_path / "tickets.pdf", FOLIOS)
    assert "small ones their printed folios" in text_of(tmp_path / "tickets.pdf")[0]


def test_folios_that_are_the_pages_of_the_pdf_are_said_once(samples: ModuleType) -> None:
    # page 16 bears none; all others their own number
    folios = tuple(str(page) if page != 16 else "" for page in range(1, 31))
    data = ticket_data(samples.plan(30), folios)
    assert data["kinds"][0]["checks"][0][2:] == ["1 and PDF 16", "8 and 9"]
    assert data["kinds"][0]["figures"] == ""


def test_the_sizes_from_the_lay_stand_on_the_folding_ticket(samples: ModuleType, tmp_path: Path) -> None:
    [kind] = ticket_data(samples.plan())["kinds"]
    # the sums stand in test_lay_sizes.py
    assert kind["size_rows"] == [
        ["1A", "fold 1, right under", "310", "", "288", ""],
        ["1A", "fold 2, top over", "", "240", "", "226"],
        ["1A", "fold 3, left over", "166", "", "144", ""],
        ["1A", "first page, trimmed", "594", "19, 235", "572", "5, 221"],
    ]
    write_tickets(samples.plan(), tmp_path / "tickets.pdf")
    assert "Sizes from the lay" in text_of(tmp_path / "tickets.pdf")[1]


def test_a_leaflet_has_tickets_too(samples: ModuleType, tmp_path: Path) -> None:
    plan = samples.plan(16)
    plan = evolve(plan, binding="leaflet", instructions=evolve(plan.instructions, binding="leaflet"))
    assert ticket_data(plan)["kinds"][0]["size_rows"][0] == [
        "1A", "cut to size", "26, 594", "19, 461", "4, 572", "5, 447",
    ]  # fmt: skip
    write_tickets(plan, tmp_path / "tickets.pdf")
    assert "before it is folded" in text_of(tmp_path / "tickets.pdf")[-1]


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
    """Lines as MuPDF finds them on the tickets, their boxes a little shrunk: ascenders and descenders may meet."""
    write_tickets(BOOKS[book](samples), tmp_path / "tickets.pdf", tuple(f"{page + 88}" for page in range(150)))
    with pymupdf.open(tmp_path / "tickets.pdf") as document:
        for page in document:
            words = []
            for x0, y0, x1, y1, text, *_ in page.get_text("words"):
                inset = 0.28 * min(y1 - y0, x1 - x0)
                words.append((pymupdf.Rect(x0 + 0.3, y0 + inset, x1 - 0.3, y1 - inset), text))
            assert words
            for index, (box, text) in enumerate(words):
                assert box in page.rect
                for other, beside in words[index + 1 :]:
                    assert not box.intersects(other), (page.number + 1, text, beside)
