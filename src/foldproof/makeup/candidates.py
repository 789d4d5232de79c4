# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the house could do with a book: every press, every sheet both ways round, every scheme; and what misses by how
much.  Pure; millimetres."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import field, frozen

from foldproof.job.model import House, HouseFolder, HousePress, HouseScheme, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import Scheme
from foldproof.makeup.layout import LaidSheet, Piece, Shape, fill, grid_for, laid
from foldproof.makeup.paper import PaperChoice, PaperSheet
from foldproof.makeup.sections import SHORT_SIZES, Division, Unit, divide
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


def scheme_of(told: HouseScheme) -> Scheme:
    """A scheme of the house as the fold model takes it."""
    return Scheme(told.name, told.columns, told.rows, told.folds, told.head)


def bound_schemes(
    house: House, reading: str, binding: str, panel: Panel
) -> tuple[dict[int, tuple[Scheme, ...]], dict[str, str]]:
    allowed: dict[int, tuple[Scheme, ...]] = {}
    refused: dict[str, str] = {}
    for told in house.schemes:
        if told.offcut_rows:
            refused[told.name] = f"Scheme {told.name!r} is cut before it is folded; that is not planned."
            continue
        scheme = scheme_of(told)
        why = bind.refusal(scheme, reading, binding, panel, house.allowances.bolt_min)
        if why:
            refused[scheme.name] = why
        else:
            allowed[scheme.pages] = (*allowed.get(scheme.pages, ()), scheme)
    return allowed, refused


def bases_for(job: Job, task: Task, fixed: Scheme | None) -> list[Unit]:
    """Ordinary units to try, the wanted one first; without a wish smaller ones follow, then larger."""
    asked = fixed.pages if fixed else job.sections.pages
    if asked is not None:
        wanted = [asked]
    else:
        usual = 32 if task.paper.grammage <= task.house.thin_below else 16
        wanted = [
            usual,
            *(size for size in (32, 16, 8, 4) if size < usual),
            *(size for size in (32, 64) if size > usual),
        ]
    bases = []
    for size in wanted:
        if size in task.schemes:
            bases.append(Unit((size,)))
        if size == 64 and not fixed and any(bind.nests(s, task.reading) for s in task.schemes.get(32, ())):
            bases.append(Unit((32, 32)))
    return bases


def laid_out(
    base: Unit, fixed: Scheme | None, whole: int, job: Job, task: Task
) -> tuple[Division | None, list[Candidate], list[Miss]]:
    """All candidates with this ordinary unit, grain along the spine; against it only where the job fixes the grain.

    Where the shortest sections go through no folder they are left out, and the book has more blanks instead.
    """
    misses: list[Miss] = []
    shorts = [size for size in SHORT_SIZES if size in task.schemes] or sorted(task.schemes, reverse=True)
    division: Division | None = None
    for kept in range(len(shorts), -1, -1):
        before, division = (
            division,
            divide(
                whole,
                base,
                shorts[:kept],
                short_last=job.sections.short == "last",
                one_unit=task.binding == bind.STITCHED,
            ),
        )
        if division == before:
            continue
        for grain_right in (True, False) if task.paper.grain_fixed else (True,):
            found = list(candidates(division, base, fixed, task, grain_right, misses))
            if found:
                return division, found, misses
    return division, [], misses


def candidates(
    division: Division, base: Unit, fixed: Scheme | None, task: Task, grain_right: bool, misses: list[Miss]
) -> Iterator[Candidate]:
    nested = any(len(unit.pieces) > 1 for unit in division.units)
    for press_nth, press in task.presses:
        for sheet_nth, sheet in enumerate(task.paper.sheets):
            for turn, (width, height) in enumerate(((sheet.long_mm, sheet.short_mm), (sheet.short_mm, sheet.long_mm))):
                if turn and sheet.long_mm == sheet.short_mm:
                    continue
                if not runs(press, width, height):
                    if not turn and not runs(press, height, width):
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


def runs(press: HousePress, width: float, height: float) -> bool:
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
        f"a sheet between {format_size_mm(*press.sheet_min)} and {format_size_mm(*press.sheet_max)}",
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
            f"folder {folder.name} folds {pages} pages up to {heaviest:g} g/m2, "
            f"and the paper has {round(grammage, 1):g} g/m2.",
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
            f"a folder and a sheet that take {format_size_mm(short, long)}",
        )
    if under > _SLACK_MM:
        return Miss(
            under,
            f"{pages} pages folded by scheme {scheme.name!r} want {format_size_mm(short, long)} of paper, "
            f"{format_mm(under)} less than folder {folder.name} can hold.",
            f"a folder that holds pieces of {format_size_mm(short, long)}",
        )
    return None


def grammage_limit(folder: HouseFolder, pages: int) -> float | None:
    """Heaviest paper for a section of ``pages``: as stated for that size or the next larger one that is stated."""
    stated = [size for size in sorted(folder.grammage_max) if size >= pages]
    return folder.grammage_max[stated[0]] if stated else None
