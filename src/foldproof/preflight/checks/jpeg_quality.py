# SPDX-License-Identifier: AGPL-3.0-or-later
"""JPEG pictures that were pressed so hard that it shows."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.file_facts import ImageFact
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, Told, placed, true_of
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    note, query = limits.number("note_quality"), limits.number("query_quality")
    least_mm, fine = limits.number("least_side_mm"), limits.number("fine_ppi")
    low = max(note, query)
    seen = [one for one in placed(facts) if one.seen_mm is not None and not one.is_small(least_mm) and one.ppi < fine]

    def pressed(image: ImageFact) -> bool:
        return image.jpeg_quality is not None and image.jpeg_quality < low

    for index, told in true_of(seen, pressed).items():
        worst = min(told, key=_quality)
        quality = _quality(worst)
        which = f"one of {worst.among} pictures" if worst.among > 1 else "a picture"
        if len(told) > 1:
            which = f"the worst of {len(told)} pictures"
        yield on_page(
            facts,
            index,
            "jpeg-quality",
            Severity.QUERY if quality < query else Severity.NOTE,
            f"{which} was saved as JPEG of quality {quality} of 100 ({worst.placed.size}); blocks and fringes "
            f"{'show' if quality < query else 'may show'} in print.",
            "Place the picture as it came from the camera or scanner, and export with a higher quality. Saving it "
            "again with a higher one does not help.",
            place_mm=worst.place_mm,
            measured=float(quality),
            limit=query if quality < query else note,
            unit="of 100",
            count=len(told),
        )


def _quality(told: Told) -> int:
    return told.image.jpeg_quality or 0


CHECK = Check(
    id="jpeg-quality",
    title="Hard-pressed JPEG pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="How coarsely the tones of a JPEG were rounded when it was last saved, from the table in its head, as the "
    "quality (1 to 100) for which the common JPEG library writes such a table. An earlier saving is not seen.",
    why="Below some quality skin and sky fall into blocks of 8 by 8 pixels, and edges get fringes.",
    remedy="Go back to the original picture and export it with a higher quality.",
    source="ISO/IEC 10918-1 (Recommendation ITU-T T.81), annex K: the table; the scale is the Independent JPEG Group's",
    run=_run,
    limits={"note_quality": 50, "query_quality": 25, "fine_ppi": 450, "least_side_mm": LEAST_SIDE_MM},
    limit_sources={
        "note_quality": "manual of the Independent JPEG Group's programs: 50 to 95 is usually useful; from memory",
        "query_quality": "the same: about 25 is the lowest that is of any use; from memory",
        "fine_ppi": "where pixels are finer, a block is smaller than half a millimetre; common practice, no source",
        "least_side_mm": LEAST_SIDE_SOURCE,
    },
    severity=Severity.QUERY,
)
