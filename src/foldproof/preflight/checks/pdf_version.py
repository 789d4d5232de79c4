# SPDX-License-Identifier: AGPL-3.0-or-later
"""The version of the format."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    version, newest = facts.manuscript.pdf_version, limits.text("newest")
    if _in_order(version) > _in_order(newest):
        yield in_book(
            "pdf-version",
            Severity.NOTE,
            f"The file is of PDF version {version}; {newest} is the newest that is asked for here.",
            f"Export as PDF {newest} or older, or ask the print shop whether it takes {version}.",
            measured=version,
            limit=newest,
        )


def _in_order(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split(".") if part.isdecimal())


CHECK = Check(
    id="pdf-version",
    title="PDF version",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The version that the file's first line or its catalog states, the later of the two.",
    why="A plate-setter older than the version may read over what it does not know.",
    remedy="Export for an older version.",
    source="ISO 32000-1, 7.5.2 (PDF 1.7) and ISO 32000-2 (PDF 2.0); which is the newest to take: common practice, no "
    "source",
    run=_run,
    limits={"newest": "1.7"},
    limit_sources={
        "newest": "ISO 32000-1; plate-setters for PDF 2.0 are not everywhere yet: common practice, no source"
    },
    choices={"newest": ("1.3", "1.4", "1.5", "1.6", "1.7", "2.0")},
    severity=Severity.NOTE,
)
