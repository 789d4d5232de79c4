# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets that hold one section twice, set by hand from the sample octavo: one set of plates for both sides."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from attrs import evolve

from foldproof.geometry import Matrix
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.units import mm_to_pt


def work_and_turn(samples: ModuleType) -> Plan:
    """An octavo twice on one sheet of double width, one set of plates: the copy lies with its other side up."""
    plan = samples.plan(16)
    [sheet], wide = plan.instructions.sheets, samples.SHEET_MM[0]
    [section] = sheet.sections
    x0, y0, x1, y1 = section.rect_mm
    copy = evolve(
        section,
        id="1B",
        copy_of="1A",
        turned_over=True,
        rect_mm=(2 * wide - x1, y0, 2 * wide - x0, y1),
        folds=tuple(evolve(fold, line_mm=tuple((2 * wide - x, y) for x, y in fold.line_mm)) for fold in section.folds),
    )

    def moved(place: PagePlace) -> PagePlace:
        return place if place.side is Side.FRONT else shifted(place, mm_to_pt(wide))

    return doubled(plan, evolve(sheet, width_mm=2 * wide, sections=(section, copy)), [moved(p) for p in plan.places])


def work_and_tumble(samples: ModuleType) -> Plan:
    """The same, one above the other, the sheet turned head to tail."""
    plan = samples.plan(16)
    [sheet], (wide, high) = plan.instructions.sheets, samples.SHEET_MM
    [section] = sheet.sections
    x0, y0, x1, y1 = section.rect_mm
    copy = evolve(
        section,
        id="1B",
        copy_of="1A",
        turned_over=True,
        turned=180,
        rect_mm=(x0, 2 * high - y1, x1, 2 * high - y0),
        folds=tuple(evolve(fold, line_mm=tuple((x, 2 * high - y) for x, y in fold.line_mm)) for fold in section.folds),
    )
    told = evolve(sheet, height_mm=2 * high, sections=(section, copy), turn="head to tail")

    def moved(place: PagePlace) -> PagePlace:
        # from the back turned side to side to the back turned head to tail: half round on the doubled sheet
        if place.side is Side.FRONT:
            return place
        box, far = place.trim_pt, (mm_to_pt(wide), mm_to_pt(2 * high))
        turn = Matrix(-1, 0, 0, -1, *far)
        return evolve(place, trim_pt=turn.rect(box), matrix=place.matrix.then(turn))

    return doubled(plan, told, [moved(p) for p in plan.places])


def shifted(place: PagePlace, by_pt: float) -> PagePlace:
    return evolve(
        place,
        trim_pt=place.trim_pt.moved(by_pt, 0),
        matrix=place.matrix.then(Matrix.translation(by_pt, 0)),
    )


def doubled(plan: Plan, sheet: Any, places: list[PagePlace]) -> Plan:
    """The same plate prints both sides: what stands on one stands on the other for the copy."""
    again = tuple(
        evolve(place, section="1B", side=Side.BACK if place.side is Side.FRONT else Side.FRONT) for place in places
    )
    told = evolve(plan.instructions, sheets=(sheet,))
    return evolve(
        plan, instructions=told, places=tuple(places), again=again, sheet_mm=(sheet.width_mm, sheet.height_mm)
    )
