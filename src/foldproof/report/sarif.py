# SPDX-License-Identifier: AGPL-3.0-or-later
"""findings.sarif: the findings in the OASIS Static Analysis Results Interchange Format, version 2.1.0.

Clauses named here are those of that standard.  A severity becomes a level (3.27.10): stop is ``error``, query is
``warning``, note is ``note``.  A PDF has no lines, so a page is a logical location (3.33) inside the artifact, and its
place in the trim frame stands in the property bag.
"""

from __future__ import annotations

import os
from typing import Any
from urllib.parse import quote

from foldproof.preflight.fingerprints import fingerprints
from foldproof.preflight.model import Check, Finding, Severity
from foldproof.preflight.specs import Spec
from foldproof.report.as_json import written
from foldproof.report.explained import explained, limits_told, whose_limit
from foldproof.report.model import Results
from foldproof.report.words import sentence

SARIF_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"
_LEVEL = {Severity.STOP: "error", Severity.QUERY: "warning", Severity.NOTE: "note"}


def sarif_log(results: Results) -> dict[str, Any]:
    """The log as plain data."""
    findings = results.findings
    ids = sorted({*findings.checks, *(f.check for f in findings.items), *(w[0].check for w in findings.waived)})
    index = {check: number for number, check in enumerate(ids)}
    told = (*findings.items, *(found for found, _, _ in findings.waived))
    logged = [
        _result(results, found, index, fingerprint)
        for found, fingerprint in zip(told, fingerprints(told, results.digests), strict=True)
    ]
    if results.compared is not None:
        for number, result in enumerate(logged[: len(findings.items)]):
            # 3.27.24; what got worse is new to the gate, and is so here
            result["baselineState"] = "unchanged" if results.is_known(number) else "new"
    for result, (_, reason, by) in zip(logged[len(findings.items) :], findings.waived, strict=True):
        result["suppressions"] = [
            {"kind": "external", "status": "accepted", "justification": f"{sentence(reason)} Waived by {by}."}
        ]
    return {
        "$schema": SARIF_SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "Foldproof",
                        "version": results.settings.version,
                        "semanticVersion": results.settings.version,
                        "rules": [_rule(check, results.check_named(check), results.spec) for check in ids],
                    }
                },
                "invocations": [
                    {
                        "executionSuccessful": True,
                        # 3.20.21: what the tool could not do; 3.58: a notification needs a message
                        "toolExecutionNotifications": [
                            {"level": "warning", "message": {"text": f"{check} could not be judged: {sentence(why)}"}}
                            for check, why in findings.not_judged
                        ],
                    }
                ],
                "artifacts": [
                    {
                        "location": {"uri": _uri(results)},
                        "length": results.manuscript.size_bytes,
                        "mimeType": "application/pdf",
                        "roles": ["analysisTarget"],
                        "hashes": {"sha-256": results.manuscript.sha256},
                    }
                ],
                "columnKind": "unicodeCodePoints",
                "results": logged,
                "properties": {"spec": findings.spec, "house": results.settings.house},
            }
        ],
    }


def sarif_bytes(results: Results) -> bytes:
    """The file, UTF-8."""
    return written(sarif_log(results))


def _uri(results: Results) -> str:
    # RFC 3986 reference relative to the folder of the manuscript (3.4.3), byte by byte as the system has the name: the
    # folder itself is nobody's business
    return quote(os.fsencode(results.manuscript.path.name), safe="")


def _rule(name: str, check: Check | None, spec: Spec | None) -> dict[str, Any]:
    if check is None:
        return {"id": name}
    return {
        "id": name,
        "name": "".join(part.capitalize() for part in name.split("-")),
        "shortDescription": {"text": sentence(check.title)},
        "fullDescription": {"text": sentence(check.measures)},
        # the text of ``foldproof explain``
        "help": {"text": "\n".join(f"{part}: {text}" for part, text in explained(check, spec))},
        "defaultConfiguration": {"level": _LEVEL[spec.severity_of(check) if spec else check.severity]},
        "properties": {"source": check.source, "limits": list(limits_told(check, spec))},
    }


def _result(results: Results, found: Finding, index: dict[str, int], fingerprint: str) -> dict[str, Any]:
    location: dict[str, Any] = {"physicalLocation": {"artifactLocation": {"uri": _uri(results), "index": 0}}}
    if found.page is not None:
        location["logicalLocations"] = [
            {"name": str(found.page), "fullyQualifiedName": f"page {found.page}", "kind": "page"}
        ]
    properties: dict[str, Any] = {"severity": found.severity.value}
    said = {"page": found.page, "folio": found.folio, "measured": found.measured, "limit": found.limit}
    for key, value in said.items():
        if isinstance(value, float):
            properties[key] = round(value, 4)
        elif value is not None:
            properties[key] = value
    if found.unit:
        properties["unit"] = found.unit
    if whose := whose_limit(found, results.check_named(found.check), results.spec):
        properties["whose"] = whose
    if found.count > 1:
        properties["count"] = found.count
    if found.place_mm is not None:
        box = found.place_mm
        properties["placeMm"] = [round(v, 4) for v in (box.x0, box.y0, box.x1, box.y1)]
    if found.cause:
        properties["cause"] = found.cause
    return {
        "ruleId": found.check,
        "ruleIndex": index[found.check],
        "level": _LEVEL[found.severity],
        "message": {"text": f"{sentence(found.problem)} {sentence(found.remedy)}".strip()},
        "locations": [location],
        # 3.27.17; the number after the stroke is the version of how it is reckoned (3.27.16)
        "partialFingerprints": {"finding/v2": fingerprint},
        "properties": properties,
    }
