# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ink by zone, measured on written sheets, against ghostscript's ``tiffsep`` plates of the same sheets and against
areas reckoned by hand.

Limit of the comparison: one point, 1 % of the area of a zone.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.plan import Plan, Press, SheetRun, Side
from foldproof.pdf.plate_cover import SideCover
from foldproof.quantities import ink as ink_room
from foldproof.quantities.ink import ink_covers, zone_edges, zone_presets
from foldproof.quantities.model import InkCover, InkCovers, Work
from foldproof.workers import Lost, Workers
from tests import build
from tests.build import Fill, Picture
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import NO_MARKS, impose
from tests.passes.plates import Plates, tiffsep
from tests.passes.test_ink_against_tiffsep import CASES, TRIM, page

sys.path.insert(0, str(Path(__file__).parent))  # spawned children get the parent's sys.path
import ink_jobs

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
SPOTS = ("Ember", "Lantern Gold")
HOUSE = load_house(None)
POINT = 0.01
#: gross sheets of every run here
GROSS = 1130


def run(number: int, made: Plan, inks: Any, **changes: Any) -> SheetRun:
    sheet = made.instructions.sheets[number - 1]
    usual = SheetRun(
        sheet=number, press=made.press, way="two formes", stock="Hearth Book 90", grammage=90.0, caliper_mm=0.12,
        grain="long", grain_along_spine=True, sheet_mm=(sheet.width_mm, sheet.height_mm), copies_on=1, inks=inks,
        folder="Moth", net_sheets=1000, gross_sheets=GROSS,
    )  # fmt: skip
    return evolve(usual, **changes)


def printed(made: Plan, *inks: tuple[tuple[str, ...], tuple[str, ...]], **changes: Any) -> Plan:
    """The plan with a run for every sheet: inks of front and back, the last ones for all further sheets."""
    last = inks[-1]
    each = [*inks, *[last] * (made.sheets - len(inks))]
    return evolve(made, runs=tuple(run(n, made, both, **changes) for n, both in enumerate(each, 1)))


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(2) as two:
        yield two


# --- against ghostscript --------------------------------------------------------------------------------------------

#: four inks, two spots, overprint in both modes, alpha, blending, a soft mask; then two pages full of pictures
BUILT = (
    "CMYK", "spots", "spot overprinting", "black overprinting, modes 1 and 0", "alpha over a spot", "Multiply",
    "a soft mask",
)  # fmt: skip


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory, workers: Workers) -> tuple[Path, Plan, InkCovers]:
    pdf = pikepdf.new()
    for case in BUILT:
        page(pdf, CASES[case])
    bleeding = Picture((-3, -3, TRIM[0] + 3, TRIM[1] + 3), (266, 418), "DeviceCMYK")
    build.page(pdf, trim_mm=TRIM, bleed_mm=3, pictures=[bleeding])
    folder = tmp_path_factory.mktemp("ink")
    made = printed(plan(8, trim_mm=TRIM, table=FOLIO), ((*PROCESS, *SPOTS),) * 2)
    impose(build.save(pdf, folder / "a.pdf"), made, folder / "sheets.pdf", Job())
    return folder / "sheets.pdf", made, ink_covers(folder / "sheets.pdf", made, HOUSE, workers)


def zones_of(plates: Plates, edges_mm: Sequence[float]) -> dict[str, list[float]]:
    """Means over zones of plates at 72 dpi; each pixel by the part of it that lies within."""
    found = {}
    for name, amounts in plates.items():
        columns, pt = amounts.mean(axis=0), 72 / 25.4
        found[name] = [
            sum(
                columns[x] * max(0.0, min(x + 1, high * pt) - max(x, low * pt))
                for x in range(max(0, int(low * pt)), min(len(columns), int(high * pt) + 1))
            )
            / ((high - low) * pt)
            for low, high in pairwise(edges_mm)
        ]
    return found


def same_zones(mine: Sequence[InkCover], theirs: Plates, width_mm: float, zone_mm: float) -> float:
    """Hold every zone of every ink within a point; how far the farthest is off."""
    wanted = zones_of(theirs, zone_edges(width_mm, zone_mm))
    worst = 0.0
    for cover in mine:
        off = np.abs(np.array(cover.zones) - wanted.get(cover.ink, [0.0] * len(cover.zones)))
        worst = max(worst, float(off.max()))
        assert off.max() <= POINT, f"{cover.side} of sheet {cover.sheet}, {cover.ink}, zone {int(off.argmax()) + 1}"
    return worst


def test_every_zone_of_every_ink_of_built_sheets(
    built: tuple[Path, Plan, InkCovers], tool: Callable[[str], str]
) -> None:
    path, made, covers = built
    theirs = tiffsep(tool("gs"), path, (1, 4), finer=3)
    width = made.instructions.sheets[0].width_mm
    for index, (sheet, side) in enumerate((n, side) for n in (1, 2) for side in ("front", "back")):
        mine = covers.of(sheet, side)
        assert [cover.ink for cover in mine] == [*PROCESS, *SPOTS]
        same_zones(mine, theirs[index], width, covers.zone_mm[sheet])
    # there is something to compare: each ink covers a tenth of some zone
    for ink in (*PROCESS, *SPOTS):
        assert max(zone for cover in covers.covers if cover.ink == ink for zone in cover.zones) > 0.1


@pytest.mark.corpus
def test_every_zone_of_a_sheet_of_a_real_book(
    corpus: Path, tool: Callable[[str], str], tmp_path: Path, workers: Workers
) -> None:
    """Ghostscript paints every pixel that a shape touches: at 288 dpi type comes out a little too dark."""
    book = corpus / "books" / "ctwill-150x240.pdf"
    if not book.exists():
        pytest.skip("ctwill-150x240.pdf is not in the corpus")
    with pikepdf.open(book) as pdf:
        pages = len(pdf.pages)
    made = plan(pages, trim_mm=(150.0, 240.0), table=FOLIO)
    # page 30 and its neighbour, on the back of sheet 8
    made = printed(made, *[((), PROCESS if n == 8 else ()) for n in range(1, made.sheets + 1)])
    impose(book, made, tmp_path / "sheets.pdf")
    covers = ink_covers(tmp_path / "sheets.pdf", made, HOUSE, workers)
    assert {(cover.sheet, cover.side) for cover in covers.covers} == {(8, "back")}
    (theirs,) = tiffsep(tool("gs"), tmp_path / "sheets.pdf", (16, 16), finer=4, rgb=True)
    same_zones(covers.covers, theirs, made.instructions.sheets[7].width_mm, covers.zone_mm[8])
    assert max(covers.of(8, "back")[3].zones) > 0.03


# --- by hand --------------------------------------------------------------------------------------------------------
#
# A sheet of one fold: 2 x (127 + 4) + 2 x 14 = 290 mm wide, 203.2 + 5 + 5 + 16 + 16 = 245.2 mm high; page 1 stands on
# the right half of the front, its trim from 145 mm on and 21 mm up.  Ten zones of 32 mm, laid out from the middle:
# -15, 17, 49, 81, 113, 145, 177, 209, 241, 273, 305.

WIDE, HIGH = 290.0, 245.2


def one_sheet(
    folder: Path, fills: Sequence[Fill], inks: Any = None, job: Job = NO_MARKS, **more: Any
) -> tuple[Path, Plan]:
    """A sheet with something on page 1 alone; nothing is printed on its back."""
    book = build.book(4, folder / "a.pdf", trim_mm=TRIM, bleed_mm=0, each=lambda n: plain(fills if n == 0 else ()))
    made = printed(plan(4, trim_mm=TRIM, table=FOLIO), inks or (("Black",), ()), **more)
    impose(book, made, folder / "sheets.pdf", job)
    return folder / "sheets.pdf", made


def plain(fills: Sequence[Fill]) -> dict[str, Any]:
    return {"fills": list(fills), "text": "", "folio": None}


@pytest.fixture(scope="module")
def by_hand(tmp_path_factory: pytest.TempPathFactory, workers: Workers) -> tuple[Plan, InkCovers]:
    """A solid of 32 x 100 mm from 20 mm right of the trim and 50 mm above its foot; a square of four inks."""
    folder = tmp_path_factory.mktemp("hand")
    fills = (Fill((20, 50, 52, 150)), Fill((80, 20, 96, 36), "1 1 1 1 k"), Fill((100, 180, 101, 181), "0.5 0 0 0 k"))
    path, made = one_sheet(folder, fills, (PROCESS, ()))
    return made, ink_covers(path, made, HOUSE, workers)


def test_zones_are_areas_over_zones(by_hand: tuple[Plan, InkCovers]) -> None:
    _, covers = by_hand
    assert zone_edges(WIDE, 32.0) == (-15, 17, 49, 81, 113, 145, 177, 209, 241, 273, 305)
    black = covers.of(1, "front")[3]
    # the solid stands from 165 to 197 mm: 12 mm in the sixth zone, 20 mm in the seventh, each 100 mm of 245.2 high;
    # the square from 225 to 241 in the eighth, 16 mm high
    wanted = [0, 0, 0, 0, 0, 12 / 32 * 100 / HIGH, 20 / 32 * 100 / HIGH, 16 / 32 * 16 / HIGH, 0, 0]
    assert black.zones == pytest.approx(wanted, abs=0.0005)
    assert black.mean == pytest.approx((32 * 100 + 16 * 16) / (WIDE * HIGH), abs=0.0002)
    cyan = covers.of(1, "front")[0]
    assert cyan.mean == pytest.approx((16 * 16 + 0.5) / (WIDE * HIGH), abs=0.0001)


def test_grams_are_area_times_sheets_times_film(by_hand: tuple[Plan, InkCovers]) -> None:
    _, covers = by_hand
    # 3,200 + 256 mm2 of black on each of 1,130 sheets, 1.8 g/m2 on uncoated paper (the house's own figure)
    assert HOUSE.ink_film.uncoated == 1.8
    assert covers.of(1, "front")[3].grams == pytest.approx(3456e-6 * 1130 * 1.8, abs=0.05)


def test_coated_paper_takes_the_film_of_coated_paper(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [Fill((20, 50, 120, 150))], stock="Glaze Silk 115")
    (black,) = ink_covers(path, made, HOUSE, workers).covers
    # 100 x 100 mm on 1,130 sheets, 1.3 g/m2 (the house's own figure)
    assert HOUSE.ink_film.coated == 1.3
    assert black.grams == pytest.approx(0.01 * 1130 * 1.3, abs=0.05)


def test_the_darkest_place_lies_in_the_square_of_four_inks(by_hand: tuple[Plan, InkCovers]) -> None:
    _, covers = by_hand
    for cover in covers.of(1, "front"):
        # the square's middle is 145 + 88 = 233 mm across and 21 + 28 = 49 mm up; one of 10 mm moves within it
        assert cover.darkest_mm == pytest.approx((233, 49), abs=3.1)
        assert cover.darkest == pytest.approx(400, abs=1)


def test_the_darkest_place_is_none_of_the_marks(tmp_path: Path, workers: Workers) -> None:
    """A page of next to nothing on a sheet with a strip of solids."""
    path, made = one_sheet(tmp_path, [Fill((20, 50, 40, 70), "0.02 0 0 0 k")], (PROCESS, ()), Job())
    covers = ink_covers(path, made, HOUSE, workers).of(1, "front")
    assert max(cover.mean for cover in covers) > 0.001  # the strip is there
    assert covers[0].darkest == pytest.approx(2, abs=0.5)
    assert covers[0].darkest_mm == pytest.approx((145 + 30, 21 + 60), abs=6)


def test_a_bare_side_has_no_darkest_place(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [])
    (black,) = ink_covers(path, made, HOUSE, workers).covers
    assert (black.mean, black.darkest, black.darkest_mm, set(black.zones)) == (0, 0, (0, 0), {0})


def test_grey_and_rgb_black_are_black(tmp_path: Path, workers: Workers) -> None:
    """DeviceGray prints in black (ISO 32000-1, 10.3.2: k = 1 - gray), black of RGB by 10.3.4 with all grey in black."""
    fills = (Fill((10, 50, 60, 100), "0.6 g"), Fill((70, 50, 120, 100), "0 0 0 rg"))
    path, made = one_sheet(tmp_path, fills, (PROCESS, ()))
    cyan, magenta, yellow, black = ink_covers(path, made, HOUSE, workers).covers
    assert black.mean == pytest.approx((0.4 + 1) * 2500 / (WIDE * HIGH), abs=0.0003)
    assert (cyan.mean, magenta.mean, yellow.mean) == (0, 0, 0)


def test_what_is_on_no_plate_is_not_counted(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [Fill((20, 50, 52, 150), "1 0 0 0.5 k")])
    (black,) = ink_covers(path, made, HOUSE, workers).covers
    assert black.mean == pytest.approx(0.5 * 3200 / (WIDE * HIGH), abs=0.0003)
    assert black.darkest == pytest.approx(50, abs=0.5)


def test_pictures_count_for_their_own_area(tmp_path: Path, workers: Workers) -> None:
    """Rules made of a stretched dot, 0.6 pt high, and a solid that is cut by the page's bleed between pixels.

    MuPDF would let each picture, and each clip, grow to whole pixels: the rules by half and more.
    """
    dot = "BI /W 1 /H 1 /IM true /BPC 1 ID \x00 EI"
    rules = "".join(f"q 300 0 0 0.6 20 {20 + 9.37 * n:.2f} cm {dot} Q\n" for n in range(50))
    pdf = pikepdf.new()
    build.page(pdf, trim_mm=TRIM, bleed_mm=3, content=rules)
    solid = "0 0 0 1 k -20 -20 420 640 re f\n"
    for content in ("", "", solid):
        build.page(pdf, trim_mm=TRIM, bleed_mm=3, content=content)
    made = printed(plan(4, trim_mm=TRIM, table=FOLIO, bleed_mm=2.9), (("Black",), ("Black",)))
    impose(build.save(pdf, tmp_path / "a.pdf"), made, tmp_path / "sheets.pdf")
    front = ink_covers(tmp_path / "sheets.pdf", made, HOUSE, workers).of(1, "front")[0]
    # page 4, on the left, is solid over trim and bleed, none at the spine; page 1 has 50 rules of 300 x 0.6 pt
    left = (TRIM[0] + 2.9) * (TRIM[1] + 5.8)
    assert sum(front.zones[:5]) * 32 * HIGH == pytest.approx(left, rel=0.001)
    assert sum(front.zones[5:]) * 32 * HIGH == pytest.approx(50 * 300 * 0.6 / (72 / 25.4) ** 2, rel=0.05)


# --- which sides, which plates --------------------------------------------------------------------------------------


def test_one_set_of_plates_is_measured_once_and_told_of_both_sides(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [Fill((20, 50, 52, 150))], (("Black",), ("Black",)), way="work and turn")
    done: list[int] = []
    covers = ink_covers(path, made, HOUSE, workers, advance=done.append)
    front, back = covers.covers
    assert sum(done) == 1
    assert (front.side, back.side) == ("front", "back")
    assert evolve(back, side="front") == front
    work = Work(made, Job(), HOUSE, None, ink=covers)  # type: ignore[arg-type]
    (preset,) = zone_presets(work)
    assert (preset["side"], preset["ink"], preset["zone_mm"], preset["first_mm"]) == ("both", "Black", 32.0, -15.0)
    assert sum(preset["zones"]) * 32 == pytest.approx(preset["mean"] * WIDE, rel=0.001)


def test_zones_are_those_of_the_press(by_hand: tuple[Plan, InkCovers], tmp_path: Path, workers: Workers) -> None:
    _, covers = by_hand
    assert covers.zone_mm == {1: 32.0}
    assert covers.notes == (
        "The house states no width of an ink zone for Wharf Street 4: 32 mm is assumed (common practice, no source).",
    )
    path, made = one_sheet(tmp_path, [], press=Press("Rushlight 520", 10.0, 5.0, 5.0))
    found = ink_covers(path, made, HOUSE, workers)
    assert (found.zone_mm, found.notes) == ({1: 30.0}, ())  # ink_zone of the shipped house
    assert len(found.covers[0].zones) == 10  # 290 mm: ten of 30


def test_an_unknown_surface_is_said(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [], stock="95 g/m2 paper", press=Press("Rushlight 520", 10.0, 5.0, 5.0))
    (note,) = ink_covers(path, made, HOUSE, workers).notes
    assert note == "The house does not say what surface 95 g/m2 paper has: ink is reckoned as on uncoated paper."


def test_a_plan_without_inks_is_not_measured(tmp_path: Path) -> None:
    made = plan(4, trim_mm=TRIM, table=FOLIO)
    found = ink_covers(tmp_path / "none.pdf", made, HOUSE, Untouched())
    assert (found.covers, len(found.notes)) == ((), 1)


def test_sides_that_nobody_may_draw_are_named(built: tuple[Path, Plan, InkCovers], workers: Workers) -> None:
    path, made, covers = built
    found = ink_covers(path, made, HOUSE, workers, shunned=frozenset({4}))
    # page 5 is the first of sheet 2, on its front (FOLIO: front 4 1, back 2 3)
    assert found.covers == tuple(c for c in covers.covers if (c.sheet, c.side) != (2, "front"))
    assert found.notes[0] == "Not measured: sheet 2, front: page 5 on it cannot be drawn within the limits."


# --- workers --------------------------------------------------------------------------------------------------------


class Untouched(Workers):
    def __init__(self) -> None:
        super().__init__(1)

    def map(self, function: Any, jobs: Any, *, seconds: float) -> Any:
        raise AssertionError("nobody was to be asked")


class Told(Workers):
    """Answers at once, the last job first; some are lost."""

    def __init__(self, lost: Sequence[int]) -> None:
        super().__init__(1)
        self.lost, self.done = lost, 0

    def map(self, function: Any, jobs: Any, *, seconds: float) -> Any:
        for start in range(0, len(jobs), 3):
            for number in reversed(range(start, min(start + 3, len(jobs)))):
                self.done += 1
                job = jobs[number]
                nothing = SideCover(job.index, ((0.0,) * (len(job.zones_mm) - 1),), (0.0,))
                yield number, Lost("it took longer than 60 s") if job.index in self.lost else nothing


def test_one_worker_measures_the_same(built: tuple[Path, Plan, InkCovers]) -> None:
    path, made, covers = built
    with Workers(1) as one:
        assert ink_covers(path, made, HOUSE, one) == covers


def test_a_side_whose_worker_dies_is_named_and_the_rest_measured(
    built: tuple[Path, Plan, InkCovers], workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, made, covers = built
    monkeypatch.setattr(ink_room, "measure", ink_jobs.dies_of_the_second_side)
    found = ink_covers(path, made, HOUSE, workers)
    assert found.covers == tuple(c for c in covers.covers if (c.sheet, c.side) != (1, "back"))
    assert found.notes[0].startswith("Not measured: sheet 1, back: the system killed the process that read it")


def test_a_side_that_cannot_be_read_is_named(tmp_path: Path, workers: Workers) -> None:
    path, made = one_sheet(tmp_path, [])
    pikepdf.new().save(path)
    found = ink_covers(path, made, HOUSE, workers)
    assert found.covers == ()
    assert found.notes[0].startswith("Not measured: sheet 1, front: the interpreter does not find this page")


def test_after_so_many_lost_sides_the_rest_is_left(tmp_path: Path) -> None:
    """The same sides are left whatever came back first; the sides of all sheets up to there are measured."""
    (tmp_path / "sheets.pdf").write_bytes(b"")
    made = printed(plan(80, trim_mm=TRIM, table=FOLIO), (("Black",), ("Black",)))
    hands = Told(lost=(2, 3, 5, 9))
    found = ink_covers(tmp_path / "sheets.pdf", made, HOUSE, hands)
    # sides count from 0: sheet 2 both, sheet 3 back, sheet 5 back; up to there 0, 1, 4, 6, 7, 8 are measured
    assert [(c.sheet, c.side) for c in found.covers] == [
        (1, "front"), (1, "back"), (3, "front"), (4, "front"), (4, "back"), (5, "front"),
    ]  # fmt: skip
    lost, left = found.notes[:2]
    assert lost == (
        "Not measured: sheet 2, front; sheet 2, back; sheet 3, back; sheet 5, back: it took longer than 60 s."
    )
    # 40 sides, 10 of them up to there: 30 are left, 12 of them named
    assert left.startswith("Not measured: sheet 6, front; sheet 6, back;") and "; 18 more: it was not looked at" in left
    assert hands.done < 40


def test_sides_of_the_plan_are_told_in_its_order(built: tuple[Path, Plan, InkCovers]) -> None:
    _, made, covers = built
    wanted = [(n, side.value, ink) for n in (1, 2) for side in Side for ink in made.runs[n - 1].inks[0]]
    assert [(c.sheet, c.side, c.ink) for c in covers.covers] == wanted
