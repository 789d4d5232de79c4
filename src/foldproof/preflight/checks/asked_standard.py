# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether a file is the PDF/X that the spec asks for."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.standards import NOT_JUDGED, broken
from foldproof.preflight.standards.claims import claimed
from foldproof.preflight.standards.model import Standard
from foldproof.preflight.standards.wording import finding, subjects


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    asked = limits.text("standard")
    if asked == "none":
        return
    standard = Standard(asked)
    says_so = standard in claimed(facts).standards
    start = f"{asked} is asked for, and the file says that it is" if says_so else f"{asked} is asked for"
    for clause, how in broken(facts, standard):
        yield finding("asked-standard", start, clause, how)


CHECK = Check(
    id="asked-standard",
    title="PDF/X as asked for",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Where the spec asks for PDF/X-1a:2003, PDF/X-3:2003 or PDF/X-4: whether the file says that it is, and "
    f"whether it is, clause by clause ({subjects()}). Colour and transparency are judged by what is painted. Not "
    f"looked at: {NOT_JUDGED}.",
    why="The printer's plate-setter is set up for files of this kind; what another kind leaves open, it settles as it "
    "happens to be set.",
    remedy="Export with the standard chosen by its name in the export settings of the layout program.",
    source="ISO 15930-4:2003, ISO 15930-6:2003 and ISO 15930-7:2010; what each asks is mostly from memory, in words of "
    "ours, and the numbers of the clauses were not looked up",
    run=_run,
    limits={"standard": "none"},
    limit_sources={"standard": "the spec's own say; without one no standard is asked for"},
    choices={"standard": ("none", *(one.value for one in Standard))},
    severity=Severity.QUERY,
)
