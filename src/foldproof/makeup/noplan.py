# SPDX-License-Identifier: AGPL-3.0-or-later
"""When nothing fits: by how much, and what would.  Every way out that is named was laid out and goes.  Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.makeup.candidates import Miss, Task, settings
from foldproof.makeup.outlines import Request, outlines
from foldproof.makeup.sections import Unit
from foldproof.units import format_size_mm


def no_plan(base: Unit | None, misses: Sequence[Miss], request: Request) -> NoPlan:
    """The refusal: the nearest miss, and what would go."""
    task, job = request.task, request.job
    trim = format_size_mm(task.panel.trim_w_mm, task.panel.trim_h_mm)
    if base is None:
        asked = job.sections.pages
        if asked is None:
            return NoPlan(f"No scheme of the house can be {task.binding}.", tuple(task.refused.values()))
        says = " ".join(refused_for(task, asked)) or f"The house has no scheme of {asked} pages."
        sizes = ", ".join(str(size) for size in sorted(task.ways))
        return NoPlan(says, (f"sections of {sizes} pages" if sizes else "another binding",))
    if not misses:
        return _without_misses(base, request)
    nearest = nearest_of(misses, base)
    would = [nearest.would] if nearest.would else []
    would += _what_would(base, request)
    text = evolve(task.papers[0], grain_fixed=True)
    across = evolve(request, task=evolve(task, papers=(text, *task.papers[1:])))
    against = not task.papers[0].grain_fixed and _goes(across, base)
    if against:
        would.append("the grain across the spine, which makes a book that opens badly: then the job says paper.grain")
    how = " with the grain along the spine" if against else ""
    return NoPlan(f"Pages of {trim} do not fit{how}: {nearest.says}", tuple(would))


def nearest_of(misses: Sequence[Miss], base: Unit) -> Miss:
    """The nearest miss of the section that was wanted; of another matter where it misses nothing itself."""
    own = [miss for miss in misses if miss.pages in (0, *base.pieces)]
    return min(own or misses, key=lambda miss: miss.over_mm)


def refused_for(task: Task, pages: int) -> tuple[str, ...]:
    """Why schemes of so many pages were refused by the binding."""
    names = [scheme.name for scheme in task.house.schemes if 2 * scheme.columns * scheme.rows == pages]
    return tuple(task.refused[name] for name in names if name in task.refused)


def _goes(request: Request, base: Unit) -> bool:
    return _section_goes(base, request.task) and bool(outlines(request, [base], only_best=True)[0])


def _without_misses(base: Unit, request: Request) -> NoPlan:
    """Every sheet runs in some press, and yet none goes: the grain, or the inks that a way to print asks for."""
    task = request.task
    paper = task.papers[0]
    text = evolve(paper, grain_fixed=True)
    if not paper.grain_fixed and _goes(evolve(request, task=evolve(task, papers=(text, *task.papers[1:]))), base):
        held = ", ".join(dict.fromkeys(sheet.says for sheet in paper.sheets))
        return NoPlan(
            f"{paper.name} is not held with the grain along the spine of this book ({held}).",
            ("another sheet or stock", "the grain across the spine: then the job says paper.grain"),
        )
    if task.print_way is not None and _goes(evolve(request, task=evolve(task, print_way=None)), base):
        return NoPlan(
            f"No sheet of this book can be printed {task.print_way!r}: it carries more inks, or more sides, than that.",
            ("another way to print, or leave press.way out",),
        )
    return NoPlan(f"{task.house.name} has no sheet of {paper.name} that any of its presses runs.")


def _what_would(base: Unit, request: Request) -> list[str]:
    """Ways out that were tried and go: another size of section, another press, way to print or folder, another trim."""
    task = request.task
    would = []
    sizes = [size for size in sorted(task.ways, reverse=True) if size != base.pages and _goes(request, Unit((size,)))]
    if sizes:
        would.append(f"sections of {', '.join(map(str, sizes))} pages")
    if len(task.presses) < len(task.house.presses):
        others = [
            press.name
            for nth, press in enumerate(task.house.presses)
            if _goes(evolve(request, task=evolve(task, presses=((nth, press),))), base)
        ]
        if others:
            would.append(f"press {' or '.join(others)}")
    if task.print_way is not None and _goes(evolve(request, task=evolve(task, print_way=None)), base):
        would.append(f"another way to print than {task.print_way}")
    if len(task.folders) < len(task.house.folders):
        others = [f.name for f in task.house.folders if _goes(evolve(request, task=evolve(task, folders=(f,))), base)]
        if others:
            would.append(f"folder {' or '.join(others)}")
    trim = _trim_that_goes(base, request)
    if trim:
        would.append(trim)
    return would


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
            if _section_goes(base, evolve(task, panel=smaller)):
                return f"a trim of {words} {format_size_mm(wide, high)}"
    return None


def _section_goes(base: Unit, task: Task) -> bool:
    """Whether one ordinary section has a sheet, a press and a folder; quicker than the whole book."""
    return all(
        any(size in setting.blocks for setting in settings(task, 0, {size}, None))
        for size in dict.fromkeys(base.pieces)
    )
