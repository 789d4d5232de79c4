# SPDX-License-Identifier: AGPL-3.0-or-later
"""When nothing fits: by how much, and what would.  Every way out that is named was laid out and goes.  Pure."""

from __future__ import annotations

import math
from collections.abc import Callable

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.job.model import Job
from foldproof.makeup.candidates import Miss, Task, laid_out
from foldproof.makeup.sections import Unit
from foldproof.units import format_size_mm


def no_plan(base: Unit | None, misses: list[Miss], whole: int, job: Job, task: Task) -> NoPlan:
    trim = format_size_mm(task.panel.trim_w_mm, task.panel.trim_h_mm)
    if base is None:
        asked = job.sections.pages
        if asked is None:
            return NoPlan(f"No scheme of the house can be {task.binding}.", tuple(task.refused.values()))
        says = " ".join(refused_for(task, asked)) or f"The house has no scheme of {asked} pages."
        sizes = ", ".join(str(size) for size in sorted(task.schemes))
        return NoPlan(says, (f"sections of {sizes} pages" if sizes else "another binding",))
    if not misses:
        return NoPlan(f"{task.house.name} has no sheet of {task.paper.name} that any of its presses runs.")
    nearest = min(misses, key=lambda miss: miss.over_mm)
    would = list(dict.fromkeys(miss.would for miss in sorted(misses, key=lambda m: m.over_mm)[:1] if miss.would))
    would += _what_would(base, whole, job, task)
    across = evolve(task, paper=evolve(task.paper, grain_fixed=True))
    against = laid_out(base, None, whole, job, across)[1]
    if against:
        would.append("the grain across the spine, which makes a book that opens badly: then the job says paper.grain")
    how = " with the grain along the spine" if against else ""
    return NoPlan(f"Pages of {trim} do not fit{how}: {nearest.says}", tuple(would))


def refused_for(task: Task, pages: int) -> tuple[str, ...]:
    """Why schemes of so many pages were refused by the binding."""
    names = [scheme.name for scheme in task.house.schemes if 2 * scheme.columns * scheme.rows == pages]
    return tuple(task.refused[name] for name in names if name in task.refused)


def _what_would(base: Unit, whole: int, job: Job, task: Task) -> list[str]:
    """Ways out that were tried and go: another size of section, another press, another trim."""
    would = []
    sizes = [
        size
        for size in sorted(task.schemes, reverse=True)
        if size != base.pages and laid_out(Unit((size,)), None, whole, job, task)[1]
    ]
    if sizes:
        would.append(f"sections of {', '.join(map(str, sizes))} pages")
    if len(task.presses) < len(task.house.presses):
        others = [
            press.name
            for nth, press in enumerate(task.house.presses)
            if laid_out(base, None, whole, job, evolve(task, presses=((nth, press),)))[1]
        ]
        if others:
            would.append(f"press {' or '.join(others)}")
    trim = _trim_that_goes(base, job, task)
    if trim:
        would.append(trim)
    return would


def _trim_that_goes(base: Unit, job: Job, task: Task) -> str | None:
    """The nearest trim of the same proportions that the wanted section goes with, by steps of one part in thirty."""
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
            smaller = evolve(task, panel=evolve(panel, trim_w_mm=float(wide), trim_h_mm=float(high)))
            if laid_out(base, None, base.pages, job, smaller)[1]:
                return f"a trim of {words} {format_size_mm(wide, high)}"
    return None
