# SPDX-License-Identifier: AGPL-3.0-or-later
"""Boxes in odd places: a page prints its own trim and bleed, whatever its CropBox and what stands round it.

ISO 32000-1, 14.11.2.1: the CropBox tells a reader what to show and has no bearing on the page as it is produced.
"""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pymupdf
import pytest

from foldproof.impose.write import write_sheets
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.manuscript.read import read
from foldproof.prove.model import Proof, Verdict
from foldproof.prove.prove import prove
from foldproof.workers import Workers
from tests.build import PT, Fill, book
from tests.damage import damage

TRIM = (140.0, 216.0)
CROPPED = {"CropBox": [3 * PT, 3 * PT, 143 * PT, 219 * PT]}


def folded(path: Path, sheets: Path) -> tuple[Plan, Proof]:
    manuscript = read(path)
    plan = plans(len(manuscript.pages), TRIM, Job(), load_house(None), title="boxes")[0]
    write_sheets(manuscript, plan, Job(), sheets, date="2024-02-29")
    return plan, proved(path, plan, sheets)


def proved(path: Path, plan: Plan, sheets: Path) -> Proof:
    with Workers(1) as workers:
        return prove(sheets, plan.instructions, path, workers=workers, advance=lambda done: None)


def test_a_page_cropped_to_its_trim_keeps_its_bleed(tmp_path: Path) -> None:
    full = Fill((-3, -3, 143, 219), "0.1 0.5 0.3 0 k")
    path = book(16, tmp_path / "a.pdf", trim_mm=TRIM, fills=[full], boxes=CROPPED)
    sheets = tmp_path / "sheets.pdf"
    plan, proof = folded(path, sheets)
    assert proof.verdict is Verdict.PROVED, [fault.says for fault in proof.faults]
    for seed in range(4):
        spoilt = damage.Sheets.open(sheets)
        pages = damage.cut_bleed(spoilt, random.Random(seed))
        spoilt.save(tmp_path / "spoilt.pdf")
        failed = proved(path, plan, tmp_path / "spoilt.pdf")
        assert failed.verdict is Verdict.FAILED and pages <= {fault.page for fault in failed.faults}


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_what_stands_round_a_smaller_page_is_not_printed(rotate: int, tmp_path: Path) -> None:
    # marks of its own beyond trim and bleed, on a page 20 mm smaller each way
    marks = [
        Fill((-9, 40, -5, 60)),
        Fill((125, 40, 129, 60)),
        Fill((30, 201, 50, 205)),
    ]
    each = {3: {"trim_mm": (120.0, 196.0), "slug_mm": 8, "fills": marks, "rotate": rotate}}
    path = book(8, tmp_path / "b.pdf", trim_mm=TRIM, each=lambda index: each.get(index, {}))
    sheets = tmp_path / "sheets.pdf"
    plan, proof = folded(path, sheets)
    assert proof.verdict is Verdict.PROVED, [fault.says for fault in proof.faults]
    place = next(place for place in plan.places if place.page == 3)
    with pymupdf.open(sheets) as pdf:
        side = pdf[2 * (place.sheet - 1) + (place.side.value == "back")]
        box, high = place.trim_pt, side.rect.height
        clip = pymupdf.Rect(box.x0, high - box.y1, box.x1, high - box.y0)
        drawn = side.get_pixmap(clip=clip, colorspace=pymupdf.csGRAY)
    dark = np.frombuffer(drawn.samples, dtype=np.uint8).reshape(drawn.height, drawn.stride)[:, : drawn.width] < 128
    rim = round(6 * PT)  # the smaller page and its bleed end 7 mm inside the leaf
    inside = dark[rim:-rim, rim:-rim]
    assert inside.any() and dark.sum() == inside.sum()
