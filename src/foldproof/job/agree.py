# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether the tables of one job or house file agree with one another.  Pure.

Each value alone was looked at when the file was read (:mod:`foldproof.job.model`); here two of them are held together.
Every function yields sentences that begin with the place in the file, ``"press 2, printable: ..."``.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Iterator
from typing import TypeVar

from foldproof.job.model import House, HouseFolder, HouseLine, HousePress, HouseScheme, Insert, Job
from foldproof.job.toml_file import meant
from foldproof.units import format_mm, format_size_mm

Word = TypeVar("Word", bound=Hashable)

_FOLD = re.compile(r"(left|right|top|bottom)( [1-9]\d?)? (over|under)")
#: leaves of the largest section that a job may ask for, 64 pages
_MOST_LEAVES = 32


# --- the house --------------------------------------------------------------------------------------------------------


def house_slips(house: House) -> Iterator[str]:
    """What of a house file does not agree with itself."""
    yield from _names(house)
    for nth, press in enumerate(house.presses, start=1):
        yield from (f"press {nth}, {slip}" for slip in _press(press))
    for nth, scheme in enumerate(house.schemes, start=1):
        yield from (f"scheme {nth}, {slip}" for slip in _scheme(scheme))
    for nth, folder in enumerate(house.folders, start=1):
        yield from (f"folder {nth}, {slip}" for slip in _folder(folder))
    for nth, line in enumerate(house.lines, start=1):
        yield from (f"line {nth}, {slip}" for slip in _line(line))


def _names(house: House) -> Iterator[str]:
    for what, names in (
        ("press", [press.name for press in house.presses]),
        ("scheme", [scheme.name for scheme in house.schemes]),
        ("folder", [folder.name for folder in house.folders]),
        ("line", [line.name for line in house.lines]),
        ("stock", [stock.name for stock in house.stocks]),
        ("board", [board.name for board in house.boards]),
        ("cloth", [cloth.name for cloth in house.cloths]),
        ("carton", [carton.name for carton in house.cartons]),
    ):
        for twice in _twice(names):
            yield f'{what}: the name "{twice}" is used twice; give each {what} a name of its own.'
    stocks = [stock.name for stock in house.stocks]
    if house.usual_stock not in stocks:
        yield f'usual_stock: no [[stock]] is named "{house.usual_stock}"; {meant(house.usual_stock, stocks)}'
    schemes = [scheme.name for scheme in house.schemes]
    for nth, folder in enumerate(house.folders, start=1):
        for name in folder.schemes:
            if name not in schemes:
                yield f'folder {nth}, schemes: no [[scheme]] is named "{name}"; {meant(name, schemes)}'


def _press(press: HousePress) -> Iterator[str]:
    yield from _sizes("sheet", press.sheet_min, press.sheet_max)
    if press.printable is not None and _larger(press.printable, press.sheet_max):
        yield (
            f"printable: {format_size_mm(*press.printable)} is larger than sheet_max, "
            f"{format_size_mm(*press.sheet_max)}; no image is larger than its sheet."
        )
    if press.perfecting and press.perfecting >= press.inks:
        yield (
            f"perfecting: {press.perfecting} of {_units(press.inks)} on the back leaves none for the front; "
            "write fewer, or 0 where the press does not perfect."
        )
    if press.ways is None:
        return
    if not press.ways:
        yield "ways: at least one must be stated; leave the key out where the press prints in every way it can."
    for twice in _twice(press.ways):
        yield f'ways: "{twice}" is named twice; name each way once.'
    if "perfecting" in press.ways and not press.perfecting:
        yield (
            'ways: "perfecting" is named, and the press does not perfect; state perfecting, the inks that such a pass '
            "puts on the back, or leave that way out."
        )


def _scheme(scheme: HouseScheme) -> Iterator[str]:
    for key, folds in (("folds", scheme.folds), ("offcut_folds", scheme.offcut_folds)):
        for words in folds:
            if not _FOLD.fullmatch(words):
                yield (
                    f'{key}: "{words}" is no fold; write the side that moves, how many panels if not half, and over or '
                    'under, for example "right under" or "left 1 over".'
                )
    if scheme.offcut_rows >= scheme.rows:
        yield (
            f"offcut_rows: {scheme.offcut_rows} of {scheme.rows} rows cut off leave nothing to set them into; "
            "write fewer, or more rows."
        )
    if scheme.offcut_rows and not scheme.offcut_folds:
        yield "offcut_folds: is missing; a scheme with offcut_rows says how the rows that are cut off are folded."
    if scheme.narrower:
        yield from _narrower(scheme)
    if scheme.offcut_folds and not scheme.offcut_rows:
        yield "offcut_rows: is missing; a scheme with offcut_folds says how many rows are cut off the top."


def _narrower(scheme: HouseScheme) -> Iterator[str]:
    if scheme.rows != 1:
        yield f"narrower: only a single row of panels has narrower ones, and this scheme has {scheme.rows} rows."
    if len(scheme.narrower) != scheme.columns:
        yield f"narrower: {len(scheme.narrower)} lengths for {scheme.columns} columns; write one for each, 0 mm too."
    if min(scheme.narrower) > 0:
        yield "narrower: every column is narrower than the page; leave the widest at 0 mm."


def _folder(folder: HouseFolder) -> Iterator[str]:
    yield from _sizes("sheet", folder.sheet_min, folder.sheet_max)
    yield from _lengths("panel", folder.panel_min, folder.panel_max)
    if (folder.lip_min is None) != (folder.lip_max is None):
        stated, lacking = ("lip_max", "lip_min") if folder.lip_min is None else ("lip_min", "lip_max")
        yield f"{lacking}: is missing; {stated} is stated, and a folder that leaves a lip states both."
    yield from _lengths("lip", folder.lip_min, folder.lip_max)
    for pages in folder.grammage_max:
        if pages < 4:
            yield f"grammage_max: {pages} pages are no section; the pages of a section are 4 or more."


def _line(line: HouseLine) -> Iterator[str]:
    for twice in _twice(line.bindings):
        yield f'bindings: "{twice}" is named twice; name each binding once.'
    yield from _sizes("trim", line.trim_min, line.trim_max)
    yield from _lengths("block", line.block_min, line.block_max)
    if line.lip is not None and line.lip_size == 0:
        yield f'lip_size: the lip is "{line.lip}" and 0 mm wide; state how wide, or leave lip out.'


def _sizes(what: str, least: tuple[float, float], most: tuple[float, float]) -> Iterator[str]:
    if _larger(least, most):
        yield (
            f"{what}_min: {format_size_mm(*least)} is larger than {what}_max, {format_size_mm(*most)}; "
            "exchange them or put one right."
        )


def _lengths(what: str, least: float | None, most: float | None) -> Iterator[str]:
    if least is not None and most is not None and least > most:
        told = f"{format_mm(least, 2)} is more than {what}_max, {format_mm(most, 2)}"
        yield f"{what}_min: {told}; exchange them or put one right."


def _larger(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """In either direction."""
    return one[0] > other[0] or one[1] > other[1]


def _units(inks: int) -> str:
    return "1 ink" if inks == 1 else f"{inks} inks"


# --- the job ----------------------------------------------------------------------------------------------------------


def job_slips(job: Job) -> Iterator[str]:
    """What of a job does not agree with itself, whatever the house and the manuscript."""
    if job.book.binding == "leaflet" and job.bindery.line is not None:
        yield f'bindery.line: a leaflet is bound by nothing; leave the line "{job.bindery.line}" out.'
    if job.paper.bulk is not None and job.paper.caliper is not None:
        yield "paper.bulk: bulk and caliper both say how thick the paper is; leave one of them out."
    yield from _signed_leaves(job)
    yield from _inserts(job.inserts)
    yield from _spreads(job)


def _signed_leaves(job: Job) -> Iterator[str]:
    leaves = job.sections.signed_leaves
    where = "sections.signed_leaves"
    if not leaves:
        yield f"{where}: no leaf is named; write [1], or switch the mark off with signature = false in [marks]."
    for leaf in leaves:
        if leaf < 1:
            yield f"{where}: {leaf} is no leaf; leaves are counted from 1."
    for twice in _twice(leaves):
        yield f"{where}: leaf {twice} is named twice; name each leaf once."
    most, of = _MOST_LEAVES, "a section of 64 pages"
    if job.sections.pages is not None:
        most, of = job.sections.pages // 2, f"a section of {job.sections.pages} pages"
    for leaf in leaves:
        if leaf > most:
            yield f"{where}: leaf {leaf} is asked for, and {of} has {most}; write a leaf that every section has."


def _inserts(inserts: tuple[Insert, ...]) -> Iterator[str]:
    for nth, insert in enumerate(inserts, start=1):
        if insert.how == "round" and insert.holds is None:
            yield (
                f"insert {nth}, holds: is missing; an insert that goes round a section says how many pages of text "
                "it holds."
            )
        if insert.how != "round" and insert.holds is not None:
            yield (
                f'insert {nth}, holds: an insert "{insert.how}" sections holds no text; leave the key out, or write '
                'how = "round".'
            )
    taken: dict[int, int] = {}
    for nth, insert in enumerate(inserts, start=1):
        for page in sorted(insert_pages(insert)):
            first = taken.setdefault(page, nth)
            if first != nth:
                yield (
                    f"insert {nth}, first_page: page {page} of the manuscript stands in insert {first} already; "
                    "a page is printed once."
                )
                break


def insert_pages(insert: Insert) -> frozenset[int]:
    """Pages of the manuscript, counted from 1, that an insert takes.

    One that goes round a section has half of its pages before the text that it holds, half behind it.
    """
    if insert.how != "round":
        return frozenset(range(insert.first_page, insert.first_page + insert.pages))
    half = insert.pages // 2
    behind = insert.first_page + half + (insert.holds or 0)
    return frozenset((*range(insert.first_page, insert.first_page + half), *range(behind, behind + half)))


def _spreads(job: Job) -> Iterator[str]:
    taken: dict[int, int] = {}
    for nth, spread in enumerate(job.spreads, start=1):
        for page in (spread.first_page, spread.first_page + 1):
            first = taken.setdefault(page, nth)
            if first != nth:
                yield (
                    f"spread {nth}, first_page: page {page} belongs to spread {first} already; a spread is two pages, "
                    "and each stands in one."
                )
                break


def _twice(names: Iterable[Word]) -> list[Word]:
    seen: set[Word] = set()
    return [name for name in names if name in seen or seen.add(name)]  # type: ignore[func-returns-value]
