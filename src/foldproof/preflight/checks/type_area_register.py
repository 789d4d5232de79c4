# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the text blocks of rectos and versos stand back to back."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import spine_edge
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.type_block import SAME_MM, Block, sides
from foldproof.preflight.words import in_book
from foldproof.units import format_mm


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    known = sides(facts)
    if known is None:
        return
    _, recto, verso = known
    width = facts.trim_mm[0]
    query_mm, note_mm = limits.number("query_mm"), limits.number("note_mm")
    inner_recto, inner_verso = _inner_mm(facts, recto, 0, width), _inner_mm(facts, verso, 1, width)
    aside = abs(inner_recto - inner_verso)
    if aside >= note_mm:
        one_sided = abs(recto.left_mm - verso.left_mm) <= SAME_MM
        says = (
            f"Rectos and versos have the same margins, {_margin(recto.left_mm)} at the left and "
            f"{_margin(width - recto.right_mm)} at the right, so the text of the two sides of a leaf"
            if one_sided
            else f"The inner margin is {_margin(inner_recto)} on rectos and {_margin(inner_verso)} on versos, so their "
            "text"
        )
        yield in_book(
            "type-area-register/one-sided" if one_sided else "type-area-register/across",
            Severity.QUERY if aside >= query_mm else Severity.NOTE,
            f"{says} does not back up: it is {_margin(aside)} off.",
            "Set the document up with facing pages, so that inner and outer margins change sides.",
            measured=aside,
            limit=note_mm,
            unit="mm",
        )
    pairs = (("head", recto.head_mm, verso.head_mm), ("foot", recto.foot_mm, verso.foot_mm))
    off = [(name, abs(one - other)) for name, one, other in pairs if one is not None and other is not None]
    worst = max(off, key=lambda pair: pair[1], default=("", 0.0))
    if worst[1] >= note_mm:
        yield in_book(
            "type-area-register/height",
            Severity.QUERY if worst[1] >= query_mm else Severity.NOTE,
            f"The {worst[0]} of the text block stands {_margin(worst[1])} higher on "
            f"{'rectos' if _higher(worst[0], recto, verso) else 'versos'} than on the other side of the leaf.",
            "Give both masters the same margins at head and foot.",
            measured=worst[1],
            limit=note_mm,
            unit="mm",
        )


def _inner_mm(facts: Facts, block: Block, index: int, width: float) -> float:
    return block.left_mm if spine_edge(facts, index) == "left" else width - block.right_mm


def _higher(name: str, recto: Block, verso: Block) -> bool:
    one, other = (recto.head_mm, verso.head_mm) if name == "head" else (recto.foot_mm, verso.foot_mm)
    return (one or 0.0) > (other or 0.0)


def _margin(length_mm: float) -> str:
    return format_mm(round(length_mm, 1))


CHECK = Check(
    id="type-area-register",
    title="Text back to back",
    needs=frozenset({Needs.OBJECTS}),
    measures="Where the text block stands on most rectos and on most versos, measured from the spine and from the "
    "foot. Books whose lines keep to no edge are not judged.",
    why="Lines of the other side show through: where the blocks do not cover one another the margins look grey and "
    "facing pages uneven.",
    remedy="Use facing pages with margins that change sides.",
    source="common practice, no source: pages back up within the register of the press",
    run=_run,
    limits={"query_mm": 1.5, "note_mm": 0.7},
    limit_sources={
        "query_mm": "the general tolerance of cutting, 1.5 mm on a printer's data sheet: more is seen in any copy",
        "note_mm": "the edges of a block are measured to about 0.4 mm; common practice, no source",
    },
    severity=Severity.QUERY,
)
