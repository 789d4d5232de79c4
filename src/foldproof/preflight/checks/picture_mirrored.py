# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures that are placed as in a mirror."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, Placed, placed
from foldproof.preflight.words import counted, on_page

#: smaller ones have no left and right
_LEAST_PIXELS = 16


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_side_mm")
    seen = [
        one
        for one in placed(facts)
        if one.seen_mm is not None
        and not one.is_small(least_mm)
        and min(one.use.width_px, one.use.height_px) >= _LEAST_PIXELS
    ]
    mirrored = [one for one in seen if one.use.mirrored]
    # some programs store all pictures from the foot up and turn them over when placing them: nothing is mirrored then
    if len(mirrored) > 2 and 2 * len(mirrored) > len(seen):
        mirrored = [one for one in mirrored if not _stands_on_its_head(one)]
    found: dict[tuple[int, str], list[Placed]] = defaultdict(list)
    for one in mirrored:
        found[one.index, "upside-down" if _stands_on_its_head(one) else "sides"].append(one)
    for (index, cause), several in found.items():
        which = "a picture is" if len(several) == 1 else f"{counted(len(several), 'picture')} are"
        how = "top to bottom" if cause == "upside-down" else "left to right"
        yield on_page(
            facts,
            index,
            f"picture-mirrored/{cause}",
            Severity.NOTE,
            f"{which} mirrored {how}.",
            "Look whether it is meant: lettering and hands tell. If not, undo the mirroring in the layout program.",
            place_mm=several[0].use.place_mm,
            count=len(several),
        )


def _stands_on_its_head(one: Placed) -> bool:
    """Mirrored from top to bottom: what is up in the picture points down on paper."""
    return 90 < one.use.turned < 270


CHECK = Check(
    id="picture-mirrored",
    title="Mirrored pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures that the page places as in a mirror. Where most pictures of a book are placed top to bottom, "
    "the program stores them so, and it says nothing.",
    why="Lettering reads backwards, coats button on the wrong side, places cannot be recognised.",
    remedy="Undo the mirroring in the layout program, or have the author agree.",
    source="common practice, no source",
    run=_run,
    limits={"least_side_mm": LEAST_SIDE_MM},
    limit_sources={"least_side_mm": LEAST_SIDE_SOURCE},
    severity=Severity.NOTE,
)
