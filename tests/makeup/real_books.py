# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small books planned, imposed and proved whole, and what is measured on their written sheets.

Every page has a frame at a known distance from its trim.  It is read back from the sheets by MuPDF, which had no part
in writing them, and carried to its leaf by the proof's folding; where the leaf is cut is for the tests to reckon.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pymupdf
from attrs import frozen

from foldproof.impose.write import write_sheets
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import Plan
from foldproof.manuscript.read import read
from foldproof.pdf.proof_affine import at, back
from foldproof.prove.gathering import bind
from foldproof.prove.model import Proof, Verdict
from tests.build import Fill, book
from tests.prove.by_hand import proved

HOUSE = load_house(None)
TRIM_MM = (80.0, 110.0)
#: of the frame from every edge of the trim
FRAME_MM = 8.0
PT = 72 / 25.4  # ISO 32000-1, 8.3.2.3: 1/72 in
_OFF = ("trim", "fold", "slit", "centre", "backup", "register", "lay", "colour_strip", "code")
MARKS_OFF = dict.fromkeys(_OFF, False)


def with_allowances(house: House = HOUSE, **changes: Any) -> House:
    return house.model_copy(update={"allowances": house.allowances.model_copy(update=changes)})


def planned(pages: int, *, house: House = HOUSE, trim_mm: tuple[float, float] = TRIM_MM, **job: Any) -> Plan:
    """The plan that wins; ``job`` as a job file has it."""
    return plans(pages, trim_mm, Job.model_validate(job), house, title="The Chandler's Year", most=1)[0]


def manuscript(pages: int, target: Path, trim_mm: tuple[float, float] = TRIM_MM) -> Path:
    """Each page says its number, and has its frame and a tint to its bleed."""
    wide, high = trim_mm
    x, y, w, h = FRAME_MM, FRAME_MM, wide - 2 * FRAME_MM, high - 2 * FRAME_MM
    frame = f"0 0 0 1 K 0.5 w {x * PT:.6f} {y * PT:.6f} {w * PT:.6f} {h * PT:.6f} re S"
    tint = [Fill((-3, -3, wide + 3, high + 3), "0.1 0 0.2 0 k")]
    return book(pages, target, trim_mm=trim_mm, bleed_mm=3, fills=tint, content=frame)


@frozen
class Made:
    """A book as planned and written."""

    plan: Plan
    book: Path
    sheets: Path

    @property
    def told(self) -> FoldingInstructions:
        return self.plan.instructions

    def proof(self, told: FoldingInstructions | None = None) -> Proof:
        return proved(self.sheets, told or self.told, self.book, pictures=False)


def made(folder: Path, pages: int, *, house: House = HOUSE, trim_mm: tuple[float, float] = TRIM_MM, **job: Any) -> Made:
    """Planned and imposed; ``job`` as a job file has it, marks that lie round the pages left out."""
    wanted = {**job, "marks": {**MARKS_OFF, **job.get("marks", {})}}
    plan = planned(pages, house=house, trim_mm=trim_mm, **wanted)
    source = manuscript(pages, folder / "book.pdf", trim_mm)
    sheets = folder / "sheets.pdf"
    write_sheets(read(source), plan, Job.model_validate(wanted), sheets, date="29 February 2024")
    return Made(plan, source, sheets)


def proved_whole(one: Made) -> Proof:
    """Its proof, once every page of it was found in its place."""
    proof = one.proof()
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    found = [page.found for page in proof.pages if page.found is not None]
    assert found == list(range(1, one.plan.pages + 1))
    return proof


@frozen
class Frame:
    """The frame of a page on its leaf: upright, mm, x counted from the leaf's own crease towards its fore-edge."""

    outward: int  #: 1: the leaf lies at the right of its spine
    #: spine and foot, spine and head, fore-edge and foot, fore-edge and head
    corners: tuple[tuple[float, float], ...]

    @property
    def inner_mm(self) -> float:
        """From the crease."""
        return (self.corners[0][0] + self.corners[1][0]) / 2

    @property
    def outer_mm(self) -> float:
        """Its edge towards the fore-edge, from the crease."""
        return (self.corners[2][0] + self.corners[3][0]) / 2

    @property
    def lean_mm(self) -> float:
        """How far the head of its spine edge stands further from the crease than its foot."""
        return self.corners[1][0] - self.corners[0][0]


def frames(one: Made) -> dict[int, Frame]:
    """The frame of every page of the book, by PDF page, as MuPDF finds it on the sheets."""
    places = [place for place in bind(one.told).places if place is not None]
    pages = {place.position: place.page for place in one.plan.places}
    found: dict[int, Frame] = {}
    with pymupdf.open(one.sheets) as document:
        drawn = [_rectangles(page) for page in document]
    for place in places[: len(one.plan.places)]:
        page = pages[place.position]
        if page is None:
            continue
        x0, y0, x1, y1 = place.on_side
        here = [
            points
            for points in drawn[2 * (place.sheet - 1) + (place.side == "back")]
            if x0 < sum(x for x, _ in points) / 4 < x1 and y0 < sum(y for _, y in points) / 4 < y1
        ]
        assert len(here) == 1, (place.position, len(here))
        to_leaf = back(place.to_side)
        on_leaf = [at(to_leaf, x, y) for x, y in here[0]]
        ordered = sorted((x * place.outward, y) for x, y in on_leaf)
        inner, outer = sorted(ordered[:2], key=lambda p: p[1]), sorted(ordered[2:], key=lambda p: p[1])
        found[page + 1] = Frame(place.outward, (*inner, *outer))
    return found


def _rectangles(page: pymupdf.Page) -> list[list[tuple[float, float]]]:
    """Corners of every stroked box that is about as large as a frame, mm from the lower left of the sheet."""
    high = page.rect.height
    out = []
    for path in page.get_drawings():
        if path["type"] != "s" or min(path["rect"].width, path["rect"].height) < 30 * PT:
            continue
        points = {(round(p.x, 3), round(p.y, 3)) for item in path["items"] for p in _points(item)}
        assert len(points) == 4, points
        out.append([(x / PT, (high - y) / PT) for x, y in points])
    return out


def _points(item: Any) -> list[pymupdf.Point]:
    if item[0] == "l":
        return [item[1], item[2]]
    if item[0] == "re":
        return [item[1].tl, item[1].tr, item[1].bl, item[1].br]
    return [item[1].ul, item[1].ur, item[1].ll, item[1].lr]
