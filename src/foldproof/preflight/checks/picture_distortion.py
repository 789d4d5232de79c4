# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures that are stretched: more pixels an inch one way than the other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from foldproof.manuscript.model import PictureKind
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, Placed, placed
from foldproof.preflight.words import on_page

#: smaller ones are tints, rules and gradients, which are stretched by right
_LEAST_PIXELS = 32
#: Recommendation ITU-T T.4: a telefax has 204 dots an inch across, 98 or 196 (or 391) down; the latter is no stretch
_FAX = (204 / 98, 391 / 204)


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    note, query = limits.number("note_percent"), limits.number("query_percent")
    least_mm = limits.number("least_side_mm")
    found: dict[int, list[tuple[float, Placed]]] = defaultdict(list)
    for one in placed(facts):
        percent = _stretched_percent(one)
        if percent > min(note, query) and one.seen_mm is not None and not one.is_small(least_mm) and _has_shape(one):
            found[one.index].append((percent, one))
    for index, several in found.items():
        percent, worst = max(several, key=lambda one: one[0])
        which = f"the worst of {len(several)} pictures" if len(several) > 1 else "a picture"
        way = "in width" if worst.use.ppi_x < worst.use.ppi_y else "in height"
        yield on_page(
            facts,
            index,
            "picture-distortion",
            Severity.QUERY if percent > query else Severity.NOTE,
            f"{which} is stretched by {percent:.0f} % {way} ({worst.use.ppi_x:.0f} ppi across and "
            f"{worst.use.ppi_y:.0f} ppi down; {worst.size}).",
            "Look whether it is meant. If not, set the scale of the picture to the same figure in width and height.",
            place_mm=worst.use.place_mm,
            measured=percent,
            limit=query if percent > query else note,
            unit="%",
            count=len(several),
        )


def _stretched_percent(one: Placed) -> float:
    low, high = sorted((one.use.ppi_x, one.use.ppi_y))
    return (high / low - 1) * 100 if low > 0 else 0.0


def _has_shape(one: Placed) -> bool:
    """Whether there is anything in it that could look stretched; a telefax has pixels of that shape."""
    use = one.use
    if min(use.width_px, use.height_px) < _LEAST_PIXELS:
        return False
    if use.kind is PictureKind.CONTONE or use.ppi_y <= 0:
        return True
    # down to across for the coarse one, across to down for the finest
    return not any(abs(use.ppi_x / use.ppi_y / shape - 1) < 0.03 for shape in (_FAX[0], 1 / _FAX[1]))


CHECK = Check(
    id="picture-distortion",
    title="Stretched pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="How much the pixels of a picture are longer one way than the other at its placed size. Rules, tints and "
    "gradients made of a few pixels are left out, and 1-bit pictures with the dots of a telefax.",
    why="Circles become ovals and faces broad; in a chart it may be meant.",
    remedy="Set the same scale in width and height, or crop the picture to the frame.",
    source="common practice, no source",
    run=_run,
    limits={"note_percent": 5, "query_percent": 20, "least_side_mm": LEAST_SIDE_MM},
    limit_sources={
        "note_percent": "less is hardly seen; common practice, no source",
        "query_percent": "so much is seen in any picture of people or things; common practice, no source",
        "least_side_mm": LEAST_SIDE_SOURCE,
    },
    severity=Severity.QUERY,
)
