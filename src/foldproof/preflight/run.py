# SPDX-License-Identifier: AGPL-3.0-or-later
"""The check stage: every check of a spec on one book."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from foldproof.errors import FoldproofError, OurFault
from foldproof.job.model import WaivedOn, Waiver
from foldproof.preflight.model import Check, Facts, Finding, Findings, NotJudged, Severity
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.specs import Spec
from foldproof.preflight.waivers import waivers_on


def needs_of(spec: Spec) -> frozenset[str]:
    """The facts that the checks of a spec feed on (values of :class:`Needs`), so that no pass runs for nothing."""
    return frozenset(need.value for check in CHECKS if not spec.is_off(check) for need in check.needs)


def check(
    facts: Facts,
    spec: Spec,
    entries: Sequence[Check] | None = None,
    *,
    on: WaivedOn = "book",
    of_covers: Sequence[Check] = (),
) -> Findings:
    """What is wrong with the book, or with its cover, by this spec.

    Args:
        entries: the checks that are held against it, sorted by id; those of the registry when unsaid.
        on: what it is, as waivers of the job name it.
        of_covers: every check that a cover is held against, which waivers of the job may name.

    Whole-book findings come first, then page by page; within a page by check, then by cause.  The order does not hang
    on severity.  Waivers of the job move findings to ``waived``.

    Raises:
        AskedWrong: a waiver of the job names no check, or a page that there is not.
        OurFault: a check failed on these facts; the message names it.
    """
    entries = CHECKS if entries is None else entries
    waivers = waivers_on(on, facts.job, len(facts.manuscript.pages), of_covers)
    items: list[Finding] = []
    ran: list[str] = []
    not_judged: list[tuple[str, str]] = []
    for entry in entries:
        if spec.is_off(entry):
            continue
        try:
            found = list(entry.run(facts, spec.limits_of(entry)))
        except NotJudged as lacking:
            not_judged.append((entry.id, str(lacking)))
            continue
        except FoldproofError:
            raise
        except Exception as fault:
            raise OurFault(f'The check "{entry.id}" failed: {type(fault).__name__}: {fault}') from fault
        ran.append(entry.id)
        items += _weighed(found, entry, spec.severity_of(entry))
    items.sort(key=lambda f: (f.page or 0, f.check, f.cause))
    kept, waived = _waived(items, waivers)
    return Findings(
        items=tuple(kept),
        spec=spec.name,
        checks=tuple(ran),
        waived=tuple(waived),
        not_judged=tuple(not_judged),
        off=tuple(entry.id for entry in entries if spec.is_off(entry)),
    )


def _weighed(found: list[Finding], entry: Check, asked: Severity) -> list[Finding]:
    """With the severity that the spec asks for.

    The worst findings of a check take it; those that the check itself holds milder stay, or come down to it.
    """
    if asked is entry.severity:
        return found
    weighed = []
    for finding in found:
        severity = asked if finding.severity is entry.severity else max(finding.severity, asked, key=lambda s: s.rank)
        weighed.append(finding if severity is finding.severity else evolve(finding, severity=severity))
    return weighed


def _waived(items: list[Finding], waivers: Sequence[Waiver]) -> tuple[list[Finding], list[tuple[Finding, str, str]]]:
    kept: list[Finding] = []
    waived: list[tuple[Finding, str, str]] = []
    for finding in items:
        for waiver in waivers:
            if waiver.check == finding.check and waiver.page in (None, finding.page):
                waived.append((finding, waiver.reason, waiver.by))
                break
        else:
            kept.append(finding)
    return kept, waived
