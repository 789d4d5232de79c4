# SPDX-License-Identifier: AGPL-3.0-or-later
"""tickets.pdf: the benches' papers."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import pymupdf
import pypdf
import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Side
from foldproof.tickets.diagram import checks, drawings
from foldproof.tickets.write import ticket_data, write_tickets


def text_of(path: Path) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(path).pages]


def test_a_page_for_each_bench(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(samples.plan(), tmp_path / "tickets.pdf")
    pages = text_of(tmp_path / "tickets.pdf")
    assert [page.split()[0] for page in pages] == ["Press", "Folding", "Gathering", "Trimming"]
    for page in pages:
        assert "Take care." in page and "Local codes" in page and "trained" in page
    assert "right under" in pages[1] and "top over" in pages[1] and "left over" in pages[1]
    assert "1 and 16" in pages[1] and "8 and 9" in pages[1] and "17 and blank" in pages[1]
    assert "144 x 226 mm" in pages[3] and "140 x 216 mm" in pages[3]


def test_numbers_are_reckoned_from_the_plan(samples: ModuleType) -> None:
    data = ticket_data(samples.plan())
    # 0.62 m x 0.48 m x 100 g/m2 x 500 sheets = 14.88 kg
    assert data["cautions"]["press"][0].startswith("500 sheets weigh about 14.9 kg")
    # 32 leaves in all would be 64 pages: 30 pages and 2 blanks are 16 leaves of 0.13 mm
    assert data["bulk"].startswith("about 2.1 mm (16 leaves")
    # fore-edge: panel 144 mm less the 140 mm of the trim
    assert data["trimming"]["rows"] == [["16 pages, octavo", "144 x 226 mm", "5 mm", "5 mm", "4 mm", "0 mm"]]
    # trim, head, foot, left, right: the spine is left uncut at the left of a book read from left to right
    assert data["trimming"]["drawing"] == [140.0, 216.0, 5.0, 5.0, 0.0, 4.0]
    turned = ticket_data(evolve(samples.plan(), reading="right to left"))["trimming"]
    assert turned["drawing"][4:] == [4.0, 0.0] and "spine is at the right" in turned["caption"]
    assert [row[2] for row in data["gathering"]["rows"]] == ["1 to 16", "17 to 30, 2 blanks"]
    # collation: first mark 20 mm below the head, 9 mm a step, typed in the sample
    assert [row[-1] for row in data["gathering"]["rows"]] == ["20 mm", "29 mm"]


def test_the_collation_run_starts_again(samples: ModuleType) -> None:
    rows = ticket_data(samples.plan(16 * 14))["gathering"]["rows"]
    assert rows[11][-1] == "119 mm" and rows[12][-1] == "20 mm", "twelve steps a run"


def test_drawings_show_the_octavo(samples: ModuleType) -> None:
    [drawing] = drawings(samples.plan())
    # handbook imp-16-octavo, seen as printed
    for side, lower, upper in (
        (drawing.front, ["4", "13", "16", "1"], ["5", "12", "9", "8"]),
        (drawing.back, ["2", "15", "14", "3"], ["7", "10", "11", "6"]),
    ):
        rows = {0: [], 180: []}
        for box in sorted(side.pages, key=lambda p: p.rect_mm.x0):
            rows[box.turn].append(box.label)
        assert rows == {0: lower, 180: upper}


@pytest.mark.parametrize(("turn", "point"), [("side to side", (598.0, 240.0)), ("head to tail", (22.0, 240.0))])
def test_folds_lie_on_the_back_as_the_sheet_turns(samples: ModuleType, turn: str, point: tuple[float, float]) -> None:
    # paper 620 x 480 mm: about the upright axis x becomes 620 - x, about the level axis y becomes 480 - y
    plan = samples.plan()
    told = evolve(plan.instructions, sheets=tuple(evolve(s, turn=turn) for s in plan.instructions.sheets))
    [drawing] = drawings(evolve(plan, instructions=told))
    second = next(f for f in drawing.back.folds if f.number == 2)
    assert second.start_mm == point
    # the side lay is one edge of the paper, the left on the front
    assert (drawing.front.lay, drawing.back.lay) == ("left", "right" if turn == "side to side" else "left")
    assert drawing.front.side is Side.FRONT and drawing.back.side is Side.BACK


def test_what_a_folded_piece_shows(samples: ModuleType) -> None:
    seen = checks(samples.plan())
    assert (seen["1A"].outside, seen["1A"].middle) == ((0, 15), (7, 8))
    assert (seen["2A"].outside, seen["2A"].middle) == ((16, 31), (23, 24))


def test_a_title_cannot_become_a_command(samples: ModuleType, tmp_path: Path) -> None:
    title = '#panic("x") $ [ ] \\ ] #read("/etc/passwd") *b* '
    write_tickets(samples.plan(title=title), tmp_path / "tickets.pdf")
    assert '#read("/etc/passwd")' in text_of(tmp_path / "tickets.pdf")[0]


def test_writing_that_no_font_covers_is_left_out_openly(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(samples.plan(title="Фонарь, φανός: 提灯の本 (1)"), tmp_path / "tickets.pdf")
    assert "Фонарь, φανός: […] (1)" in text_of(tmp_path / "tickets.pdf")[0]


def test_a_long_book_has_few_pages_and_the_same_bytes_again(samples: ModuleType, tmp_path: Path) -> None:
    plan = samples.plan(2415)
    for name in ("one.pdf", "two.pdf"):
        write_tickets(plan, tmp_path / name)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    assert len(text_of(tmp_path / "one.pdf")) <= 8


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched"])
@pytest.mark.parametrize("trim", [(140.0, 216.0), (210.0, 148.0), (105.0, 148.0)])
def test_untrimmed_size_is_the_trim_and_what_comes_off(
    binding: str, reading: str, trim: tuple[float, float], tmp_path: Path
) -> None:
    # with real make-ups, some of them laid crosswise on the sheet
    house = load_house(None)
    job = Job(book=Book(binding=binding, reading=reading))
    plan = plans(60, trim, job, house, title="Nightwatch Songs")[0]
    data = ticket_data(plan)
    width, height = data["trimming"]["drawing"][:2]
    head, foot, left, right = data["trimming"]["drawing"][2:]
    assert (width, height) == trim
    told = house.allowances
    spine = told.spine_grind if binding == "glued" else 0.0
    # the stitcher's feeders open a section by its lip, which the knife takes off with the fore-edge (handbook lip-size)
    lip = next(line.lip_size for line in house.lines if line.lip) if binding == "stitched" else 0.0
    fore_edge = told.fore_edge + lip
    assert {left, right} == {spine, fore_edge} and (head, foot) == (told.head, told.foot)
    assert (left == spine) is (reading == "left to right")
    for row in data["trimming"]["rows"]:
        across, up = (float(v) for v in row[1].removesuffix(" mm").split(" x "))
        assert across == pytest.approx(trim[0] + spine + fore_edge)
        assert up == pytest.approx(trim[1] + told.head + told.foot)
    write_tickets(plan, tmp_path / "tickets.pdf")
    pages = text_of(tmp_path / "tickets.pdf")
    assert pages[-1].startswith("Trimming")
    assert any(f"a lip of {lip:g} mm at the fore-edge" in page for page in pages[:-1]) is (lip > 0)
    assert ("the fore-edge from the lip" in pages[-1]) is (lip > 0)


@pytest.mark.parametrize(
    ("pages", "job", "trim_mm"),
    [
        (128, {"book": {"binding": "stitched"}, "sections": {"fold": "12"}}, (100.0, 150.0)),
        (150, {"book": {"binding": "glued"}}, (140.0, 216.0)),
        (150, {"paper": {"stock": "Wick Bible 40"}, "sections": {"pages": 64}}, (100.0, 150.0)),
    ],
    ids=["many pieces in one section", "glued", "sixty-fours"],
)
def test_no_word_lies_on_another(
    pages: int, job: dict[str, object], trim_mm: tuple[float, float], tmp_path: Path
) -> None:
    """Words as MuPDF finds them on the tickets, their boxes a little shrunk: ascenders and descenders may meet."""
    plan = plans(pages, trim_mm, Job.model_validate(job), load_house(None), title="The Wharfinger’s Year")[0]
    write_tickets(plan, tmp_path / "tickets.pdf")
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
