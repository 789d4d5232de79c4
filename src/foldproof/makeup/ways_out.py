# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ways out of a book that does not fit: each was laid out and goes.  Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import islice, product

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.job.model import WAYS, Binding, HouseLine
from foldproof.job.model import Way as PrintWay
from foldproof.makeup import binding as bind
from foldproof.makeup.candidates import Task, bound_ways, runs, settings
from foldproof.makeup.layout import ONE_SIDE, PERFECTING, TWO_FORMES, WORK_AND_TUMBLE, WORK_AND_TURN, Bed
from foldproof.makeup.lines import line_for, lip_for
from foldproof.makeup.outlines import Outline, Request, outlines
from foldproof.makeup.paper import PaperChoice, PaperSheet, papers_for
from foldproof.makeup.sections import Unit
from foldproof.makeup.shapes import Way, block_of
from foldproof.units import format_mm, format_size_mm

#: stocks of the house that are named as a way out, at most
_MOST_STOCKS = 3
#: sheets that are tried, the smallest first
_MOST_SHEETS = 4


def ways_out(base: Unit, request: Request) -> list[str]:
    """Ways out that were tried and go."""
    task = request.task
    would = sizes_that_go(request, base.pages)
    if len(task.presses) < len(task.house.presses):
        others = [
            press.name
            for nth, press in enumerate(task.house.presses)
            if goes(evolve(request, task=evolve(task, presses=((nth, press),))), base)
        ]
        if others:
            would.append(f"press {either(others)}")
    would += ways_to_print(base, request)
    if len(task.folders) < len(task.house.folders):
        others = [f.name for f in task.house.folders if goes(evolve(request, task=evolve(task, folders=(f,))), base)]
        if others:
            would.append(f"folder {either(others)}")
    if task.lip is not None and goes(_with_ways(request, lip=False), base):
        would.append('lip = "none"')
    stocks = list(islice((name for name, other in _other_stocks(request) if goes(other, base)), _MOST_STOCKS))
    if stocks:
        would.append(f"paper {either(stocks)}")
    for found in (_sheet_that_goes(base, request), _trim_that_goes(base, request)):
        if found:
            would.append(found)
    return would


def sizes_that_go(request: Request, but: int) -> list[str]:
    sizes = [size for size in sorted(request.task.ways, reverse=True) if size != but and goes(request, Unit((size,)))]
    return [f"sections of {', '.join(map(str, sizes))} pages"] if sizes else []


def ways_to_print(base: Unit, request: Request) -> list[str]:
    asked = request.task.print_way
    if asked is None:
        return []
    others = [way for way in WAYS if way != asked and goes(_printed(request, way), base)]
    return [f"way to print {either([repr(way) for way in others])}"] if others else []


def _printed(request: Request, way: PrintWay) -> Request:
    able = tuple((nth, press) for nth, press in request.task.presses if way in press.can)
    return evolve(request, task=evolve(request.task, print_way=way, presses=able))


def _other_stocks(request: Request) -> Iterator[tuple[str, Request]]:
    """The other stocks of the house, those nearest in weight to what was asked for first."""
    task = request.task
    for stock in sorted(task.house.stocks, key=lambda stock: abs(stock.grammage - task.papers[0].grammage)):
        if stock.name == task.papers[0].name:
            continue
        paper = {"stock": stock.name, "grammage": None, "bulk": None, "caliper": None}
        job = request.job.model_copy(update={"paper": request.job.paper.model_copy(update=paper)})
        try:
            yield stock.name, evolve(request, job=job, task=evolve(task, papers=papers_for(job, task.house)))
        except NoPlan:
            continue


def _sheet_that_goes(base: Unit, request: Request) -> str | None:
    """The smallest sheet, bought with its grain to suit, that the wanted section goes on; the presses asked for first.

    It takes the block and the margins of a press, and is no smaller than that press runs.
    """
    task = request.task
    for _, _, nth, width, height in sorted(set(_sheets_wanted(task, base.pieces[0])))[:_MOST_SHEETS]:
        press = task.house.presses[nth]
        short, long = sorted((width, height))
        held = (PaperSheet(short, long, "long"), PaperSheet(short, long, "short"))
        paper = evolve(task.papers[0], sheets=held, grain_fixed=False, grain_open=True)
        if goes(evolve(request, task=evolve(on_paper(task, paper), presses=((nth, press),))), base):
            return f"a sheet of {format_size_mm(width, height)} on {press.name}"
    return None


def _sheets_wanted(task: Task, pages: int) -> Iterator[tuple[bool, float, int, float, float]]:
    """Whether the press is another than asked for; area, number of the press, width and height of a sheet for it."""
    asked = {nth for nth, _ in task.presses}
    blocks = [
        block_of(way, task.reading, task.panel, upright, task.lip, task.border_mm)
        for way in task.ways.get(pages, ())
        for upright in (True, False)
    ]
    for block, (nth, press) in product(blocks, enumerate(task.house.presses)):
        for way in press.can:
            if way != task.print_way and (task.print_way is not None or way == ONE_SIDE):
                continue
            wide, high = block.size_mm
            side, foot, top = Bed(press, 0.0, 0.0, way).margins_mm
            if way == WORK_AND_TURN:
                wide *= 2
            if way == WORK_AND_TUMBLE:
                high, foot, top = 2 * high, max(foot, top), max(foot, top)
            width = max(math.ceil(wide + 2 * side - 1e-6), press.sheet_min[0])
            height = max(math.ceil(high + foot + top - 1e-6), press.sheet_min[1])
            if (
                not runs(press, width, height)
                or Bed(press, width, height, way).grid(block.size_mm, block.panels) is None
            ):
                continue
            yield nth not in asked, width * height, nth, width, height


def _trim_that_goes(base: Unit, request: Request) -> str | None:
    """The nearest trim of the same proportions that the wanted section goes with, by steps of one part in thirty."""
    task = request.task
    panel = task.panel
    ways: tuple[tuple[str, float, Callable[[float], int]], ...] = (
        ("at most", 1 / 1.03, math.floor),
        ("at least", 1.03, math.ceil),
    )
    for words, step, whole_mm in ways:
        for nth in range(1, 160):
            wide, high = (whole_mm(size * step**nth) for size in (panel.trim_w_mm, panel.trim_h_mm))
            if not 10 <= min(wide, high) <= max(wide, high) <= 2000:
                continue
            smaller = evolve(panel, trim_w_mm=float(wide), trim_h_mm=float(high))
            other = evolve(request, task=evolve(task, panel=smaller))
            if section_goes(base, other.task) and goes(other, base):
                return f"a trim of {words} {format_size_mm(wide, high)}"
    return None


def bound_otherwise(request: Request, goes: Callable[[Request], bool]) -> list[str]:
    """The head, the lip or the binding that the job would have to give up."""
    would = []
    head = request.job.sections.head
    if head is not None and goes(_with_ways(request, head=False)):
        would.append(f"the head {'open' if head == 'closed' else 'closed'}")
    if request.task.lip is not None and goes(_with_ways(request, lip=False)):
        would.append('lip = "none"')
    others: tuple[Binding, ...] = ("sewn", "glued", "stitched")
    for binding in others:
        if request.task.binding not in (binding, bind.LEAFLET):
            try:
                other = _with_ways(request, binding=binding)
            except NoPlan:
                continue
            if goes(other):
                would.append(f'binding = "{binding}"')
    return would


def _with_ways(request: Request, *, head: bool = True, lip: bool = True, binding: Binding | None = None) -> Request:
    """The same book without its wish for a head or lip, or bound otherwise.

    Raises:
        NoPlan: no line of the house makes it.
    """
    task, job = request.task, request.job
    if binding is not None and binding != task.binding:
        book = job.book.model_copy(update={"binding": binding})
        job = job.model_copy(update={"book": book})
        panel = bind.panel_for(
            (task.panel.trim_w_mm, task.panel.trim_h_mm), task.bleed_mm, binding, task.house.allowances
        )
        line = _line(request, task, binding)
        task = evolve(task, binding=binding, panel=panel, lip=lip_for(job, line, binding))
        request = evolve(request, job=job, line=line)
    if not lip:
        task = evolve(task, lip=None)
    ways, refused = bound_ways(
        task.house, task.reading, task.binding, task.panel, task.lip, job.sections.head if head else None
    )
    fixed = [way for options in ways.values() for way in options if way.name == job.sections.fold]
    ways |= {way.pages: (way,) for way in fixed}
    return evolve(request, task=evolve(task, ways=ways, refused=refused))


def _line(request: Request, task: Task, binding: str) -> HouseLine | None:
    thick = max(request.whole, 4) / 2 * task.papers[0].caliper_mm
    if binding == bind.STITCHED and thick > bind.STITCHED_THICKEST_MM:
        raise NoPlan(f"No stitch holds {format_mm(thick)}.")
    trim = (task.panel.trim_w_mm, task.panel.trim_h_mm)
    return line_for(task.house, binding, trim, thick, request.job.bindery.line)


def held_to_blanks(found: Sequence[Outline], request: Request) -> list[Outline]:
    """Those with no more empty pages at the end than the job itself allows.

    The house's allowance is kept where it can be; the job's word is kept, or nothing is planned.
    """
    most = request.job.sections.blanks
    return [one for one in found if most is None or one.division.blanks <= most]


def goes(request: Request, base: Unit) -> bool:
    """Whether the whole book goes with an ordinary section: sheets, folders, line and blanks."""
    if not section_goes(base, request.task):
        return False
    try:
        _line(request, request.task, request.task.binding)
        found, _ = outlines(_with_inks_that_matter(request), [base], only_best=True)
    except NoPlan:
        return False
    return bool(held_to_blanks(found, request))


def _with_inks_that_matter(request: Request) -> Request:
    """Where every press prints two formes, or they are not asked for, no inks keep a book from going: it is quicker
    looked at without them."""
    way = request.task.print_way
    if way in (PERFECTING, ONE_SIDE) or (
        way is None and any(TWO_FORMES not in press.can for _, press in request.task.presses)
    ):
        return request
    return evolve(request, masks=(0,) * len(request.masks))


def section_goes(base: Unit, task: Task) -> bool:
    """Whether one ordinary section has a sheet, a press and a folder; quicker than the whole book."""
    return all(
        any(size in setting.blocks for setting in settings(task, 0, {size}, None))
        for size in dict.fromkeys(base.pieces)
    )


def takes(request: Request, way: Way) -> bool:
    task = request.task
    return goes(evolve(request, task=evolve(task, ways={**task.ways, way.pages: (way,)})), Unit((way.pages,)))


def named(request: Request, name: str) -> list[Way]:
    return [way for options in request.task.ways.values() for way in options if way.name == name]


def asked_sizes(request: Request) -> list[int]:
    asked = request.job.sections.pages
    return [asked] if asked is not None else [size for size in (32, 16, 8, 4) if size in request.task.ways]


def of_pages(request: Request, pages: int) -> Request:
    masks = (*request.masks, *(0,) * max(0, pages - request.pages))[: pages + request.front]
    return evolve(request, pages=pages, whole=pages + request.front, masks=masks)


def on_paper(task: Task, text: PaperChoice) -> Task:
    """The same task with another paper for the text."""
    return evolve(task, papers=(text, *task.papers[1:]))


def either(names: Sequence[object], last: str = " or ") -> str:
    """``"a, b or c"``"""
    words = [str(name) for name in names]
    return last.join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
