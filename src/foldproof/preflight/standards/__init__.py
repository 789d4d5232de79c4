# SPDX-License-Identifier: AGPL-3.0-or-later
"""Standards as tables of clauses, and a file held against one (ISO 15930: PDF/X-1a:2003, PDF/X-3:2003, PDF/X-4).

A clause is data: which standards it belongs to, what it asks in words of ours, and a function of the facts that says
how a file goes against it.  What the facts cannot tell is not judged, and :data:`NOT_JUDGED` names it.
"""

from __future__ import annotations

from foldproof.preflight.model import Facts
from foldproof.preflight.standards import claims, colour, intents, matter, pages
from foldproof.preflight.standards.model import Broken, Clause, Standard

#: every clause, by subject; what two standards ask in different words stands twice under one id
CLAUSES: tuple[Clause, ...] = (
    *claims.CLAUSES, *intents.CLAUSES, *pages.CLAUSES, *matter.CLAUSES, *colour.CLAUSES,
)  # fmt: skip

#: what the standards ask and nobody here looks at
NOT_JUDGED = (
    "private data, operators outside the standard's list, pre-separated pages, streams kept outside the file, colours "
    "inside gradients and in hidden layers, and whether a profile is right for its paper"
)


def broken(facts: Facts, standard: Standard) -> list[tuple[Clause, Broken]]:
    """Every clause of a standard that a file goes against, in the order of the table."""
    found = []
    for clause in CLAUSES:
        if standard in clause.standards and (how := clause.broken(facts, standard)) is not None:
            found.append((clause, how))
    return found
