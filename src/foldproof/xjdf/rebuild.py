# SPDX-License-Identifier: AGPL-3.0-or-later
"""From what a job ticket holds back to what the bindery is told, so that written sheets can be folded by it alone.

Folds come back in other words than they were planned in, since the standard knows two sides where the house knows
four, with the head named wherever it is; the paper is folded into the same book.
"""

from __future__ import annotations

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import Collation, FoldingInstructions, Section, Sheet
from foldproof.xjdf.folds import in_house_words, on_sheet
from foldproof.xjdf.model import HeldPiece, HeldPlan


def instructions(plan: HeldPlan) -> FoldingInstructions:
    """Folding instructions for the proof.

    Raises:
        AskedWrong: a piece whose folds do not part its pile.
    """
    mark = plan.collation
    pieces: dict[int, list[Section]] = {}
    for piece in plan.pieces:
        pieces.setdefault(piece.sheet, []).append(_section(piece))
    return FoldingInstructions(
        reading=plan.reading,
        binding=plan.binding,
        trim_mm=plan.trim_mm,
        bleed_mm=plan.bleed_mm,
        caliper_mm=plan.caliper_mm,
        creep_factor=plan.creep_factor,
        sheets=tuple(
            Sheet(
                number=sheet.number,
                width_mm=sheet.size_mm[0],
                height_mm=sheet.size_mm[1],
                turn=sheet.turn,
                slits_mm=sheet.slits_mm,
                sections=tuple(pieces.get(sheet.number, ())),
                caliper_mm=sheet.caliper_mm,
                stock=sheet.stock,
            )
            for sheet in plan.sheets
        ),
        gathering=tuple(section.pieces for section in plan.sections),
        collation=Collation(*mark) if mark else None,
        creep_by=plan.creep_by,
    )


def _section(piece: HeldPiece) -> Section:
    size = sum(piece.column_mm), sum(piece.row_mm)
    to_sheet = on_sheet(piece.rect_mm, piece.turned, piece.turned_over, size)
    try:
        folds = in_house_words(piece.folds, piece.column_mm, piece.row_mm, to_sheet)
    except ValueError as odd:
        raise AskedWrong(f"The job ticket's piece {piece.id} cannot be folded: {odd}.") from None
    return Section(
        id=piece.id,
        rect_mm=piece.rect_mm,
        turned=piece.turned,
        columns=piece.columns,
        rows=piece.rows,
        column_mm=piece.column_mm,
        row_mm=piece.row_mm,
        folds=folds,
        head=piece.head,
        head_trim_mm=piece.head_trim_mm,
        foot_trim_mm=piece.foot_trim_mm,
        spine_trim_mm=piece.spine_trim_mm,
        turned_over=piece.turned_over,
        copy_of=piece.copy_of,
        bottling_mm=piece.bottling_mm,
    )
