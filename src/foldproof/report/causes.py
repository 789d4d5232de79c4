# SPDX-License-Identifier: AGPL-3.0-or-later
"""Findings of one cause set in one row, the worst first."""

from __future__ import annotations

from collections import Counter, defaultdict

from attrs import frozen

from foldproof.preflight.model import Finding, Severity
from foldproof.report.model import Results
from foldproof.report.words import clean, count, figure, pages, ranges, sentence

#: places named one by one in a row; the page list and findings.json hold the others
MOST_PLACES = 6


@frozen
class Place:
    """One finding as a line of a row."""

    page: int | None
    also: str  #: ``"folio 37"``, ``"labelled T-1"`` or nothing
    measured: str
    where: str  #: place in the trim frame, in words
    problem: str

    @property
    def named(self) -> str:
        """``"page 41 (folio 37)"``"""
        if self.page is None:
            return "the whole book"
        return f"page {self.page:,}" + (f" ({self.also})" if self.also else "")


@frozen
class Cause:
    """Findings that one act would put right."""

    severity: Severity
    check: str
    title: str  #: of the check, with what sets this cause apart
    summary: str  #: ``"17 places under 225 ppi, worst page 41: 96 ppi"``; empty for a single finding
    problem: str  #: what is wrong, at its worst
    remedy: str
    why: str
    source: str
    limit: str  #: empty unless it is a number
    findings: tuple[Finding, ...]  #: the worst first
    places: tuple[Place, ...]  #: the first few of them
    page_list: str  #: ``"pages 1–4, 7"``, empty when the whole book is meant


def causes(results: Results) -> tuple[Cause, ...]:
    """All findings by severity and cause: the worst severity first, then the order in which they first occur."""
    rows: dict[tuple[int, str, str], list[Finding]] = defaultdict(list)
    for found in results.findings.items:
        rows[found.severity.rank, found.check, found.cause].append(found)
    shared = Counter(check for _, check, _ in rows)
    return tuple(
        _cause(results, rows[key], _apart(key[1], key[2]) if shared[key[1]] > 1 else "")
        for key in sorted(rows, key=lambda k: k[0])
    )


def _apart(check: str, cause: str) -> str:
    """A name that sets a cause apart from others of its check: ``"fonts-embedded/Helvetica"`` gives ``"Helvetica"``.

    Words of ours in small letters are for programs; the problem says them better.
    """
    rest = cause.removeprefix(check).lstrip("/")
    return "" if rest == rest.lower() else rest


def _cause(results: Results, found: list[Finding], apart: str) -> Cause:
    ordered = sorted(found, key=_badness)
    worst = ordered[0]
    known = results.check_named(worst.check)
    numbers = [f.page for f in ordered if f.page is not None]
    title = known.title if known else worst.check.replace("-", " ")
    return Cause(
        severity=worst.severity,
        check=worst.check,
        title=clean(f"{title}: {apart}" if apart else title),
        summary=_summary(ordered, numbers) if len(ordered) > 1 else "",
        problem=clean(sentence(worst.problem)),
        remedy=clean(sentence(worst.remedy)),
        why=clean(sentence(known.why)) if known else "",
        source=clean(known.source) if known else "",
        limit=clean(figure(worst.limit, worst.unit)) if isinstance(worst.limit, int | float) else "",
        findings=tuple(ordered),
        places=tuple(_place(results, f) for f in ordered[:MOST_PLACES]),
        page_list=pages(numbers, 60) if numbers else "",
    )


def _badness(found: Finding) -> tuple[float, int]:
    """Farthest from its limit first, then by page; what cannot be measured keeps to the page."""
    if isinstance(found.measured, int | float) and isinstance(found.limit, int | float):
        return -abs(float(found.measured) - float(found.limit)), found.page or 0
    return 0.0, found.page or 0


def _summary(ordered: list[Finding], numbers: list[int]) -> str:
    worst = ordered[0]
    text = count(len(ordered), "place")
    pair = worst.measured, worst.limit
    if isinstance(pair[0], int | float) and isinstance(pair[1], int | float):
        alike = {f.limit for f in ordered} == {worst.limit}
        signs = {float(f.measured) < float(pair[1]) for f in ordered if isinstance(f.measured, int | float)}
        if alike and len(signs) == 1:
            text += f" {'under' if signs == {True} else 'over'} {figure(worst.limit, worst.unit)}"
        if len(set(numbers)) > 1:
            text += f" on {count(len(set(numbers)), 'page')}"
        if worst.page is not None:
            text += f"; the worst, {figure(worst.measured, worst.unit)}, on page {worst.page:,}"
        return clean(text)
    if len(set(numbers)) > 1:
        text += f" on {count(len(set(numbers)), 'page')}"
    elif numbers:
        text += f" on page {ranges(numbers)}"
    return clean(text)


def _place(results: Results, found: Finding) -> Place:
    return Place(
        page=found.page,
        also=clean(results.also(found.page)) if found.page is not None else "",
        measured=clean(figure(found.measured, found.unit)),
        where=_where(found),
        problem=clean(sentence(found.problem)),
    )


def _where(found: Finding) -> str:
    box = found.place_mm
    if box is None:
        return ""
    x0, y0, x1, y1 = (figure(round(v, 1)) for v in (box.x0, box.y0, box.x1, box.y1))
    return f"{x0} to {x1} mm across, {y0} to {y1} mm up"
