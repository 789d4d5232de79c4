# SPDX-License-Identifier: AGPL-3.0-or-later
"""The text of a check: the same for ``foldproof explain``, for the report on a screen and for the one on paper."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from foldproof.preflight.model import Check, Finding, Limit, Severity

if TYPE_CHECKING:
    from foldproof.preflight.specs import Spec


def explained(check: Check, spec: Spec | None = None) -> tuple[tuple[str, str], ...]:
    """What it measures, why, what to do, whose rule, how bad, and every limit: a name and a text each.

    With a spec the severity and the limits are those of the spec, else those of the check itself.
    """
    return (
        ("measures", check.measures),
        ("why", check.why),
        ("what to do", check.remedy),
        ("whose rule", check.source),
        ("severity", _severity(check, spec)),
        *(("limit", line) for line in limits_told(check, spec)),
    )


def limits_told(check: Check, spec: Spec | None = None) -> tuple[str, ...]:
    """``least_mm = 3.0 (common practice: ...)``: every limit as a spec would set it, and whose figure it is."""
    values = spec.limits_of(check).values if spec else check.limits
    return tuple(_limit(check, name, value, source_of(check, name, spec)) for name, value in values.items())


def source_of(check: Check, limit: str, spec: Spec | None) -> str:
    """Whose figure a limit is; empty where nobody said."""
    return spec.source_of(check, limit) if spec else check.limit_sources.get(limit, "")


def whose_limit(found: Finding, check: Check | None, spec: Spec | None) -> str:
    """Whose figure the limit of a finding is; empty where it was reckoned from several, or nobody said.

    A finding carries the limit's value.  Of the check's limits with that value the one is meant whose name has the
    finding's severity in it (``contone_query_ppi``), else the first.
    """
    if check is None or found.limit is None:
        return ""
    values = spec.limits_of(check).values if spec else check.limits
    named = [name for name, value in values.items() if _same(value, found.limit)]
    exact = [name for name in named if found.severity.value in name.split("_")]
    chosen = (exact or named)[:1]
    return source_of(check, chosen[0], spec) if chosen else ""


def _same(value: Limit, limit: float | str) -> bool:
    if isinstance(value, bool) or isinstance(limit, bool) or isinstance(value, str) or isinstance(limit, str):
        return type(value) is type(limit) and value == limit
    return abs(value - limit) < 1e-6


def _severity(check: Check, spec: Spec | None) -> str:
    if spec is None:
        return f"{check.severity.value}, unless the spec says otherwise"
    if spec.is_off(check):
        return f"off: the spec {spec.name} does not ask for it"
    severity: Severity = spec.severity_of(check)
    return f"{severity.value} in the spec {spec.name}"


def _limit(check: Check, name: str, value: Limit, whose: str) -> str:
    words = f"{name} = {json.dumps(value)}"
    if name in check.choices:
        words += " out of " + ", ".join(json.dumps(choice) for choice in check.choices[name])
    if name in check.free:
        words += " or any words of your own"
    return f"{words} ({whose})" if whose else words
