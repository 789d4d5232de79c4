# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a run says beside its baseline: what is new since then, what was known, what is gone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from foldproof.preflight.model import Finding, Severity
from foldproof.report.model import Results
from foldproof.report.words import clean, count, listed, sentence

#: findings of severity stop that are gone and are named one by one; others are counted
_MOST_GONE = 6
_MANY = {Severity.STOP: "stops", Severity.QUERY: "queries", Severity.NOTE: "notes"}


def baseline_lines(results: Results) -> list[str]:
    """A sentence of what is new and known, and one of what is gone; none without a baseline."""
    compared = results.compared
    if compared is None:
        return []
    new = severities({s: results.counted(s, known=False) for s in Severity})
    known = severities({s: results.counted(s, known=True) for s in Severity})
    lines = [clean(f"Since {compared.earlier.file}: new {new or 'nothing'}; known {known or 'nothing'}.")]
    if compared.gone:
        lines.append(gone_words(compared.gone))
    return lines


def gone_words(gone: Iterable[Finding]) -> str:
    """``"Gone since then: 3 stops, 1 query (bleed 3, folios)."``"""
    found = tuple(gone)
    each = Counter(f.severity for f in found)
    checks = Counter(f.check for f in sorted(found, key=lambda f: f.severity.rank))
    named = [f"{check} {number}" if number > 1 else check for check, number in checks.items()]
    if len(named) > _MOST_GONE:
        named = [*named[:_MOST_GONE], count(len(named) - _MOST_GONE, "other check")]
    return sentence(f"Gone since then: {severities(each)} ({clean(listed(named))})")


def severities(numbers: dict[Severity, int]) -> str:
    """``"2 stops, 1 query"``; empty where there is none."""
    return ", ".join(count(numbers.get(s, 0), s.value, _MANY[s]) for s in Severity if numbers.get(s))
