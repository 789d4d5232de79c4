# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the pages that are pasted to the boards as the book's own endpapers are blank."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.job.covering import is_cased
from foldproof.preflight.measures import ink_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, NotJudged, Severity
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    if facts.job.cover.endpapers != "self" or not is_cased(facts.job, facts.job.book.binding):
        return
    seen = ink_of(facts)
    if facts.blanks_back is None:
        raise NotJudged("Which page is the last hangs on the blanks that are added, and no make-up is known here.")
    # A blank that the make-up adds is the outermost page at its end: it is pasted down, and bears nothing.
    ends = []
    if not facts.job.book.blanks_front:
        ends.append((0, "front", "first", 'let the job add an empty leaf ("blanks_front = 2")'))
    if not facts.blanks_back:
        ends.append((len(seen) - 1, "back", "last", "end the book with empty pages"))
    for index, board, which, way_out in ends:
        ink = seen[index]
        if ink is not None and ink.blank:
            continue
        pasted = f"as the {which} page of the book it is pasted to the {board} board"
        if ink is None:
            yield on_page(
                facts,
                index,
                "self-endpapers/unseen",
                Severity.QUERY,
                f"{pasted}, and it could not be looked at: nobody knows that it is blank.",
                f"Look at it on the screen; if it is not empty, {way_out}, or take separate endpapers.",
            )
        else:
            yield on_page(
                facts,
                index,
                "self-endpapers",
                Severity.STOP,
                f"{pasted}, and what is printed on it would not be seen again.",
                f"Leave it empty, or {way_out}, or take separate endpapers.",
                place_mm=ink.ink_mm,
                measured=round(100 * sum(ink.coverage.values()), 2),
                limit=0,
                unit="%",
            )


CHECK = Check(
    id="self-endpapers",
    title="Pages pasted to the boards",
    needs=frozenset({Needs.INK}),
    measures="The ink on the first and on the last page of a book whose outer leaves are its own endpapers; blanks "
    "that the job or the make-up adds there count as empty pages.",
    why="The page that is glued to the board is gone; its ink may also show through or keep the glue from holding.",
    remedy="Begin and end the book with an empty leaf, or have separate endpapers.",
    source="common practice, no source",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
