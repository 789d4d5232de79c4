# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages whose text block has slipped from its place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from statistics import median

from foldproof.manuscript.seen import TypeArea
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.type_block import SAME_MM, Block, agreed, areas, sides
from foldproof.preflight.words import in_book, on_page
from foldproof.units import format_mm

#: a page is judged when it has so many lines, and this part of them keep to both edges
_LINES, _PART = 10, 0.4
#: parts of the book whose places are compared, and pages that each must have
_PARTS, _PART_PAGES = 5, 6

_REMEDY = "Put the page back on its master; a page from another program is best exported afresh at the same place."


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_mm")
    slow = list(_slowly(areas(facts), least_mm))
    known = sides(facts)
    if slow or known is None:
        yield from slow
        return
    pages, recto, verso = known
    for index, area in pages:
        if area.lines < _LINES or area.lines < _PART * area.of:
            continue
        own, other = (recto, verso) if index % 2 == 0 else (verso, recto)
        yield from _aside(facts, index, area, own, other, least_mm)
        yield from _up_or_down(facts, index, area, own, least_mm)


def _aside(facts: Facts, index: int, area: TypeArea, own: Block, other: Block, least_mm: float) -> Iterator[Finding]:
    off, alike = area.left_mm - own.left_mm, abs((area.right_mm - area.left_mm) - own.measure_mm) <= SAME_MM
    # a block that stands as on the other side of the leaf is told by gutter-side
    if alike and abs(off) >= least_mm and abs(area.left_mm - other.left_mm) > SAME_MM:
        yield on_page(
            facts, index, "type-area-drift/aside", Severity.QUERY,
            f"the text block stands {format_mm(round(abs(off), 1))} farther {'right' if off > 0 else 'left'} than on "
            f"other {'rectos' if index % 2 == 0 else 'versos'}.",
            _REMEDY, measured=abs(off), limit=least_mm, unit="mm",
        )  # fmt: skip


def _up_or_down(facts: Facts, index: int, area: TypeArea, own: Block, least_mm: float) -> Iterator[Finding]:
    if own.head_mm is None or own.foot_mm is None:
        return
    head, foot = area.head_mm - own.head_mm, area.foot_mm - own.foot_mm
    # a page may begin lower or end higher by intent; a block moved as a whole does both alike
    if abs(head - foot) <= SAME_MM / 2 and abs(head) >= least_mm:
        yield on_page(
            facts, index, "type-area-drift/height", Severity.QUERY,
            f"the text block stands {format_mm(round(abs(head), 1))} {'higher' if head > 0 else 'lower'} than on "
            "other pages.",
            _REMEDY, measured=abs(head), limit=least_mm, unit="mm",
        )  # fmt: skip


def _slowly(pages: Sequence[tuple[int, TypeArea]], least_mm: float) -> Iterator[Finding]:
    """A drift from the first pages to the last, by the middle places of the parts of the book."""
    measure = agreed([area.right_mm - area.left_mm for _, area in pages])
    if measure is None:
        return
    whole = [(index, area) for index, area in pages if abs(area.right_mm - area.left_mm - measure) <= SAME_MM]
    drifts = []
    for side in (0, 1):
        lefts = [area.left_mm for index, area in whole if index % 2 == side]
        size = len(lefts) // _PARTS
        if size < _PART_PAGES:
            return
        middles = [median(lefts[part * size : (part + 1) * size]) for part in range(_PARTS)]
        steps = [after - before for before, after in pairwise(middles)]
        drift = middles[-1] - middles[0]
        # a drift goes on from part to part; a step is another thing
        steady = all(step * drift > 0 for step in steps) and max(map(abs, steps)) <= 0.6 * abs(drift)
        drifts.append(drift if steady and abs(drift) >= least_mm else 0.0)
    if drifts[0] * drifts[1] > 0:
        drift = min(drifts, key=abs)
        yield in_book(
            "type-area-drift/slow",
            Severity.QUERY,
            f"From the first pages to the last the text block drifts by {format_mm(round(abs(drift), 1))} to the "
            f"{'right' if drift > 0 else 'left'}.",
            "See how the pages were placed or scanned, and set them on one master.",
            measured=abs(drift),
            limit=least_mm,
            unit="mm",
        )


CHECK = Check(
    id="type-area-drift",
    title="Type area moved",
    needs=frozenset({Needs.OBJECTS}),
    measures="The place of each page's text block against that of most pages of its side, where it has the usual "
    "measure; and whether that place creeps from the first pages to the last.",
    why="Text that jumps from leaf to leaf is seen when the book is thumbed through, and looks like bad folding.",
    remedy="Set all pages on the same masters.",
    source="common practice, no source",
    run=_run,
    limits={"least_mm": 0.8},
    limit_sources={"least_mm": "about twice what the edges of a block are measured to, and as much as folding is off"},
    severity=Severity.QUERY,
)
