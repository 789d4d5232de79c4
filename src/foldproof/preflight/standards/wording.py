# SPDX-License-Identifier: AGPL-3.0-or-later
"""Findings from clauses, worded alike for what a file claims and for what is asked of it."""

from __future__ import annotations

from foldproof.preflight.model import Finding
from foldproof.preflight.standards import CLAUSES
from foldproof.preflight.standards.model import Broken, Clause
from foldproof.preflight.words import in_book


def finding(check: str, start: str, clause: Clause, how: Broken) -> Finding:
    """``start`` is the first half of the sentence: ``"The file says that it is PDF/X-4"``."""
    return in_book(
        f"{check}/{clause.id}",
        clause.severity,
        f"{start}, but {how.says}; {clause.asks}.",
        clause.remedy,
        measured=how.measured,
        limit=clause.wants,
    )


def subjects() -> str:
    """What all clauses are about, for the text of a check."""
    return ", ".join(dict.fromkeys(clause.subject for clause in CLAUSES))
