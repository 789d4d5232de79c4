# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures that stand a little crooked, on their head, or leaning."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, Placed, placed
from foldproof.preflight.words import counted, on_page

#: smaller ones have no upright
_LEAST_PIXELS = 16
_REMEDY = {
    "crooked": "Look whether it is meant, as for a scan set straight. If not, set its angle to 0 in the layout.",
    "head": "Look whether it is meant. If not, turn it in the layout program.",
    "skewed": "Look whether it is meant. If not, take the slant off in the layout program.",
}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_side_mm")
    least, most = limits.number("least_degrees"), limits.number("most_degrees")
    found: dict[tuple[int, str], list[Placed]] = defaultdict(list)
    for one in placed(facts):
        use = one.use
        if one.seen_mm is None or one.is_small(least_mm) or min(use.width_px, use.height_px) < _LEAST_PIXELS:
            continue
        if use.skewed:
            found[one.index, "skewed"].append(one)
        elif least <= abs(_off_upright(use.turned)) <= most:
            found[one.index, "crooked"].append(one)
        elif not use.mirrored and abs(use.turned - 180) < least:
            found[one.index, "head"].append(one)
    for (index, cause), several in found.items():
        worst = max(several, key=lambda one: abs(_off_upright(one.use.turned))) if cause == "crooked" else several[0]
        degrees = abs(_off_upright(worst.use.turned))
        which = "a picture" if len(several) == 1 else counted(len(several), "picture")
        is_are, stands = ("is", "stands") if len(several) == 1 else ("are", "stand")
        says = {
            "crooked": f"{which} {is_are} turned by {'' if len(several) == 1 else 'up to '}{degrees:.1f} degrees.",
            "head": f"{which} {stands} upside down.",
            "skewed": f"{which} {is_are} slanted: the sides meet at other than right angles.",
        }[cause]
        yield on_page(
            facts,
            index,
            f"picture-turned/{cause}",
            Severity.NOTE,
            says,
            _REMEDY[cause],
            place_mm=worst.use.place_mm,
            measured=degrees if cause == "crooked" else None,
            limit=least if cause == "crooked" else None,
            unit="degrees" if cause == "crooked" else "",
            count=len(several),
        )


def _off_upright(turned: float) -> float:
    """Degrees from the nearest quarter turn, -45 to 45."""
    return (turned + 45) % 90 - 45


CHECK = Check(
    id="picture-turned",
    title="Crooked pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures that are off the upright by a few degrees, stand upside down, or are slanted. Those turned by a "
    "quarter, or so far that it must be meant, are left out.",
    why="A slip of the hand in the layout program shows on paper beside straight type.",
    remedy="Set the angle to 0, or have the author agree.",
    source="common practice, no source",
    run=_run,
    limits={"least_degrees": 0.2, "most_degrees": 5, "least_side_mm": LEAST_SIDE_MM},
    limit_sources={
        "least_degrees": "less is not seen; common practice, no source",
        "most_degrees": "more is meant; common practice, no source",
        "least_side_mm": LEAST_SIDE_SOURCE,
    },
    severity=Severity.NOTE,
)
