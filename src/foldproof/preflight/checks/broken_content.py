# SPDX-License-Identifier: AGPL-3.0-or-later
"""Content that the interpreter could read only in part."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page

#: these lose matter; the others may lose nothing
_LOSES = ("unpack", "ends before", "do not hold")


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for seen in objects_of(facts):
        # a stream without a byte "ends before its data do" and loses nothing: such a page is blank, and told as that
        if seen is None or not seen.remarks or not facts.manuscript.pages[seen.index].has_content:
            continue
        loses = any(word in remark for remark in seen.remarks for word in _LOSES)
        yield on_page(
            facts,
            seen.index,
            "broken-content/lost" if loses else "broken-content/odd",
            Severity.STOP if loses else Severity.QUERY,
            f"its content is damaged: {listed(seen.remarks)}. "
            + ("Part of the page is missing." if loses else "Part of the page may be missing."),
            "Export the page again, and compare it with the layout: what is missing here would be missing in the book.",
        )


CHECK = Check(
    id="broken-content",
    title="Damaged page content",
    needs=frozenset({Needs.OBJECTS}),
    measures="Streams that do not unpack or end too soon, operators that cannot be read, and names that the resources "
    "of the page do not hold.",
    why="Readers pass over what they cannot follow without a word: the page prints with a part of it missing.",
    remedy="Export the page again from the layout program.",
    source="ISO 32000-1, 7.8.2 and 7.4: content streams, filters",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
