# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether inner and outer margins stay on their sides from page to page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from foldproof.manuscript.seen import TypeArea
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.type_block import SAME_MM, agreed, areas
from foldproof.preflight.words import numbers, on_page
from foldproof.units import format_mm

#: fewer pages are no book whose margins could be told
_LEAST_PAGES = 16
#: so many pages with their margins exchanged are a part of the book, fewer are single pages
_PART_PAGES = 4
#: the two places of the block must take in this part of the pages
_TOLD_PART = 0.8


@frozen
class _Stretch:
    """Pages one after another whose margins stand on the same side."""

    as_rectos: bool  #: even indices stand at the first of the two places
    indices: tuple[int, ...]


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    pages = areas(facts)
    places = _places(pages)
    if places is None or abs(places[0] - places[1]) < limits.number("least_mm"):
        return
    stretches = _stretches(pages, places)
    usual = _usual(stretches)
    differ = format_mm(round(abs(places[0] - places[1]), 1))
    now = usual
    for stretch in stretches:
        if len(stretch.indices) >= _PART_PAGES:
            if stretch.as_rectos is not now:
                yield on_page(
                    facts, stretch.indices[0], "gutter-side/from-here", Severity.QUERY,
                    f"from here to page {stretch.indices[-1] + 1} inner and outer margin are exchanged; they differ by "
                    f"{differ}." if stretch.as_rectos is not usual else
                    "from here on inner and outer margin are back on the sides where they were at first.",
                    "See whether a blank page is missing or one too many stands before it.",
                    measured=stretch.indices[0] + 1, unit="page",
                )  # fmt: skip
            now = stretch.as_rectos
        elif stretch.as_rectos is not now:
            for index in stretch.indices:
                yield on_page(
                    facts, index, "gutter-side/page", Severity.QUERY,
                    f"inner and outer margin are exchanged, against {numbers(_around(pages, index))}; they differ by "
                    f"{differ}.",
                    "Give the page the master of its own side.",
                    measured=differ.removesuffix(" mm"), unit="mm",
                )  # fmt: skip


def _places(pages: Sequence[tuple[int, TypeArea]]) -> tuple[float, float] | None:
    """The two places of the left edge of blocks of the usual measure, or ``None`` where there is one or no order."""
    measure = agreed([area.right_mm - area.left_mm for _, area in pages])
    if measure is None or len(pages) < _LEAST_PAGES:
        return None
    lefts = [area.left_mm for _, area in pages if abs(area.right_mm - area.left_mm - measure) <= SAME_MM]
    first = agreed(lefts, 0.25)
    rest = [left for left in lefts if first is None or abs(left - first) > SAME_MM]
    second = agreed(rest, 0.6)
    if first is None or second is None:
        return None
    told = sum(min(abs(left - first), abs(left - second)) <= SAME_MM for left in lefts)
    return (first, second) if told >= _TOLD_PART * len(lefts) and len(rest) >= 0.2 * len(lefts) else None


def _stretches(pages: Sequence[tuple[int, TypeArea]], places: tuple[float, float]) -> list[_Stretch]:
    stretches: list[_Stretch] = []
    for index, area in pages:
        near = [abs(area.left_mm - place) <= SAME_MM for place in places]
        if near[0] is near[1]:
            continue
        as_rectos = near[0] is (index % 2 == 0)
        if stretches and stretches[-1].as_rectos is as_rectos:
            stretches[-1] = _Stretch(as_rectos, (*stretches[-1].indices, index))
        else:
            stretches.append(_Stretch(as_rectos, (index,)))
    return stretches


def _usual(stretches: Sequence[_Stretch]) -> bool:
    """How the margins stand at the beginning: by the first stretch that is more than single pages."""
    return next((s.as_rectos for s in stretches if len(s.indices) >= _PART_PAGES), stretches[0].as_rectos)


def _around(pages: Sequence[tuple[int, TypeArea]], index: int) -> list[int]:
    """The pages of the same side just before and after."""
    before = [other for other, _ in pages if other < index and other % 2 == index % 2]
    after = [other for other, _ in pages if other > index and other % 2 == index % 2]
    return before[-1:] + after[:1]


CHECK = Check(
    id="gutter-side",
    title="Gutter on its side",
    needs=frozenset({Needs.OBJECTS}),
    measures="On which side of each page the inner margin stands, in books whose margins change sides.",
    why="From a missing blank on, every page stands on the wrong side of its leaf: the wide margins come out outside "
    "and the narrow ones in the gutter.",
    remedy="Put the missing blank in, or take out the page too many.",
    source="common practice, no source",
    run=_run,
    limits={"least_mm": 1.5},
    limit_sources={"least_mm": "margins that differ by less are hardly meant to; no source"},
    severity=Severity.QUERY,
)
