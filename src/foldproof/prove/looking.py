# SPDX-License-Identifier: AGPL-3.0-or-later
"""What there is to look at on every sheet, and what was seen, as faults."""

from __future__ import annotations

from base64 import b64encode
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from attrs import evolve

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_affine import Box, back, box_round, chain
from foldproof.pdf.proof_read import PageRead, SideRead
from foldproof.prove.book import Bar, Book, Place
from foldproof.prove.faults import where_from
from foldproof.prove.look import LeafLook, LeafSeen, LookJob, SideLook
from foldproof.prove.model import Fault, Leg
from foldproof.prove.strips import strip_of
from foldproof.prove.which import TO_MM, page_to_leaf, side_of, window_of


def jobs_of(
    sheets: Path,
    manuscript: Path | None,
    password: str | None,
    book: Book,
    expected: Sequence[int | None],
    pages: Sequence[PageRead],
    sides: Sequence[SideRead],
    told: FoldingInstructions,
    *,
    slack_mm: float,
    pictures: bool,
) -> list[LookJob]:
    """One job a sheet.  Without ``pages`` only leaves that must be empty and collation marks are looked at."""
    by_side: dict[tuple[int, str], list[Place]] = defaultdict(list)
    for place in book.places:
        if place and (pages or expected[place.position] is None):
            by_side[place.sheet, place.side].append(place)
    bars: dict[tuple[int, str], list[Bar]] = defaultdict(list)
    for bar in book.bars:
        bars[bar.sheet, bar.side].append(bar)
    holes = _holes(book)
    runs = tuple(sorted({bar.run for bar in book.bars}))
    by_sheet: dict[int, list[SideLook]] = defaultdict(list)
    for side in sides:
        key = side_of(side)
        leaves = tuple(
            _leaf(place, expected[place.position], pages, side, holes.get(place.position, ()), told, slack_mm)
            for place in by_side[key]
        )
        strips = tuple(strip_of(bar, book, expected, pages, side, told, runs) for bar in bars[key])
        if leaves or strips:
            by_sheet[key[0]].append(SideLook(side.index, leaves, strips))
    return [LookJob(sheets, manuscript, password, pictures, tuple(sides)) for _, sides in sorted(by_sheet.items())]


def without_shunned(jobs: Sequence[LookJob], shunned: frozenset[int]) -> tuple[list[LookJob], list[LeafSeen]]:
    """The jobs without the sides on which a page (0-based) stands that nobody may draw; and what is said of these."""
    kept: list[LookJob] = []
    unseen: list[LeafSeen] = []
    for job in jobs:
        sides = []
        for side in job.sides:
            bad = sorted(leaf.page for leaf in side.leaves if leaf.page is not None and leaf.page - 1 in shunned)
            if not bad:
                sides.append(side)
                continue
            for leaf in side.leaves:
                why = "it" if leaf.page in bad else f"page {bad[0]} on the same side"
                unseen.append(LeafSeen(leaf.position, "not compared", f"{why} cannot be drawn within the limits."))
        if sides:
            kept.append(evolve(job, sides=tuple(sides)))
    return kept, unseen


def _leaf(
    place: Place,
    number: int | None,
    pages: Sequence[PageRead],
    side: SideRead,
    holes: tuple[Box, ...],
    told: FoldingInstructions,
    slack_mm: float,
) -> LeafLook:
    page = pages[number - 1] if number is not None else None
    window, visible = window_of(page, place, told.bleed_mm, slack_mm)
    return LeafLook(
        position=place.position,
        page=number,
        on_sheet=chain(side.to_side, TO_MM, back(place.to_side)),
        on_page=page_to_leaf(page, place) if page else None,
        window=window,
        visible=visible,
        medium=page.medium if page else None,
        holes=holes,
        annotated=page.annotated if page else False,
    )


def _holes(book: Book) -> dict[int, tuple[Box, ...]]:
    """The declared collation marks, in the leaf frames of the two pages that each of them lies on."""
    out: dict[int, tuple[Box, ...]] = {}
    for bar in book.bars:
        first, last = book.places[bar.position], book.places[bar.last]
        out[bar.position] = (bar.box,)
        if first and last and (last.sheet, last.side) == (first.sheet, first.side):
            out[bar.last] = (box_round(chain(first.to_side, back(last.to_side)), bar.box),)
    return out


# --- what was seen ---


def of_leaf(seen: LeafSeen, place: Place, expected: int | None) -> Fault | None:
    """A sentence for a leaf that does not show what it should."""
    if seen.look == "not compared" and seen.says:
        says = f"{_what(place, expected)} could not be looked at: {seen.says}"
    elif seen.look == "differs" and seen.where:
        says = f"{_what(place, expected)} {_differs(expected)} {_spot(seen.where, place)}."
    else:
        return None
    return Fault(Leg.LOOK, place.position, expected, place.sheet, place.side, says, _uri(seen.picture))


def with_picture(fault: Fault, seen: LeafSeen) -> Fault:
    """A fault found by another leg, shown."""
    return evolve(fault, picture=_uri(seen.picture)) if seen.picture else fault


def _what(place: Place, expected: int | None) -> str:
    if expected is None:
        return f"Place {place.of_book + 1} of the book, which should be empty, on {where_from(place)},"
    return f"Page {expected} on {where_from(place)}"


def _differs(expected: int | None) -> str:
    if expected is None:
        return "is printed on"
    return "does not look like the manuscript's: something is painted over, lost, cut or changed"


def _spot(box: Box, place: Place) -> str:
    left, foot = box[0] - place.trim[0], box[1] - place.trim[1]
    return (
        f"within {box[2] - box[0]:.1f} x {box[3] - box[1]:.1f} mm, {left:.1f} mm from the left "
        f"and {foot:.1f} mm from the foot of the trimmed page"
    )


def _uri(picture: bytes | None) -> str | None:
    return "data:image/png;base64," + b64encode(picture).decode("ascii") if picture else None
