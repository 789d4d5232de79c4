# SPDX-License-Identifier: AGPL-3.0-or-later
"""junit.xml: the run as a gate reads it.

There is no standard for this format; what common gates agree on is taken, and what the schema junit-10.xsd of a common
reader allows: ``testsuites`` holds ``testsuite`` with the numbers of tests, failures, errors and skipped, which holds
``testcase`` with ``failure`` or ``skipped``.  A check is a test case; it fails when it has a finding of severity
``stop`` that the baseline, where there is one, does not know.  All others stand in its ``system-out``.  A leg of the
proof is a test case.  No times are written: the same input gives the same bytes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from xml.etree import ElementTree as ET

from foldproof.preflight.model import Finding, Severity
from foldproof.prove.model import Leg, Proof, Verdict
from foldproof.report.model import Results
from foldproof.report.since import baseline_lines
from foldproof.report.words import clean, count

#: what is said of a finding that the baseline has
_KNOWN = "known"


def junit_xml(results: Results) -> bytes:
    """The whole file, UTF-8."""
    suites = [_checks(results)]
    if results.plan is not None or results.refusal is not None:
        suites.append(_makeup(results))
    if results.proof is not None:
        suites.append(_proof(results.proof))
    return _file(suites)


def proof_junit(proof: Proof) -> bytes:
    """A proof alone as a whole file, UTF-8."""
    return _file([_proof(proof)])


def _file(suites: list[ET.Element]) -> bytes:
    top = ET.Element("testsuites", {"name": "foldproof"})
    # the common schema knows no "skipped" here; each suite has its own
    for name in ("tests", "failures", "errors"):
        top.set(name, str(sum(int(suite.get(name, "0")) for suite in suites)))
    top.extend(suites)
    ET.indent(top)
    text: str = ET.tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _checks(results: Results) -> ET.Element:
    by_check: dict[str, list[tuple[Finding, str]]] = defaultdict(list)
    for index, found in enumerate(results.findings.items):
        by_check[found.check].append((found, _since(results, index)))
    cases = []
    # findings of a check that is not listed as run must not get lost
    for check in sorted({*results.findings.checks, *by_check}):
        known = results.check_named(check)
        case = _case("foldproof.check", check)
        stops = [_line(*f) for f in by_check[check] if f[0].severity is Severity.STOP and f[1] != _KNOWN]
        others = [_line(*f) for f in by_check[check] if f[0].severity is not Severity.STOP or f[1] == _KNOWN]
        if stops:
            title = known.title if known else check
            new = "" if results.compared is None else "new "
            _failure(case, f"{title}: {count(len(stops), f'{new}finding')} of severity stop", "stop", stops)
        if others:
            ET.SubElement(case, "system-out").text = clean("\n".join(others))
        cases.append(case)
    for check, why in results.findings.not_judged:
        case = _case("foldproof.check", check)
        ET.SubElement(case, "skipped", {"message": clean(why)})
        cases.append(case)
    if results.compared is not None:
        case = _case("foldproof.check", "baseline")
        ET.SubElement(case, "system-out").text = clean("\n".join(baseline_lines(results)))
        cases.append(case)
    return _suite("foldproof.check", cases)


def _since(results: Results, index: int) -> str:
    """What a finding is beside the baseline; ``""`` without one."""
    if results.compared is None:
        return ""
    if results.is_known(index):
        return _KNOWN
    worse = results.compared.worse[index]
    return f"new: {worse}" if worse else "new"


def _makeup(results: Results) -> ET.Element:
    case = _case("foldproof.make-up", "plan")
    if results.refusal is not None:
        _failure(case, results.refusal.says, "no plan", results.refusal.would)
    return _suite("foldproof.make-up", [case])


def _proof(proof: Proof) -> ET.Element:
    cases = []
    for leg in Leg:
        case = _case("foldproof.prove", leg.value)
        faults = [f for f in proof.faults if f.leg is leg]
        if faults:
            _failure(case, f"{count(len(faults), 'fault')}: {faults[0].says}", leg.value, (f.says for f in faults))
        elif proof.verdict is Verdict.NOT_COMPARED and leg in (Leg.WHICH, Leg.WHERE, Leg.LOOK):
            ET.SubElement(case, "skipped", {"message": "no manuscript was given to compare with"})
        cases.append(case)
    # a failed proof never passes the gate, whatever its list of faults says
    verdict = _case("foldproof.prove", "verdict")
    if proof.verdict is Verdict.FAILED:
        _failure(verdict, "The sheets would not fold into the book.", "verdict", ())
    return _suite("foldproof.prove", [*cases, verdict])


def _suite(name: str, cases: list[ET.Element]) -> ET.Element:
    suite = ET.Element(
        "testsuite",
        {
            "name": name,
            "tests": str(len(cases)),
            "failures": str(sum(case.find("failure") is not None for case in cases)),
            "errors": "0",
            "skipped": str(sum(case.find("skipped") is not None for case in cases)),
        },
    )
    suite.extend(cases)
    return suite


def _case(suite: str, name: str) -> ET.Element:
    return ET.Element("testcase", {"classname": suite, "name": clean(name)})


def _failure(case: ET.Element, message: str, kind: str, lines: Iterable[str]) -> None:
    failure = ET.SubElement(case, "failure", {"message": clean(message), "type": kind})
    failure.text = clean("\n".join(lines))


def _line(found: Finding, since: str) -> str:
    where = f"page {found.page}" if found.page else "whole book"
    return f"{found.severity.value}{f' ({since})' if since else ''}: {where}: {found.problem} {found.remedy}"
