# SPDX-License-Identifier: AGPL-3.0-or-later
"""tickets.pdf: what each bench needs to know to make the book, on paper, with boxes to sign.

Everything is reckoned from the plan; tables go by kind of sheet and by section.  The cautions are the customary ones
and defer to local codes, the makers' manuals and trained people.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from foldproof.files import write_bytes
from foldproof.geometry import Rect
from foldproof.makeup.instructions import Section
from foldproof.makeup.plan import Plan
from foldproof.tickets.diagram import TURN_BACK, PieceCheck, SheetDrawing, SideDrawing, checks, drawings
from foldproof.tickets.labels import Labels, sheets_words
from foldproof.tickets.lay_sizes import lay_sizes
from foldproof.tickets.printing import again_words, over_words, printing, runs_of
from foldproof.tickets.size_rows import size_rows
from foldproof.tickets.trimming import lip_of, lip_words, sizes_folded, trimming
from foldproof.tickets.typeset import pdf
from foldproof.units import format_mm, format_size_mm

#: kinds of sheets that get pages of their own; a book has one to four
MOST_KINDS = 12

_DEFER = (
    "Local codes, the maker’s manual and the house’s own rules go before this ticket; work is for people who are"
    " trained and allowed to do it."
)
CAUTIONS = {
    "press": (
        "Guards shut, nothing loose near the cylinders; stop and lock the press before reaching in or washing up."
        " Inks and solvents as their safety sheets say.",
        _DEFER,
    ),
    "folding": (
        "Stop the folder before clearing a jam; knives and slitters cut, rollers pull in; keep guards shut and sleeves"
        " and hair away.",
        _DEFER,
    ),
    "gathering": (
        "Lift with the legs, in small piles, or use the lift.",
        _DEFER,
    ),
    "trimming": (
        "The guillotine cuts whatever lies under it: one person at the knife, two-hand start, light guard and clamp"
        " tested before work, never reach under the knife or defeat a guard; knives are changed by trained people, in"
        " their holder, with the power locked off.",
        _DEFER,
    ),
}

#: what the next bench after gathering can do to hands
_BINDING_CAUTIONS = {
    "sewn": "Needles and hooks pierce: stop and lock the sewer before threading or clearing it.",
    "glued": (
        "Glue and hot melt burn and fume: gloves, eye cover and extraction as the safety sheet says. The spine cutter"
        " stays guarded; let it run down before clearing it."
    ),
    "stitched": (
        "Stitching heads drive wire through a finger: stop and lock the stitcher before threading or clearing it."
    ),
    "leaflet": "Edges of fresh cut paper cut too: gloves where much is handled.",
}


def write_tickets(plan: Plan, target: Path, folios: Sequence[str] = ()) -> None:
    """Write the tickets of a plan as one PDF.

    Args:
        folios: printed folio of every page of the manuscript in order, ``""`` where it bears none.

    Raises:
        NotWritten: the folder does not take the file.
        OurFault: the layout does not take the data.
    """
    sources = (("foldproof.tickets", "sheet.typ"), ("foldproof.tickets", "tickets.typ"))
    write_bytes(target, pdf(sources, ticket_data(plan, folios)))


def ticket_data(plan: Plan, folios: Sequence[str] = ()) -> dict[str, Any]:
    """Everything that stands on the tickets, as plain data in mm and words."""
    drawn = drawings(plan, MOST_KINDS, folios)
    seen = checks(plan)
    labels = Labels(plan, folios)
    left = plan.kinds[MOST_KINDS:]
    kinds = [_kind(plan, drawing, seen, labels) for drawing in drawn]
    return {
        "title": plan.title,
        "binding": plan.binding,
        "reading": plan.reading,
        "line": plan.line,
        "trim": format_size_mm(*plan.trim_mm),
        "bulk": _bulk(plan),
        "kinds": kinds,
        "kinds_left": ""
        if not left
        else f"{len(left)} more kinds of sheet are not drawn here; plan.json holds them: "
        + "; ".join(f"{k.label}, {sheets_words(k.sheets)}" for k in left),
        "fold_check": (
            (
                "These pages must show, each with its printed folio and, where that is another, the page of the PDF;"
                if any(folios)
                else "These pages must show, counted as the manuscript’s own pages from 1;"
            )
            + " “outside” is front and back of the folded piece, “middle” the two pages where it opens in its middle."
        ),
        "gathering": _gathering(plan, labels),
        "trimming": trimming(plan),
        "cautions": {
            **CAUTIONS,
            "press": (kinds[0]["printing"]["weight"], *CAUTIONS["press"]) if kinds else CAUTIONS["press"],
            "gathering": (_BINDING_CAUTIONS[plan.binding], *CAUTIONS["gathering"]),
        },
    }


def _bulk(plan: Plan) -> str:
    """Thickness of the block: every leaf with the caliper of its own sheet."""
    calipers = {sheet.number: sheet.caliper_mm or plan.caliper_mm for sheet in plan.instructions.sheets}
    pages: dict[float, int] = {}
    for place in plan.places:
        caliper = calipers.get(place.sheet, plan.caliper_mm)
        pages[caliper] = pages.get(caliper, 0) + 1
    thick = sum(count / 2 * caliper for caliper, count in pages.items())
    leaves = "; ".join(f"{count // 2} leaves of {caliper:g} mm" for caliper, count in sorted(pages.items()))
    return f"about {format_mm(thick)} ({leaves}, unpressed)"


def _kind(plan: Plan, drawing: SheetDrawing, seen: dict[str, PieceCheck], labels: Labels) -> dict[str, Any]:
    kind = drawing.kind
    sheet = next(s for s in plan.instructions.sheets if s.number == drawing.number)
    signatures = {piece: s.signature for s in plan.sections for piece in s.pieces}
    wanted = set(kind.sheets)
    rows = [
        [
            str(s.number),
            f"{section.id} ({signatures.get(section.copy_of or section.id, '')}{', copy' if section.copy_of else ''})",
            *labels.shown(seen[section.id]),
        ]
        for s in plan.instructions.sheets
        if s.number in wanted
        for section in s.sections
        if section.id in seen
    ]
    told = printing(plan, kind, drawing.turn)
    slits, lines = size_rows(lay_sizes(plan, drawing.number))
    return {
        "label": kind.label,
        "sheets": f"{len(kind.sheets):,} ({sheets_words(kind.sheets)})",
        "folded": "; ".join(sizes_folded(plan, kind)),
        "turn": drawing.turn,
        "printing": told,
        "cautions": (told["weight"], *CAUTIONS["press"]),
        "figures": "In the drawings large figures are pages of the PDF, small ones their printed folios."
        if any(box.folio for side in drawing.sides for box in side.pages)
        else "",
        "sides": [side_data(side, _caption(plan, drawing, side)) for side in drawing.sides],
        "fold_caption": (
            f"Front of sheet {drawing.number}, lying face up, pieces by letter; gripper edge at the foot, side lay at"
            f" the {drawing.front.lay}. Broken lines: folds by number, each drawn on the part that stays where it lies."
        ),
        "pieces": _pieces(sheet.sections),
        "slits": ""
        if not sheet.slits_mm
        else f"Slit first, along the dash-dotted line{'s'[: len(sheet.slits_mm) - 1]}.",
        "says": [
            words
            for words in (over_words(sheet.sections), again_words(sheet.sections), lip_words(lip_of(plan, kind)))
            if words
        ],
        "slit_rows": slits,
        "size_rows": lines,
        "checks": rows,
    }


def _pieces(sections: tuple[Section, ...]) -> list[dict[str, Any]]:
    """Folds in words; pieces folded alike share one entry."""
    alike: dict[tuple[tuple[str, ...], int, bool], list[str]] = {}
    for section in sections:
        key = (tuple(f.words for f in section.folds), section.turned, section.turned_over)
        alike.setdefault(key, []).append(section.id)
    return [
        {
            "title": f"piece{'s' if len(ids) > 1 else ''} {', '.join(ids)}",
            "folds": [{"number": n, "words": words} for n, words in enumerate(folds, 1)],
            "note": _before(turned, over),
        }
        for (folds, turned, over), ids in alike.items()
    ]


def _before(turned: int, over: bool) -> str:
    """What is done to a piece before it is folded."""
    if not over:
        return TURN_BACK[turned]
    then = TURN_BACK[turned].removeprefix("Before folding, turn the piece ").removesuffix(".")
    return f"Before folding, turn the piece over, side to side{', then ' + then if then else ''}."


def side_data(side: SideDrawing, caption: str = "") -> dict[str, Any]:
    """One side as the drawing in sheet.typ wants it."""
    return {
        "side": side.side.value,
        "caption": caption,
        "width_mm": side.width_mm,
        "height_mm": side.height_mm,
        "gripper_mm": side.gripper_mm,
        "lay": side.lay,
        "pages": [
            {"page": p.page, "rect_mm": _corners(p.rect_mm), "turn": p.turn, "folio": p.folio} for p in side.pages
        ],
        "pieces": [{"id": p.id, "rect_mm": _corners(p.rect_mm)} for p in side.pieces],
        "folds": [
            {
                "number": f.number,
                "words": f.words,
                "start_mm": f.start_mm,
                "end_mm": f.end_mm,
                "label_mm": f.label_mm,
            }
            for f in side.folds
        ],
        "slits_mm": side.slits_mm,
    }


def _corners(rect: Rect) -> tuple[float, float, float, float]:
    return rect.x0, rect.y0, rect.x1, rect.y1


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


def _gathering(plan: Plan, labels: Labels) -> dict[str, Any]:
    mark = plan.instructions.collation
    rows = []
    for number, section in enumerate(plan.sections):
        step = "–" if mark is None else format_mm(mark.first_mm + number % mark.steps * mark.step_mm)
        pages = labels.span(section)
        rows.append([str(section.number), section.signature, pages, ", ".join(section.pieces), step])
    words = "Gather from front to back in this order. "
    if any(len(s.pieces) > 1 for s in plan.sections):
        words += "Pieces of one section are set one in another first, the outermost named first. "
    if mark is not None:
        words += (
            f"On the folded spines a black bar steps down from section to section: it starts {format_mm(mark.first_mm)}"
            f" below the head trim and falls by {format_mm(mark.step_mm)} each time, {mark.steps} steps a run. A gap, a"
            " double or a turned bar is a section missing, doubled or upside down."
        )
    else:
        words += "There is no collation mark on this work: check the signatures at the foot or the first pages."
    count = len(plan.sections)
    return {
        "what": f"{count:,} section{'s' if count != 1 else ''}",
        "count": f"{count:,} from {plan.sheets:,} sheet{'s' if plan.sheets != 1 else ''}",
        "words": words,
        "rows": rows,
    }
