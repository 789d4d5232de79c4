# SPDX-License-Identifier: AGPL-3.0-or-later
"""The choice between plans.  Pure.

Everything that the house could do is laid out: every press, every sheet of the stock both ways round, every scheme of
the size.  The rule, in this order: fewest sheets (two formes to make ready for each), then least paper, then the order
of presses, of sheet sizes and of schemes in the house file, then the spine up the sheet rather than across it.  What
is offered besides the best is the best of every other pairing of press and sheet.
"""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.errors import NoPlan
from foldproof.job.load import resolve
from foldproof.job.model import House, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.candidates import Candidate, Miss, Task, bases_for, bound_schemes, folder_for, laid_out, scheme_of
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.layout import LaidSheet, Shape
from foldproof.makeup.noplan import no_plan, refused_for
from foldproof.makeup.paper import PaperSheet, paper_for
from foldproof.makeup.places import Paper, bars_of, collation_for, piece_letter, places_of, sheets_told
from foldproof.makeup.plan import GatheredSection, Plan, Press, SheetKind
from foldproof.makeup.sections import Division, Unit
from foldproof.makeup.wording import Asked, Chosen, assumptions, offers
from foldproof.units import format_mm, format_size_mm


def plans(
    pages: int, trim_mm: tuple[float, float], job: Job, house: House, *, title: str, most: int | None = None
) -> tuple[Plan, ...]:
    """Every way worth looking at to make the book, best first, never empty.

    Args:
        pages: of the manuscript.
        trim_mm: width and height of the trimmed page.
        most: how many are wanted, all when unsaid; the best alone is the quicker.

    Raises:
        NoPlan: nothing the house has fits; the message says by how much, ``would`` what would.
        AskedWrong: the job names a press, stock or scheme that the house has not, or one of its schemes does not fold.
    """
    named = resolve(job, house)
    binding, reading = job.book.binding, job.book.reading
    if pages < 1:
        raise NoPlan("The manuscript has no pages, so there is nothing to fold.")
    if min(trim_mm) <= 0:
        raise NoPlan(f"A trim of {format_size_mm(*trim_mm)} has no area.")
    bleed = house.allowances.bleed if job.book.bleed is None else job.book.bleed
    panel = bind.panel_for(trim_mm, bleed, binding, house.allowances)
    schemes, refused = bound_schemes(house, reading, binding, panel)
    task = Task(
        house=house,
        reading=reading,
        binding=binding,
        panel=panel,
        paper=paper_for(job, house),
        presses=tuple((i, p) for i, p in enumerate(house.presses) if named.press is None or p.name == named.press.name),
        schemes=schemes,
        refused=refused,
    )
    fixed = scheme_of(named.scheme) if named.scheme else None
    if fixed is not None and not any(fixed in options for options in schemes.values()):
        raise NoPlan(refused[fixed.name], tuple(f'scheme "{s.name}"' for options in schemes.values() for s in options))
    bases = bases_for(job, task, fixed)
    whole = pages + job.book.blanks_front
    thick = whole / 2 * task.paper.caliper_mm
    if binding == bind.STITCHED and thick > bind.STITCHED_THICKEST_MM:
        raise NoPlan(
            f"{whole} pages of {task.paper.name} are {format_mm(thick)} thick when folded; "
            f"no stitch holds more than {format_mm(bind.STITCHED_THICKEST_MM)}.",
            ('binding = "sewn"', 'binding = "glued"', "a thinner paper"),
        )
    misses: list[Miss] = []
    skipped: list[str] = []
    for nth, base in enumerate(bases):
        division, found, missed = laid_out(base, fixed, whole, job, task)
        if found and division:
            if division.blanks > 3 and missed:
                skipped.append(f"A shorter section: {min(missed, key=lambda miss: miss.over_mm).says}")
            asked = Asked(title, pages, trim_mm, bleed, job, house, task.paper, binding, reading)
            return tuple(
                _plan(asked, task, base, division, one, tuple(skipped), nth > 0) for one in _distinct(found)[:most]
            )
        misses.extend(missed)
        if missed:
            skipped.append(f"Sections of {base.pages} pages: {min(missed, key=lambda miss: miss.over_mm).says}")
    raise no_plan(bases[0] if bases else None, misses, whole, job, task)


def _distinct(found: list[Candidate]) -> list[Candidate]:
    best: dict[tuple[str, PaperSheet], Candidate] = {}
    for one in sorted(found, key=lambda candidate: candidate.key):
        best.setdefault((one.press.name, one.sheet), one)
    return list(best.values())


def _plan(
    asked: Asked, task: Task, base: Unit, division: Division, one: Candidate, skipped: tuple[str, ...], fallback: bool
) -> Plan:
    allowances = asked.house.allowances
    paper = Paper(one.width_mm, asked.bleed_mm, asked.paper.caliper_mm, allowances.creep_factor)
    front = asked.job.book.blanks_front
    signatures = tuple(str(n) for n in range(1, len(division.units) + 1))
    collation = collation_for(asked.binding, task.panel, one.shapes.values()) if asked.job.marks.collation else None
    names: dict[tuple[int, int], str] = {
        (placed.piece.unit, placed.piece.nth): f"{number}{piece_letter(nth)}"
        for number, sheet in enumerate(one.sheets, start=1)
        for nth, placed in enumerate(sheet.placed)
    }
    gathering = tuple(
        tuple(names[number, nth] for nth in range(len(unit.pieces))) for number, unit in enumerate(division.units)
    )
    instructions = FoldingInstructions(
        reading=asked.reading,
        binding=asked.binding,
        trim_mm=asked.trim_mm,
        bleed_mm=asked.bleed_mm,
        caliper_mm=asked.paper.caliper_mm,
        creep_factor=allowances.creep_factor,
        sheets=sheets_told(one.sheets, one.width_mm, one.height_mm),
        gathering=gathering,
        collation=collation,
    )
    chosen = Chosen(
        base=base,
        division=division,
        press=one.press,
        sheet=one.sheet,
        size_mm=(one.width_mm, one.height_mm),
        grain_right=one.grain_right,
        schemes=tuple(one.shapes[pages].scheme for pages in sorted(one.shapes, reverse=True)),
        folders=tuple(
            folder.name
            for pages in sorted(one.shapes, reverse=True)
            if (folder := folder_for(one.shapes[pages], asked.house, asked.paper.grammage))
        ),
        sheets=len(one.sheets),
        panel=task.panel,
        fallback=fallback,
    )
    return Plan(
        title=asked.title,
        trim_mm=asked.trim_mm,
        bleed_mm=asked.bleed_mm,
        binding=asked.binding,
        reading=asked.reading,
        pages=asked.pages,
        blanks_front=front,
        blanks_back=division.blanks,
        press=Press(one.press.name, one.press.gripper, one.press.tail, one.press.side),
        stock=asked.paper.name,
        grammage=asked.paper.grammage,
        caliper_mm=asked.paper.caliper_mm,
        grain=one.sheet.grain,
        grain_along_spine=one.grain_right,
        sheet_mm=(one.width_mm, one.height_mm),
        sections=_gathered(division, gathering, signatures, front),
        places=places_of(one.sheets, division.units, signatures, paper, asked.pages, front),
        bars=bars_of(one.sheets, collation, one.width_mm),
        kinds=_kinds(one.sheets),
        assumptions=assumptions(asked, chosen),
        offers=offers(asked, chosen),
        refused=(*skipped, *refused_for(task, asked.job.sections.pages or base.pages)),
        instructions=instructions,
    )


def _gathered(
    division: Division, gathering: tuple[tuple[str, ...], ...], signatures: Sequence[str], front: int
) -> tuple[GatheredSection, ...]:
    made, first = [], 0
    for number, (unit, names) in enumerate(zip(division.units, gathering, strict=True), start=1):
        last = first + unit.pages
        ahead = max(0, min(last, front) - first)
        behind = max(0, last - max(first, division.pages))
        made.append(GatheredSection(number, signatures[number - 1], names, unit.pages, first, ahead + behind))
        first = last
    return tuple(made)


def _kinds(sheets: tuple[LaidSheet, ...]) -> tuple[SheetKind, ...]:
    alike: dict[tuple[tuple[Shape, float, float], ...], list[int]] = {}
    schemes: dict[tuple[tuple[Shape, float, float], ...], tuple[str, ...]] = {}
    for number, sheet in enumerate(sheets, start=1):
        key = tuple((p.piece.shape, p.x_mm, p.y_mm) for p in sheet.placed)
        alike.setdefault(key, []).append(number)
        schemes[key] = tuple(p.piece.shape.scheme.name for p in sheet.placed)
    kinds = []
    for key, numbers in alike.items():
        counted = {name: schemes[key].count(name) for name in schemes[key]}
        label = " and ".join(f"{count} x {name}" for name, count in counted.items())
        kinds.append(SheetKind(label, " + ".join(counted), tuple(numbers)))
    return tuple(kinds)
