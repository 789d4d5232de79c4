# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a plan to what a job ticket holds of it.  Pure."""

from __future__ import annotations

from foldproof.makeup.folding import Scheme, fold, read
from foldproof.makeup.instructions import FoldingInstructions, Section, Sheet
from foldproof.makeup.plan import PagePlace, Plan
from foldproof.report.words import clean
from foldproof.units import pt_to_mm
from foldproof.xjdf.folds import spoken
from foldproof.xjdf.model import HeldCell, HeldPiece, HeldPlace, HeldPlan, HeldSection, HeldSheet


def held(plan: Plan) -> HeldPlan:
    """What a job ticket holds of a plan.  Characters that XML cannot hold are replaced, as they are when it is written.

    Raises:
        FoldError: the folds of a piece cannot be followed.
    """
    told = plan.instructions
    mark = told.collation
    return HeldPlan(
        title=clean(plan.title),
        trim_mm=plan.trim_mm,
        bleed_mm=plan.bleed_mm,
        binding=plan.binding,
        reading=plan.reading,
        copies=plan.run_copies,
        pages=plan.pages,
        blanks_front=plan.blanks_front,
        blanks_back=plan.blanks_back,
        stock=clean(plan.stock),
        grammage=plan.grammage,
        caliper_mm=plan.caliper_mm,
        creep_factor=told.creep_factor,
        creep_by=told.creep_by,
        collation=(mark.first_mm, mark.step_mm, mark.steps, mark.length_mm, mark.width_mm, mark.gap_mm)
        if mark
        else None,
        sections=tuple(
            HeldSection(section.number, clean(section.signature), section.pieces) for section in plan.sections
        ),
        sheets=tuple(_sheet(plan, sheet) for sheet in told.sheets),
        pieces=tuple(_piece(told, sheet, section) for sheet in told.sheets for section in sheet.sections),
        places=in_order([_place(place) for place in (*plan.places, *plan.again)]),
    )


def in_order(places: list[HeldPlace]) -> tuple[HeldPlace, ...]:
    """The order of :attr:`foldproof.xjdf.model.HeldPlan.places`."""
    return tuple(sorted(places, key=lambda place: (place.position, place.sheet, place.piece)))


def _sheet(plan: Plan, sheet: Sheet) -> HeldSheet:
    size = sheet.width_mm, sheet.height_mm
    if not plan.runs:  # a plan made by hand
        return HeldSheet(
            sheet.number, size, clean(sheet.stock or plan.stock), plan.grammage,
            plan.caliper_mm if sheet.caliper_mm is None else sheet.caliper_mm, plan.grain, clean(plan.press.name),
            "perfecting" if sheet.turn == "head to tail" else "two formes", plan.press.lay, ((), ()), sheet.slits_mm,
            0, 0,
        )  # fmt: skip
    run = plan.run_of(sheet.number)
    front, back = (tuple(clean(ink) for ink in inks) for inks in run.inks)
    return HeldSheet(
        sheet.number, size, clean(run.stock), run.grammage, run.caliper_mm, run.grain, clean(run.press.name), run.way,
        run.press.lay, (front, back), sheet.slits_mm, run.net_sheets, run.gross_sheets,
    )  # fmt: skip


def _piece(told: FoldingInstructions, sheet: Sheet, section: Section) -> HeldPiece:
    # no name, so that pieces folded alike are folded once
    scheme = Scheme("", section.columns, section.rows, tuple(one.words for one in section.folds), section.head)
    pile = fold(scheme)
    folds, lies = spoken(section)
    cells = {
        (leaf.column, leaf.row): HeldCell(leaf.front_page, leaf.back_page, leaf.head_turns % 4)
        for leaf in read(scheme, told.reading)
    }
    return HeldPiece(
        id=section.id,
        sheet=sheet.number,
        copy_of=section.copy_of,
        rect_mm=section.rect_mm,
        turned=section.turned,
        turned_over=section.turned_over,
        columns=section.columns,
        rows=section.rows,
        column_mm=section.column_mm,
        row_mm=section.row_mm,
        cells=tuple(cells[column, row] for row in reversed(range(section.rows)) for column in range(section.columns)),
        folds=folds,
        head=lies.edge(pile.head),
        spine=lies.edge(pile.spine),
        head_trim_mm=section.head_trim_mm,
        foot_trim_mm=section.foot_trim_mm,
        spine_trim_mm=section.spine_trim_mm,
        bottling_mm=section.bottling_mm,
    )


def _place(place: PagePlace) -> HeldPlace:
    matrix, clip = place.matrix, place.clip_pt
    return HeldPlace(
        sheet=place.sheet,
        side=place.side.value,
        piece=place.section,
        position=place.position,
        page=place.page,
        matrix=(matrix.a, matrix.b, matrix.c, matrix.d, pt_to_mm(matrix.e), pt_to_mm(matrix.f)),
        clip_mm=(pt_to_mm(clip.x0), pt_to_mm(clip.y0), pt_to_mm(clip.x1), pt_to_mm(clip.y1)),
    )
