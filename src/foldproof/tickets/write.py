# SPDX-License-Identifier: AGPL-3.0-or-later
"""tickets.pdf: what each bench needs to know to make the book, on paper, with boxes to sign.

Everything is reckoned from the plan; tables go by kind of sheet and by section.  The cautions are the customary ones
and defer to local codes, the makers' manuals and trained people.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from foldproof.files import write_bytes
from foldproof.geometry import Rect
from foldproof.makeup.instructions import Section
from foldproof.makeup.plan import GatheredSection, Plan, SheetKind
from foldproof.tickets.diagram import TURN_BACK, PieceCheck, SheetDrawing, SideDrawing, checks, drawings
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
}

_TURN_WORDS = {
    "side to side": (
        "Between front and back the sheet turns about its upright axis: the same edge goes to the grippers, the side"
        " lay changes over to the other side of the machine, so that it is the same edge of the paper."
    ),
    "head to tail": (
        "Between front and back the sheet turns about its level axis: the other edge goes to the grippers, so both"
        " ends need a gripper margin; the side lay stays on its side. Sheets must be cut square and to one length."
    ),
}


def write_tickets(plan: Plan, target: Path) -> None:
    """Write the tickets of a plan as one PDF.

    Raises:
        NotWritten: the folder does not take the file.
        OurFault: the layout does not take the data.
    """
    sources = (("foldproof.tickets", "sheet.typ"), ("foldproof.tickets", "tickets.typ"))
    write_bytes(target, pdf(sources, ticket_data(plan)))


def ticket_data(plan: Plan) -> dict[str, Any]:
    """Everything that stands on the tickets, as plain data in mm and words."""
    drawn = drawings(plan, MOST_KINDS)
    seen = checks(plan)
    left = plan.kinds[MOST_KINDS:]
    told = plan.instructions
    untrimmed = [(kind, _untrimmed(plan, kind)) for kind in plan.kinds]
    leaves = (plan.blanks_front + plan.pages + plan.blanks_back) // 2
    first = untrimmed[0][1]
    left_mm, right_mm = first.spine_mm, first.fore_edge_mm
    if plan.reading == "right to left":
        left_mm, right_mm = right_mm, left_mm
    return {
        "title": plan.title,
        "press": plan.press.name,
        "stock": f"{plan.stock}, {plan.grammage:g} g/m²",
        "sheet": format_size_mm(*plan.sheet_mm),
        "grain": f"along the sheet’s {plan.grain} side, {'along' if plan.grain_along_spine else 'across'} the spine",
        "gripper": f"{format_mm(plan.press.gripper_mm)} at the foot of each drawing",
        "binding": plan.binding,
        "reading": plan.reading,
        "trim": format_size_mm(*plan.trim_mm),
        "bulk": f"about {format_mm(leaves * plan.caliper_mm)} ({leaves} leaves of {plan.caliper_mm:g} mm, unpressed)",
        "kinds": [_kind(plan, drawing, seen) for drawing in drawn],
        "kinds_left": ""
        if not left
        else f"{len(left)} more kinds of sheet are not drawn here; plan.json holds them: "
        + "; ".join(f"{k.label}, {_sheets(k.sheets)}" for k in left),
        "fold_check": (
            "These pages must show, counted as the manuscript’s own pages from 1; “outside” is front and back of the"
            " folded piece, “middle” the two pages where it opens in its middle."
        ),
        "gathering": _gathering(plan),
        "trimming": {
            "words": _trimming_words(plan),
            "rows": [
                [
                    kind.label,
                    format_size_mm(*amount.size_mm),
                    format_mm(amount.head_mm),
                    format_mm(amount.foot_mm),
                    format_mm(amount.fore_edge_mm),
                    format_mm(amount.spine_mm),
                ]
                for kind, amount in untrimmed
            ],
            "drawing": [*plan.trim_mm, first.head_mm, first.foot_mm, left_mm, right_mm],
            "caption": f"First kind of sheet, front cover up, head at the top; the spine is at the "
            f"{'right' if plan.reading == 'right to left' else 'left'}. Full line: as it comes from "
            f"{'the binder' if told.binding == 'sewn' else 'the gluing' if told.binding == 'glued' else 'stitching'};"
            " broken line: trimmed.",
        },
        "cautions": {
            **CAUTIONS,
            "press": (_weight(plan), *CAUTIONS["press"]),
            "gathering": (_BINDING_CAUTIONS[plan.binding], *CAUTIONS["gathering"]),
        },
    }


class _Amount:
    """What comes off a folded section, mm."""

    def __init__(self, size_mm: tuple[float, float], section: Section, trim_mm: tuple[float, float]) -> None:
        self.size_mm = size_mm
        self.head_mm, self.foot_mm = section.head_trim_mm, section.foot_trim_mm
        self.spine_mm = section.spine_trim_mm
        self.fore_edge_mm = max(0.0, size_mm[0] - trim_mm[0] - section.spine_trim_mm)


def _untrimmed(plan: Plan, kind: SheetKind) -> _Amount:
    """Size of the folded, untrimmed section: one panel, the widest and highest of the scheme."""
    sheet = next(s for s in plan.instructions.sheets if s.number == kind.sheets[0])
    section = sheet.sections[0]
    page = next(p for p in plan.places if p.sheet == sheet.number and p.section == section.id)
    # a page stands upright in the scheme when it and the scheme are turned by the same quarter, or by half a turn more
    page_is_level = abs(page.matrix.a) < abs(page.matrix.b)
    width, height = max(section.column_mm), max(section.row_mm)
    if page_is_level is not (section.turned in (90, 270)):
        width, height = height, width
    return _Amount((width, height), section, plan.trim_mm)


def _kind(plan: Plan, drawing: SheetDrawing, seen: dict[str, PieceCheck]) -> dict[str, Any]:
    kind = drawing.kind
    sheet = next(s for s in plan.instructions.sheets if s.number == drawing.number)
    signatures = {piece: s.signature for s in plan.sections for piece in s.pieces}
    wanted = set(kind.sheets)
    rows = [
        [str(s.number), f"{section.id} ({signatures.get(section.id, '')})", *_shown(plan, seen[section.id])]
        for s in plan.instructions.sheets
        if s.number in wanted
        for section in s.sections
        if section.id in seen
    ]
    amount = _untrimmed(plan, kind)
    return {
        "label": kind.label,
        "sheets": f"{len(kind.sheets):,} ({_sheets(kind.sheets)})",
        "folded": format_size_mm(*amount.size_mm),
        "turn": drawing.turn,
        "turn_words": _TURN_WORDS.get(drawing.turn, ""),
        "sides": [side_data(side, _caption(drawing, side)) for side in drawing.sides],
        "fold_caption": (
            f"Front of sheet {drawing.number}, lying face up, pieces by letter. Broken lines: folds by number, each"
            " drawn on the part that stays where it lies."
        ),
        "pieces": _pieces(sheet.sections),
        "slits": ""
        if not sheet.slits_mm
        else f"Slit first, along the dash-dotted line{'s'[: len(sheet.slits_mm) - 1]}.",
        "checks": rows,
    }


def _pieces(sections: tuple[Section, ...]) -> list[dict[str, Any]]:
    """Folds in words; pieces folded alike share one entry."""
    alike: dict[tuple[tuple[str, ...], int], list[str]] = {}
    for section in sections:
        alike.setdefault((tuple(f.words for f in section.folds), section.turned), []).append(section.id)
    return [
        {
            "title": f"piece{'s' if len(ids) > 1 else ''} {', '.join(ids)}",
            "folds": [{"number": n, "words": words} for n, words in enumerate(folds, 1)],
            "note": TURN_BACK[turned],
        }
        for (folds, turned), ids in alike.items()
    ]


def side_data(side: SideDrawing, caption: str = "") -> dict[str, Any]:
    """One side as the drawing in sheet.typ wants it."""
    return {
        "side": side.side.value,
        "caption": caption,
        "width_mm": side.width_mm,
        "height_mm": side.height_mm,
        "gripper_mm": side.gripper_mm,
        "lay": side.lay,
        "pages": [{"page": p.page, "rect_mm": _corners(p.rect_mm), "turn": p.turn} for p in side.pages],
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


def _caption(drawing: SheetDrawing, side: SideDrawing) -> str:
    page = 2 * drawing.number - (1 if side.side.value == "front" else 0)
    return (
        f"Sheet {drawing.number}, {side.side.value}, as printed (page {page:,} of sheets.pdf); gripper edge at the"
        f" foot, side lay at the {side.lay}."
    )


def _gathering(plan: Plan) -> dict[str, Any]:
    mark = plan.instructions.collation
    rows = []
    for number, section in enumerate(plan.sections):
        step = "–" if mark is None else format_mm(mark.first_mm + number % mark.steps * mark.step_mm)
        pages = _span(plan, section)
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


def _trimming_words(plan: Plan) -> str:
    width, height = plan.trim_mm
    text = f"Trim to {format_size_mm(width, height)}, width first. Amounts are measured on the outermost leaf. "
    if plan.binding == "glued":
        text += "The spine amount is ground off before gluing; the width counts from the ground edge. "
    else:
        text += "The width counts from the spine fold. "
    return (
        text + "Cut the fore-edge first, then head and foot, unless the house does otherwise; measure the first book."
    )


def _weight(plan: Plan) -> str:
    """What a pile weighs, so that nobody has to guess before lifting (grammage x area)."""
    width_mm, height_mm = plan.sheet_mm
    kilos = plan.grammage * width_mm * height_mm / 1e6 * 500 / 1000
    return f"500 sheets weigh about {kilos:.1f} kg: lift less, or use the pile lift."


def _label(plan: Plan, position: int) -> str:
    page = plan.places[position].page
    return "blank" if page is None else f"{page + 1:,}"


def _span(plan: Plan, section: GatheredSection) -> str:
    """``"17 to 32"``, ``"137 to 150, 2 blanks"``."""
    inside = [p.page for p in plan.places[section.first : section.first + section.pages]]
    pages = [page + 1 for page in inside if page is not None]
    blanks = len(inside) - len(pages)
    parts = [f"{pages[0]:,} to {pages[-1]:,}"] if pages else []
    if blanks:
        at = len(parts) if inside[0] is not None else 0
        parts.insert(at, f"{blanks} blank{'s' if blanks > 1 else ''}")
    return ", ".join(parts)


def _shown(plan: Plan, check: PieceCheck) -> list[str]:
    return [f"{_label(plan, a)} and {_label(plan, b)}" for a, b in (check.outside, check.middle)]


def _sheets(numbers: tuple[int, ...]) -> str:
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1][1:] = [number]
        else:
            runs.append([number])
    text = ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs)
    return f"sheet{'s' if len(numbers) != 1 else ''} {text}"
