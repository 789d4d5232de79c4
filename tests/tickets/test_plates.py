# SPDX-License-Identifier: AGPL-3.0-or-later
"""The plates ticket: every plate, and its zones as figures and as bars that are measured on the page."""

from __future__ import annotations

from collections.abc import Sequence
from types import ModuleType
from typing import Any

import numpy as np
import pymupdf
import pytest
from attrs import evolve

from foldproof.makeup.plan import Plan
from foldproof.quantities.ink import zone_edges
from foldproof.quantities.model import InkCover, InkCovers, Work
from foldproof.tickets import plates
from foldproof.tickets.bench import frame_data
from foldproof.tickets.plates import MOST_DRAWN, MOST_FIGURES, plates_data
from foldproof.tickets.typeset import pdf
from foldproof.tickets.write import _SOURCES
from tests.tickets.test_ticket_runs import INKS, of_several_presses, run
from tests.tickets.works import work_of

MM = 72 / 25.4
SIDES = ("front", "back")


def measured(plan: Plan, zone_mm: float, cover: Any = None) -> InkCovers:
    """Covers of all plates: ``cover`` of sheet, side and zone (0 to 1), else rising from zone to zone."""
    cover = cover or (lambda sheet, side, zone: zone / 100)
    found = []
    for one in plan.runs:
        count = len(zone_edges(plan.instructions.sheets[one.sheet - 1].width_mm, zone_mm)) - 1
        for side, inks in zip(("front", "back"), one.inks, strict=True):
            zones = tuple(cover(one.sheet, side, zone) for zone in range(count))
            found += [InkCover(one.sheet, side, ink, zones, sum(zones) / count, grams=100.0) for ink in inks]
    return InkCovers({one.sheet: zone_mm for one in plan.runs}, tuple(found))


def mixed(samples: ModuleType) -> Plan:
    """Of four sheets one with a coloured front, the last printed by one set of plates."""
    plan = of_several_presses(samples)
    return evolve(plan, runs=(*plan.runs[:3], run(4, way="work and turn")))


def set_as_pdf(work: Work) -> pymupdf.Document:
    return pymupdf.open(stream=pdf(_SOURCES, frame_data(work.plan.title, plates.benches(work))))


def told(data: dict[str, Any]) -> list[tuple[str, str]]:
    return [(plate["label"], plate["ink"]) for group in data["groups"] for plate in group["plates"]]


def test_every_plate_is_there_once(samples: ModuleType) -> None:
    plan = mixed(samples)
    data = plates_data(work_of(plan, ink=measured(plan, 32.0)))
    # sheet 1 and 3: one ink a side; sheet 2: four and one; sheet 4: one plate for both sides.  2 + 5 + 2 + 1 = 10
    wanted = [("1 front", "Black"), ("1 back", "Black"), *(("2 front", ink) for ink in INKS), ("2 back", "Black"),
              ("3 front", "Black"), ("3 back", "Black"), ("4 both", "Black")]  # fmt: skip
    assert sorted(told(data)) == sorted(wanted)
    assert [(row[0], *row[3:]) for row in data["rows"]] == [
        ("1, 3", "Black", "Black", "4"),
        ("2", "Cyan, Magenta, Yellow, Black", "Black", "5"),
        ("4", "Black", "the same plates", "1"),
    ]
    # black: 2 + 2 + 2 plates of 100 g, and one that prints both sides: 800 g; the others 100 g each
    assert data["inks"] == [["Black", "7", "800 g"], *([ink, "1", "100 g"] for ink in INKS[:3])]
    (bench,) = plates.benches(work_of(plan))
    assert (bench.facts[0], bench.due) == (("plates", "10"), ("10", "10"))


def test_plates_that_were_not_measured_are_listed_and_said(samples: ModuleType) -> None:
    plan = mixed(samples)
    covers = measured(plan, 32.0)
    some = InkCovers(covers.zone_mm, tuple(c for c in covers.covers if c.sheet != 2), ("Sheet 2 is a trap.",))
    data = plates_data(work_of(plan, ink=some))
    assert len(told(data)) == 10
    lost = [p for group in data["groups"] for p in group["plates"] if p["label"].startswith("2")]
    assert {p["says"] for p in lost} == {"not measured"} and not any(p["figures"] for p in lost)
    assert data["says"] == ["Sheet 2 is a trap."]
    assert ["Black", "7", "600 g, and that of 2 plates not measured"] in data["inks"]
    bare = plates_data(work_of(plan))
    assert len(told(bare)) == 10 and bare["says"] == ["The ink that the plates carry was not measured."]
    assert set_as_pdf(work_of(plan)).page_count


def test_no_bench_where_the_plan_states_no_inks(samples: ModuleType) -> None:
    assert plates.benches(work_of(samples.plan())) == ()


@pytest.mark.parametrize(
    ("part", "roomy", "tight"),
    [(0, "0", "0"), (0.0004, "0.0", ".0"), (0.004, "0.4", ".4"), (0.0094, "0.9", ".9"), (0.0096, "1.0", "1"),
     (0.064, "6.4", "6"), (0.0996, "10", "10"), (0.126, "13", "13"), (1, "100", "100")],
)  # fmt: skip
def test_figures_are_rounded_to_three_letters(part: float, roomy: str, tight: str, samples: ModuleType) -> None:
    plan = evolve(samples.plan(16), runs=(run(1),))
    for zone_mm, wanted in ((32.0, roomy), (15.0, tight)):  # 620 mm: 20 zones, and 42
        data = plates_data(work_of(plan, ink=measured(plan, zone_mm, lambda *_: part)))
        assert {f for group in data["groups"] for p in group["plates"] for f in p["figures"]} == {wanted}


def test_bars_are_as_high_as_their_zones(samples: ModuleType) -> None:
    """Zones of 0 to 19 %: the full bar stands for 20 %, a hundredth for a twentieth of its height."""
    plan = evolve(samples.plan(16), runs=(run(1, inks=(("Black",), ())),))
    document = set_as_pdf(work_of(plan, ink=measured(plan, 32.0)))
    (shape,) = [shape for page in document for shape in bars_of(page)]
    tops: dict[float, float] = {}
    for kind, *points in shape["items"]:
        if kind == "l" and points[0].x != points[1].x:
            (a, b), level = points, points[0].y
            if abs(a.y - b.y) < 1e-6:
                tops[round(min(a.x, b.x), 2)] = level
    foot = max(tops.values())
    heights = sorted((foot - top) / MM for top in tops.values())
    # 6 mm stand for 20 %
    high = [height for height in heights if height > 0.01]
    assert high == pytest.approx([6 * zone / 20 for zone in range(1, 20)], abs=0.01)
    words = document[0].get_text()
    assert "full bar 20 %" in words and "20 zones of 32 mm" in words


def bars_of(page: pymupdf.Page) -> list[dict[str, Any]]:
    """The shapes of the bars: black, wide and of many corners."""
    shapes = [path for path in page.get_drawings() if path["fill"] == (0.0, 0.0, 0.0) and len(path["items"]) > 70]
    return [path for path in shapes if path["rect"].width > 100 * MM]


def overlaps(page: pymupdf.Page) -> list[tuple[str, str]]:
    """Words of a page that lie on one another by more than a hair."""
    words = page.get_text("words")
    boxes = np.array([word[:4] for word in words])
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    common = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:]) - low
    high = boxes[:, 3] - boxes[:, 1]
    # boxes are as high as the face; letters fill their middle
    on = (common[..., 0] > 0.5) & (common[..., 1] > 0.5 * np.minimum(high[:, None], high[None, :]))
    return [(words[one][4], words[other][4]) for one, other in np.argwhere(np.triu(on, 1))]


@pytest.mark.parametrize(
    ("zone_mm", "inks", "full"),
    # 20 zones of one ink; 45 of four, as on a press of 1,620 mm, all solid; 124
    [(32.0, ("Black",), False), (14.0, INKS, True), (5.0, ("A very long name of a spot",), False)],
)
def test_nothing_is_cut_or_on_one_another(zone_mm: float, inks: Sequence[str], full: bool, samples: ModuleType) -> None:
    plan = samples.plan(32)
    plan = evolve(plan, runs=tuple(run(n, inks=(tuple(inks), tuple(inks))) for n in (1, 2)))
    covers = measured(plan, zone_mm, (lambda *_: 1.0) if full else None)
    document = set_as_pdf(work_of(plan, ink=covers))
    for page in document:
        assert overlaps(page) == []
        # a plate's name and its bars stand on one page
        text = " ".join(page.get_text().split())
        assert len(bars_of(page)) == sum(
            text.count(f"{n} {side} {ink}") for n in (1, 2) for side in SIDES for ink in inks
        )
        for x0, y0, x1, y1, word, *_ in page.get_text("words"):
            assert x0 > 14 * MM and x1 < page.rect.width - 14 * MM, word
            assert y0 > 0 and y1 < page.rect.height - 3 * MM, word


def test_a_book_of_many_plates_is_told_as_far_as_it_goes_and_the_rest_is_said(samples: ModuleType) -> None:
    plan = samples.plan(16)
    count = 500
    sheet = plan.instructions.sheets[0]
    told_of = evolve(plan.instructions, sheets=tuple(evolve(sheet, number=n) for n in range(1, count + 1)))
    kind = evolve(plan.kinds[0], sheets=tuple(range(1, count + 1)))
    plan = evolve(plan, instructions=told_of, kinds=(kind,), runs=tuple(run(n) for n in range(1, count + 1)))
    work = Work(plan, work_of(samples.plan()).job, work_of(samples.plan()).house, None, ink=measured(plan, 32.0))  # type: ignore[arg-type]
    data = plates_data(work)
    drawn = sum(len(group["plates"]) for group in data["groups"] if group["bars"])
    plain = sum(len(group["plates"]) for group in data["groups"] if not group["bars"])
    assert (drawn, plain) == (MOST_DRAWN, MOST_FIGURES)
    # 500 sheets of two plates
    assert data["says"][-1].startswith(f"{1000 - MOST_DRAWN - MOST_FIGURES} further plates are named in the table")
    assert data["rows"] == [["1–500", "Lantern two", "620 x 480 mm", "Black", "Black", "1,000"]]
    document = set_as_pdf(work)
    (bench,) = plates.benches(work)
    assert document.page_count <= bench.most_pages
