# SPDX-License-Identifier: AGPL-3.0-or-later
"""One case of the matrix: made up, written, proved, read off and folded by hand, and told wrongly fold by fold."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from typing import Any

from attrs import frozen

from foldproof.impose.write import write_sheets
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import Plan
from foldproof.manuscript.model import Manuscript
from foldproof.prove.look import LeafSeen, LookJob, SheetSeen, look_at
from foldproof.prove.model import Proof, Verdict
from foldproof.prove.prove import prove
from tests.impose.sheets import DATE
from tests.matrix.cases import Case
from tests.matrix.pages import Shelf
from tests.matrix.read_off import figures, folded
from tests.matrix.reversing import NONE, OTHER, SAME, slips


class Readings:
    """Stands in for the worker processes: jobs are done here, and what was read of a file is read once.

    With ``looks`` off nobody looks at the leaves: what is wrong must then be seen by folding and by names and places.
    """

    def __init__(self) -> None:
        self.looks = True
        self._known: dict[tuple[str, Any], Any] = {}

    def map(self, function: Any, jobs: Sequence[Any], *, seconds: float) -> Iterator[tuple[int, Any]]:
        for index, job in enumerate(jobs):
            if function is look_at:
                yield index, look_at(job) if self.looks else _unseen(job)
                continue
            key = (function.__name__, job)
            if key not in self._known:
                self._known[key] = function(job)
            yield index, self._known[key]


def _unseen(job: LookJob) -> SheetSeen:
    return SheetSeen(tuple(LeafSeen(leaf.position, "same") for side in job.sides for leaf in side.leaves), ())


@frozen
class Closed:
    """A case that closes, and what was read of it."""

    plan: Plan
    sheets: Path
    manuscript: Manuscript
    readings: Readings


def planned(case: Case) -> Plan:
    return plans(case.pages, case.trim_mm, case.asked, case.house, title="A book", most=1, inks=case.inks)[0]


def closed(case: Case, shelf: Shelf, folder: Path) -> Closed:
    """A case made up, written, proved, and read off and folded by hand.

    Raises:
        AssertionError: something of it does not hold.
    """
    plan = planned(case)
    assert {run.way for run in plan.runs} == {case.way}
    if case.scheme is not None:
        words = {tuple(one.words for one in s.folds) for sheet in plan.instructions.sheets for s in sheet.sections}
        assert words == {folds for folds in (case.scheme.folds, case.scheme.offcut_folds) if folds}
    manuscript = shelf.book(case.pages, case.trim_mm, case.printed)
    sheets = folder / "sheets.pdf"
    write_sheets(manuscript, plan, case.asked, sheets, date=DATE)
    readings = Readings()
    _proved(case, _proof(sheets, plan.instructions, manuscript, readings), plan)
    _folds_by_hand(case, sheets, plan)
    if plan.runs[0].one_set:
        _one_plate(sheets)
    if case.way == "one side":
        _bare_backs(sheets, plan)
    return Closed(plan, sheets, manuscript, readings)


#: slips of one outcome that are tried of a case; with all of them (a minute more of processor time) it is 0
EACH = int(os.environ.get("FOLDPROOF_SLIPS", "2"))


def held(case: Case, shelf: Shelf, folder: Path) -> Counter[str]:
    """The whole of a case; answers how many slips of which kind were tried.

    Raises:
        AssertionError: something of it does not hold.
    """
    done = closed(case, shelf, folder)
    return _told_wrongly(done.plan.instructions, done.sheets, done.manuscript, done.readings)


def _proof(sheets: Path, told: FoldingInstructions, manuscript: Manuscript, readings: Readings) -> Proof:
    return prove(
        sheets,
        told,
        manuscript.path,
        workers=readings,
        advance=lambda done: None,
        pictures=False,  # type: ignore[arg-type]
    )


def _printed(case: Case, page: int) -> bool:
    return case.printed is None or case.printed[page - 1]


def _wanted(case: Case, plan: Plan) -> list[int | None]:
    """The book as it must come out: pages in order, blanks before and after, bare pages where nothing is printed."""
    pages = [page if _printed(case, page) else None for page in range(1, case.pages + 1)]
    return [*[None] * plan.blanks_front, *pages, *[None] * plan.blanks_back]


def _proved(case: Case, proof: Proof, plan: Plan) -> None:
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    wanted = _wanted(case, plan)
    assert [p.found if p.claimed else None for p in proof.pages] == wanted
    copies = max(run.copies_on for run in plan.runs)
    least = min(run.copies_on for run in plan.runs)
    assert len(wanted) * (least - 1) <= len(proof.copies) <= len(wanted) * (copies - 1)
    for one in (*proof.pages, *proof.copies):
        page = wanted[one.position]
        assert (one.found if one.claimed else None) == page
        assert page is None or (one.expected == page and one.look.startswith("same"))


def _folds_by_hand(case: Case, sheets: Path, plan: Plan) -> None:
    book, pieces = folded(sheets, plan.instructions)
    assert book == _wanted(case, plan)
    for sheet in plan.instructions.sheets:
        for section in sheet.sections:
            if section.copy_of:
                assert pieces[section.id] == pieces[section.copy_of]


def _one_plate(sheets: Path) -> None:
    """imp-styles-4: one set of plates, so both sides of a sheet carry the same pages at the same places."""
    sides = figures(sheets)
    for front, back in zip(sides[::2], sides[1::2], strict=True):
        assert {(f.page, round(f.x, 2), round(f.y, 2), f.turns) for f in front} == {
            (f.page, round(f.x, 2), round(f.y, 2), f.turns) for f in back
        }


def _bare_backs(sheets: Path, plan: Plan) -> None:
    sides = figures(sheets)
    for run, front, back in zip(plan.runs, sides[::2], sides[1::2], strict=True):
        assert bool(run.inks[0]) and not run.inks[1]
        assert front and not back


def _told_wrongly(told: FoldingInstructions, sheets: Path, manuscript: Manuscript, readings: Readings) -> Counter[str]:
    """Every slip that makes another book, or none, fails; one that makes the same book is proved.

    Of slips with one outcome some are tried, drawn anew for every case.
    """
    readings.looks = False
    tried: Counter[str] = Counter()
    every = list(slips(told))
    Random(repr(told)).shuffle(every)
    for slip in every:
        if EACH and tried[slip.makes] >= EACH:
            continue
        proof = _proof(sheets, slip.told, manuscript, readings)
        expected = Verdict.PROVED if slip.makes == SAME else Verdict.FAILED
        assert proof.verdict is expected, f"{slip.says} makes {slip.makes}; the proof says {proof.verdict}"
        tried[slip.makes] += 1
    assert tried[OTHER] and set(tried) <= {SAME, OTHER, NONE}
    return tried
