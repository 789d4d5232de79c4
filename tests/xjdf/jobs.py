# SPDX-License-Identifier: AGPL-3.0-or-later
"""Works whose job tickets are written, and how what was read back is held against what was planned."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs

from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import Plan
from foldproof.prove.gathering import bind
from foldproof.quantities.model import Work
from foldproof.quantities.reckon import reckon
from foldproof.xjdf.write import write_xjdf

HOUSE = load_house(None)
TITLE = "The Chandler's Year"
#: how far a length may come back from where it was: a tenth of what the paper trade can measure on a sheet
SAME_MM = 0.001


def planned(
    pages: int, job: dict[str, Any], trim_mm: tuple[float, float] = (80.0, 110.0), house: House = HOUSE, **more: Any
) -> Work:
    """The plan that wins with all its numbers; ``job`` as a job file has it."""
    asked = Job.model_validate(job)
    plan = plans(pages, trim_mm, asked, house, title=more.pop("title", TITLE), most=1, inks=more.pop("inks", None))[0]
    return work_of(plan, asked, house, **more)


def work_of(plan: Plan, job: Job, house: House = HOUSE, **more: Any) -> Work:
    return Work(plan, job, house, reckon(plan, job, house), **more)


def held_same(read: Any, planned_: Any, where: str = "plan") -> None:
    """Field by field: numbers within :data:`SAME_MM`, everything else alike."""
    if read == planned_:
        return
    if attrs.has(type(planned_)):
        assert type(read) is type(planned_), where
        for field in attrs.fields(type(planned_)):
            held_same(getattr(read, field.name), getattr(planned_, field.name), f"{where}.{field.name}")
    elif isinstance(planned_, tuple):
        assert len(read) == len(planned_), where
        for nth, (one, other) in enumerate(zip(read, planned_, strict=True)):
            held_same(one, other, f"{where}[{nth}]")
    elif isinstance(planned_, float):
        assert abs(read - planned_) <= SAME_MM, f"{where}: {read} for {planned_}"
    else:
        assert read == planned_, where


def folds_alike(rebuilt: FoldingInstructions, told: FoldingInstructions) -> None:
    """The proof's own folding makes the same book of both, though the words of the folds differ."""
    made, wanted = bind(rebuilt), bind(told)
    assert [trouble.says for trouble in made.troubles] == [trouble.says for trouble in wanted.troubles]
    assert len(made.places) == len(wanted.places)
    for one, other in zip(made.places, wanted.places, strict=True):
        held_same(one, other, "folded")
    held_same(made.bars, wanted.bars, "collation")


def written(folder: Path, work: Work) -> Path:
    """The job ticket of a work."""
    return write_xjdf(work, folder / "job.xjdf")[0]
