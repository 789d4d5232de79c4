# SPDX-License-Identifier: AGPL-3.0-or-later
"""Tints so light that no dot holds on the plate."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.preflight.inks import plates, said
from foldproof.preflight.matter import painted_matter, painted_type, without_gradations
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least = limits.number("least_percent") / 100
    found: dict[int, tuple[dict[str, float], Rect | None, bool]] = {}
    for seen, paints in painted_matter(facts):
        for paint in without_gradations(paints):
            if paint.alpha == 1:
                _offer(found, seen.index, paint.space, paint.values, paint.first_mm, least, False)
    for seen, texts in painted_type(facts):
        for use in texts:
            if use.alpha == 1:
                _offer(found, seen.index, use.space, use.values, use.first_mm, least, True)
    for index, (amounts, place, is_type) in sorted(found.items()):
        most = max(amounts.values())
        yield on_page(
            facts,
            index,
            "light-tints",
            Severity.QUERY,
            f"{'type in' if is_type else ''} a tint of {said(amounts)} is too light to hold on the plate; it may print "
            "as bare paper.".strip(),
            f"Make the tint {least * 100:g} % at least, better 5 %, or take it away.",
            place_mm=place,
            measured=most * 100,
            limit=least * 100,
            unit="%",
        )


def _offer(
    found: dict[int, tuple[dict[str, float], Rect | None, bool]],
    index: int,
    space: str,
    values: tuple[float, ...],
    place: Rect | None,
    least: float,
    is_type: bool,
) -> None:
    """Keep the lightest tint of a page.  A light ink beside a stronger one only shades the colour; it is left alone."""
    amounts = {name: amount for name, amount in (plates(space, values) or {}).items() if amount > 0}
    if not amounts or max(amounts.values()) >= least:
        return
    if index not in found or max(amounts.values()) < max(found[index][0].values()):
        found[index] = (amounts, place, is_type)


CHECK = Check(
    id="light-tints",
    title="Tints too light",
    needs=frozenset({Needs.OBJECTS}),
    measures="Areas, rules and type in which no ink reaches a least tone value. Transparent matter is left out: what "
    "it comes to hangs on the ground; and so are the steps of a gradation, six tints and more of the same inks.",
    why="Dots that small are lost on the plate or on the way to the paper: the tint is there in one copy and not in "
    "the next, or ends in a hard edge.",
    remedy="Take a stronger tint.",
    source="ISO 12647-2: tone values from 3 to 97 % print evenly; from memory",
    run=_run,
    limits={"least_percent": 3},
    limit_sources={"least_percent": "ISO 12647-2, tone values from 3 % up print evenly; from memory"},
    severity=Severity.QUERY,
)
