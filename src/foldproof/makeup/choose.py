# SPDX-License-Identifier: AGPL-3.0-or-later
"""The choice between plans.  Pure.

The rule: what costs least, where the house states prices; else the fewest plates, then the least paper, then the least
time in the press; of equals the earlier press, sheet and scheme of the house file.  Sections are sixteens, or
thirty-twos on paper up to the house's ``thin_below``, or smaller ones where those cost less; larger ones where the job
asks for them or nothing else goes.  Grain lies along the spine unless the job itself says how it lies.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.job.covering import allowances_for
from foldproof.job.load import resolve
from foldproof.job.model import House, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.build import built
from foldproof.makeup.candidates import Miss, Task, bound_ways, way_of
from foldproof.makeup.lines import line_for, lip_for
from foldproof.makeup.noplan import nearest_of, no_plan, scheme_refused, too_many_blanks
from foldproof.makeup.outlines import Outline, Request, outlines
from foldproof.makeup.paper import papers_for
from foldproof.makeup.plan import Plan
from foldproof.makeup.sections import Unit
from foldproof.makeup.shapes import Way
from foldproof.makeup.ways_out import held_to_blanks
from foldproof.makeup.wording import Asked
from foldproof.units import format_mm, format_size_mm


def plans(
    pages: int,
    trim_mm: tuple[float, float],
    job: Job,
    house: House,
    *,
    title: str,
    most: int | None = 5,
    inks: Sequence[Sequence[str]] | None = None,
) -> tuple[Plan, ...]:
    """Every way worth looking at to make the book, best first, never empty.

    Args:
        pages: of the manuscript.
        trim_mm: width and height of the trimmed page.
        most: how many are wanted at the most; the best alone is the quicker, ``None``: all.
        inks: names of the inks that each page carries; black alone on every page when unsaid.

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
    papers = papers_for(job, house)
    whole = pages + job.book.blanks_front
    # no piece of folded paper has fewer than two leaves
    thick = max(whole, 4) / 2 * papers[0].caliper_mm
    for insert, paper in zip(job.inserts, papers[1:], strict=True):
        thick += insert.pages / 2 * (paper.caliper_mm - papers[0].caliper_mm)
    if binding == bind.STITCHED and thick > bind.STITCHED_THICKEST_MM:
        raise NoPlan(
            f"{whole} pages of {papers[0].name} are {format_mm(thick)} thick when folded; "
            f"no stitch holds more than {format_mm(bind.STITCHED_THICKEST_MM)}.",
            ('binding = "sewn"', 'binding = "glued"', "a thinner paper"),
        )
    line = line_for(house, binding, trim_mm, thick, job.bindery.line)
    lip = lip_for(job, line, binding)
    ways, refused = bound_ways(house, reading, binding, panel, lip, job.sections.head)
    if binding == bind.GLUED:
        ways = {pages: _with_one_middle(options, reading) for pages, options in ways.items()}
    if binding == bind.LEAFLET:
        ways = {pages: _strips(options) or options for pages, options in ways.items()}
    task = Task(
        house=house.model_copy(update={"allowances": allowances_for(job, house)}),
        reading=reading,
        binding=binding,
        panel=panel,
        lip=lip,
        papers=papers,
        presses=tuple((i, p) for i, p in enumerate(house.presses) if named.press is None or p.name == named.press.name),
        print_way=job.press.way,
        folders=tuple(f for f in house.folders if job.bindery.folder in (None, f.name)),
        ways=ways,
        refused=refused,
        bleed_mm=bleed,
        copies=job.run.copies or house.usual_copies,
    )
    masks, names = _masks(pages, job.book.blanks_front, inks)
    request = Request(
        pages=pages, whole=whole, front=job.book.blanks_front, job=job, task=task, line=line, masks=masks, inks=names
    )
    fixed = way_of(named.scheme) if named.scheme else None
    if fixed is not None:
        if fixed.name in refused:
            raise scheme_refused(fixed, request)
        request = evolve(request, task=evolve(task, ways={**ways, fixed.pages: (fixed,)}))
        task = request.task
    asked = Asked(title, pages, trim_mm, bleed, job, house, papers[0], binding, reading)
    misses: list[Miss] = []
    skipped: list[str] = []
    groups = bases_for(job, task, fixed, whole)
    # the reasons hold a plan against two others; where the job limits the blanks, some fall out again
    enough = None if most is None or job.sections.blanks is not None else max(most, 3)
    if binding == bind.LEAFLET and not groups:
        raise _no_leaflet(whole, fixed.pages if fixed else job.sections.pages, task)
    for nth, group in enumerate(groups):
        try:
            looked_at, missed = _along_first(request, group, most == 1, enough)
        except NoPlan as cannot:
            if nth == 0:
                raise
            skipped.append(str(cannot))
            continue
        found = held_to_blanks(looked_at, request)
        if looked_at and not found:
            raise too_many_blanks(looked_at, request)
        if found:
            return tuple(
                built(asked, request, one, _told(skipped, one, missed, request.most_blanks), nth > 0, found)
                for one in found[:most]
            )
        misses.extend(missed)
        if missed:
            sizes = ", ".join(dict.fromkeys(str(base.pages) for base in group))
            skipped.append(f"Sections of {sizes} pages: {nearest_of(missed, group[0], task).says}")
    first = groups[0][0] if groups else None
    raise no_plan(first, misses, request)


def _along_first(
    request: Request, group: list[Unit], only_best: bool, most: int | None
) -> tuple[list[Outline], list[Miss]]:
    """The outlines with the grain along the spine; across it only where the job fixes the grain and nothing else goes.

    Raises:
        NoPlan: as :func:`foldproof.makeup.outlines.outlines`.
    """
    text = request.task.papers[0]
    if not text.grain_fixed:
        return outlines(request, group, only_best=only_best, most=most)
    papers = (evolve(text, grain_fixed=False), *request.task.papers[1:])
    upright = evolve(request, task=evolve(request.task, papers=papers))
    along = outlines(upright, group, only_best=only_best, most=most)
    return along if along[0] else outlines(request, group, only_best=only_best, most=most)


def bases_for(job: Job, task: Task, fixed: Way | None, whole: int) -> list[list[Unit]]:
    """Ordinary units to try: those that are weighed against one another, then, where none goes, larger ones in turn.

    A leaflet is one sheet folded: a strip where one holds it with few blanks, the fewest pages that do, then more.
    """
    asked = fixed.pages if fixed else job.sections.pages
    if task.binding == bind.LEAFLET:
        sizes = [size for size in (task.ways if asked is None else [asked]) if size >= whole and size in task.ways]
        spare = task.house.allowances.blanks
        sizes.sort(key=lambda size: (size - whole > spare, not _strips(task.ways[size]), size))
        return [[Unit((size,))] for size in sizes]
    if asked is not None:
        groups = [[asked]]
    else:
        usual = 32 if task.papers[0].grammage <= task.house.thin_below else 16
        groups = [[size for size in (64, 32, 16, 8, 4) if size <= usual], *([n] for n in (32, 64) if n > usual)]
    out = []
    for group in groups:
        bases = []
        for size in group:
            if size in task.ways:
                bases.append(Unit((size,)))
            nested = any(all(bind.nests(s, task.reading) for s in way.pieces) for way in task.ways.get(32, ()))
            if size == 64 and not fixed and nested:
                bases.append(Unit((32, 32)))
        if bases:
            out.append(bases)
    return out


def _no_leaflet(whole: int, asked: int | None, task: Task) -> NoPlan:
    sizes = [size for size in sorted(task.ways) if size >= whole]
    says = f"A leaflet is one sheet folded: its {whole} pages do not go into "
    if asked is not None:
        return NoPlan(f"{says}a fold of {asked} pages.", tuple(f"a fold of {size} pages" for size in sizes[:3]))
    most = max(task.ways, default=0)
    return NoPlan(f"{says}any fold of the house, which has {most} pages at the most.", ('binding = "stitched"',))


def _strips(options: tuple[Way, ...]) -> tuple[Way, ...]:
    """Ways to fold one row of panels: such a leaflet opens without a knife, one that is folded across like a map."""
    return tuple(way for way in options if way.main.rows == 1 and way.offcut is None)


def _with_one_middle(options: tuple[Way, ...], reading: str) -> tuple[Way, ...]:
    """Of ways to fold so many pages those that others can be set into, where there are any; a job may name the rest."""
    nesting = tuple(way for way in options if all(bind.nests(scheme, reading) for scheme in way.pieces))
    return nesting or options


def _masks(pages: int, front: int, inks: Sequence[Sequence[str]] | None) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """Inks of every place of the book as bit masks, and the names of the bits in the order of the plates."""
    if inks is None:
        inks = [("Black",)] * pages
    usual = ("Cyan", "Magenta", "Yellow", "Black")
    there = {name for page in inks for name in page}
    names = (*(name for name in usual if name in there), *sorted(there - set(usual)))
    bit = {name: 1 << nth for nth, name in enumerate(names)}
    masks = [sum(bit[name] for name in set(page)) for page in inks]
    return (0,) * front + tuple(masks), names


def _told(skipped: Sequence[str], one: Outline, missed: Sequence[Miss], blanks: int) -> tuple[str, ...]:
    said = list(skipped)
    shortest = min(pages for unit in one.division.units for pages in unit.pieces)
    shorter = [miss for miss in missed if 0 < miss.pages < shortest]
    leaflet = one.pools[0].task.binding == bind.LEAFLET  # all of it in one piece: shorter ones do not hold it
    if one.division.blanks > blanks and shorter and not leaflet:
        said.append(f"A shorter section: {min(shorter, key=lambda miss: miss.over_mm).says}")
    return tuple(said)
