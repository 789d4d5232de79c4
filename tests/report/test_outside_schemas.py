# SPDX-License-Identifier: AGPL-3.0-or-later
"""findings.sarif and junit.xml against schemas of others.

Schema files are not copied into the project: ``.ci/run`` fetches junit-10.xsd (it travels with the sources of pytest)
and the schema of SARIF 2.1.0 (it travels with a test library for it) into ``tests/report/outside``.  What can be
held without them is held always: the names and required fields of the SARIF schema through ``sarif_om``, the classes
that its makers generated from it; the value sets from the text of the standard; of JUnit a table typed from the schema.
"""

from __future__ import annotations

import importlib
import json
import os
import shutil
import subprocess
from pathlib import Path
from types import ModuleType
from typing import Any
from xml.etree import ElementTree as ET

import attr
import jsonschema
import pytest

from foldproof.errors import AskedWrong, NoPlan, OurFault, OverLimit, Unreadable
from foldproof.preflight.known import Earlier, compared
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.specs import load_spec
from foldproof.report.failed import failed_in_format
from foldproof.report.junit import junit_xml
from foldproof.report.model import Results
from foldproof.report.sarif import sarif_bytes

BOOK = Path("/somewhere/almanack.pdf")
OUTSIDE = Path(os.environ.get("FOLDPROOF_SCHEMAS", Path(__file__).parent / "outside"))
JUNIT, SARIF = OUTSIDE / "junit-10.xsd", OUTSIDE / "sarif-schema-2.1.0.json"

#: SARIF 2.1.0, what a property holds: the class of sarif_om
HOLDS = {
    "runs": "Run", "tool": "Tool", "driver": "ToolComponent", "rules": "ReportingDescriptor",
    "shortDescription": "MultiformatMessageString", "fullDescription": "MultiformatMessageString",
    "help": "MultiformatMessageString", "defaultConfiguration": "ReportingConfiguration",
    "invocations": "Invocation", "toolExecutionNotifications": "Notification", "message": "Message",
    "artifacts": "Artifact", "location": "ArtifactLocation", "results": "Result", "locations": "Location",
    "physicalLocation": "PhysicalLocation", "artifactLocation": "ArtifactLocation",
    "logicalLocations": "LogicalLocation", "suppressions": "Suppression",
}  # fmt: skip
#: free objects: property bags (3.8), hashes (3.24.11) and fingerprints (3.27.17), whose values are strings
FREE = {"properties", "hashes", "partialFingerprints"}
#: value sets, by clause of the standard
SETS = {
    "version": {"2.1.0"},  # 3.13.2
    "level": {"none", "note", "warning", "error"},  # 3.27.10, 3.50.3, 3.58.6
    "columnKind": {"utf16CodeUnits", "unicodeCodePoints"},  # 3.14.17
    "status": {"accepted", "underReview", "rejected"},  # 3.35.4
    "baselineState": {"new", "unchanged", "updated", "absent"},  # 3.27.24
}
KINDS = {
    "Suppression": {"inSource", "external"},  # 3.35.3
    # 3.33.7: a name of another kind may be used where none of those listed fits
    "LogicalLocation": {"page"},
}


#: sarif_om was made from the schema a little before the standard was agreed: "state" became "status" (3.35.4)
LATER = {"Suppression": {"status"}}


def all_sorts(samples: ModuleType) -> list[Results]:
    plan = samples.plan()
    return [
        samples.results(BOOK),
        samples.results(BOOK, nasty=samples.NASTY, title=samples.NASTY, proof=samples.proof(plan, swapped=(6, 7))),
        attr.evolve(samples.results(BOOK, plan=None, proof=None), checks=CHECKS, spec=load_spec("colour-on-coated")),
        beside_a_baseline(samples.results(BOOK)),
    ]


def beside_a_baseline(results: Results) -> Results:
    """The same, half of its findings known, and one more gone."""
    items, pages = results.findings.items, len(results.manuscript.pages)
    gone = attr.evolve(items[-1], check="folios", cause="folios", page=None)
    earlier = Earlier("findings.json", "almanack.pdf", "any-book", "0.1.0", pages, (), (*items[::2], gone))
    held = compared(results.findings, ("",) * pages, earlier)
    assert {held.is_known(index) for index in range(len(items))} == {True, False}
    return attr.evolve(results, compared=held)


ERRORS = (
    Unreadable('almanack.pdf is "no" <PDF>.'), OverLimit("It took longer than 5 s."), AskedWrong("There is no job."),
    NoPlan("Nothing fits.", ("another trim",)), OurFault("a fault of ours: \x07."),
)  # fmt: skip


def faults(value: dict[str, Any], kind: str, om: ModuleType, path: str) -> list[str]:
    """Names that the schema does not know, required ones that are missing, values out of their set."""
    fields = {f.metadata["schema_property_name"]: f for f in attr.fields(getattr(om, kind))}
    later = LATER.get(kind, set())
    found = [f"{path}.{name}: no such property of {kind}" for name in value if name not in {*fields, *later}]
    needed = {name for name, field in fields.items() if field.default is attr.NOTHING}
    found += [f"{path}.{name}: missing" for name in needed - set(value)]
    for name, inner in value.items():
        here = f"{path}.{name}"
        if name in SETS and kind != "ToolComponent" and inner not in SETS[name]:
            found.append(f"{here}: {inner!r}")
        if name == "kind" and kind in KINDS and inner not in KINDS[kind]:
            found.append(f"{here}: {inner!r}")
        if name in ("hashes", "partialFingerprints"):
            found += [f"{here}: {v!r} is no text" for v in inner.values() if not isinstance(v, str)]
        for n, one in enumerate(inner if isinstance(inner, list) else [inner]):
            if isinstance(one, dict) and name not in FREE:
                assert name in HOLDS, f"{here}: what it holds is not said in this test"
                found += faults(one, HOLDS[name], om, f"{here}[{n}]")
    return found


def test_sarif_knows_no_other_names_than_its_schema(samples: ModuleType) -> None:
    om = pytest.importorskip("sarif_om", reason="the object model of SARIF is not installed")
    for results in all_sorts(samples):
        assert faults(json.loads(sarif_bytes(results)), "SarifLog", om, "log") == []
    for error in ERRORS:
        assert faults(json.loads(failed_in_format("sarif", "a.pdf", error)), "SarifLog", om, "log") == []


def test_the_object_model_would_tell(samples: ModuleType) -> None:
    om = pytest.importorskip("sarif_om", reason="the object model of SARIF is not installed")
    log = json.loads(sarif_bytes(samples.results(BOOK)))
    log["runs"][0]["results"][0]["rulesId"] = "x"
    del log["runs"][0]["results"][1]["message"]
    log["runs"][0]["results"][2]["level"] = "stop"
    assert len(faults(log, "SarifLog", om, "log")) == 3
    assert importlib.import_module("sarif_om") is om


@pytest.mark.skipif(not SARIF.is_file(), reason=f"no {SARIF.name} in {OUTSIDE}; DEVELOPERS.md says where one is laid")
def test_sarif_validates_against_its_schema(samples: ModuleType) -> None:
    schema = json.loads(SARIF.read_text("utf-8"))
    for results in all_sorts(samples):
        jsonschema.validate(json.loads(sarif_bytes(results)), schema, cls=jsonschema.Draft7Validator)
    for error in ERRORS:
        told = json.loads(failed_in_format("sarif", "a.pdf", error))
        jsonschema.validate(told, schema, cls=jsonschema.Draft7Validator)


@pytest.mark.skipif(not JUNIT.is_file(), reason=f"no {JUNIT.name} in {OUTSIDE}; .ci/run fetches it")
@pytest.mark.skipif(shutil.which("xmllint") is None, reason="no xmllint on this machine")
def test_junit_validates_against_the_common_schema(samples: ModuleType, tmp_path: Path) -> None:
    errors = [failed_in_format("junit", "a.pdf", error).encode() for error in ERRORS]
    for number, written in enumerate([*errors, *map(junit_xml, all_sorts(samples))]):
        target = tmp_path / f"{number}.xml"
        target.write_bytes(written)
        command = ["xmllint", "--noout", "--schema", str(JUNIT), str(target)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    target.write_bytes(written.replace(b"<testcase ", b"<testcases ", 1))
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode != 0, "the schema would tell"


#: element: attributes that it must have, that it may have, and its children; typed from junit-10.xsd, the
#: schema of a common reader of such files, as the sources of pytest carry it
TABLE: dict[str, tuple[set[str], set[str], set[str]]] = {
    "testsuites": (set(), {"name", "time", "tests", "failures", "errors"}, {"testsuite"}),
    "testsuite": (
        {"name", "tests", "failures", "errors"},
        {"skipped", "time", "timestamp", "hostname", "id", "package", "file", "log", "url", "version", "group"},
        {"testsuite", "properties", "testcase", "system-out", "system-err"},
    ),
    "testcase": (
        {"name"},
        {"time", "classname", "group"},
        {"skipped", "error", "failure", "system-out", "system-err"},
    ),
    "failure": (set(), {"type", "message"}, set()),
    "error": (set(), {"type", "message"}, set()),
    "skipped": (set(), {"type", "message"}, set()),
    "system-out": (set(), set(), set()),
}


def test_junit_keeps_to_what_common_readers_know(samples: ModuleType) -> None:
    errors = [failed_in_format("junit", "a.pdf", error) for error in ERRORS]
    for written in [*errors, *map(junit_xml, all_sorts(samples))]:
        for element in ET.fromstring(written).iter():
            required, more, children = TABLE[element.tag]
            assert required <= set(element.keys()) <= required | more, ET.tostring(element)[:200]
            assert {child.tag for child in element} <= children
