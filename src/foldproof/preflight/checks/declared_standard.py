# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether a file is the PDF/X that it says it is."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.standards import NOT_JUDGED, broken
from foldproof.preflight.standards.claims import claimed
from foldproof.preflight.standards.model import Standard
from foldproof.preflight.standards.wording import finding, subjects
from foldproof.preflight.words import in_book, listed

_NAMES = tuple(one.value for one in Standard)


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    claim, asked = claimed(facts), limits.text("asked")
    for name in claim.unknown:
        yield in_book(
            "declared-standard/unknown",
            Severity.NOTE,
            f'The file says that it is "{name}"; this is not verified here, only {listed(_NAMES)} are.',
            "Have it verified by the program that wrote it, or ask for one of these three.",
            measured=name,
            limit=listed(_NAMES),
        )
    if len(claim.standards) > 1:
        names = listed([one.value for one in claim.standards])
        yield in_book(
            "declared-standard/two-claims",
            Severity.NOTE,
            f"The file says that it is {names} at once, in the information dictionary and in the XMP.",
            "Export afresh with one standard chosen; each of the claims is verified here.",
            measured=names,
            limit="one claim",
        )
    # what is asked of the file is told by the check of that name, once
    told = {clause.id for clause, _ in broken(facts, Standard(asked))} if asked in _NAMES and claim.standards else set()
    for standard in claim.standards:
        if standard.value == asked:
            continue
        for clause, how in broken(facts, standard):
            if clause.id not in told:
                told.add(clause.id)
                yield finding("declared-standard", f"The file says that it is {standard.value}", clause, how)


CHECK = Check(
    id="declared-standard",
    title="Claim of PDF/X",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Where a file says that it is PDF/X-1a:2003, PDF/X-3:2003 or PDF/X-4: whether that is true, clause by "
    f"clause ({subjects()}). Colour and transparency are judged by what is painted. Not looked at: {NOT_JUDGED}.",
    why="Whoever reads the claim trusts it: the file goes to plate unseen, with a font that is missing or colours that "
    "nobody has settled.",
    remedy="Export afresh with the standard chosen by its name, instead of changing a file that has it already.",
    source="ISO 15930-4:2003, ISO 15930-6:2003 and ISO 15930-7:2010; what each asks is mostly from memory, in words of "
    "ours, and the numbers of the clauses were not looked up",
    run=_run,
    limits={"asked": "none"},
    limit_sources={"asked": "the standard that the check asked-standard is set to: told there, and not twice"},
    choices={"asked": ("none", *_NAMES)},
    follows={"asked": "asked-standard/standard"},
    severity=Severity.QUERY,
)
