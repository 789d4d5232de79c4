# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures coded as JPEG 2000."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import count_in_words, placed, true_of
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen = [one for one in placed(facts) if one.seen_mm is not None]
    for index, told in true_of(seen, lambda image: "JPXDecode" in image.filters).items():
        yield on_page(
            facts,
            index,
            "jpeg-2000",
            Severity.NOTE,
            f"{count_in_words(told)} {'is' if len(told) == 1 else 'are'} coded as JPEG 2000; older plate-setters "
            "cannot read it.",
            "Ask the printer, or choose JPEG or ZIP for pictures when exporting.",
            place_mm=told[0].place_mm,
            count=len(told),
        )


CHECK = Check(
    id="jpeg-2000",
    title="JPEG 2000 pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures that are coded as JPEG 2000.",
    why="Where the plate-setter cannot read the coding, the picture stays white or the job stops.",
    remedy="Choose JPEG or ZIP for pictures when exporting.",
    source="ISO 32000-1, 7.4.9: from PDF 1.5 on; so not in PDF/X-1a and PDF/X-3, but in PDF/X-4 (from memory)",
    run=_run,
    limits={},
    severity=Severity.NOTE,
)
