# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plates that carry next to nothing."""

from __future__ import annotations

from collections.abc import Hashable, Iterable

from foldproof.manuscript.model import PageInk
from foldproof.preflight.inks import PROCESS
from foldproof.preflight.measures import ink_of, size_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page, rounded


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    trace = limits.number("trace_percent") / 100
    together: dict[Hashable, list[PageInk]] = {}
    for ink in ink_of(facts):
        if ink is not None and not ink.blank:
            together.setdefault(_side(facts, ink.index, int(limits.number("together_pages"))), []).append(ink)
    for side in together.values():
        carried: dict[str, float] = {}
        for ink in side:
            for name, cover in ink.coverage.items():
                carried[name] = carried.get(name, 0.0) + cover
        light = {name for name, cover in carried.items() if cover <= trace}
        for ink in side:
            names = [name for name in ink.coverage if name in light]
            if names:
                yield _light(facts, ink, names, trace)


def _side(facts: Facts, index: int, together: int) -> Hashable:
    """What is printed from one set of plates: the side of the sheet, or so many pages where no make-up is known."""
    if facts.sides is not None and index < len(facts.sides):
        return facts.sides[index]
    return index // max(1, together)


def _light(facts: Facts, ink: PageInk, names: list[str], trace: float) -> Finding:
    width_mm, height_mm = size_mm(facts.manuscript.pages[ink.index])
    area_mm2 = max(ink.coverage[name] for name in names) * width_mm * height_mm
    plates = listed([name.lower() if name in PROCESS else f'"{name}"' for name in names], 6)
    known = facts.sides is not None and ink.index < len(facts.sides)
    where = "the side of the sheet on which this page is printed" if known else "the pages round about"
    several = len(names) > 1
    elsewhere = f", and {'have' if several else 'has'} next to nothing else to print on {where}"
    if not known and len(facts.manuscript.pages) == 1:
        elsewhere = ""
    return on_page(
        facts,
        ink.index,
        "light-plate/process" if set(names) <= set(PROCESS) else "light-plate/spot",
        Severity.NOTE,
        f"{plates} {'print' if several else 'prints'} {rounded(area_mm2)} mm² of solid ink{elsewhere}: "
        f"{f'{len(names)} plates' if several else 'a plate'} for so little.",
        "If the colour is not meant, set the matter in black alone (100 % K) or in the inks that are printed anyway.",
        measured=area_mm2,
        limit=round(trace * width_mm * height_mm, 2),
        unit="mm²",
    )


CHECK = Check(
    id="light-plate",
    title="Plates with next to nothing",
    needs=frozenset({Needs.INK}),
    measures="For every ink, how much of it the pages carry that are printed from one set of plates: a side of the "
    "sheet where the make-up is known, else a stretch of pages as long as a usual section. Told where that is less "
    "than a trace of one page.",
    why="A stray dot, a folio or a link in colour costs a plate, its making ready and a unit of the press, as a "
    "picture does.",
    remedy="Set stray colour in black; keep what is meant.",
    source="common practice, no source",
    run=_run,
    limits={"trace_percent": 0.02, "together_pages": 16},
    limit_sources={
        "trace_percent": "6 square millimetres of solid ink on a page of 140 x 216 mm: a folio or two words; common "
        "practice, no source",
        "together_pages": "pages of a usual section; common practice, no source",
    },
    severity=Severity.NOTE,
)
