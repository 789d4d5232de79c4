# SPDX-License-Identifier: AGPL-3.0-or-later
"""The choice between plans.  Pure.

Everything that the house could do is laid out: every press, every sheet of the stock both ways round, every scheme of
the size.  The rule, in this order: fewest sheets (two formes to make ready for each), then least paper, then the order
of presses, of sheet sizes and of schemes in the house file, then the spine up the sheet rather than across it.  What
is offered besides the best is the best of every other pairing of press and sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve, field, frozen

from foldproof.errors import NoPlan
from foldproof.job.load import resolve
from foldproof.job.model import House, HouseFolder, HousePress, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import Scheme
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.layout import LaidSheet, Piece, Shape, fill, grid_for, laid
from foldproof.makeup.paper import PaperChoice, PaperSheet, paper_for
from foldproof.makeup.places import Paper, bars_of, collation_for, piece_letter, places_of, sheets_told
from foldproof.makeup.plan import GatheredSection, Plan, Press, SheetKind
from foldproof.makeup.sections import SHORT_SIZES, Division, Unit, divide
from foldproof.makeup.wording import Asked, Chosen, assumptions, offers
from foldproof.units import format_mm, format_size_mm

_SLACK_MM = 1e-6


@frozen
class Miss:
    """One way that did not go, and by how much."""

    over_mm: float  #: what is too much; for sorting, nearest miss first
    says: str
    would: str | None = None


@frozen
class Candidate:
    """One way to print the book that goes."""

    press: HousePress
    sheet: PaperSheet
    width_mm: float
    height_mm: float
    spine_upright: bool
    grain_right: bool
    shapes: dict[int, Shape] = field(eq=False)
    sheets: tuple[LaidSheet, ...] = field(eq=False)
    key: tuple[float, ...] = ()


@frozen
class Task:
    """What has to be laid out."""

    house: House
    reading: str
    binding: str
    panel: Panel
    paper: PaperChoice
    presses: tuple[tuple[int, HousePress], ...]
    schemes: dict[int, tuple[Scheme, ...]]  #: pages: the schemes that the binding takes, in order
    refused: dict[str, str]  #: name of a scheme: why the binding does not take it


def plans(pages: int, trim_mm: tuple[float, float], job: Job, house: House, *, title: str) -> tuple[Plan, ...]:
    """Every way worth looking at to make the book, best first, never empty.

    Args:
        pages: of the manuscript.
        trim_mm: width and height of the trimmed page.

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
    schemes, refused = _schemes(house, reading, binding, panel)
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
    fixed = Scheme(**named.scheme.model_dump()) if named.scheme else None
    if fixed is not None and not any(fixed in options for options in schemes.values()):
        raise NoPlan(refused[fixed.name], tuple(f'scheme "{s.name}"' for options in schemes.values() for s in options))
    bases = _bases(job, task, fixed)
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
        division, found, missed = _laid_out(base, fixed, whole, job, task)
        if found and division:
            asked = Asked(title, pages, trim_mm, bleed, job, house, task.paper, binding, reading)
            return tuple(_plan(asked, task, base, division, one, tuple(skipped), nth > 0) for one in _distinct(found))
        misses.extend(missed)
        if missed:
            skipped.append(f"Sections of {base.pages} pages: {min(missed, key=lambda miss: miss.over_mm).says}")
    raise _no_plan(bases[0] if bases else None, misses, whole, job, task)


# --- what is possible -------------------------------------------------------------------------------------------------


def _schemes(
    house: House, reading: str, binding: str, panel: Panel
) -> tuple[dict[int, tuple[Scheme, ...]], dict[str, str]]:
    allowed: dict[int, tuple[Scheme, ...]] = {}
    refused: dict[str, str] = {}
    for told in house.schemes:
        scheme = Scheme(**told.model_dump())
        why = bind.refusal(scheme, reading, binding, panel, house.allowances.bolt_min)
        if why:
            refused[scheme.name] = why
        else:
            allowed[scheme.pages] = (*allowed.get(scheme.pages, ()), scheme)
    return allowed, refused


def _bases(job: Job, task: Task, fixed: Scheme | None) -> list[Unit]:
    """Ordinary units to try, the wanted one first; without a wish smaller ones follow, then larger."""
    asked = fixed.pages if fixed else job.sections.pages
    if asked is not None:
        wanted = [asked]
    else:
        usual = 32 if task.paper.grammage <= task.house.thin_below else 16
        wanted = [usual, *(size for size in (32, 16, 8, 4, 64) if size != usual and (size < usual or size > 16))]
    bases = []
    for size in wanted:
        if size in task.schemes:
            bases.append(Unit((size,)))
        if size == 64 and not fixed and any(bind.nests(s, task.reading) for s in task.schemes.get(32, ())):
            bases.append(Unit((32, 32)))
    return bases


def _laid_out(
    base: Unit, fixed: Scheme | None, whole: int, job: Job, task: Task
) -> tuple[Division | None, list[Candidate], list[Miss]]:
    """All candidates with this ordinary unit, grain along the spine; against it only where the job fixes the grain."""
    misses: list[Miss] = []
    shorts = [size for size in SHORT_SIZES if size in task.schemes]
    if not shorts:
        shorts = sorted(task.schemes)
    division = divide(
        whole,
        base,
        shorts,
        short_last=job.sections.short == "last",
        one_unit=task.binding == bind.STITCHED,
    )
    for grain_right in (True, False) if task.paper.grain_fixed else (True,):
        found = list(_candidates(division, base, fixed, task, grain_right, misses))
        if found:
            return division, found, misses
    return division, [], misses


def _candidates(
    division: Division, base: Unit, fixed: Scheme | None, task: Task, grain_right: bool, misses: list[Miss]
) -> Iterator[Candidate]:
    nested = any(len(unit.pieces) > 1 for unit in division.units)
    for press_nth, press in task.presses:
        for sheet_nth, sheet in enumerate(task.paper.sheets):
            for turn, (width, height) in enumerate(((sheet.long_mm, sheet.short_mm), (sheet.short_mm, sheet.long_mm))):
                if turn and sheet.long_mm == sheet.short_mm:
                    continue
                if not _runs(press, width, height):
                    if not turn and not _runs(press, height, width):
                        misses.append(_wrong_sheet(press, sheet))
                    continue
                spine_upright = sheet.grain_upright(width, height) == grain_right
                options = (fixed,) if fixed else task.schemes[base.pieces[0]]
                for option_nth, ordinary in enumerate(options):
                    if nested and not bind.nests(ordinary, task.reading):
                        continue
                    made = _candidate(division, ordinary, task, press, (width, height), spine_upright, misses)
                    if made is None:
                        continue
                    shapes, sheets = made
                    area = len(sheets) * width * height
                    yield Candidate(
                        press, sheet, width, height, spine_upright, grain_right, shapes, sheets,
                        (len(sheets), area, press_nth, sheet_nth, option_nth, not spine_upright),
                    )  # fmt: skip


def _runs(press: HousePress, width: float, height: float) -> bool:
    """Whether the press takes the sheet with ``width`` along its grippers."""
    return (
        press.sheet_min[0] - _SLACK_MM <= width <= press.sheet_max[0] + _SLACK_MM
        and press.sheet_min[1] - _SLACK_MM <= height <= press.sheet_max[1] + _SLACK_MM
    )


def _wrong_sheet(press: HousePress, sheet: PaperSheet) -> Miss:
    return Miss(
        1e6,
        f"{press.name} runs sheets from {format_size_mm(*press.sheet_min)} to {format_size_mm(*press.sheet_max)}, "
        f"and the paper is {format_size_mm(sheet.short_mm, sheet.long_mm)}.",
    )


def _candidate(
    division: Division,
    ordinary: Scheme,
    task: Task,
    press: HousePress,
    size_mm: tuple[float, float],
    spine_upright: bool,
    misses: list[Miss],
) -> tuple[dict[int, Shape], tuple[LaidSheet, ...]] | None:
    shapes: dict[int, Shape] = {}
    for pages in sorted({piece for unit in division.units for piece in unit.pieces}, reverse=True):
        options = (ordinary,) if pages == ordinary.pages else task.schemes[pages]
        for scheme in options:
            shape = laid(scheme, task.reading, task.panel, spine_upright)
            miss = _folder_miss(shape, task) or _sheet_miss(shape, press, size_mm)
            if miss is None:
                shapes[pages] = shape
                break
            misses.append(miss)
        else:
            return None
    pieces = [
        Piece(number, nth, shapes[pages])
        for number, unit in enumerate(division.units)
        for nth, pages in enumerate(unit.pieces)
    ]
    sheets: list[LaidSheet] = []
    # pieces that go into the cell of the largest share its sheets; others (three rows of panels, say) have their own
    while pieces:
        cell = max((p.shape for p in pieces), key=lambda s: (s.scheme.panels, s.size_mm))
        fitting = [p for p in pieces if _goes_into(p.shape, cell)]
        pieces = [p for p in pieces if not _goes_into(p.shape, cell)]
        grid = grid_for(press, *size_mm, cell.size_mm, cell.scheme.panels)
        if grid is None:  # pragma: no cover - _sheet_miss has looked
            return None
        sheets.extend(fill(fitting, grid, press, *size_mm))
    return shapes, tuple(sheets)


def _goes_into(shape: Shape, cell: Shape) -> bool:
    (w, h), (cw, ch) = shape.size_mm, cell.size_mm
    return w <= cw + _SLACK_MM and h <= ch + _SLACK_MM


def _sheet_miss(shape: Shape, press: HousePress, size_mm: tuple[float, float]) -> Miss | None:
    width, height = shape.size_mm
    wide = width + 2 * press.side - size_mm[0]
    high = height + press.gripper + press.tail - size_mm[1]
    if max(wide, high) <= _SLACK_MM:
        return None
    both = ((wide, f"{format_mm(wide)} too wide"), (high, f"{format_mm(high)} too high"))
    over = [text for by, text in both if by > _SLACK_MM]
    need = (width + 2 * press.side, height + press.gripper + press.tail)
    return Miss(
        max(wide, high),
        f"{shape.scheme.pages} pages folded by scheme {shape.scheme.name!r} are {format_size_mm(width, height)}, "
        f"with the margins of {press.name} {' and '.join(over)} for its sheet of {format_size_mm(*size_mm)}.",
        f"a sheet of at least {format_size_mm(*need)} on a press that takes it",
    )


def folder_for(shape: Shape, house: House, grammage: float) -> HouseFolder | None:
    """The first folder of the house that folds a piece of this size and paper."""
    return next((f for f in house.folders if _folds(f, shape, grammage) is None), None)


def _folder_miss(shape: Shape, task: Task) -> Miss | None:
    if folder_for(shape, task.house, task.paper.grammage) is not None:
        return None
    misses = [m for f in task.house.folders if (m := _folds(f, shape, task.paper.grammage)) is not None]
    return min(misses, key=lambda miss: miss.over_mm)


def _folds(folder: HouseFolder, shape: Shape, grammage: float) -> Miss | None:
    """Why a folder cannot fold the piece, or ``None`` when it can."""
    scheme, pages = shape.scheme, shape.scheme.pages
    if scheme.name not in folder.schemes:
        return Miss(2e6, f"no folder of the house folds scheme {scheme.name!r}.")
    heaviest = grammage_limit(folder, pages)
    if heaviest is not None and grammage > heaviest:
        return Miss(
            1e5 + grammage - heaviest,
            f"folder {folder.name} folds {pages} pages up to {heaviest:g} g/m2, and the paper has {grammage:g} g/m2.",
            f"a paper of at most {heaviest:g} g/m2 for {pages}-page sections",
        )
    short, long = sorted(shape.size_mm)
    least, most = sorted(folder.sheet_min), sorted(folder.sheet_max)
    over = max(short - most[0], long - most[1])
    under = max(least[0] - short, least[1] - long)
    if over > _SLACK_MM:
        return Miss(
            over,
            f"{pages} pages folded by scheme {scheme.name!r} want {format_size_mm(short, long)} of paper, "
            f"{format_mm(over)} more than folder {folder.name} takes.",
        )
    if under > _SLACK_MM:
        return Miss(
            under,
            f"{pages} pages folded by scheme {scheme.name!r} want {format_size_mm(short, long)} of paper, "
            f"{format_mm(under)} less than folder {folder.name} can hold.",
        )
    return None


def grammage_limit(folder: HouseFolder, pages: int) -> float | None:
    """Heaviest paper for a section of ``pages``: as stated for that size or the next larger one that is stated."""
    stated = [size for size in sorted(folder.grammage_max) if size >= pages]
    return folder.grammage_max[stated[0]] if stated else None


# --- the plans --------------------------------------------------------------------------------------------------------


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
        refused=(*skipped, *_refused(task, asked.job.sections.pages or base.pages)),
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


def _no_plan(base: Unit | None, misses: list[Miss], whole: int, job: Job, task: Task) -> NoPlan:
    trim = format_size_mm(task.panel.trim_w_mm, task.panel.trim_h_mm)
    if base is None:
        asked = job.sections.pages
        if asked is None:
            return NoPlan(f"No scheme of the house can be {task.binding}.", tuple(task.refused.values()))
        says = " ".join(_refused(task, asked)) or f"The house has no scheme of {asked} pages."
        sizes = ", ".join(str(size) for size in sorted(task.schemes))
        return NoPlan(says, (f"sections of {sizes} pages" if sizes else "another binding",))
    if not misses:
        return NoPlan(f"{task.house.name} has no sheet of {task.paper.name} that any of its presses runs.")
    nearest = min(misses, key=lambda miss: miss.over_mm)
    would = list(dict.fromkeys(miss.would for miss in sorted(misses, key=lambda m: m.over_mm)[:1] if miss.would))
    would += _what_would(base, whole, job, task)
    return NoPlan(f"Pages of {trim} do not fit: {nearest.says[0].lower()}{nearest.says[1:]}", tuple(would))


def _refused(task: Task, pages: int) -> tuple[str, ...]:
    """Why schemes of so many pages were refused by the binding."""
    names = [scheme.name for scheme in task.house.schemes if 2 * scheme.columns * scheme.rows == pages]
    return tuple(task.refused[name] for name in names if name in task.refused)


def _what_would(base: Unit, whole: int, job: Job, task: Task) -> list[str]:
    """Ways out that were tried and go: another size of section, another press, the grain the other way."""
    would = []
    sizes = [
        size
        for size in sorted(task.schemes, reverse=True)
        if size != base.pages and _laid_out(Unit((size,)), None, whole, job, task)[1]
    ]
    if sizes:
        would.append(f"sections of {', '.join(map(str, sizes))} pages")
    if len(task.presses) < len(task.house.presses):
        others = [
            press.name
            for nth, press in enumerate(task.house.presses)
            if _laid_out(base, None, whole, job, _with(task, ((nth, press),)))[1]
        ]
        if others:
            would.append(f"press {' or '.join(others)}")
    division = _laid_out(base, None, whole, job, task)[0]
    if division and base.pieces[0] in task.schemes and list(_candidates(division, base, None, task, False, [])):
        would.append("the same with the grain across the spine, if you must: set paper.grain")
    return would


def _with(task: Task, presses: tuple[tuple[int, HousePress], ...]) -> Task:
    return evolve(task, presses=presses)
