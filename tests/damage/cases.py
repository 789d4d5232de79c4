# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small books on press sheets to be spoilt, and the question whether the proof saw it."""

from __future__ import annotations

import json
import math
import random
import re
import zlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from foldproof.impose.write import write_sheets
from foldproof.job.load import load_house
from foldproof.job.model import Book, Job, PressChoice, Sections
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import Plan, Side
from foldproof.manuscript.read import read
from foldproof.prove.model import Proof, Verdict
from tests.build import Fill, book
from tests.damage import copies, damage
from tests.damage import told as damages_told
from tests.prove.by_hand import proved

SMALL, LARGE = (90.0, 130.0), (210.0, 280.0)
PT = 72 / 25.4
#: binding, pages of a section, pages of the book, reading, trim, way to print: large ones take several sheets.  The way
#: is pinned, so that copies, pieces turned over and sheets turned head to tail are met whatever the prices of the house
BOOKS = {
    "sewn 16": ("sewn", 16, 40, "left to right", LARGE, "work and turn"),
    "sewn 8, right to left": ("sewn", 8, 24, "right to left", SMALL, "two formes"),
    "sewn 32": ("sewn", 32, 64, "left to right", SMALL, "perfecting"),
    "sewn 12": ("sewn", 12, 48, "left to right", LARGE, "two formes"),
    "glued 16": ("glued", 16, 46, "left to right", SMALL, "work and tumble"),
    "glued 6": ("glued", 6, 60, "left to right", LARGE, "perfecting"),
    "glued 24": ("glued", 24, 48, "left to right", SMALL, "perfecting"),
    "glued 12, right to left": ("glued", 12, 36, "right to left", SMALL, "work and tumble"),
    "stitched 16": ("stitched", 16, 32, "left to right", SMALL, "two formes"),
    "stitched 8": ("stitched", 8, 72, "left to right", LARGE, "work and tumble"),
    "stitched 4": ("stitched", 4, 16, "left to right", SMALL, "work and turn"),
}
KINDS = (*damage.OF_SHEETS, "misplace_step", "spoil_copy", *damages_told.OF_PLANS)
_RUNS = re.compile(r"(\d+)(?:–(\d+))?")
_NAMED = re.compile(r"\bpages? ((?:\d+(?:–\d+)?(?:, | and )?)+)", re.IGNORECASE)


def manuscript(pages: int, trim_mm: tuple[float, float], target: Path) -> Path:
    """A book that is hard to prove: twins that differ in one digit, one line of 6-pt type, bleeds, an empty page."""

    def each(index: int) -> dict[str, Any]:
        number = index + 1
        wide, high = trim_mm
        if number in (11, 12):
            return {"text": f"Entry {number}", "folio": ""}
        if number == 7:
            return {"text": "Page 7 is one line of small type", "size_pt": 6, "folio": ""}
        if number in (5, 10, 14):
            return {"fills": [Fill((-3, -3, wide + 3, high + 3), "0.1 0 0.3 0 k")]}
        if number == 13:
            return {"text": "", "folio": ""}
        return {}

    return book(pages, target, trim_mm=trim_mm, bleed_mm=3, each=each)


@dataclass
class Sheeted:
    """One book on its sheets."""

    name: str
    manuscript: Path
    sheets: Path
    plan: Plan

    @classmethod
    def make(cls, name: str, folder: Path) -> Sheeted:
        binding, section, pages, reading, trim_mm, way = BOOKS[name]
        stem = re.sub(r"\W+", "-", name)
        path = manuscript(pages, trim_mm, folder / f"{stem}.pdf")
        job = Job(
            book=Book(binding=binding, reading=reading, trim=f"{trim_mm[0]:g} x {trim_mm[1]:g} mm"),
            sections=Sections(pages=section),
            press=PressChoice(way=way),
        )  # type: ignore[arg-type]
        plan = plans(pages, trim_mm, job, load_house(None), title=name, most=1)[0]
        sheets = folder / f"{stem}-sheets.pdf"
        write_sheets(read(path), plan, job, sheets, date="2024-02-29")
        return cls(name, path, sheets, plan)

    @cached_property
    def told(self) -> dict[str, Any]:
        return json.loads(json.dumps(self.plan.instructions.as_json()))  # type: ignore[no-any-return]

    @cached_property
    def bars(self) -> list[dict[str, Any]]:
        """Where the collation marks stand, for the damage that moves one."""
        told = self.plan.instructions
        if told.collation is None or told.collation.steps < 2:
            return []
        out = []
        for bar in self.plan.bars:
            position, box = self.plan.sections[bar.unit].first, bar.rect_mm.scaled(PT)
            on_side = [
                p
                for p in (*self.plan.places, *self.plan.again)
                if (p.position, p.sheet, p.side) == (position, bar.sheet, bar.side)
            ]
            # of several copies on a side the one at whose spine the mark stands
            first = min(on_side, key=lambda p: math.dist(p.clip_pt.centre, box.centre))
            if first.page is None:
                continue
            x, y = first.matrix.point(0, 0)
            ax, ay = first.matrix.point(0, -told.collation.step_mm * PT)
            # from the last step the next one may lie off the page: then a step back
            way = -1 if bar.unit % told.collation.steps == told.collation.steps - 1 else 1
            index = 2 * (bar.sheet - 1) + (bar.side is Side.BACK)
            out.append(
                {
                    "index": index,
                    "box_pt": (box.x0, box.y0, box.x1, box.y1),
                    "step_pt": (way * (ax - x), way * (ay - y)),
                    "page": first.page + 1,
                }
            )
        return out

    @cached_property
    def copies(self) -> list[tuple[int, tuple[float, float]]]:
        """Number of the side, from 0, and middle of the clip of each page of a copy."""
        return [(2 * (p.sheet - 1) + (p.side is Side.BACK), p.clip_pt.centre) for p in self.plan.again]

    @cached_property
    def pages_of(self) -> dict[str, set[int]]:
        """Pages of each section, each copy and each side, by the plan; the empty one is not claimed by any proof."""
        out: dict[str, set[int]] = {}
        for place in (*self.plan.places, *self.plan.again):
            if place.page is not None and place.page + 1 != 13:
                for name in (place.section, f"sheet {place.sheet}, {place.side.value}"):
                    out.setdefault(name, set()).add(place.page + 1)
        return out

    def proof(self, sheets: Path | None = None, told: dict[str, Any] | None = None) -> Proof:
        return proved(
            sheets or self.sheets, FoldingInstructions.from_json(told or self.told), self.manuscript, pictures=False
        )


def named(proof: Proof, side: int | None = None) -> set[int]:
    """Every page number that the faults name, in their sentences; those of one side alone, counted from 0."""
    out: set[int] = set()
    for fault in proof.faults:
        if side is not None and (fault.sheet, fault.side) != (side // 2 + 1, ("front", "back")[side % 2]):
            continue
        for run in _NAMED.findall(fault.says):
            for first, last in _RUNS.findall(run):
                out |= set(range(int(first), int(last or first) + 1))
    return out


def missed(sheeted: Sheeted, kind: str, seed: int, folder: Path) -> str | None:
    """Spoil once and prove: ``None`` when it was seen and the pages were named, else what went unseen.

    Raises:
        NothingToSpoil: this book has nothing for this kind.
    """
    rng = random.Random(zlib.crc32(f"{sheeted.name} {kind} {seed}".encode()))
    if kind in damages_told.OF_PLANS:
        told = json.loads(json.dumps(sheeted.told))
        touched = damages_told.OF_PLANS[kind](told, rng)
        proof = sheeted.proof(told=told)
        names = [touched] if isinstance(touched, str) else touched
        pages = set().union(*(sheeted.pages_of.get(name, set()) for name in names))
        enough = bool(pages & named(proof)) if kind == "alter_word" else pages <= named(proof)
    else:
        sheets = damage.Sheets.open(sheeted.sheets)
        if kind == "misplace_step":
            pages = damage.misplace_step(sheets, rng, sheeted.bars)
        elif kind == "spoil_copy":
            pages = copies.spoil_copy(sheets, rng, sheeted.copies)
        else:
            pages = damage.OF_SHEETS[kind](sheets, rng)
        spoilt = folder / f"{sheeted.sheets.stem}-{kind}-{seed}.pdf"
        sheets.save(spoilt)
        proof = sheeted.proof(spoilt)
        spoilt.unlink()
        # of a page that stands on several sides the one that was spoilt
        sides = {side for side, _ in sheets.hit}
        enough = pages <= named(proof) and all(sheets.pages_hit(side) <= named(proof, side) for side in sides)
    if proof.verdict is Verdict.FAILED and enough:
        return None
    told_faults = "; ".join(fault.says for fault in proof.faults[:4]) or "no fault"
    return f"{sheeted.name}: {kind}, seed {seed}: pages {sorted(pages)} were touched, the proof says: {told_faults}"
