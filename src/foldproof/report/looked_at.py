# SPDX-License-Identifier: AGPL-3.0-or-later
"""What was looked at and what was not: checks that ran, that could not judge, that are off; waivers; versions."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from foldproof.preflight.model import Finding, Severity
from foldproof.report.causes import without_page
from foldproof.report.model import Results
from foldproof.report.words import clean, count, listed, pages, sentence


def checks_told(results: Results) -> dict[str, Any]:
    """Every check of the registry in one of four lots, with its title."""
    findings = results.findings
    spoke: dict[str, set[Severity]] = defaultdict(set)
    for found in findings.items:
        spoke[found.check].add(found.severity)
    quiet = [check for check in findings.checks if check not in spoke]
    lots = [
        (len(spoke), "found something"),
        (len(quiet), "found nothing"),
        (len(findings.not_judged), "could not judge"),
        (len(findings.off), "off in this spec"),
    ]
    return {
        "says": sentence(listed([f"{number} {words}" for number, words in lots if number])),
        "spec": clean(_spec(results)),
        "quiet": [_titled(results, check) for check in quiet],
        "not_judged": [{**_titled(results, check), "why": clean(sentence(why))} for check, why in findings.not_judged],
        "off": [_titled(results, check) for check in findings.off],
    }


def _spec(results: Results) -> str:
    spec = results.spec
    if spec is None:
        return results.findings.spec
    says = f": {spec.says}" if spec.says else ""
    return f"{spec.title} ({spec.name}){says}" if spec.title != spec.name else f"{spec.name}{says}"


def _titled(results: Results, check: str) -> dict[str, str]:
    known = results.check_named(check)
    return {"id": check, "title": clean(known.title if known else check.replace("-", " "))}


def waivers(results: Results) -> list[dict[str, str]]:
    """Waived findings, those of one cause under one reason and name in one row."""
    rows: dict[tuple[str, str, str, str, str], list[Finding]] = defaultdict(list)
    for found, reason, by in results.findings.waived:
        rows[found.severity.value, found.check, found.cause, reason, by].append(found)
    told = []
    for (severity, check, _, reason, by), group in rows.items():
        numbers = {f.page for f in group if f.page is not None}
        told.append(
            {
                "severity": severity,
                "title": _titled(results, check)["title"],
                "where": clean(pages(numbers, 30) if numbers else "whole book"),
                "problem": clean(sentence(without_page(group[0].problem))),
                "reason": clean(sentence(reason)),
                "by": clean(by),
            }
        )
    return told


def uninterpreted(results: Results) -> list[str]:
    """Pages whose content could not be looked into, and why."""
    lost = results.observations.lost
    reasons: dict[str, list[int]] = {}
    for index, why in sorted(lost.items()):
        reasons.setdefault(why, []).append(index + 1)
    return [
        f"The content of {pages(numbers, 30)} could not be looked into: {sentence(why)}"
        for why, numbers in reasons.items()
    ]


def colophon(results: Results) -> list[tuple[str, str, bool]]:
    """How the report was made: a name, a text, and whether that is a digest."""
    settings, read, proof = results.settings, results.manuscript, results.proof
    rows = [
        (
            "manuscript",
            f"{read.path.name}, {count(len(read.pages), 'page')}, {read.size_bytes:,} bytes, PDF {read.pdf_version}",
            False,
        ),
        ("its sha256", read.sha256, True),
    ]
    if proof is not None:
        rows.append(("sha256 of the sheets", proof.sheets_sha256, True))
    rows += [
        ("job", settings.job or "none; everything was assumed", False),
        ("house", settings.house, False),
        ("spec", results.findings.spec, False),
        ("made by", f"Foldproof {settings.version}", False),
        ("with", ", ".join(f"{name} {version}" for name, version in settings.libraries) or "nothing else", False),
    ]
    rows += [("departure", line, False) for line in settings.overrides]
    return [(name, clean(value), digest) for name, value, digest in rows]
