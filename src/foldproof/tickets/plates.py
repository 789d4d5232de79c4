# SPDX-License-Identifier: AGPL-3.0-or-later
"""The plates ticket: every plate by sheet, side and ink, and how much of each ink zone it covers.

Plates of sheets that are laid out alike stand together under one strip of their sheet, bar for bar on the same scale.
A long book has more plates than are worth bars: the next hundreds are told in figures alone, and what is not told at
all is said.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from attrs import frozen

from foldproof.makeup.plan import Plan, SheetRun, Side
from foldproof.quantities.ink import zone_edges
from foldproof.quantities.model import InkCover, Work
from foldproof.tickets.bench import Bench
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.labels import sheets_words
from foldproof.units import format_mm, format_size_mm, pt_to_mm

#: plates that get bars, and further ones that get figures
MOST_DRAWN, MOST_FIGURES = 160, 640
#: zones side by side, so that their figures can be read
_ACROSS = 50
#: more zones than this take the whole width, and leave no room for a figure after the point
_ROOMY = 34
#: what the full height of a bar may stand for, per cent
_SCALES = (5, 10, 20, 50, 100)
#: plates of which at least so many come to a page, with bars and without; tables before them, a page at most
_A_PAGE, _FIGURES_A_PAGE = 8, 20
_SIDES = {"front": "fronts", "back": "backs", "both": "both sides, one set of plates"}


@frozen
class _PlateRow:
    """One plate, and what was measured of it."""

    run: SheetRun
    side: str  #: ``"front"``, ``"back"``, ``"both"``
    ink: str
    cover: InkCover | None

    @property
    def key(self) -> tuple[Any, ...]:
        return self.side, self.run.press, self.run.way


def benches(work: Work) -> tuple[Bench, ...]:
    """The plates bench; none where the plan does not say what inks its sheets carry."""
    if not work.plan.runs:
        return ()
    body = plates_data(work)
    count = work.plan.plates
    shown = sum(len(group["plates"]) for group in body["groups"] if group["bars"])
    plain = sum(len(group["plates"]) for group in body["groups"] if not group["bars"])
    facts = (
        ("plates", f"{count:,}"),
        ("sheets", f"{work.plan.sheets:,}"),
        ("presses", "; ".join(dict.fromkeys(run.press.name for run in work.plan.runs))),
    )
    return (
        Bench(
            bench="plates",
            name="Plates",
            what=f"{count:,} plate{'s' if count != 1 else ''} of {work.plan.sheets:,} sheet"
            f"{'s' if work.plan.sheets != 1 else ''}",
            layout="plates",
            facts=facts,
            body=body,
            cautions=cautions_of("plates"),
            checks=("plates counted", "every plate has its marks", "no scratch, no dust", "zones set or sent"),
            due=(f"{count:,}", f"{count:,}"),
            most_pages=3 + len(body["groups"]) + len(body["rows"]) // 20 + shown // _A_PAGE + plain // _FIGURES_A_PAGE,
        ),
    )


def plates_data(work: Work) -> dict[str, Any]:
    """What ``plates-ticket`` of plates.typ draws, in mm, per cent and words.

    ``rows`` (under ``heads``) names every plate, sheets printed alike in one row; ``inks`` sums up by ink; ``groups``
    hold the plates one by one with their zones, in per cent from the left of the side.
    """
    plan = work.plan
    told = _plates(work)
    shown = told[: MOST_DRAWN + MOST_FIGURES]
    left = len(told) - len(shown)
    says = [*(work.ink.notes if work.ink else ("The ink that the plates carry was not measured.",))]
    if left:
        says.append(
            f"{left:,} further plates are named in the table but not told zone by zone here; the job ticket for"
            " machines (XJDF) holds the zones of all."
        )
    return {
        "heads": ["sheets", "press", "sheet", "front", "back", "plates"],
        "rows": _rows(plan),
        "inks": _by_ink(told),
        "measured": any(plate.cover is not None for plate in told),
        "reading": (
            "Per cent of each zone that is covered, the sheet from end to end, from the left of the side as its plate"
            " prints it, gripper edge at the foot; zones are counted from the middle of the sheet outwards, the"
            " outermost may reach beyond the paper. Grams: wet ink for all sheets of the run."
        ),
        "groups": [
            group
            for part, bars in ((shown[:MOST_DRAWN], True), (shown[MOST_DRAWN:], False))
            for plates in _alike(plan, part)
            for group in _groups(work, plates, bars)
        ],
        "says": says,
    }


def _plates(work: Work) -> list[_PlateRow]:
    """Every plate, in the order in which they are needed."""
    covers = {(c.sheet, c.side, c.ink): c for c in work.ink.covers} if work.ink else {}
    found = []
    for run in work.plan.runs:
        for side in Side:
            if run.one_set and side is Side.BACK:
                continue
            for ink in run.inks[side is Side.BACK]:
                name = "both" if run.one_set else side.value
                found.append(_PlateRow(run, name, ink, covers.get((run.sheet, side.value, ink))))
    return found


def _rows(plan: Plan) -> list[list[str]]:
    """Which plates are made, sheets with the same ones in one row."""
    alike: dict[tuple[Any, ...], list[SheetRun]] = defaultdict(list)
    for run in plan.runs:
        alike[run.press.name, run.sheet_mm, run.one_set, run.inks].append(run)
    return [
        [
            sheets_words([run.sheet for run in runs]).split(" ", 1)[1],
            press,
            format_size_mm(*size_mm),
            _listed(inks[0]),
            "the same plates" if one_set else _listed(inks[1]),
            f"{sum(run.plates for run in runs):,}",
        ]
        for (press, size_mm, one_set, inks), runs in alike.items()
    ]


def _by_ink(told: Iterable[_PlateRow]) -> list[list[str]]:
    """By ink: plates, and ink for the whole run."""
    counts: dict[str, int] = defaultdict(int)
    grams: dict[str, float] = defaultdict(float)
    unknown: dict[str, int] = defaultdict(int)
    for plate in told:
        counts[plate.ink] += 1
        if plate.cover is None:
            unknown[plate.ink] += 1
        else:
            grams[plate.ink] += _grams(plate)
    rows = []
    for ink, count in counts.items():
        if unknown[ink] == count:
            said = "not measured"
        else:
            said = _weight(grams[ink]) + (f", and that of {unknown[ink]} plates not measured" if unknown[ink] else "")
        rows.append([ink, f"{count:,}", said])
    return rows


def _alike(plan: Plan, plates: Sequence[_PlateRow]) -> list[list[_PlateRow]]:
    """Plates of sheets that are laid out alike, printed on the same press from the same side."""
    kind_of = {number: place for place, kind in enumerate(plan.kinds) for number in kind.sheets}
    found: dict[tuple[Any, ...], list[_PlateRow]] = defaultdict(list)
    for plate in plates:
        found[kind_of.get(plate.run.sheet), plate.run.sheet_mm, *plate.key].append(plate)
    return list(found.values())


def _groups(work: Work, plates: Sequence[_PlateRow], bars: bool) -> Iterable[dict[str, Any]]:
    """Plates alike under one strip; more zones than a line holds make several groups."""
    plan, first = work.plan, plates[0]
    sheet = plan.instructions.sheets[first.run.sheet - 1]
    kind = next((kind.label for kind in plan.kinds if first.run.sheet in kind.sheets), "")
    zone_mm = work.ink.zone_mm[first.run.sheet] if work.ink and first.run.sheet in work.ink.zone_mm else None
    edges = zone_edges(sheet.width_mm, zone_mm) if zone_mm else ()
    most = max((zone * 100 for plate in plates if plate.cover for zone in plate.cover.zones), default=0.0)
    scale = next((step for step in _SCALES if most <= step), _SCALES[-1])
    numbers = sheets_words(sorted({plate.run.sheet for plate in plates}))
    title = f"{numbers[0].upper()}{numbers[1:]}, {_SIDES[first.side]}"
    count = max(1, len(edges) - 1)
    across = math.ceil(count / math.ceil(count / _ACROSS))
    for start in range(0, count, across):
        end = min(count, start + across)
        yield {
            "title": title if count <= _ACROSS else f"{title}, zones {start + 1} to {end}",
            "about": [
                kind,
                first.run.press.name,
                *([f"{count} zones of {format_mm(zone_mm)}", f"full bar {scale} %"] if zone_mm else []),
            ],
            "bars": bars,
            "wide": count > _ROOMY,
            "numbers": [str(zone + 1) for zone in range(start, end)] if zone_mm else [],
            "strip": _strip(work, first, edges, start, end),
            "plates": [_told(plate, scale, start, end, count) for plate in plates],
        }


def _strip(work: Work, plate: _PlateRow, edges: Sequence[float], start: int, end: int) -> dict[str, Any]:
    """The side from end to end, cut at the zones that are told: where its pages stand; side frame, mm."""
    sheet = work.plan.instructions.sheets[plate.run.sheet - 1]
    side = Side.BACK if plate.side == "back" else Side.FRONT
    places = [
        place.trim_pt.scaled(pt_to_mm(1))
        for place in (*work.plan.places, *work.plan.again)
        if place.sheet == plate.run.sheet and place.side is side and place.page is not None
    ]
    return {
        "from_mm": edges[start] if edges else 0.0,
        "to_mm": edges[end] if edges else sheet.width_mm,
        "width_mm": sheet.width_mm,
        "height_mm": sheet.height_mm,
        "gripper_mm": plate.run.press.gripper_mm,
        "pages": [(box.x0, box.y0, box.x1, box.y1) for box in places],
    }


def _told(plate: _PlateRow, scale: int, start: int, end: int, count: int) -> dict[str, Any]:
    label = f"{plate.run.sheet} {plate.side}"
    if plate.cover is None:
        return {"label": label, "ink": plate.ink, "says": "not measured", "parts": [], "figures": []}
    zones = [zone * 100 for zone in plate.cover.zones[start:end]]
    return {
        "label": label,
        "ink": plate.ink,
        "says": f"{_figure(plate.cover.mean * 100, True)} %, {_weight(_grams(plate))}",
        "parts": [round(min(1.0, zone / scale), 4) for zone in zones],
        "figures": [_figure(zone, count <= _ROOMY) for zone in zones],
    }


def _grams(plate: _PlateRow) -> float:
    """Ink for the whole run; one plate may print both sides."""
    return plate.cover.grams * (2 if plate.run.one_set else 1) if plate.cover else 0.0


def _figure(percent: float, roomy: bool) -> str:
    """A cover in three letters at most: ``"0"``, ``"6.2"``, ``"12"``, ``"100"``; in less room ``".4"``, ``"6"``."""
    if percent <= 0:
        return "0"
    if percent >= 9.95:
        return f"{percent:.0f}"
    if roomy:
        return f"{percent:.1f}"
    return f"{percent:.1f}"[1:] if percent < 0.95 else f"{percent:.0f}"


def _weight(grams: float) -> str:
    if grams >= 9995:
        return f"{grams / 1000:,.1f} kg"
    return f"{grams / 1000:,.2f} kg" if grams >= 999.5 else f"{grams:.0f} g"


def _listed(inks: Sequence[str]) -> str:
    return ", ".join(inks) if inks else "nothing"
