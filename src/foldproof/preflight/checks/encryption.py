# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the file is protected."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, listed


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    if facts.manuscript.encrypted:
        lock = facts.manuscript.facts.encryption
        forbidden = facts.manuscript.facts.forbidden
        reserved = (
            f"whoever made it does not permit {listed(forbidden, 7)}"
            if forbidden
            else "whoever made it reserved what may be done with it"
        )
        yield in_book(
            "encryption",
            Severity.STOP,
            f"The file is encrypted{f' ({lock})' if lock else ''}: it opens, but {reserved}.",
            "Ask for the file without protection, exported with security switched off.",
            measured=lock or "encrypted",
            limit="not encrypted",
        )


CHECK = Check(
    id="encryption",
    title="Encryption",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Whether the file is encrypted, and what its owner does not permit. One that asks for a password to be "
    "opened is not read at all.",
    why="The sheets would hold the matter without its protection, which nobody has allowed; and a plate-setter may "
    "refuse the file.",
    remedy="Export without security settings.",
    source="ISO 15930 (PDF/X): no Encrypt entry in the trailer; the clause from memory. Permissions: ISO 32000-1, "
    "table 22.",
    run=_run,
    limits={},
    severity=Severity.STOP,
)
