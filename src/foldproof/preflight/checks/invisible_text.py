# SPDX-License-Identifier: AGPL-3.0-or-later
"""Text that is on the page but is not painted."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.measures import objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for seen in objects_of(facts):
        if seen is None:
            continue
        hidden = [use for use in seen.texts if use.how == "invisible" and use.in_trim and use.glyphs]
        glyphs = sum(use.glyphs for use in hidden)
        if not glyphs:
            continue
        shown = any(use.how in ("fill", "stroke") for use in seen.texts)
        scan = not shown and bool(seen.pictures)
        yield on_page(
            facts,
            seen.index,
            f"invisible-text/{'scan' if scan else 'text'}",
            Severity.NOTE,
            f"{counted(glyphs, 'character')} of text that is not painted"
            + (": the page looks like a scan with its words laid under it." if scan else "."),
            "Nothing, where it is only there for searching (the words behind a scan); otherwise give the text a fill.",
            place_mm=hidden[0].first_mm,
            measured=float(glyphs),
            unit="characters",
        )


CHECK = Check(
    id="invisible-text",
    title="Invisible text",
    needs=frozenset({Needs.OBJECTS}),
    measures="Characters inside the trim that are set without fill or stroke, so that nothing of them is printed.",
    why="The words behind a scan do no harm. Text that was meant to be read is missing from the book, and no "
    "proof-reader misses what he does not see.",
    remedy="Give the text a fill, or leave it out.",
    source="ISO 32000-1, 9.3.6, table 106: text rendering mode 3",
    run=_run,
    limits={},
    severity=Severity.NOTE,
)
