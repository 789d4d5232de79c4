# SPDX-License-Identifier: AGPL-3.0-or-later
"""The list of checks for programs: what ``foldproof explain`` tells people, by itself or by the rules of a spec."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version
from typing import Any

from foldproof.preflight.model import Check
from foldproof.preflight.specs import Spec
from foldproof.report.explained import source_of

CHECKS_SCHEMA = "foldproof/checks/1"

#: the unit of a limit is the end of its name
_UNITS = {"mm": "mm", "pt": "pt", "ppi": "ppi", "percent": "%", "degrees": "degrees", "kb": "kB", "pages": "pages"}


def checks_json(checks: Sequence[Check], spec: Spec | None = None) -> dict[str, Any]:
    """Checks as plain data; severities and limits are those of the spec, without one those of the checks themselves."""
    return {
        "schema": CHECKS_SCHEMA,
        "foldproof": version("foldproof"),
        "spec": None if spec is None else {"name": spec.name, "title": spec.title, "says": spec.says},
        "checks": [_check(check, spec) for check in checks],
    }


def _check(check: Check, spec: Spec | None) -> dict[str, Any]:
    values = spec.limits_of(check).values if spec else check.limits
    return {
        "id": check.id,
        "title": check.title,
        "off": spec is not None and spec.is_off(check),
        "severity": (spec.severity_of(check) if spec else check.severity).value,
        "needs": sorted(need.value for need in check.needs),
        "measures": check.measures,
        "why": check.why,
        "remedy": check.remedy,
        "source": check.source,
        "limits": [
            {
                "name": name,
                "value": value,
                "unit": _UNITS.get(name.rpartition("_")[2], ""),
                "source": source_of(check, name, spec),
                "default": check.limits[name],
                "choices": list(check.choices.get(name, ())),
                "any_words": name in check.free,
                "follows": check.follows.get(name),
            }
            for name, value in values.items()
        ],
    }
