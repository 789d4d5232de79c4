# SPDX-License-Identifier: AGPL-3.0-or-later
"""When nothing fits: by how much, and what would.  Pure.

What the nearest miss itself asks for is told as the limit that it is; all other ways out were tried
(:mod:`foldproof.makeup.ways_out`).
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.makeup.candidates import Miss, Task, folder_for, settings
from foldproof.makeup.layout import ONE_SIDE, PERFECTING
from foldproof.makeup.outlines import Outline, Request
from foldproof.makeup.sections import Unit
from foldproof.makeup.shapes import Way, block_of
from foldproof.makeup.ways_out import (
    asked_sizes,
    bound_otherwise,
    either,
    goes,
    named,
    of_pages,
    on_paper,
    section_goes,
    sizes_that_go,
    takes,
    ways_out,
    ways_to_print,
)  # fmt: skip
from foldproof.units import format_size_mm


def no_plan(base: Unit | None, misses: Sequence[Miss], request: Request) -> NoPlan:
    """The refusal: the nearest miss of the section that is wanted, and what would go.

    Args:
        base: the ordinary section that was wanted first; ``None``: the binding takes no scheme of its size.
    """
    if base is None:
        return _no_section(request)
    if section_goes(base, request.task):
        return _whole_book(base, request)
    task = request.task
    text = evolve(task.papers[0], grain_fixed=True)
    against = not task.papers[0].grain_fixed and goes(evolve(request, task=on_paper(task, text)), base)
    how = " with the grain along the spine" if against else ""
    nearest = nearest_of(misses, base, task) if misses else None
    paper = task.papers[0]
    if nearest is not None and (nearest.pages or not against):
        why = nearest.says
    elif against:
        held = ", ".join(dict.fromkeys(sheet.says for sheet in paper.sheets))
        why = f"{paper.name} is held as {held}."
    else:
        why = f"{task.house.name} has no sheet of {paper.name} that any of its presses runs."
    would = [nearest.would] if nearest is not None and nearest.would and (nearest.pages or not against) else []
    would += ways_out(base, request)
    if against:
        would.append("the grain across the spine, which makes a book that opens badly: then the job says paper.grain")
    trim = format_size_mm(task.panel.trim_w_mm, task.panel.trim_h_mm)
    return NoPlan(f"Pages of {trim} do not fit{how}: {why}", tuple(dict.fromkeys(would)))


def nearest_of(misses: Sequence[Miss], base: Unit, task: Task) -> Miss:
    """The nearest miss of the section that was wanted; of another matter where it misses nothing itself.

    What one folder or scheme lacks is no matter where another one folds so many pages.
    """
    own = [miss for miss in misses if miss.pages in base.pieces]
    own = [miss for miss in own if miss not in _folders_lack(task, miss.pages)] or (
        own if not any(_folded(task, size) for size in base.pieces) else []
    )
    general = [miss for miss in misses if not miss.pages]
    return min(own or general or misses, key=lambda miss: miss.over_mm)


def scheme_refused(fixed: Way, request: Request) -> NoPlan:
    """The scheme that the job names is not taken by the binding, head or lip that it asks for."""
    would = [f'scheme "{way.name}"' for way in request.task.ways.get(fixed.pages, ()) if takes(request, way)]
    would += sizes_that_go(request, fixed.pages)
    would += bound_otherwise(request, lambda other: any(takes(other, way) for way in named(other, fixed.name)))
    return NoPlan(request.task.refused[fixed.name], tuple(would))


def too_many_blanks(found: Sequence[Outline], request: Request) -> NoPlan:
    """No division keeps to the blanks that the job allows: the nearest numbers of pages that do."""
    one = min(found, key=lambda each: each.division.blanks)
    blanks, most = one.division.blanks, request.job.sections.blanks or 0
    would = []
    least = max(0, request.pages - one.base.pages - 1)
    for pages in (
        next((n for n in range(request.pages - 1, least, -1) if goes(of_pages(request, n), one.base)), None),
        next((n for n in (request.pages + blanks - most,) if goes(of_pages(request, n), one.base)), None),
    ):
        would += [f"{pages} pages"] if pages else []
    allows = f"no more than {most}" if most else "none"
    are = "page is" if blanks == 1 else "pages are"
    return NoPlan(
        f"{blanks} {are} left blank at the end of a book of {request.pages} pages in sections of "
        f"{_listed_sizes(one)}, and the job allows {allows}.",
        (*would, f"blanks = {blanks}"),
    )


def refused_of(request: Request, base: Unit) -> tuple[str, ...]:
    """Why the binding left no scheme of the sizes that go before the one that was taken; all of a size that was asked.

    A scheme that lacks nothing but a place among others of its size (those of leaflets, in a book) is not told.
    """
    task, asked = request.task, request.job.sections.pages
    if asked is not None:
        return refused_for(task, asked)
    usual = 32 if task.papers[0].grammage <= task.house.thin_below else 16
    sizes = [size for size in (32, 16, 8, 4) if base.pages < size <= usual and size not in task.ways]
    return tuple(why for size in sizes for why in refused_for(task, size))


def refused_for(task: Task, pages: int) -> tuple[str, ...]:
    """Why schemes of so many pages were refused by the binding."""
    names = [scheme.name for scheme in task.house.schemes if 2 * scheme.columns * scheme.rows == pages]
    return tuple(task.refused[name] for name in names if name in task.refused)


def _no_section(request: Request) -> NoPlan:
    """No scheme of the wanted size is left, whatever the sheet."""
    task, asked = request.task, request.job.sections.pages
    if asked is None:
        usual = next((why for size in (16, 8, 32, 4) for why in refused_for(task, size)), "")
        says = f"No scheme of {task.house.name} is left for this book. {usual}".strip()
    else:
        says = " ".join(refused_for(task, asked)) or f"The house has no scheme of {asked} pages."
    would = sizes_that_go(request, asked or 0)
    would += bound_otherwise(request, lambda other: any(goes(other, Unit((n,))) for n in asked_sizes(other)))
    return NoPlan(says, tuple(would))


def _whole_book(base: Unit, request: Request) -> NoPlan:
    """One section has its sheet, press and folder, and yet the book has not: inks, an insert, or what is set inside."""
    task, job = request.task, request.job
    if goes(evolve(request, masks=(0,) * len(request.masks)), base):
        return NoPlan(_inks_refused(request), tuple(ways_to_print(base, request)))
    if job.inserts and goes(evolve(request, job=job.model_copy(update={"inserts": ()})), base):
        return _insert_refused(request)
    moved = job.model_copy(update={"sections": job.sections.model_copy(update={"short": "next to last"})})
    if job.sections.short != "next to last" and goes(evolve(request, job=moved), base):
        return NoPlan(
            f"No short section can be set so ({job.sections.short}): a section that has others set in it needs a "
            f"single middle.",
            ('short = "next to last"',),
        )
    return NoPlan(f"{task.house.name} has no set of sheets that carries this book as it is asked for.")


def _inks_refused(request: Request) -> str:
    task = request.task
    most = max((mask.bit_count() for mask in request.masks), default=0)
    if task.print_way == ONE_SIDE:
        return "A sheet printed on one side has an empty back, and this book has ink on both sides of its leaves."
    if task.print_way in (None, PERFECTING):
        can = [
            f"{press.name} perfects {press.inks - press.perfecting} on the front with {press.perfecting} on the back"
            for _, press in task.presses
            if press.perfecting
        ]
        inks = "1 ink" if most == 1 else f"{most} inks"
        return f"Pages of this book carry up to {inks}, and {'; '.join(can)}."
    return f"No sheet of this book can be printed {task.print_way!r}."


def _insert_refused(request: Request) -> NoPlan:
    task = request.task
    for nth, insert in enumerate(request.job.inserts, start=1):
        where = f"The insert at page {insert.first_page}"
        missed: list[Miss] = []
        if any(True for _ in settings(task, nth, {insert.pages}, missed)):
            continue
        goes = [size for size in sorted(task.ways) if any(True for _ in settings(task, nth, {size}, None))]
        would = [f"an insert of {either(goes)} pages"] if goes else []
        if insert.pages not in task.ways:
            return NoPlan(f"{where} has {insert.pages} pages, and no scheme of the house folds so many.", tuple(would))
        if not missed:
            return NoPlan(
                f"{where} has no sheet of {task.papers[nth].name} with the grain along the spine.", tuple(would)
            )
        nearest = nearest_of(missed, Unit((insert.pages,)), evolve(task, papers=(task.papers[nth],)))
        return NoPlan(f"{where} does not fit: {nearest.says}", (*([nearest.would] if nearest.would else []), *would))
    return NoPlan("The inserts of the job fit by themselves, and not in this book.", ('how = "between"',))


def _folders_lack(task: Task, pages: int) -> list[Miss]:
    """What the folders lack for so many pages, whatever the sheet."""
    return [miss for _, miss in _foldings(task, pages) if miss is not None]


def _folded(task: Task, pages: int) -> bool:
    return any(miss is None for _, miss in _foldings(task, pages))


def _foldings(task: Task, pages: int) -> list[tuple[Way, Miss | None]]:
    paper = task.papers[0]
    return [
        (way, folder_for(
            block_of(way, task.reading, task.panel, upright, task.lip, task.border_mm),
            task.folders, paper.grammage, paper.caliper_mm,
        )[1])
        for way in task.ways.get(pages, ())
        for upright in (True, False)
    ]  # fmt: skip


def _listed_sizes(one: Outline) -> str:
    return either(sorted({piece for unit in one.division.units for piece in unit.pieces}, reverse=True), " and ")
