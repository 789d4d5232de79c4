# SPDX-License-Identifier: AGPL-3.0-or-later
"""1-bit pictures coded as JBIG2, and those in which one shape may stand for another."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import Told, count_in_words, placed, true_of
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen = [one for one in placed(facts) if one.seen_mm is not None]
    shapes = true_of(seen, lambda image: image.coding == "symbols")
    for index, told in shapes.items():
        yield _finding(
            facts,
            index,
            told,
            "symbols",
            Severity.QUERY,
            "as JBIG2 with shapes that are kept once and used again; a scanner's program may have put one figure or "
            "letter in place of another that looks like it.",
            "Compare figures in tables with the original, or scan again without loss (CCITT group 4).",
        )
    others = true_of(seen, lambda image: "JBIG2Decode" in image.filters and image.coding != "symbols")
    for index, told in others.items():
        yield _finding(
            facts,
            index,
            told,
            "areas",
            Severity.NOTE,
            "as JBIG2; older plate-setters cannot read it.",
            "Ask the printer, or choose CCITT group 4 for 1-bit pictures when exporting.",
        )


def _finding(
    facts: Facts, index: int, told: list[Told], cause: str, severity: Severity, says: str, remedy: str
) -> Finding:
    return on_page(
        facts,
        index,
        f"jbig2/{cause}",
        severity,
        f"{count_in_words(told, '1-bit picture')} {'is' if len(told) == 1 else 'are'} coded {says}",
        remedy,
        place_mm=told[0].place_mm,
        count=len(told),
    )


CHECK = Check(
    id="jbig2",
    title="JBIG2 pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures of 1 bit that are coded as JBIG2, and whether they are put together from shapes of a "
    "dictionary. Whether anything was lost in that cannot be seen from the file.",
    why="A coder that takes shapes for the same when they only look alike changes figures and letters, sharply and "
    "without a trace.",
    remedy="Scan line work without loss, and code it as CCITT group 4.",
    source="ISO/IEC 14492 (Recommendation ITU-T T.88): symbol dictionaries and text regions; PDF/X-1a and PDF/X-3 do "
    "not take it (from memory)",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
