# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pages that the file turns by /Rotate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    turns = Counter(page.rotate for page in facts.manuscript.pages)
    usual = max(turns, key=lambda turn: (turns[turn], -turn), default=0)
    if len(turns) == 1:
        if usual:
            yield in_book(
                "page-turn/all",
                Severity.NOTE,
                f"Every page is turned by /Rotate {usual}; the pages are printed upright, as a reader shows them.",
                "Nothing to do if they stand upright on the screen.",
                measured=usual,
                limit=0,
                unit="degrees",
            )
        return
    most = "most pages" if 2 * turns[usual] > turns.total() else f"{turns[usual]} of the {turns.total()} pages"
    for page in facts.manuscript.pages:
        if page.rotate != usual:
            yield on_page(
                facts,
                page.index,
                "page-turn/mixed",
                Severity.QUERY,
                f"it is turned by /Rotate {page.rotate}, {most} by {usual}; it is printed as a reader shows it.",
                "See on the screen that head and foot stand as they should; turn it in the layout program, not in the "
                "PDF.",
                measured=page.rotate,
                limit=usual,
                unit="degrees",
            )


CHECK = Check(
    id="page-turn",
    title="Turned pages",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The /Rotate entry of every page against that of most pages.",
    why="A page turned by hand in one program stands on its head in another.",
    remedy="Export every page upright.",
    source="ISO 32000-1, table 30 (Rotate, clockwise, multiple of 90); that mixed turns are asked about: common "
    "practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
