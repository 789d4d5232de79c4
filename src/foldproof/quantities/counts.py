# SPDX-License-Identifier: AGPL-3.0-or-later
"""Operation by operation: what goes in, what sets it up, what is spoilt, what must come out.  Exact.  Pure.

The reckoning is that of :mod:`foldproof.makeup.cost_sheets`, by which the plan was priced: backwards from the finished
books, in exact fractions.  Here every step of it is rounded upwards to whole sheets and books, so that a bench gives
just what the next one takes.  That the spoilage of a step so never falls below nothing follows from
``in = out / (1 - w) + s``: rounded up, ``in`` is at least ``out`` rounded up, and the set-up ``s``.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil
from typing import cast

from attrs import frozen

from foldproof.job.covering import allowances_for, cover_kind, is_cased
from foldproof.job.model import Allowances, Binding, House, Job
from foldproof.makeup.cost_sheets import Books, books_fed, exact
from foldproof.makeup.plan import Plan, SheetRun
from foldproof.quantities.model import Count


@frozen
class SheetChain:
    """How many of one press sheet go into each operation before the sections are gathered; set-ups are part of them."""

    press: tuple[int, ...]  #: into each pass through the press
    press_set_ups: tuple[int, ...]
    cut: int | None  #: of a leaflet: cut to size before it is folded; ``None`` of everything else
    folding: int  #: laid on at the folder
    folding_set_up: int
    sections: int  #: that come out, of each section on the sheet

    @property
    def first(self) -> int:
        """Sheets to be bought."""
        return next(number for number in (*self.press, self.cut, self.folding) if number is not None)


def sheet_chain(run: SheetRun, copies: int, binding: str, house: House, spoils: Allowances) -> SheetChain:
    """One press sheet from the pile to the folded sections.

    Args:
        copies: finished books.
        spoils: allowances of the house for the job.
    """
    presses = {press.name: press for press in house.presses}
    folders = {folder.name: folder for folder in house.folders}
    wanted = Fraction(copies)
    if binding != "leaflet":
        wanted = books_fed(copies, cast(Binding, binding), spoils).gathered
    set_up = max((-(-folders[piece.folder].make_ready_sheets // piece.count) for piece in run.pieces), default=0)
    need = folding = wanted / run.copies_on / _left(spoils.spoil_folding) + set_up
    cut = None
    if binding == "leaflet":
        need = need / _left(spoils.spoil_trimming)
        cut = ceil(need)
    set_ups = tuple(presses[run.press.name].make_ready_sheets * formes for formes in run.formes)
    passes: list[int] = []
    for sheets in reversed(set_ups):
        need = need / _left(spoils.spoil_press) + sheets
        passes.append(ceil(need))
    return SheetChain(tuple(reversed(passes)), set_ups, cut, ceil(folding), set_up, ceil(wanted))


def counts(plan: Plan, job: Job, house: House) -> tuple[Count, ...]:
    """Every operation of the job in the order of the benches, sheet by sheet until the sections are gathered.

    What comes out of one goes into the next.  At the press all passes of a sheet are one line.  At the folder a press
    sheet with ``copies_on`` of each of its sections goes in as so many.  Cases are made beside the books and meet them
    at casing-in.  Operations for which the house states no spoilage (gluing, covering, packing) give what they take;
    so does the gathering of stitched books, whose spoilage is counted where they are stitched.
    """
    spoils = allowances_for(job, house)
    chains = [(run, sheet_chain(run, plan.run_copies, plan.binding, house, spoils)) for run in plan.runs]
    return (
        *(
            _count(
                "press",
                f"sheet {run.sheet}",
                chain.press[0],
                chain.folding if chain.cut is None else chain.cut,
                sum(chain.press_set_ups),
                (run.sheet,),
            )
            for run, chain in chains
            if chain.press
        ),
        *(
            _count("trimming", f"sheet {run.sheet}", chain.cut, chain.folding, sheets=(run.sheet,))
            for run, chain in chains
            if chain.cut is not None
        ),
        *(_folding(run, chain) for run, chain in chains),
        *_bound(plan, job, books_of(plan, spoils)),
    )


def books_of(plan: Plan, spoils: Allowances) -> Books:
    """Books that go into each operation of binding, exactly."""
    return books_fed(plan.run_copies, cast(Binding, plan.binding), spoils)


def jackets_of(plan: Plan, spoils: Allowances) -> int:
    """Jackets that go to the bench where they are put on, before packing, so that there is one for every copy.

    No more than the copies where the house does not state what is spoilt there.
    """
    return ceil(plan.run_copies / _left(spoils.spoil_jacketing or 0.0))


def _folding(run: SheetRun, chain: SheetChain) -> Count:
    return Count(
        bench="folding",
        what=f"sections of sheet {run.sheet}",
        goes_in=chain.folding * run.copies_on,
        set_up=chain.folding_set_up * run.copies_on,
        spoil=(chain.folding - chain.folding_set_up) * run.copies_on - chain.sections,
        comes_out=chain.sections,
        sheets=(run.sheet,),
        copies_on=run.copies_on,
    )


def _bound(plan: Plan, job: Job, books: Books) -> Iterator[Count]:
    """From sections to packed books."""
    copies, kind = plan.run_copies, cover_kind(job, plan.binding)
    gathered, sewn, trimmed, cased = (
        ceil(number) for number in (books.gathered, books.sewn, books.trimmed, books.cased)
    )
    if plan.binding == "leaflet":
        yield _count("packing", "leaflets", copies, copies)
        return
    if plan.binding == "stitched":
        yield _count("gathering", "books", gathered, gathered)
        yield _count("stitching", "books", gathered, trimmed)
    elif plan.binding == "sewn":
        yield _count("gathering", "books", gathered, sewn)
        yield _count("sewing", "books", sewn, trimmed)
        if kind == "paper":
            yield _count("covering", "books", trimmed, trimmed)
    else:
        yield _count("gathering", "books", gathered, trimmed)
        yield _count("gluing", "books", trimmed, trimmed)
    yield _count("trimming", "books", trimmed, cased)
    if is_cased(job, plan.binding):
        yield _count("case", "cases", cased, cased)
        yield _count("casing-in", "books", cased, copies)
    yield _count("packing", "books", copies, copies)


def _count(bench: str, what: str, goes_in: int, comes_out: int, set_up: int = 0, sheets: tuple[int, ...] = ()) -> Count:
    return Count(bench, what, goes_in, set_up, goes_in - set_up - comes_out, comes_out, sheets)


def _left(per_cent: float) -> Fraction:
    """The part of what goes in that comes out."""
    return 1 - exact(per_cent) / 100
