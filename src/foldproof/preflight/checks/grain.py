# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the grain of the paper runs along the spine."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, NotJudged, Severity
from foldproof.preflight.words import in_book


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    if facts.grain_along_spine is None:
        raise NotJudged("The grain hangs on how the sheet is folded, and no make-up is known here.")
    if not facts.grain_along_spine:
        stock = f' of "{facts.stock}"' if facts.stock else ""
        yield in_book(
            "grain",
            Severity.QUERY,
            f"The grain of the paper{stock} runs across the spine.",
            "Take the stock in the sheet size with the other grain, or choose another fold; if the book is to be "
            "printed so, say who decided it.",
            measured="across the spine",
            limit="along the spine",
        )


CHECK = Check(
    id="grain",
    title="Grain along the spine",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The direction of the paper's fibres in the folded book, from the grain of the sheet and the make-up.",
    why="Across the spine the leaves wave at the glue or thread, the book springs open and folds crack.",
    remedy="Order the sheet with its grain the other way.",
    source="'Folding for binding, part 2' (Women's Studio Workshop, 2011): for an octavo the grain runs the short way "
    "of the sheet, so that it runs along the spine",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
