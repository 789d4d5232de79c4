# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures of 16 bits a colour."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import Placed, placed
from foldproof.preflight.words import counted, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    found: dict[int, list[Placed]] = defaultdict(list)
    for one in placed(facts):
        # of JPEG 2000 the object pass sees 8 bits; there the file's own word counts, if all that fit say the same
        deep = one.images and all(image.bits > 8 for image in one.images)
        if (one.use.bits > 8 or deep) and one.seen_mm is not None:
            found[one.index].append(one)
    for index, several in found.items():
        bits = max([several[0].use.bits, *(image.bits for image in several[0].images)])
        which = "a picture has" if len(several) == 1 else f"{counted(len(several), 'picture')} have"
        yield on_page(
            facts,
            index,
            "picture-depth",
            Severity.NOTE,
            f"{which} {bits} bits a colour; plates are made from 8.",
            "Export pictures with 8 bits a colour. They look the same and weigh half.",
            place_mm=several[0].use.place_mm,
            measured=float(bits),
            limit=8.0,
            unit="bits",
            count=len(several),
        )


CHECK = Check(
    id="picture-depth",
    title="16-bit pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Bits that a picture has for each colour of a pixel, where they are more than 8.",
    why="A screen on the plate tells at most 256 steps apart; the rest is weight, and machines made before PDF 1.5 "
    "refuse such pictures.",
    remedy="Turn pictures to 8 bits a colour when exporting.",
    source="ISO 32000-1, table 89: 16 bits a component from PDF 1.5 on; ISO 15930-4 and -6 stay below it (from memory)",
    run=_run,
    limits={},
    severity=Severity.NOTE,
)
