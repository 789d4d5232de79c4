# SPDX-License-Identifier: AGPL-3.0-or-later
"""Late pages: which plates a new version of a manuscript changes, the make-up kept as it was.  Pure.

A plate is made again when any page on it shows something else in its ink.  What a page shows is known from the ink
pass, plate by plate; whether it is written alike in every byte from the digest of its content.  A page that was only
written otherwise (its fonts subset anew, say) prints alike, and its plates stay; that is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from attrs import evolve, frozen

from foldproof.makeup.plan import Plan, SheetRun, Side


@frozen
class PageLook:
    """One page of a manuscript as far as its plates are concerned."""

    inks: tuple[str, ...]  #: that it asks a plate for
    plates: tuple[tuple[str, str], ...]  #: plate and digest of what stands on it, trim and bleed
    content: str  #: digest of its content and boxes; ``""`` where it is not known


@frozen
class SideChange:
    """One printed side whose plates change."""

    sheet: int  #: 1-based
    side: Side
    pages: tuple[int, ...]  #: 1-based pages of the manuscript on it that changed
    inks: tuple[str, ...]  #: plates to be made anew
    dropped: tuple[str, ...]  #: plates that are wanted no more
    both: bool = False  #: one set of plates prints both sides; told once, as the front

    @property
    def says(self) -> str:
        """A sentence for people."""
        parts = []
        if self.inks:
            parts.append(f"plates anew: {', '.join(self.inks)}")
        if self.dropped:
            parts.append(f"plates wanted no more: {', '.join(self.dropped)}")
        pages = f"page{'s' if len(self.pages) > 1 else ''} {', '.join(map(str, self.pages))}"
        where = "front and back" if self.both else self.side.value
        return f"Sheet {self.sheet}, {where}: {'; '.join(parts)} ({pages})."


@frozen
class Late:
    """What a new version changes."""

    sides: tuple[SideChange, ...]
    changed: tuple[int, ...]  #: 1-based pages that print otherwise
    rewritten: tuple[int, ...]  #: 1-based pages written otherwise that print alike

    @property
    def plates(self) -> int:
        return sum(len(side.inks) for side in self.sides)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What changes, a sentence each."""
        if not self.sides:
            said = ["No plate changes: every page prints as in the earlier version."]
        else:
            said = [f"{self.plates} plate{'s' if self.plates != 1 else ''} to be made anew:"]
            said += [side.says for side in self.sides]
        if self.rewritten:
            many = len(self.rewritten)
            which = f"{many} pages are" if many > 1 else "1 page is"
            said.append(f"{which} written otherwise than before and alike to look at (72 dpi): the plates can stay.")
        return tuple(said)

    def as_json(self) -> dict[str, Any]:
        return {
            "schema": "foldproof/late/1",
            "plates": self.plates,
            "changed_pages": list(self.changed),
            "rewritten_pages": list(self.rewritten),
            "sides": [
                {
                    "sheet": one.sheet,
                    "side": one.side.value,
                    "both_sides": one.both,
                    "pages": list(one.pages),
                    "inks": list(one.inks),
                    "dropped": list(one.dropped),
                }
                for one in self.sides
            ],
        }


def late(old: Sequence[PageLook], new: Sequence[PageLook], plan: Plan, inks: Sequence[str]) -> Late:
    """What changes from one version to the next.

    Args:
        old, new: as many pages.
        plan: the make-up of both, its runs with the inks of the old version.
        inks: all inks of both versions in the order of the plates.
    """
    differs: dict[int, set[str]] = {}
    rewritten = []
    for index, (before, after) in enumerate(zip(old, new, strict=True)):
        if before.content and before.content == after.content:
            continue
        was, now = dict(before.plates), dict(after.plates)
        asked = {*before.inks, *after.inks}
        marks = {ink for ink in asked if was.get(ink) != now.get(ink)}
        if marks:
            differs[index] = marks
        elif before.content != after.content:
            rewritten.append(index + 1)
    after_runs = with_inks(plan, [look.inks for look in new], inks)
    standing: dict[tuple[int, Side], set[int]] = {}
    for place in (*plan.places, *plan.again):
        if place.page is not None:
            standing.setdefault((place.sheet, place.side), set()).add(place.page)
    sides = []
    for before_run, after_run in zip(plan.runs, after_runs, strict=True):
        for nth, side in enumerate((Side.FRONT,) if before_run.one_set else Side):
            pages = standing.get((before_run.sheet, side), set())
            if before_run.one_set:
                pages = pages | standing.get((before_run.sheet, Side.BACK), set())
            changed = sorted(page for page in pages if page in differs)
            if not changed:
                continue
            marks = set().union(*(differs[page] for page in changed))
            wanted = after_run.inks[nth]
            anew = tuple(ink for ink in wanted if ink in marks or ink not in before_run.inks[nth])
            dropped = tuple(ink for ink in before_run.inks[nth] if ink not in wanted)
            if anew or dropped:
                numbers = tuple(page + 1 for page in changed)
                sides.append(SideChange(before_run.sheet, side, numbers, anew, dropped, before_run.one_set))
    return Late(tuple(sides), tuple(sorted(page + 1 for page in differs)), tuple(rewritten))


def with_inks(plan: Plan, page_inks: Sequence[Iterable[str]], order: Sequence[str]) -> tuple[SheetRun, ...]:
    """The runs of a plan with the inks that pages really carry on each side."""
    there: dict[tuple[int, Side], set[str]] = {}
    for place in (*plan.places, *plan.again):
        if place.page is not None:
            there.setdefault((place.sheet, place.side), set()).update(page_inks[place.page])
    runs = []
    for run in plan.runs:
        front, back = (there.get((run.sheet, side), set()) for side in Side)
        if run.one_set:
            front = back = front | back
        runs.append(evolve(run, inks=(tuple(i for i in order if i in front), tuple(i for i in order if i in back))))
    return tuple(runs)
