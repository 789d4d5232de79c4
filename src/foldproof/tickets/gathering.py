# SPDX-License-Identifier: AGPL-3.0-or-later
"""The gathering bench: sections in their order, station by station, and the back of a right block as a picture.

Which pages a section holds, and where its collation mark stands, is what the proof read from the written sheets: a
section that is there twice, or turned, shows as it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from attrs import frozen

from foldproof.job.model import HouseLine
from foldproof.makeup.plan import Plan
from foldproof.prove.model import MarkRead, PageProof, Proof
from foldproof.quantities.model import Work
from foldproof.tickets.bench import Bench, due, short
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.labels import Labels
from foldproof.units import format_mm

#: letters of a first line that have room
_LINE_LETTERS = 46


@frozen
class Unit:
    """What one station holds: a gathered section, or a piece of a stitched book."""

    number: int  #: 1-based, in the order in which they are laid
    mark: str  #: its signature
    pieces: tuple[str, ...]  #: the outermost first
    pages: tuple[int | None, ...]  #: 1-based pages of the PDF as the proof found them, in reading order

    @property
    def first(self) -> int | None:
        """Its first printed page."""
        return next((page for page in self.pages if page is not None), None)


def benches(work: Work) -> tuple[Bench, ...]:
    """One ticket; none for a leaflet that is one piece."""
    units = units_of(work.plan, work.proof)
    if work.plan.binding == "leaflet" and len(units) == 1 and len(units[0].pieces) == 1:
        return ()
    return (_gathering(work, units),)


def units_of(plan: Plan, proof: Proof | None) -> tuple[Unit, ...]:
    """What is laid one on or round another, in that order.

    Pieces of a stitched book are laid one over another on the saddle, the innermost first; everything else is gathered
    from front to back.
    """
    pages: dict[str, list[PageProof]] = defaultdict(list)
    for page in proof.pages if proof else ():
        pages[page.section].append(page)
    # a piece inside another carries a star for each that lies round it, as it is printed
    signatures = {piece: s.signature + "*" * inside for s in plan.sections for inside, piece in enumerate(s.pieces)}
    gathered = plan.instructions.gathering
    if plan.binding == "stitched":
        gathered = tuple((piece,) for unit in gathered for piece in reversed(unit))
    units = []
    for number, unit in enumerate(gathered, 1):
        own = sorted((page for piece in unit for page in pages[piece]), key=lambda page: page.position)
        found = tuple(page.found for page in own)
        units.append(Unit(number, signatures.get(unit[0], ""), tuple(unit), found))
    return tuple(units)


def first_pages(plan: Plan, proof: Proof) -> tuple[int, ...]:
    """The pages (from 0) whose first lines the ticket tells: the first printed one of everything that is gathered."""
    return tuple(unit.first - 1 for unit in units_of(plan, proof) if unit.first is not None)


def line_of(work: Work) -> HouseLine | None:
    """The binding line that the plan names."""
    return next((line for line in work.house.lines if line.name == work.plan.line), None)


def _gathering(work: Work, units: Sequence[Unit]) -> Bench:
    plan = work.plan
    line = line_of(work)
    stations = line.stations if line else 0
    turns = -(-len(units) // stations) if stations else 1
    labels = Labels(plan, work.folios)
    count = len(units)
    stitched = plan.binding == "stitched"
    thing = "piece" if stitched else "section"
    spine = None if stitched else _spine(work, units, stations)
    return Bench(
        bench="gathering",
        name="Gathering",
        what=f"{_counted(count, thing)} from {_counted(plan.sheets, 'sheet')}",
        layout="gathering",
        facts=(
            (f"{thing}s", f"{count:,}"),
            ("binding, reading", f"{plan.binding}, {plan.reading}"),
            ("line", plan.line),
            ("stations", _turns(turns, stations, count) if stations else ""),
            ("thickness, unpressed", f"about {format_mm(work.quantities.thickness.block_mm)}"),
        ),
        body={
            "words": _words(work, units),
            "spine": spine,
            "spine_words": _spine_words(work, spine),
            "heads": ["no.", "station", "mark", "pages", "first line of text", "pieces"],
            "rows": [_row(unit, stations, turns, labels, work) for unit in units],
            "rows_words": _rows_words(work),
        },
        cautions=cautions_of("gathering"),
        checks=(
            "first block collated by hand against this list",
            "marks step as in the picture" if spine else "signatures in order",
            "folios run on from section to section",
            "passed for binding",
        ),
        due=due(work, "gathering"),
        most_pages=4 + count // 8,
    )


def _turns(turns: int, stations: int, count: int) -> str:
    """``"24, in one turn"``, ``"24, in 3 turns, 8 sections in the last"``."""
    if turns == 1:
        return f"{stations}, in one turn"
    return f"{stations}, in {turns} turns, {count - (turns - 1) * stations} in the last"


def _row(unit: Unit, stations: int, turns: int, labels: Labels, work: Work) -> list[str]:
    at = ""
    if stations:
        turn, station = divmod(unit.number - 1, stations)
        at = f"{station + 1}" if turns == 1 else f"{turn + 1} · {station + 1}"
    first = unit.first
    text = work.first_lines[first - 1] if first is not None and first <= len(work.first_lines) else ""
    return [
        str(unit.number),
        at,
        unit.mark,
        labels.found(unit.pages) if unit.pages else "not proved",
        short(text, _LINE_LETTERS) if text else "–",
        ", ".join(unit.pieces),
    ]


def _counted(count: int, one: str) -> str:
    return f"{count:,} {one}{'' if count == 1 else 's'}"


def _rows_words(work: Work) -> str:
    words = "Compare the first printed page of every section: folio and first line."
    if work.proof is None:
        return f"{words} These sheets were not proved: their pages are not told."
    return words


def _words(work: Work, units: Sequence[Unit]) -> str:
    plan = work.plan
    line = line_of(work)
    if plan.binding == "stitched":
        words = "Lay the pieces over the saddle in this order, the innermost first; the last one named lies outside. "
    else:
        words = "Gather from front to back in this order. "
    if plan.binding != "stitched" and any(len(unit.pieces) > 1 for unit in units):
        words += "Pieces of one section are set one in another first, the outermost named first. "
    if line and len(units) > line.stations:
        words += (
            f"There are more sections than the {line.stations} stations hold: gather each turn by itself and lay"
            " what it makes behind that of the turn before; the list tells turn and station. "
        )
    mark = plan.instructions.collation
    if mark is None or plan.binding == "stitched":
        return words + "There is no collation mark on this work: check the signatures at the foot or the first pages."
    return words + (
        f"On the folded backs a black bar steps down from section to section: it starts {format_mm(mark.first_mm)}"
        f" below the head trim and falls by {format_mm(mark.step_mm)} each time, {mark.steps} steps a run. A gap, a"
        " double or a turned bar is a section missing, doubled or upside down."
    )


# --- the back of the block ---


def _spine(work: Work, units: Sequence[Unit], stations: int) -> dict[str, Any] | None:
    """The back as the proof read it: mm, the first section at the right where the book is read from left to right."""
    read = work.proof.marks if work.proof else ()
    if work.plan.instructions.collation is None or not read:
        return None
    marks = {mark.unit: mark for mark in read}
    thick = [section.paper_mm for section in work.quantities.thickness.sections]
    if len(thick) != len(units):
        thick = [work.quantities.thickness.block_mm / len(units)] * len(units)
    left_to_right = work.plan.reading == "left to right"
    whole, at = sum(thick), 0.0
    columns = []
    for unit, width in zip(units, thick, strict=True):
        x0 = whole - at - width if left_to_right else at
        at += width
        columns.append(
            {
                "number": unit.number,
                "x0": x0 / whole,
                "x1": (x0 + width) / whole,
                "begins": bool(stations) and unit.number > 1 and (unit.number - 1) % stations == 0,
                **_mark(marks.get(unit.number - 1)),
            }
        )
    return {
        "height_mm": work.plan.trim_mm[1],
        "width_mm": whole,
        "columns": columns,
        "first_at": "right" if left_to_right else "left",
    }


def _mark(read: MarkRead | None) -> dict[str, Any]:
    if read is None:
        return {"spans": [], "told": True}
    return {"spans": [list(span) for span in read.spans_mm], "told": read.can_tell}


def _spine_words(work: Work, spine: dict[str, Any] | None) -> str:
    if spine is None:
        return ""
    words = (
        "The back of a right block, head up, the block standing with its back to you: the first section lies at the"
        f" {spine['first_at']}. The bars are drawn where they were read on the written sheets."
    )
    dark = [str(column["number"]) for column in spine["columns"] if not column["told"]]
    if dark:
        words += " Where the page is as dark as the bar it cannot be told: section"
        words += f"{'s' if len(dark) > 1 else ''} {', '.join(dark)}."
    return words
