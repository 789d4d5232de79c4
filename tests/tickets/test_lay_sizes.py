# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sizes from the lay, against sums worked with a pencil and against a ruler laid on the folding dummy."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType
from typing import Any

import pymupdf
import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.tickets.dummy import write_dummy
from foldproof.tickets.lay_sizes import LaySize, lay_of, lay_sizes

MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3
ACCENT = (0x8A, 0x2B, 0x12)


def folds(sizes: tuple[LaySize, ...]) -> list[tuple[Any, ...]]:
    return [
        (s.number, s.words, s.across_mm, s.up_mm, s.piece_across_mm, s.piece_up_mm) for s in sizes if s.what == "fold"
    ]


def edges(sizes: tuple[LaySize, ...], what: str) -> dict[str, tuple[float | None, float | None]]:
    return {s.words.removesuffix(" of the first page"): (s.across_mm, s.up_mm) for s in sizes if s.what == what}


def with_lay(plan: Plan, lay: str) -> Plan:
    return evolve(plan, press=evolve(plan.press, lay=lay))


def with_sheets(plan: Plan, **changes: Any) -> Plan:
    sheets = tuple(evolve(sheet, **changes) for sheet in plan.instructions.sheets)
    return evolve(plan, instructions=evolve(plan.instructions, sheets=sheets))


def test_folds_from_both_corners(samples: ModuleType) -> None:
    # the sample: paper 620 x 480, piece 22 to 598 across and 14 to 466 up, folds at 310, 240 and 166 (typed there)
    assert folds(lay_sizes(samples.plan(), 1)) == [
        (1, "right under", 310.0, None, 288.0, None),  # 310 - 22
        (2, "top over", None, 240.0, None, 226.0),  # 240 - 14
        (3, "left over", 166.0, None, 144.0, None),  # 166 - 22
    ]


def test_a_side_lay_at_the_right_measures_from_the_right(samples: ModuleType) -> None:
    plan = with_lay(samples.plan(), "right")
    assert lay_of(plan, 1) == "right"
    assert folds(lay_sizes(plan, 1)) == [
        (1, "right under", 310.0, None, 288.0, None),  # 620 - 310; 598 - 310
        (2, "top over", None, 240.0, None, 226.0),
        (3, "left over", 454.0, None, 432.0, None),  # 620 - 166; 598 - 166
    ]


@pytest.mark.parametrize("turn", ["side to side", "head to tail"])
def test_the_corner_is_one_corner_of_the_paper(turn: str, samples: ModuleType) -> None:
    """However the sheet turns, slits and folds are measured from the corner of the front: it is the same paper."""
    assert folds(lay_sizes(with_sheets(samples.plan(), turn=turn), 1)) == folds(lay_sizes(samples.plan(), 1))


def test_what_the_knives_leave_of_the_first_page(samples: ModuleType) -> None:
    # page 1 stands at the right of the lower row: spine crease at 22 + 3 x 144 = 454, 140 wide, 216 high from 14 + 5
    assert edges(lay_sizes(samples.plan(), 1), "trim") == {
        "head": (None, pytest.approx(235)),
        "foot": (None, pytest.approx(19)),
        "fore-edge": (pytest.approx(594), None),
    }
    # page 1 the other way about: its spine is at the right when read from right to left, so the fore-edge is at 454
    turned = edges(lay_sizes(evolve(samples.plan(), reading="right to left"), 1), "trim")
    assert turned["fore-edge"] == (pytest.approx(454), None)


def test_a_first_page_on_the_back(samples: ModuleType) -> None:
    # without the front's pages the first is page 2: back, lower left as printed, its spine crease at 22 + 144 = 166
    # there, so at 620 - 166 = 454 on the front; it is a verso, its fore-edge 140 further left as printed: 594 here
    plan = samples.plan(16)
    plan = evolve(plan, places=tuple(place for place in plan.places if place.side.value == "back"))
    assert edges(lay_sizes(plan, 1), "trim") == {
        "head": (None, pytest.approx(235)),
        "foot": (None, pytest.approx(19)),
        "fore-edge": (pytest.approx(594), None),
    }
    # turned head to tail, what is drawn up from 19 to 235 lies from 480 - 19 = 461 down to 245 on the front, and 26 to
    # 166 stays 26 to 166
    assert edges(lay_sizes(with_sheets(plan, turn="head to tail"), 1), "trim") == {
        "head": (None, pytest.approx(245)),
        "foot": (None, pytest.approx(461)),
        "fore-edge": (pytest.approx(26), None),
    }


def test_the_ground_spine_is_a_size_too(samples: ModuleType) -> None:
    plan = samples.plan(16)
    [sheet] = plan.instructions.sheets
    ground = with_sheets(plan, sections=(evolve(sheet.sections[0], spine_trim_mm=3.0),))
    assert edges(lay_sizes(ground, 1), "trim")["spine"] == (pytest.approx(454), None)


def test_a_leaflet_is_cut_to_size_before_it_is_folded(samples: ModuleType) -> None:
    plan = samples.plan(16)
    told = evolve(plan.instructions, binding="leaflet")
    sizes = lay_sizes(evolve(plan, instructions=told), 1)
    # outermost trims of the sample: 166 - 140 = 26 to 454 + 140 = 594; 19 to 19 + 226 + 216 = 461
    assert edges(sizes, "cut") == {
        "left edge": (pytest.approx(26), None),
        "right edge": (pytest.approx(594), None),
        "gripper edge": (None, pytest.approx(19)),
        "tail edge": (None, pytest.approx(461)),
    }
    assert [s.what for s in sizes] == ["cut"] * 4 + ["fold"] * 3
    first = sizes[0]
    assert first.piece_across_mm == pytest.approx(4)  # 26 - 22


def test_slits_say_what_they_part(samples: ModuleType) -> None:
    plan = samples.plan(16)
    [sheet] = plan.instructions.sheets
    [section] = sheet.sections
    pieces = tuple(
        evolve(section, id=name, rect_mm=box, folds=())
        for name, box in (
            ("1A", (20.0, 14.0, 310.0, 240.0)),
            ("1B", (310.0, 14.0, 600.0, 240.0)),
            ("1C", (20.0, 240.0, 310.0, 466.0)),
        )
    )
    slits = (
        ((20.0, 0.0), (20.0, 480.0)),
        ((600.0, 0.0), (600.0, 480.0)),
        ((0.0, 240.0), (620.0, 240.0)),
        ((310.0, 14.0), (310.0, 240.0)),
        ((0.0, 14.0), (620.0, 14.0)),
        ((0.0, 466.0), (620.0, 466.0)),
    )
    sizes = lay_sizes(with_lay(with_sheets(plan, sections=pieces, slits_mm=slits), "right"), 1)
    assert [(s.number, s.words, s.across_mm, s.up_mm) for s in sizes if s.what == "slit"] == [
        (1, "takes off the left margin", 600.0, None),
        (2, "takes off the right margin", 20.0, None),
        (3, "parts 1A, 1B from 1C", None, 240.0),
        (4, "parts 1A from 1B", 310.0, None),
        (5, "takes off the gripper margin", None, 14.0),
        (6, "takes off the tail margin", None, 466.0),
    ]


@pytest.mark.parametrize("lay", ["left", "right"])
@pytest.mark.parametrize(
    ("pages", "job", "trim_mm"),
    [
        (128, {"book": {"binding": "stitched"}, "sections": {"fold": "12"}}, (100.0, 150.0)),
        (60, {}, (210.0, 148.0)),
    ],
    ids=["twelves", "wide pages"],
)
def test_a_ruler_on_the_dummy_finds_them(
    pages: int, job: dict[str, Any], trim_mm: tuple[float, float], lay: str, tmp_path: Path
) -> None:
    """Broken lines of both sides, measured from the bar of the side lay and the gripper edge, as MuPDF sees them."""
    plan = with_lay(plans(pages, trim_mm, Job.model_validate(job), load_house(None), title="Weir Books")[0], lay)
    write_dummy(plan, tmp_path / "dummy.pdf")
    with pymupdf.open(tmp_path / "dummy.pdf") as document:
        for index, page in enumerate(document):
            told = lay_sizes(plan, plan.kinds[index // 2].sheets[0])
            wanted = sorted(round(s.across_mm or s.up_mm or 0.0, 1) for s in told if s.what in ("fold", "slit"))
            assert measured(page) == pytest.approx(wanted, abs=0.5)


def measured(page: pymupdf.Page) -> list[float]:
    scale = int(page.get_text().split("Scale 1:")[1].split(".")[0])
    paths = page.get_drawings()
    filled = [path for path in paths if path["fill"] and not path.get("color")]
    bar = next(p["rect"] for p in filled if tuple(round(255 * v) for v in p["fill"]) == ACCENT)
    grip = next(p["rect"] for p in filled if tuple(round(255 * v) for v in p["fill"]) == (0xE6, 0xDF, 0xD2))
    sheet = max((p["rect"] for p in paths if p.get("color") and (p["width"] or 0) > 0.85), key=lambda r: r.get_area())
    found = []
    for path in paths:
        if not path.get("color") or path.get("dashes") in (None, "", "[] 0"):
            continue
        line = path["rect"]
        along_x = line.width > line.height  # of the paper
        gripper_along_x = grip.width > grip.height
        at = line.y0 if along_x else line.x0
        if along_x is gripper_along_x:  # runs along the gripper edge: measured up from it
            edges_at = (sheet.y0, sheet.y1) if along_x else (sheet.x0, sheet.x1)
            middle = (grip.y0 + grip.y1) / 2 if along_x else (grip.x0 + grip.x1) / 2
        else:
            edges_at = (sheet.y0, sheet.y1) if along_x else (sheet.x0, sheet.x1)
            middle = (bar.y0 + bar.y1) / 2 if along_x else (bar.x0 + bar.x1) / 2
        edge = min(edges_at, key=lambda e: abs(e - middle))
        found.append(abs(at - edge) * MM * scale)
    return sorted(found)
