# SPDX-License-Identifier: AGPL-3.0-or-later
"""A case of a check: facts, and what is to be found in them.

``says`` are words that the problem or remedy has to hold; ``page`` is the 1-based page it is found on.
"""

from __future__ import annotations

from typing import Any

from attrs import field, frozen

from foldproof.preflight.model import Facts, Severity

STOP, QUERY, NOTE = Severity.STOP, Severity.QUERY, Severity.NOTE


@frozen
class Trips:
    check: str
    name: str
    facts: Facts
    severity: Severity
    cause: str
    page: int | None = None
    says: tuple[str, ...] = ()
    measured: Any = None
    limits: dict[str, float | str | bool] = field(factory=dict)
    findings: int = 1


@frozen
class Passes:
    check: str
    name: str
    facts: Facts
    limits: dict[str, float | str | bool] = field(factory=dict)
