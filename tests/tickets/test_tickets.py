# SPDX-License-Identifier: AGPL-3.0-or-later
"""tickets.pdf: the benches' papers."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import pypdf
import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Side
from foldproof.tickets.diagram import checks, drawings
from foldproof.tickets.trimming import amounts
from foldproof.tickets.write import write_tickets
from tests.tickets.crowded import crowded
from tests.tickets.works import entries, facts_of, work_of


def text_of(path: Path) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(path).pages]


def by_bench(path: Path) -> dict[str, str]:
    """All pages of a bench as one text, in the order of the pages; named by the first word on them."""
    found: dict[str, str] = {}
    for text in text_of(path):
        found[text.split()[0]] = found.get(text.split()[0], "") + text
    return found


def test_every_bench_in_the_order_of_the_work(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(work_of(samples.plan()), tmp_path / "tickets.pdf")
    pages = by_bench(tmp_path / "tickets.pdf")
    # the sample states no run of its sheets, so there is neither stock nor plate
    assert list(pages) == [
        "Traveller", "Press", "Folding", "Gathering", "Sewing", "Trimming", "Case", "Casing", "Packing",
    ]  # fmt: skip
    for text in pages.values():
        assert "Take care." in text and "Local codes" in text and "trained" in text
        assert all(box in text for box in ("quantity in", "quantity out", "spoilt", "name", "date"))
        assert "The Lamplighter’s Almanack" in text
    assert "right under" in pages["Folding"] and "top over" in pages["Folding"] and "left over" in pages["Folding"]
    assert "144 x 226 mm" in pages["Trimming"] and "140 x 216 mm" in pages["Trimming"]


def test_the_same_pages_as_single_files(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(work_of(samples.plan()), tmp_path / "tickets.pdf", tmp_path / "tickets")
    names = [path.name for path in sorted((tmp_path / "tickets").iterdir())]
    assert names == [
        "01-traveller.pdf", "02-press.pdf", "03-folding.pdf", "04-gathering.pdf", "05-sewing.pdf", "06-trimming.pdf",
        "07-case.pdf", "08-casing-in.pdf", "09-packing.pdf",
    ]  # fmt: skip
    singly = [text for name in names for text in text_of(tmp_path / "tickets" / name)]
    assert singly == text_of(tmp_path / "tickets.pdf")
    again = tmp_path / "again"
    write_tickets(work_of(samples.plan()), tmp_path / "tickets2.pdf", again)
    for name in names:
        assert (again / name).read_bytes() == (tmp_path / "tickets" / name).read_bytes()


def test_numbers_are_reckoned_from_the_plan(samples: ModuleType) -> None:
    work = work_of(samples.plan())
    [press], [gathering] = entries(work, "press"), entries(work, "gathering")
    # 0.62 m x 0.48 m x 100 g/m2 x 500 sheets = 14.88 kg
    assert press["cautions"][0].startswith("500 sheets weigh about 14.9 kg")
    # fore-edge: panel 144 mm less the 140 mm of the trim
    [amount] = amounts(work.plan, work.plan.kinds[0])
    assert (amount.size_mm, amount.head_mm, amount.foot_mm) == ((144.0, 226.0), 5.0, 5.0)
    assert (amount.fore_edge_mm, amount.spine_mm) == (4.0, 0.0)
    assert [row[3] for row in gathering["body"]["rows"]] == ["1 to 16", "17 to 30, 2 blanks"]
    # collation: first mark 20 mm below the head, 9 mm a step, typed in the sample
    assert "starts 20 mm below the head trim and falls by 9 mm each time, 12 steps a run" in gathering["body"]["words"]


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
    write_tickets(work_of(samples.plan(title=title)), tmp_path / "tickets.pdf")
    assert '#read("/etc/passwd")' in text_of(tmp_path / "tickets.pdf")[0]


def test_writing_that_no_font_covers_is_left_out_openly(samples: ModuleType, tmp_path: Path) -> None:
    write_tickets(work_of(samples.plan(title="Фонарь, φανός: 提灯の本 (1)")), tmp_path / "tickets.pdf")
    assert "Фонарь, φανός: […] (1)" in text_of(tmp_path / "tickets.pdf")[0]


def test_a_long_book_has_few_pages_and_the_same_bytes_again(samples: ModuleType, tmp_path: Path) -> None:
    work = work_of(samples.plan(2415))
    for name in ("one.pdf", "two.pdf"):
        write_tickets(work, tmp_path / name)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    # 151 sections and sheets: four pages of the list of sections, three of the pages to find, one or two of the rest
    assert len(text_of(tmp_path / "one.pdf")) <= 26


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched"])
@pytest.mark.parametrize("trim", [(140.0, 216.0), (210.0, 148.0), (105.0, 148.0)])
def test_untrimmed_size_is_the_trim_and_what_comes_off(binding: str, reading: str, trim: tuple[float, float]) -> None:
    # with real make-ups, some of them laid crosswise on the sheet
    house = load_house(None)
    job = Job(book=Book(binding=binding, reading=reading))
    plan = plans(60, trim, job, house, title="Nightwatch Songs")[0]
    told = house.allowances
    spine = told.spine_grind if binding == "glued" else 0.0
    # the stitcher's feeders open a section by its lip, which the knife takes off with the fore-edge (handbook lip-size)
    lip = next(line.lip_size for line in house.lines if line.lip) if binding == "stitched" else 0.0
    for kind in plan.kinds:
        for amount in amounts(plan, kind):
            assert (amount.head_mm, amount.foot_mm) == (told.head, told.foot)
            assert amount.spine_mm == spine
            assert amount.fore_edge_mm == pytest.approx(told.fore_edge + lip)
            assert amount.size_mm[0] == pytest.approx(trim[0] + spine + told.fore_edge + lip)
            assert amount.size_mm[1] == pytest.approx(trim[1] + told.head + told.foot)
    work = work_of(plan, job=job, house=house)
    said = [says for entry in entries(work, "folding") for says in entry["body"]["says"]]
    assert any(f"a lip of {lip:g} mm at the fore-edge" in says for says in said) is (lip > 0)
    [trimming] = entries(work, "trimming")
    assert facts_of(trimming)["trimmed size, width first"] == f"{trim[0]:g} x {trim[1]:g} mm"
    assert any("the fore-edge from the lip" in words for _, words in trimming["body"]["notes"]) is (lip > 0)


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
    told = Job.model_validate(job)
    plan = plans(pages, trim_mm, told, load_house(None), title="The Wharfinger’s Year")[0]
    write_tickets(work_of(plan, job=told), tmp_path / "tickets.pdf")
    assert crowded(tmp_path / "tickets.pdf") == []
