# SPDX-License-Identifier: AGPL-3.0-or-later
"""What to look at first on the pulled sheet: marks, the page in the corner by the lay, the darkest place.

Everything is told as the sheet lies on the delivery, printed side up, gripper edge towards the printer: *across* from
the edge of the paper that ran against the side lay, *up* from the gripper edge, mm.  One drawing stands for a kind of
sheet; what differs from sheet to sheet is in a table of all sheets of the kind.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from foldproof.geometry import Rect
from foldproof.makeup.plan import PagePlace, Plan, SheetKind, Side
from foldproof.quantities.model import Work
from foldproof.tickets.labels import Labels
from foldproof.tickets.press_marks import LOOKED_AT, MarkPlace, mark_places, where
from foldproof.units import pt_to_mm

#: one looks at these before the marks that follow them in the list
_CORNER_AFTER, _DARKEST_AFTER = "lay", "colour_strip"
#: for whom the eye need not be led to each of them: they stand round every page
_EVERYWHERE = ("fold", "slit", "trim", "signature", "collation")
_HEADS = {0: "tail", 180: "gripper edge", 90: "left", 270: "right"}


def press_look(work: Work, kind: SheetKind) -> dict[str, Any]:
    """What ``press-side`` and ``press-look`` of press.typ draw of one kind of sheet.

    ``sheet`` is the one drawn.  ``sides`` hold for front and back what is laid over their drawings (side frame, mm):
    ``marks`` (boxes), ``callouts`` (number, point and the edge it is led to) and ``spot`` (number and point of the
    darkest place).  ``points`` are the numbered things to look at; ``rows`` (under ``heads``) tell corner page and
    darkest place of every sheet of the kind.
    """
    plan = work.plan
    number = kind.sheets[0]
    marks = mark_places(plan, work.job, work.date, {number})
    sides = [side for side in Side if _printed(plan, number, side)]
    standing = _standing(plan, kind.sheets)
    labels = Labels(plan, work.folios)
    names = _order(marks, number, sides, work)
    points: list[dict[str, Any]] = []
    overlay: dict[Side, dict[str, Any]] = {
        side: {"side": side.value, "marks": [], "callouts": [], "spot": None} for side in Side
    }
    for n, name in enumerate(names, 1):
        told = []
        for side in sides:
            lay, width = lay_on(plan, number, side), _width(plan, number)
            if name == "corner":
                told.append(_corner_words(plan, standing[number, side], lay, width, labels))
                _lead_to_corner(overlay[side], str(n), standing[number, side], lay, width)
            elif name == "darkest":
                told.append(_darkest(work, number, side, standing[number, side], labels, "page "))
                spot = _spot(work, number, side)
                overlay[side]["spot"] = None if spot is None else {"n": str(n), "at_mm": spot[0]}
            else:
                own = [mark.box_mm for mark in marks[number, side] if mark.name == name]
                told.append(where(own, lay, width))
                _lead_to_mark(overlay[side], str(n), name, own, plan, number)
        what, look = _NAMED.get(name) or LOOKED_AT[name]
        points.append({"n": str(n), "what": what, "look": look, "where": told})
    if Side.BACK not in sides and plan.runs and plan.run_of(number).one_set:
        # the same plate prints it, and what is led to it is told once
        overlay[Side.BACK] = {**overlay[Side.FRONT], "side": Side.BACK.value, "callouts": []}
    missing = [LOOKED_AT[name][0] for name in LOOKED_AT if name not in names]
    return {
        "sheet": number,
        "sides": [overlay[side] for side in Side],
        "places": [f"{side.value}, across / up" for side in sides],
        "points": points,
        "missing": f"Not on sheet {number}: {', '.join(missing)}." if missing else "",
        "frame": (
            "As the pulled sheet lies with the printed side up and the gripper edge towards you: across is from the"
            " edge of the paper that ran against the side lay, up from the gripper edge, mm, to the middle of the mark."
        ),
        "heads": [
            "sheet",
            *(f"{side.value}: {of}" for side in sides for of in ("page by the lay", "darkest place, page")),
        ],
        "rows": [
            [str(sheet), *(cell for side in sides for cell in _cells(work, sheet, side, standing, labels))]
            for sheet in kind.sheets
        ],
    }


def lay_on(plan: Plan, number: int, side: Side) -> str:
    """``"left"`` or ``"right"``: where on a side as printed the edge is that ran against the side lay.

    It is one edge of the paper, so it changes over when the sheet turns side to side.
    """
    lay = (plan.run_of(number).press if plan.runs else plan.press).lay
    if side is Side.BACK and plan.instructions.sheets[number - 1].turn == "side to side":
        return "left" if lay == "right" else "right"
    return lay


def corner_page(places: Iterable[PagePlace], lay: str, width_mm: float) -> PagePlace | None:
    """The page that stands nearest to the corner of gripper edge and side lay: by its trim, blanks counted.

    Args:
        places: of one side.
        lay: ``"left"`` or ``"right"`` on this side.
    """
    corner = (0.0 if lay == "left" else width_mm, 0.0)
    return min(places, key=lambda place: (round(_distance(_trim(place), corner), 3), place.position), default=None)


# --- what there is to look at -------------------------------------------------------------------------------------

_NAMED = {
    "corner": ("page in the corner by the lay", "the right page, the right way up: then the plates are the right ones"),
    "darkest": (
        "darkest place",
        "ink dries and sets off here first: no scumming, no picking, the solid even; feel the back of the next sheet",
    ),
}


def _order(marks: dict[tuple[int, Side], list[MarkPlace]], number: int, sides: Sequence[Side], work: Work) -> list[str]:
    there = {mark.name for side in sides for mark in marks[number, side]}
    names = [name for name in LOOKED_AT if name in there]
    corner = names.index(_CORNER_AFTER) + 1 if _CORNER_AFTER in names else 0
    names.insert(corner, "corner")
    if any(_spot(work, number, side) is not None for side in sides):
        last = names.index(_DARKEST_AFTER) + 1 if _DARKEST_AFTER in names else corner + 1
        names.insert(last, "darkest")
    return names


def _printed(plan: Plan, number: int, side: Side) -> bool:
    """Whether a side has plates of its own to be told of."""
    if not plan.runs:
        return True
    run = plan.run_of(number)
    return bool(run.inks[side is Side.BACK]) and not (run.one_set and side is Side.BACK)


def _standing(plan: Plan, sheets: Iterable[int]) -> dict[tuple[int, Side], list[PagePlace]]:
    wanted = set(sheets)
    found: dict[tuple[int, Side], list[PagePlace]] = defaultdict(list)
    for place in (*plan.places, *plan.again):
        if place.sheet in wanted:
            found[place.sheet, place.side].append(place)
    return found


def _cells(
    work: Work, number: int, side: Side, standing: dict[tuple[int, Side], list[PagePlace]], labels: Labels
) -> tuple[str, str]:
    plan = work.plan
    if not _printed(plan, number, side):
        return "–", "–"
    places, lay = standing[number, side], lay_on(plan, number, side)
    place = corner_page(places, lay, _width(plan, number))
    return ("–" if place is None else labels.of(place.position)), _darkest(work, number, side, places, labels)


def _corner_words(plan: Plan, places: Sequence[PagePlace], lay: str, width_mm: float, labels: Labels) -> str:
    place = corner_page(places, lay, width_mm)
    if place is None:
        return "no page"
    box = _trim(place)
    across = box.x0 if lay == "left" else width_mm - box.x1
    head = _HEADS[_turn(place)]
    if head in ("left", "right"):
        head = "side lay" if head == lay else "far side"
    return f"{labels.of(place.position)}, its head to the {head}; trim from {across:.0f}\u00a0/\u00a0{box.y0:.0f}"


def _darkest(work: Work, number: int, side: Side, places: Sequence[PagePlace], labels: Labels, before: str = "") -> str:
    spot = _spot(work, number, side)
    if spot is None:
        return "not measured" if _unmeasured(work, number, side) else "bare"
    (x, y), percent = spot
    across = x if lay_on(work.plan, number, side) == "left" else _width(work.plan, number) - x
    on = next((place for place in places if place.page is not None and _clip(place).holds(Rect(x, y, x, y))), None)
    page = f", {before}{labels.of(on.position)}" if on is not None else ""
    return f"{across:.0f}\u00a0/\u00a0{y:.0f}: {percent:.0f}\u00a0%{page}"


def _spot(work: Work, number: int, side: Side) -> tuple[tuple[float, float], float] | None:
    """Middle of the darkest place, side frame, mm; and the sum of inks there in per cent."""
    covers = work.ink.of(number, side.value) if work.ink else ()
    return (covers[0].darkest_mm, covers[0].darkest) if covers and covers[0].darkest else None


def _unmeasured(work: Work, number: int, side: Side) -> bool:
    return work.ink is None or not work.ink.of(number, side.value)


# --- what is laid over the drawing --------------------------------------------------------------------------------


def _lead_to_corner(side: dict[str, Any], n: str, places: Sequence[PagePlace], lay: str, width_mm: float) -> None:
    place = corner_page(places, lay, width_mm)
    if place is None:
        return
    box = _trim(place)
    inside = min(6.0, box.width / 5, box.height / 5)
    x = box.x0 + inside if lay == "left" else box.x1 - inside
    side["callouts"].append({"n": n, "at_mm": (x, box.y0 + inside), "edge": lay})


def _lead_to_mark(side: dict[str, Any], n: str, name: str, boxes: Sequence[Rect], plan: Plan, number: int) -> None:
    """The boxes themselves, and a line to the one nearest to an edge of the sheet."""
    side["marks"] += [(box.x0, box.y0, box.x1, box.y1) for box in boxes]
    if name in _EVERYWHERE or not boxes:
        return
    sheet = plan.instructions.sheets[number - 1]
    away = [(gap, nth, edge) for nth, box in enumerate(boxes) for edge, gap in _gaps(box, sheet).items()]
    _, nth, edge = min(away, key=lambda one: (round(one[0], 1), one[1], one[2]))
    side["callouts"].append({"n": n, "at_mm": boxes[nth].centre, "edge": edge})


def _gaps(box: Rect, sheet: Any) -> dict[str, float]:
    (x, y) = box.centre
    return {"left": x, "right": sheet.width_mm - x, "bottom": y, "top": sheet.height_mm - y}


# --- small geometry -----------------------------------------------------------------------------------------------


def _width(plan: Plan, number: int) -> float:
    return plan.instructions.sheets[number - 1].width_mm


def _trim(place: PagePlace) -> Rect:
    return place.trim_pt.scaled(pt_to_mm(1))


def _clip(place: PagePlace) -> Rect:
    return place.clip_pt.scaled(pt_to_mm(1))


def _distance(box: Rect, point: tuple[float, float]) -> float:
    x, y = point
    return math.hypot(max(box.x0 - x, 0.0, x - box.x1), max(box.y0 - y, 0.0, y - box.y1))


def _turn(place: PagePlace) -> int:
    """Quarter turns counter-clockwise of the page as it stands, in degrees."""
    return round(math.degrees(math.atan2(place.matrix.b, place.matrix.a)) / 90) % 4 * 90
