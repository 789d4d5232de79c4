# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the pages fill their sections."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    count = len(facts.manuscript.pages) + facts.job.book.blanks_front
    multiple = facts.section_multiple
    blanks = facts.job.book.blanks_front
    front = f" ({blanks} blank ones in front included)," if blanks else ","
    if over := count % multiple:
        missing = multiple - over
        odd = " The count is odd: the back of the last leaf is blank." if count % 2 else ""
        yield in_book(
            "page-count/multiple",
            Severity.NOTE,
            f"The book has {counted(count, 'page')}{front} which is no multiple of {multiple}: "
            f"at least {counted(missing, 'blank page')} will be added at the end.{odd}",
            "Nothing to do if that is welcome; otherwise give the book "
            f"{counted(over, 'page')} less or {missing} more.",
            measured=count,
            limit=multiple,
            unit="pages",
        )


CHECK = Check(
    id="page-count",
    title="Page count",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The number of pages, with blanks in front, against the least section multiple of the make-up.",
    why="Paper is folded: pages come in fours at least, and what is missing comes out blank.",
    remedy="Use the blanks, or add or drop pages.",
    source="every leaf of a folded sheet has its other half: 4 pages; 'Classifying Books' (Household Discoveries): "
    "folio, 2 leaves, 4 pages",
    run=_run,
    limits={},
    severity=Severity.NOTE,
)
