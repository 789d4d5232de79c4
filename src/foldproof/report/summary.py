# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a command prints: the outcome in a few lines."""

from __future__ import annotations

from foldproof.errors import ExitCode
from foldproof.preflight.model import Finding, Severity
from foldproof.prove.model import Proof, Verdict
from foldproof.report.as_json import findings_json, written
from foldproof.report.causes import causes
from foldproof.report.junit import junit_xml
from foldproof.report.letter import letter_text
from foldproof.report.model import Results
from foldproof.report.plan_facts import cost_words
from foldproof.report.sarif import sarif_bytes
from foldproof.report.since import baseline_lines, severities
from foldproof.report.words import clean, count, pages, sentence

_MOST = 12


def summary(results: Results, code: ExitCode) -> str:
    """A run in a few lines: the verdict, what the book becomes, what is wrong."""
    name = " ".join(results.manuscript.path.name.splitlines())  # a name may hold a line end
    lines = [f"{name}: {_verdict(results, code)}"]
    if results.plan is not None:
        lines += [f"  {sentence(line)}" for line in (*results.plan.assumptions, cost_words(results.plan)) if line]
        lines += [f"  {sentence(line)}" for line in results.plan.offers[:3]]
    if results.refusal is not None:
        lines.append(f"  {sentence(results.refusal.says)}")
        lines += [f"  Would fit: {line}" for line in results.refusal.would]
    lines += findings_lines(results)
    if results.proof is not None:
        lines += [f"  {line}" for line in proof_summary(results.proof).splitlines()]
    if results.late is not None:
        lines += [f"  {line}" for line in results.late.sentences]
    return "\n".join(clean(line) for line in lines)


def in_format(form: str, results: Results, code: ExitCode) -> str:
    """Findings as ``"text"``, ``"json"``, ``"junit"``, ``"sarif"`` or ``"letter"``, without a line end at the end."""
    match form:
        case "json":
            return written(findings_json(results)).decode().rstrip("\n")
        case "junit":
            return junit_xml(results).decode().rstrip("\n")
        case "sarif":
            return sarif_bytes(results).decode().rstrip("\n")
        case "letter":
            return letter_text(results, causes(results)).rstrip("\n")
    return summary(results, code)


def findings_lines(results: Results) -> list[str]:
    """One line a cause, the worst first; beside a baseline what is new first, and at the end what is gone."""
    by_cause: dict[tuple[int, bool, str, str], list[Finding]] = {}
    for index, found in enumerate(results.findings.items):
        key = (found.severity.rank, results.is_known(index), found.check, found.cause)
        by_cause.setdefault(key, []).append(found)
    lines = []
    for (rank, known, check, _), group in sorted(by_cause.items()):
        where = [found.page for found in group if found.page is not None]
        place = f" ({pages(where, 8)})" if len(where) > 1 else ""
        since = "" if results.compared is None else ", known" if known else ", new"
        lines.append(f"  {list(Severity)[rank].value}{since}: {check}: {group[0].problem}{place}")
    if len(lines) > _MOST:
        rest = len(lines) - _MOST
        lines = [*lines[:_MOST], f"  and {count(rest, 'more cause', 'more causes')} in the report."]
    return [*lines, *(f"  {line}" for line in baseline_lines(results))]


def proof_summary(proof: Proof) -> str:
    """The proof in a few lines; every fault named, up to a dozen."""
    claimed = sum(page.claimed for page in proof.pages)
    match proof.verdict:
        case Verdict.PROVED:
            where = "where it belongs" if claimed == 1 else "where they belong"
            lines = [f"Proved: {count(claimed, 'page')} told apart and found {where}."]
        case Verdict.NOT_COMPARED:
            lines = [f"The file {proof.verdict.value}."]
        case _:
            lines = [f"NOT proved: {count(len(proof.faults), 'fault')}."]
    if proof.blanks:
        lines.append(f"Nothing is claimed for {count(len(proof.blanks), 'blank page')}.")
    if proof.alike:
        lines.append(
            f"Nothing is claimed for pages alike in every byte: {'; '.join(pages(g, 6) for g in proof.alike[:4])}."
        )
    lines += [f"{fault.leg.value}: {fault.says}" for fault in proof.faults[:_MOST]]
    if len(proof.faults) > _MOST:
        lines.append(f"and {len(proof.faults) - _MOST} more.")
    return "\n".join(lines)


def _verdict(results: Results, code: ExitCode) -> str:
    found = severities({s: results.findings.count(s) for s in Severity}) or "nothing found"
    match code:
        case ExitCode.NOT_PROVED:
            return f"NOT PROVED; the sheets would not fold into the book. Findings: {found}."
        case ExitCode.NO_PLAN:
            return f"no plan fits. Findings: {found}."
        case ExitCode.STOPPED:
            return f"stopped. Findings: {found}."
    if results.new_stops:
        return f"stops, only warned about. Findings: {found}."
    if results.stops:
        return f"nothing new stops it. Findings: {found}."
    return f"all well. Findings: {found}."
