# SPDX-License-Identifier: AGPL-3.0-or-later
"""Large pictures that stand in the page's own stream instead of an object of their own."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

from foldproof.manuscript.model import PictureUse
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import Placed, placed, weight
from foldproof.preflight.words import counted, on_page

_CHANNELS = {"DeviceRGB": 3, "CalRGB": 3, "Lab": 3, "DeviceCMYK": 4}
_ICC = re.compile(r"^ICCBased\((\d+)\)$")


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    most = limits.number("most_kb") * 1024
    found: dict[int, list[tuple[int, Placed]]] = defaultdict(list)
    for one in placed(facts):
        if one.use.inline and one.seen_mm is not None and (size := _bytes(one.use)) > most:
            found[one.index].append((size, one))
    for index, several in found.items():
        size, largest = max(several, key=lambda one: one[0])
        which = f"a picture of {weight(size)} stands"
        if len(several) > 1:
            which = f"{counted(len(several), 'picture')}, the largest of {weight(size)}, stand"
        yield on_page(
            facts,
            index,
            "inline-pictures",
            Severity.NOTE,
            f"{which} in the text of the page instead of in an object of the file.",
            "Nothing has to be done, unless the plate-setter stumbles: then export with another program or setting.",
            place_mm=largest.use.place_mm,
            measured=round(size / 1024, 1),
            limit=limits.number("most_kb"),
            unit="KB",
            count=len(several),
        )


def _bytes(use: PictureUse) -> int:
    """Unpacked: rows are filled up to whole bytes (ISO 32000-1, 8.9.5.2)."""
    profile = _ICC.match(use.space)
    channels = int(profile[1]) if profile else _CHANNELS.get(use.space, 1)
    return (use.width_px * channels * use.bits + 7) // 8 * use.height_px


CHECK = Check(
    id="inline-pictures",
    title="Large inline pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures that stand in the stream of the page itself, and their size unpacked.",
    why="Such pictures are meant for ornaments. Programs that reduce, convert or exchange pictures pass large ones by, "
    "and some stumble over them.",
    remedy="Export the page afresh; layout programs write pictures as objects.",
    source="ISO 32000-1, 8.9.7: inline pictures for small ones only, 4 KB or less (from memory)",
    run=_run,
    limits={"most_kb": 4},
    limit_sources={"most_kb": "ISO 32000-1, 8.9.7; from memory"},
    severity=Severity.NOTE,
)
