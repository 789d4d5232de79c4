# SPDX-License-Identifier: AGPL-3.0-or-later
"""Damage that was mended while the file was opened."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book

_SHOWN = 3


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    warnings = facts.manuscript.reader_warnings
    if warnings:
        first = "; ".join(" ".join(warning.split()).rstrip(".") for warning in warnings[:_SHOWN])
        more = f"; and {len(warnings) - _SHOWN} more" if len(warnings) > _SHOWN else ""
        rebuilt = facts.manuscript.facts.xref == "rebuilt"
        damage = (
            "The file is not sound: the list of its parts is damaged, and they had to be searched for; what was not "
            "found is missing, or stands in an older state. "
            if rebuilt
            else "The file is not sound. "
        )
        yield in_book(
            "reader-mends/rebuilt" if rebuilt else "reader-mends",
            Severity.QUERY,
            f"{damage}Reading it called for {counted(len(warnings), 'remark')}: {first}{more}.",
            "Export the file again, and compare what was read with the layout, page by page, if that is not possible.",
            measured=len(warnings),
            limit=0,
        )


CHECK = Check(
    id="reader-mends",
    title="Damage mended on reading",
    needs=frozenset({Needs.STRUCTURE}),
    measures="What the PDF library put right, silently, while it opened the file; above all whether it had to rebuild "
    "the cross-reference table, the list of where everything stands in the file.",
    why="Another program may mend the same damage otherwise, and print another book.",
    remedy="Export the file again.",
    source="ISO 32000-1, 7.5 (file structure); that mending is asked about: common practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
