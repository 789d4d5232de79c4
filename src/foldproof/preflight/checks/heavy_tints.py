# SPDX-License-Identifier: AGPL-3.0-or-later
"""Tints so heavy that they close up to a solid."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.preflight.inks import PROCESS, plates
from foldproof.preflight.matter import painted_matter, painted_type, without_gradations
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page

#: numbers rounded on their way through programs: 0.996 is 254 of 255
_SOLID = 0.9955


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    most = limits.number("most_percent") / 100
    found: dict[int, dict[str, tuple[str, float, Rect | None]]] = {}
    for seen, texts in painted_type(facts):
        for use in texts:
            if use.alpha == 1:
                _offer(found, seen.index, "type", use.space, use.values, use.first_mm, most)
    for seen, paints in painted_matter(facts):
        for paint in without_gradations(paints):
            if paint.alpha == 1:
                _offer(found, seen.index, "matter", paint.space, paint.values, paint.first_mm, most)
    for index, kinds in sorted(found.items()):
        what = "type" if "type" in kinds else "matter"
        ink, amount, place = kinds[what]
        called = ink.lower() if ink in PROCESS else ink
        yield on_page(
            facts,
            index,
            f"heavy-tints/{what}",
            Severity.NOTE,
            f"{'type is' if what == 'type' else 'a tint is'} set in {amount * 100:.3g} % {called}, a tint that closes "
            "up to a solid here and there.",
            f"Make it solid (100 %), or lighter than {most * 100:g} % if it is meant to differ from a solid.",
            place_mm=place,
            measured=amount * 100,
            limit=most * 100,
            unit="%",
        )


def _offer(
    found: dict[int, dict[str, tuple[str, float, Rect | None]]],
    index: int,
    what: str,
    space: str,
    values: tuple[float, ...],
    place: Rect | None,
    most: float,
) -> None:
    for ink, amount in (plates(space, values) or {}).items():
        if most < amount < _SOLID:
            found.setdefault(index, {}).setdefault(what, (ink, amount, place))


CHECK = Check(
    id="heavy-tints",
    title="Tints nearly solid",
    needs=frozenset({Needs.OBJECTS}),
    measures="Areas, rules and type with an ink above a tone value that is not quite solid, most often a black of "
    "98 %. The steps of a gradation, six tints and more of the same inks, are left out.",
    why="The holes in such a tint are too small to stay open: it prints as a solid with specks, and the edges of type "
    "are broken up for nothing.",
    remedy="Take the solid.",
    source="ISO 12647-2: tone values from 3 to 97 % print evenly; from memory",
    run=_run,
    limits={"most_percent": 97},
    limit_sources={"most_percent": "ISO 12647-2, tone values up to 97 % print evenly; from memory"},
    severity=Severity.NOTE,
)
