# SPDX-License-Identifier: AGPL-3.0-or-later
"""How much ink every plate carries, zone by zone across the sheet, and how much ink that takes: measured on the
written sheets.

A press gives ink by zones along its gripper edge, each with a key of its own.  The sheet runs in the middle of the
press, so zones are laid out from the middle of the sheet to both sides and counted from the left of the side as its
plate prints it (common practice, no source); the outermost two may reach beyond the paper, where nothing prints.  A
zone's cover is its mean over its whole width and over the height of the sheet.

Sides are handed out to workers one by one.  What is measured hangs neither on their number nor on their pace; a side
whose worker goes down is named, and the run goes on.
"""

from __future__ import annotations

import math
from bisect import insort
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from attrs import define, field

from foldproof.job.model import House
from foldproof.makeup.plan import PagePlace, Plan, SheetRun, Side
from foldproof.pdf.interpreter import Book
from foldproof.pdf.plate_cover import SideCover, SideJob, measure
from foldproof.quantities.model import InkCover, InkCovers, Work
from foldproof.units import format_mm, pt_to_mm
from foldproof.workers import Lost, Workers

#: width of a zone where the house states none; common practice, no source
ASSUMED_ZONE_MM = 32.0
#: seconds that one side may take: a thousand times what it does take
_SIDE_S = 60.0
#: after so many sides that had to be given up the rest is not measured: sheets in which every side is a trap are to
#: end too
_MOST_LOST = 4
#: so many sides are named before the rest is counted
_NAMED = 12
#: less than any paper is out by
_NOISE_MM = 1e-6


def ink_covers(
    sheets: Path,
    plan: Plan,
    house: House,
    workers: Workers,
    *,
    advance: Callable[[int], None] = lambda done: None,
    shunned: frozenset[int] = frozenset(),
) -> InkCovers:
    """Measure every plate of the written sheets.

    Where one set of plates prints both sides it is measured once, and both sides tell of it.

    Args:
        sheets: the written file; pages 2n-1 and 2n are front and back of sheet n.
        advance: told how many sides were measured since it was last called.
        shunned: pages of the manuscript (0-based) that brought down, or held up, whoever drew them: the sides that
            they stand on are not drawn again, and ``notes`` says so.

    Returns:
        covers by sheet, side and plate.  Grams are mean cover x area of the sheet x sheets bought x weight of a solid
        film on such a surface (the house's ``[ink_film]``).
    """
    if not plan.runs:
        return InkCovers({}, (), ("The plan does not say what inks its sheets carry; none was measured.",))
    told = _Told()
    zone_mm = _zone_widths(plan, house, told)
    standing: dict[tuple[int, str], list[PagePlace]] = defaultdict(list)
    for place in (*plan.places, *plan.again):
        if place.page is not None:
            standing[place.sheet, place.side.value].append(place)
    stat = sheets.stat()
    # a worker keeps a file open from job to job; these tell it from another one of the same name
    book = Book(sheets.resolve(), f"{stat.st_size} {stat.st_mtime_ns}")
    plates: list[tuple[SheetRun, str]] = []
    jobs: list[SideJob] = []
    for run in plan.runs:
        for side in Side:
            number, inks = (run.sheet, side.value), run.inks[side is Side.BACK]
            if not inks or (run.one_set and side is Side.BACK):
                continue
            bad = sorted({place.page for place in standing[number] if place.page is not None} & shunned)
            if bad:
                told.lost(run, side.value, f"page {bad[0] + 1} on it cannot be drawn within the limits")
                continue
            size_mm = _size_of(plan, run)
            plates.append((run, side.value))
            jobs.append(
                SideJob(
                    book=book,
                    index=2 * (run.sheet - 1) + (side is Side.BACK),
                    size_mm=size_mm,
                    inks=inks,
                    zones_mm=zone_edges(size_mm[0], zone_mm[run.sheet]),
                    matter_mm=tuple(_matter(standing[number])),
                )
            )
    covers: list[InkCover] = []
    for (run, side_name), cover in zip(plates, _measured(jobs, workers, advance), strict=True):
        if cover.lost is not None:
            told.lost(run, side_name, cover.lost)
            continue
        film = _film(run, house, told)
        for side_of in ("front", "back") if run.one_set else (side_name,):
            covers += _covers_of(cover, run, side_of, _size_of(plan, run), film)
    return InkCovers(zone_mm, tuple(covers), told.sentences())


def zone_edges(width_mm: float, zone_mm: float) -> tuple[float, ...]:
    """Edges of the zones of a sheet from its left, as many as it takes, laid out from its middle to both sides."""
    count = max(1, math.ceil(width_mm / zone_mm - _NOISE_MM))
    return tuple(round(width_mm / 2 + (edge - count / 2) * zone_mm, 6) for edge in range(count + 1))


def zone_presets(work: Work) -> list[dict[str, Any]]:
    """What a press would be set by, plate by plate, as plain data; empty where nothing was measured.

    Each has ``sheet``, ``side`` (``"front"``, ``"back"``, or ``"both"`` where one set of plates prints both), ``ink``,
    ``zone_mm`` (width), ``first_mm`` (left edge of the first zone from the left of the side; below 0 where it reaches
    beyond the paper), ``zones`` (parts, 0 to 1, from the left of the side) and ``mean``.
    """
    if work.ink is None:
        return []
    found = []
    for cover in work.ink.covers:
        run = work.plan.run_of(cover.sheet)
        if run.one_set and cover.side == "back":
            continue
        zone_mm = work.ink.zone_mm[cover.sheet]
        found.append(
            {
                "sheet": cover.sheet,
                "side": "both" if run.one_set else cover.side,
                "ink": cover.ink,
                "zone_mm": zone_mm,
                "first_mm": zone_edges(_size_of(work.plan, run)[0], zone_mm)[0],
                "zones": list(cover.zones),
                "mean": cover.mean,
            }
        )
    return found


# --- the sides ----------------------------------------------------------------------------------------------------


def _measured(jobs: Sequence[SideJob], workers: Workers, advance: Callable[[int], None]) -> list[SideCover]:
    """One cover a job, in their order."""
    found: dict[int, SideCover] = {}
    lost: list[int] = []
    for number, result in workers.map(measure, jobs, seconds=_SIDE_S):
        if isinstance(result, Lost):
            insort(lost, number)
            result = SideCover(jobs[number].index, lost=result.reason)
        found[number] = result
        advance(1)
        if len(lost) >= _MOST_LOST and all(before in found for before in range(lost[_MOST_LOST - 1])):
            break
    if len(lost) >= _MOST_LOST:
        # where it ends hangs on the sides alone, not on which process came to which side
        why = f"it was not looked at, as {_MOST_LOST} sides before it had to be given up"
        for number in range(lost[_MOST_LOST - 1] + 1, len(jobs)):
            found[number] = SideCover(jobs[number].index, lost=why)
    return [found[number] for number in range(len(jobs))]


def _matter(places: Iterable[PagePlace]) -> Iterable[tuple[float, float, float, float]]:
    for place in places:
        clip = place.clip_pt.scaled(pt_to_mm(1))
        yield clip.x0, clip.y0, clip.x1, clip.y1


def _covers_of(
    cover: SideCover, run: SheetRun, side: str, size_mm: tuple[float, float], film: float
) -> Iterable[InkCover]:
    area_m2 = size_mm[0] * size_mm[1] / 1e6
    for ink, zones, mean in zip(run.inks[side == "back"], cover.zones, cover.means, strict=True):
        grams = round(mean * area_m2 * run.gross_sheets * film, 1)
        yield InkCover(run.sheet, side, ink, zones, mean, cover.darkest_mm, cover.darkest * 100, grams)


# --- plan and house -----------------------------------------------------------------------------------------------


@define
class _Told:
    """What is to be said of all this, put together so that nothing is said twice."""

    _sides: dict[str, list[str]] = field(factory=dict)
    _said: dict[str, None] = field(factory=dict)

    def lost(self, run: SheetRun, side: str, why: str) -> None:
        self._sides.setdefault(why, []).append(f"sheet {run.sheet}, {'both sides' if run.one_set else side}")

    def say(self, sentence: str) -> None:
        self._said[sentence] = None

    def sentences(self) -> tuple[str, ...]:
        lost = []
        for why, sides in self._sides.items():
            named = "; ".join(sides[:_NAMED]) + (f"; {len(sides) - _NAMED} more" if len(sides) > _NAMED else "")
            lost.append(f"Not measured: {named}: {why}.")
        return (*lost, *self._said)


def _zone_widths(plan: Plan, house: House, told: _Told) -> dict[int, float]:
    """Width of a zone by sheet."""
    stated = {press.name: press.ink_zone for press in house.presses}
    widths = {}
    for run in plan.runs:
        zone_mm = stated.get(run.press.name)
        if zone_mm is None:
            zone_mm = ASSUMED_ZONE_MM
            told.say(
                f"The house states no width of an ink zone for {run.press.name}: {format_mm(zone_mm)} is assumed"
                " (common practice, no source)."
            )
        widths[run.sheet] = zone_mm
    return widths


def _film(run: SheetRun, house: House, told: _Told) -> float:
    """Wet ink on a solid of the run's paper, g/m2."""
    surface = next((stock.surface for stock in house.stocks if stock.name == run.stock), None)
    if surface is None:
        surface = "uncoated"
        told.say(f"The house does not say what surface {run.stock} has: ink is reckoned as on uncoated paper.")
    return house.ink_film.coated if surface == "coated" else house.ink_film.uncoated


def _size_of(plan: Plan, run: SheetRun) -> tuple[float, float]:
    """Width and height of a sheet as its plates print it, mm."""
    sheet = plan.instructions.sheets[run.sheet - 1]
    return sheet.width_mm, sheet.height_mm
