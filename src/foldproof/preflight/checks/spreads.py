# SPDX-License-Identifier: AGPL-3.0-or-later
"""Two pages side by side where one is wanted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from foldproof.preflight.measures import Shape, page_mm, shape, spread_slack_mm
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, numbers, on_page
from foldproof.units import format_size_mm

_REMEDY = "Export single pages, not spreads or facing pages; a picture across two pages goes half on each."


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    slack_mm = limits.number("tolerance_mm")
    for page in facts.manuscript.pages:
        if shape(facts, page.index, slack_mm) is Shape.SPREAD:
            size = page_mm(page)
            yield on_page(
                facts,
                page.index,
                "spreads/page",
                Severity.STOP,
                f"it is {format_size_mm(*size)}, about twice the trim width: two pages side by side?",
                _REMEDY,
                measured=size[0],
                limit=facts.trim_mm[0],
                unit="mm",
            )
    if facts.job.book.trim is None:
        yield from _whole_book(facts, limits.number("wide_ratio"))


def _whole_book(facts: Facts, wide_ratio: float) -> Iterator[Finding]:
    """Without a trim from the job the usual size is taken for it, even when most pages are spreads."""
    width, height = facts.trim_mm
    slack_mm = spread_slack_mm((width / 2, height))
    halves = [
        page.index
        for page in facts.manuscript.pages
        if abs(2 * page_mm(page)[0] - width) <= slack_mm and abs(page_mm(page)[1] - height) <= slack_mm
    ]
    if halves:
        yield in_book(
            "spreads/halves",
            Severity.STOP,
            f"Most pages are {format_size_mm(width, height)}, twice as wide as {numbers(halves)}: spreads with single "
            "pages among them?",
            _REMEDY,
            measured=width,
            limit=page_mm(facts.manuscript.pages[halves[0]])[0],
            unit="mm",
        )
    elif height > 0 and width / height >= wide_ratio:
        yield in_book(
            "spreads/wide",
            Severity.QUERY,
            f"The pages are much wider than high, {format_size_mm(width, height)}: a book on its side, or spreads?",
            f"If they are spreads: {_REMEDY[0].lower()}{_REMEDY[1:]} If the book is meant to lie across, state its "
            "trim in the job and this question goes away.",
            measured=width / height,
            limit=wide_ratio,
        )


CHECK = Check(
    id="spreads",
    title="Spreads",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Pages about twice as wide as the trim and as high; without a trim from the job, also a book of very wide "
    "pages.",
    why="The make-up sets single pages: a spread would be printed on one leaf, cut in two, or not fit.",
    remedy="Export single pages.",
    source="common practice: printers' data sheets ask for single pages, not spreads",
    run=_run,
    limits={"tolerance_mm": 0.5, "wide_ratio": 1.25},
    limit_sources={
        "tolerance_mm": "as for trim-size; common practice, no source",
        "wide_ratio": "two pages of 2 : 3 side by side are 1.33, two of ISO A are 1.41; common practice, no source",
    },
    severity=Severity.STOP,
)
