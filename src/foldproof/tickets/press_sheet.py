# SPDX-License-Identifier: AGPL-3.0-or-later
"""The press bench: one entry for every kind of sheet, its two sides as their plates print them."""

from __future__ import annotations

from foldproof.makeup.plan import Plan
from foldproof.quantities.model import Work
from foldproof.tickets.bench import Bench, due
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.diagram import SheetDrawing, SideDrawing
from foldproof.tickets.labels import sheets_words
from foldproof.tickets.press import press_look
from foldproof.tickets.printing import printing, runs_of
from foldproof.tickets.side import side_data


def entry(work: Work, drawing: SheetDrawing) -> Bench:
    """The ticket of one kind of sheet.

    Args:
        drawing: an example of the kind.
    """
    plan, kind = work.plan, drawing.kind
    told = printing(plan, kind, drawing.turn)
    sides = [side_data(side, _caption(plan, drawing, side)) for side in drawing.sides]
    numbered = any(box.folio for side in drawing.sides for box in side.pages)
    figures = "Large figures are pages of the PDF, small ones their printed folios." if numbered else ""
    look = press_look(work, kind)
    return Bench(
        bench="press",
        name="Press",
        what=f"{kind.label}: {sheets_words(kind.sheets)}",
        layout="press",
        facts=(
            ("press", told["press"]),
            ("stock", told["stock"]),
            ("sheet", told["sheet"]),
            ("grain", told["grain"]),
            ("sheets of this kind", f"{len(kind.sheets):,}"),
            ("gripper", told["gripper"]),
            ("way to print", told["way"]),
            ("turn between front and back", drawing.turn),
            ("passes through the press", told["passes"]),
            ("copies", told["copies"]),
            ("sheets, in all", told["numbers"]),
        ),
        body={
            "heads": told["heads"],
            "rows": told["rows"],
            "sides": sides,
            "says": [says for says in (*told["says"], figures) if says],
            "look": look,
        },
        cautions=cautions_of("press", told["weight"]),
        checks=("plates checked against these drawings", "register and back-up passed"),
        due=due(work, "press", kind.sheets),
        most_pages=5 + (len(told["rows"]) + len(look["rows"])) // 12,
    )


def _caption(plan: Plan, drawing: SheetDrawing, side: SideDrawing) -> str:
    back = side.side.value == "back"
    page = 2 * drawing.number - (0 if back else 1)
    ways = {run.way for run in runs_of(plan, drawing.kind)}
    says = f"Sheet {drawing.number}, {side.side.value}, as printed (page {page:,} of sheets.pdf"
    if back and ways == {"one side"}:
        says += ", nothing printed"
    elif back and ways and ways <= {"work and turn", "work and tumble"}:
        says += ", from the same plates"
    return says + f"); gripper edge at the foot, side lay at the {side.lay}."
