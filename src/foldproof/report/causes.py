# SPDX-License-Identifier: AGPL-3.0-or-later
"""Findings of one cause set in one row: the worst severity first, then by how many pages they touch."""

from __future__ import annotations

import re
from collections import Counter, defaultdict

from attrs import evolve, frozen

from foldproof.preflight.model import Check, Finding, Severity
from foldproof.report.explained import explained, whose_limit
from foldproof.report.model import Results
from foldproof.report.plain import Plain, plain_of
from foldproof.report.words import clean, count, figure, pages, sentence

#: places named one by one in a row; the page list and findings.json hold the others
MOST_PLACES = 6
#: stretches of pages named in a row; findings.json holds the others
MOST_RANGES = 60
#: so many pages are named beside a finding; more are counted there and named below it
_FEW_PAGES = 3
#: units of what is measured with a rule, a lens or a densitometer; other figures are counts
_MEASURES = ("mm", "ppi", "pt", "%")
#: how a sentence about a page begins
_PAGE_FIRST = re.compile(r"^Page \d+(?: \([^)]*\))?: ")


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
    headline: str  #: ``"17 pictures under 225 ppi, worst page 41 (96 ppi)"``; else what is wrong, without its page
    summary: str  #: how many there are, where there is more than one, else empty
    problem: str  #: what is wrong, at its worst
    remedy: str
    explained: tuple[tuple[str, str], ...]  #: the text of the check, as ``foldproof explain`` prints it
    measured: str  #: of the worst, empty unless it is a number
    limit: str  #: empty unless it is a number
    whose: str  #: whose figure the limit is, or else whose rule the check
    findings: tuple[Finding, ...]  #: the worst first
    places: tuple[Place, ...]  #: the first few of them
    pages: tuple[int, ...]  #: every page touched, in order; empty when the whole book is meant
    touches: int  #: how many pages that is; a finding about the whole book touches all of them
    known: bool = False  #: the baseline has them all
    since: str = ""  #: beside the baseline: ``"known"``, ``"new"``, ``"new: it was 212 ppi before"``

    @property
    def where(self) -> str:
        """``"pages 3, 7"``, ``"15 pages"`` or ``"whole book"``"""
        if not self.pages:
            return "whole book"
        return pages(self.pages) if len(self.pages) <= _FEW_PAGES else count(len(self.pages), "page")

    @property
    def page_list(self) -> str:
        """``"pages 1–4, 7"``; empty where ``where`` names them all."""
        return pages(self.pages, MOST_RANGES) if len(self.pages) > _FEW_PAGES else ""


def causes(results: Results) -> tuple[Cause, ...]:
    """All findings by severity and cause: the worst first, then those that touch most pages, then in order of page.

    What the baseline knows has rows of its own, after those of its severity that are new.
    """
    rows: dict[tuple[int, bool, str, str], list[tuple[Finding, str]]] = defaultdict(list)
    for index, found in enumerate(results.findings.items):
        worse = results.compared.worse[index] if results.compared is not None else ""
        rows[found.severity.rank, results.is_known(index), found.check, found.cause].append((found, worse))
    shared = Counter(check for _, check, _ in {(rank, check, cause) for rank, _, check, cause in rows})
    checks = {check.id: check for check in results.checks}
    made = []
    for (_, known, check, cause), told in rows.items():
        row = _cause(
            results, [f for f, _ in told], checks.get(check), _apart(check, cause) if shared[check] > 1 else ""
        )
        if results.compared is not None:
            row = evolve(row, known=known, since="known" if known else _new(row.findings[0], told))
        made.append(row)
    return tuple(sorted(made, key=lambda c: (c.severity.rank, c.known, -c.touches, c.pages[:1])))


def _new(worst: Finding, told: list[tuple[Finding, str]]) -> str:
    """Whether a row is new altogether, or what is worse now; of several the worst is told."""
    worse = {id(found): clean(words) for found, words in told if words}
    if len(worse) < len(told):
        return "new" if not worse else f"new, {len(worse)} of them worse than before"
    return f"worse: {worse[id(worst)]}" if len(told) == 1 else "worse than before"


def _apart(check: str, cause: str) -> str:
    """A name that sets a cause apart from others of its check: ``"fonts-embedded/Helvetica"`` gives ``"Helvetica"``.

    Words of ours in small letters are for programs; the problem says them better.
    """
    rest = cause.removeprefix(check).lstrip("/")
    return "" if rest == rest.lower() else rest


def _cause(results: Results, found: list[Finding], known: Check | None, apart: str) -> Cause:
    ordered = sorted(found, key=_badness)
    worst = ordered[0]
    numbers = tuple(sorted({f.page for f in ordered if f.page is not None}))
    title = known.title if known else worst.check.replace("-", " ")
    summary, compares = _summary(ordered, numbers, plain_of(worst.check))
    return Cause(
        severity=worst.severity,
        check=worst.check,
        title=clean(f"{title}: {apart}" if apart else title),
        headline=summary if compares else clean(sentence(without_page(worst.problem))),
        summary=summary,
        problem=clean(sentence(worst.problem)),
        remedy=clean(sentence(worst.remedy)),
        explained=tuple((name, clean(text)) for name, text in explained(known, results.spec)) if known else (),
        measured=_number(worst.measured, worst.unit),
        limit=_number(worst.limit, worst.unit),
        whose=clean(whose_limit(worst, known, results.spec) or (known.source if known else "")),
        findings=tuple(ordered),
        places=tuple(_place(results, f) for f in ordered[:MOST_PLACES]),
        pages=numbers,
        touches=len(numbers) if all(f.page is not None for f in ordered) else len(results.manuscript.pages),
    )


def without_page(problem: str) -> str:
    """A sentence without the page that it begins with: ``"Page 3 (folio iii): the rule is thin."``"""
    return _PAGE_FIRST.sub("", problem, count=1)


def _number(value: float | str | None, unit: str) -> str:
    """A figure that was measured; counts stand in the sentence already."""
    return clean(figure(value, unit)) if isinstance(value, int | float) and unit in _MEASURES else ""


def _badness(found: Finding) -> tuple[float, int]:
    """Farthest from its limit first, then by page; what cannot be measured keeps to the page."""
    if isinstance(found.measured, int | float) and isinstance(found.limit, int | float):
        return -abs(float(found.measured) - float(found.limit)), found.page or 0
    return 0.0, found.page or 0


def _summary(ordered: list[Finding], numbers: tuple[int, ...], plain: Plain) -> tuple[str, bool]:
    """``"17 pictures under 225 ppi on 15 pages, worst page 41 (96 ppi)"``, and whether it names a limit so.

    Empty for a single thing.
    """
    things = sum(f.count for f in ordered)
    if things < 2:
        return "", False
    worst = ordered[0]
    text = count(things, plain.one, plain.many)
    measures = [float(f.measured) for f in ordered if isinstance(f.measured, int | float)]
    against = worst.limit
    compared = isinstance(against, int | float) and len(measures) == len(ordered) and worst.unit in _MEASURES
    if compared and isinstance(against, int | float):
        alike = {f.limit for f in ordered} == {against}
        below = {m < float(against) for m in measures}
        if alike and len(below) == 1:
            text += f" {'under' if below == {True} else 'over'} {figure(against, worst.unit)}"
    if len(numbers) > 1:
        text += f" on {count(len(numbers), 'page')}" if len(numbers) != things else ""
        if compared and len(set(measures)) > 1:
            text += f", worst page {worst.page:,} ({figure(worst.measured, worst.unit)})"
    elif numbers:
        text += f" on page {numbers[0]:,}"
    return clean(text), compared


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
