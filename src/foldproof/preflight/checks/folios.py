# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the printed folios count on from page to page, and odd ones stand on rectos."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from attrs import frozen

from foldproof.manuscript.model import PageObjects
from foldproof.manuscript.seen import PrintedNumber
from foldproof.preflight.measures import Shape, objects_of, shape
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, numbers, on_page

_LOOK = "See whether pages are missing, doubled or out of order, and export the book again as a whole."

#: sizes of pages that agree by this much are the same
_SIZE_MM = 0.5
#: so many pages without a folio are told in the shortest book
_STRAY = 2


@frozen
class Run:
    """Pages whose folios count on together; pages without one may lie between them."""

    style: str
    offset: int  #: 0-based index less folio
    first: int  #: indices
    last: int
    count: int  #: pages that do carry the folio

    def number(self, index: int) -> int:
        return index - self.offset

    @property
    def turned(self) -> bool:
        """Even folios on rectos: the first page of the file is a recto."""
        return self.offset % 2 == 0


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen = objects_of(facts)
    read = [(index, _printed(page)) for index, page in enumerate(seen) if page is not None and page.folio]
    runs = _runs([(index, number) for index, number in read if number is not None])
    where: dict[str, list[int]] = defaultdict(list)
    for index, page in enumerate(seen):
        if page is not None and page.folio:
            where[page.folio].append(index)
    for before, after in pairwise(runs):
        if before.style == after.style:
            yield from _between(facts, before, after)
    yield from _odd(facts, seen, runs, where)
    yield from _none(facts, seen, runs, limits.number("unnumbered_percent"))
    yield from _sides(facts, runs, int(limits.number("least_run_pages")))


def _printed(page: PageObjects) -> PrintedNumber | None:
    return next((number for number in page.numbers if number.text == page.folio), None)


def _runs(read: Sequence[tuple[int, PrintedNumber]]) -> list[Run]:
    runs: list[Run] = []
    for index, number in read:
        offset = index - number.value
        if runs and (runs[-1].style, runs[-1].offset) == (number.style, offset):
            runs[-1] = Run(number.style, offset, runs[-1].first, index, runs[-1].count + 1)
        else:
            runs.append(Run(number.style, offset, index, index, 1))
    return runs


def _between(facts: Facts, before: Run, after: Run) -> Iterator[Finding]:
    """Where one numbering of a style gives way to another one."""
    last, first = before.number(before.last), after.number(after.first)
    pages, steps = after.first - before.last, first - last
    if steps == pages + _spreads(facts, before, after):
        return  # told by another check
    here = f"it carries folio {facts.folio(after.first)}, page {before.last + 1} folio {facts.folio(before.last)}"
    if steps > pages:
        lost = steps - pages
        which = _said(range(last + 1, first)) if pages == 1 else f"{lost} of the folios between"
        yield on_page(
            facts, after.first, "folios/missing", Severity.QUERY,
            f"{here}: {which} {'is' if lost == 1 else 'are'} missing.",
            _LOOK, measured=facts.folio(after.first), limit=str(last + pages),
        )  # fmt: skip
    elif first == 1:
        yield on_page(
            facts, after.first, "folios/again", Severity.NOTE, "the folios begin again at 1.",
            "Nothing to do if the part is meant to be numbered for itself.",
        )  # fmt: skip
    elif steps <= 0:
        again = range(first, last + 1)
        yield on_page(
            facts, after.first, "folios/doubled", Severity.QUERY,
            f"{here}: {_said(again)} {'stands' if len(again) == 1 else 'stand'} twice.",
            _LOOK, measured=facts.folio(after.first), limit=str(last + pages),
        )  # fmt: skip
    else:
        extra, between = pages - steps, pages - 1
        index = before.last + 1 if extra == between else after.first
        which = "the page" if between == 1 else f"{extra} of the {between} pages"
        yield on_page(
            facts, index, "folios/not-counted", Severity.NOTE,
            f"{which} between folio {facts.folio(before.last)} and folio {facts.folio(after.first)} "
            f"{'is' if extra == 1 else 'are'} not counted.",
            "Nothing to do with plates; otherwise see whether it has been put in by mistake.",
        )  # fmt: skip


def _spreads(facts: Facts, before: Run, after: Run) -> int:
    """Pages between that hold two pages side by side."""
    return sum(shape(facts, index, _SIZE_MM) is Shape.SPREAD for index in range(before.last + 1, after.first))


def _said(folios: range) -> str:
    if len(folios) == 1:
        return f"folio {folios[0]}"
    return f"folios {folios[0]} {'and' if len(folios) == 2 else 'to'} {folios[-1]}"


def _odd(
    facts: Facts, seen: Sequence[PageObjects | None], runs: Sequence[Run], where: dict[str, list[int]]
) -> Iterator[Finding]:
    """A number in the place of the folio that does not count on."""
    for index, page in enumerate(seen):
        odd = page.odd_folio if page is not None else None
        run = _expected(runs, index) if odd is not None else None
        if odd is None or run is None or run.number(index) == odd.value:
            continue
        if odd.style != run.style and not run.first < index < run.last:
            continue
        asked = run.number(index)
        says = f"its folio is {odd.text}; by the pages round about it should be {asked}."
        elsewhere = where.get(odd.text, [])
        if elsewhere:
            says += f" Folio {odd.text} stands on {numbers(elsewhere)} as well, and {asked} is missing."
        yield on_page(
            facts, index, "folios/doubled" if elsewhere else "folios/odd", Severity.QUERY, says,
            "Put the folio right; or see whether the page is another than it should be.",
            place_mm=odd.place_mm, measured=odd.text, limit=str(asked),
        )  # fmt: skip


def _expected(runs: Sequence[Run], index: int) -> Run | None:
    """The run in which a page without a read folio lies; at an end of the book the next one."""
    before = [run for run in runs if run.first < index]
    after = [run for run in runs if run.last > index]
    if before and after:
        return before[-1] if before[-1] is after[0] else None
    run = before[-1] if before else after[0] if after else None
    return run if run is not None and run.number(index) > 0 else None


def _none(
    facts: Facts, seen: Sequence[PageObjects | None], runs: Sequence[Run], most_percent: float
) -> Iterator[Finding]:
    """Pages with text inside a run, without any folio; where there are many it is the style of the book."""
    for run in runs:
        bare = []
        for index in range(run.first, run.last + 1):
            page = seen[index]
            ink = facts.observations.ink[index] if index < len(facts.observations.ink) else None
            # a page of text is meant: pictures and tables often stand without
            if page is None or page.folio or page.odd_folio is not None or page.type_area is None:
                continue
            bare += [] if ink is not None and ink.blank else [index]
        if len(bare) > max(_STRAY, most_percent / 100 * (run.last - run.first + 1)):
            continue
        for index in bare:
            yield on_page(
                facts, index, "folios/none", Severity.NOTE,
                f"it carries no folio; by the pages round about it is {run.number(index)}.",
                "Nothing to do if the number is left out by intent, as on a page of pictures.",
                limit=str(run.number(index)),
            )  # fmt: skip


def _sides(facts: Facts, runs: Sequence[Run], least: int) -> Iterator[Finding]:
    """Stretches of the book in which odd folios stand on versos, told once each."""
    stretches: list[list[Run]] = []
    wrong = False
    before: Run | None = None
    for run in runs:
        # folios that are missing or doubled there are told as such
        told = before is not None and before.style == run.style and _jumps(before, run)
        before = run
        if run.count < least:
            continue
        if run.turned and wrong:
            stretches[-1].append(run)
        elif run.turned and not told:
            stretches.append([run])
        wrong = run.turned and (wrong or not told)
    for stretch in stretches:
        first, last = stretch[0].first, stretch[-1].last
        arabic = any(run.style == "arabic" for run in stretch)
        yield in_book(
            "folios/sides" if arabic else "folios/front-matter",
            Severity.QUERY if arabic else Severity.NOTE,
            f"From page {first + 1} (folio {facts.folio(first)}) to page {last + 1} (folio {facts.folio(last)}) even "
            "folios stand on right-hand pages and odd ones on left-hand pages.",
            "See whether a blank page is missing before them, or a page too many stands there; a cover belongs into a "
            "file of its own."
            if arabic
            else "Nothing to do if the title page is meant to be counted apart.",
            measured=first + 1,
            unit="page",
        )


def _jumps(before: Run, after: Run) -> bool:
    """Whether folios are missing or doubled where one run gives way to the other."""
    pages, steps = after.first - before.last, after.number(after.first) - before.number(before.last)
    return steps > pages or (steps <= 0 and after.number(after.first) != 1)


CHECK = Check(
    id="folios",
    title="Folios",
    needs=frozenset({Needs.OBJECTS}),
    measures="The page numbers that are printed on the pages, as they are read from head and foot: whether they count "
    "on from page to page, and whether odd ones stand on rectos. Page labels of the PDF play no part.",
    why="A page that is missing, doubled or out of place shows first in its folio, and last when the book is bound.",
    remedy="Look at the pages named, and export the whole book again.",
    source="common practice, no source: page 1 is a recto, so odd folios are rectos",
    run=_run,
    limits={"unnumbered_percent": 4.0, "least_run_pages": 4.0},
    limit_sources={
        "unnumbered_percent": "in books whose chapters open without a folio one page in twenty or more has none; "
        "common practice, no source",
        "least_run_pages": "two leaves: fewer pages may be a part bound in; no source",
    },
    severity=Severity.QUERY,
)
