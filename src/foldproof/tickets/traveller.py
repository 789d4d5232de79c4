# SPDX-License-Identifier: AGPL-3.0-or-later
"""The paper that goes with the job from bench to bench: quantities as reckoned, boxes for what really came and went.

Every figure is one of :class:`foldproof.quantities.model.Count`, times the press sheets that its line speaks of; the
passes of one pile through the press share a row.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from attrs import evolve, frozen

from foldproof.quantities.model import Count, Work
from foldproof.tickets.bench import Bench
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.labels import sheets_words

#: rows of one bench; where it has more lines than this they are summed in one
MOST_ROWS = 8
#: as the benches' own tickets call themselves
NAMES = {
    "press": "Press",
    "folding": "Folding",
    "gathering": "Gathering",
    "sewing": "Sewing",
    "gluing": "Gluing",
    "stitching": "Stitching",
    "covering": "Covering",
    "trimming": "Trimming",
    "case": "Cases",
    "casing-in": "Casing in",
    "packing": "Packing",
}
#: benches whose figures are press sheets and what becomes of them before they are gathered
_SHEETS = ("press", "folding")


@frozen
class Row:
    """One line of the traveller; all its sheets together."""

    bench: str
    what: str
    goes_in: int
    set_up: int
    spoil: int
    comes_out: int

    def words(self, name: str) -> list[str]:
        figures = (self.goes_in, self.set_up, self.spoil, self.comes_out)
        return [name, self.what, *(f"{figure:,}" for figure in figures)]


def benches(work: Work) -> tuple[Bench, ...]:
    """The traveller: every job has one."""
    rows = rows_of(work.quantities.counts)
    sheets = sum(row.goes_in for row in rows if row.bench == "press")
    table = []
    for bench, group in groupby(rows, key=lambda row: row.bench):
        for n, row in enumerate(group):
            table.append(row.words(NAMES.get(bench, bench.capitalize()) if n == 0 else ""))
    orders = work.quantities.orders
    before = []
    if orders:
        gross = sum(order.gross for order in orders)
        before.append(["Stock", "sheets, counted and cut", "", "", "", f"{gross:,}"])
    if work.quantities.plates:
        before.append(["Plates", "plates", "", "", "", f"{len(work.quantities.plates):,}"])
    return (
        Bench(
            bench="traveller",
            name="Traveller",
            what=f"goes with the job; {work.quantities.copies:,} {'copy' if work.quantities.copies == 1 else 'copies'}",
            layout="traveller",
            facts=(
                ("copies ordered", f"{work.quantities.copies:,}"),
                ("sheets into the press", f"{sheets:,}" if sheets else ""),
                ("binding", work.plan.binding),
                ("author", work.author),
            ),
            body={
                "heads": ["bench", "what", "in", "set-up", "spoil", "out", "really in", "really out", "signed, date"],
                "rows": [*before, *table],
                "totals": totals_of(rows),
                "says": "In, set-up, spoil, out: as reckoned. Write what really came and what really went on; a bench"
                " that cannot give what the next one needs says so before the job moves on.",
            },
            cautions=cautions_of("traveller"),
            due=_ends(rows),
            most_pages=3,
        ),
    )


def rows_of(counts: Sequence[Count]) -> tuple[Row, ...]:
    """The lines of the counts in the order of the benches; those of one bench are summed where they are many."""
    found: dict[str, list[Row]] = {}
    for count in counts:
        row = _times_sheets(count)
        rows = found.setdefault(count.bench, [])
        pile = rows[-1] if rows and count.bench == "press" and rows[-1].what == row.what else None
        if pile is None:
            rows.append(row)
        else:  # the same pile once more: what the last pass gives is what comes out
            rows[-1] = evolve(
                pile, set_up=pile.set_up + row.set_up, spoil=pile.spoil + row.spoil, comes_out=row.comes_out
            )
    return tuple(row for rows in found.values() for row in (_summed(rows) if len(rows) > MOST_ROWS else rows))


def totals_of(rows: Sequence[Row]) -> list[list[str]]:
    """What is made ready with and spoilt in all: of press sheets and sections, and of whole books."""
    told = []
    for name, here in (
        ("sheets at the press", [row for row in rows if row.bench == "press"]),
        ("sections at the folder", [row for row in rows if row.bench == "folding"]),
    ):
        if here:
            told.append(_total(name, here, sum(row.goes_in for row in here), sum(row.comes_out for row in here)))
    # cases are made beside the books and meet them at casing-in
    books = [row for row in rows if row.bench not in (*_SHEETS, "case") and row.what in ("books", "leaflets")]
    if books:
        told.append(_total(books[0].what, books, books[0].goes_in, books[-1].comes_out))
    return told


def _total(name: str, rows: Sequence[Row], goes_in: int, comes_out: int) -> list[str]:
    set_up, spoil = sum(row.set_up for row in rows), sum(row.spoil for row in rows)
    return ["In all", name, *(f"{figure:,}" for figure in (goes_in, set_up, spoil, comes_out))]


def _times_sheets(count: Count) -> Row:
    times = max(len(count.sheets), 1)
    what = count.what if not count.sheets else sheets_words(count.sheets)
    if count.bench == "folding" and count.sheets:
        what = f"sections of {what}"
    return Row(
        count.bench, what, count.goes_in * times, count.set_up * times, count.spoil * times, count.comes_out * times
    )


def _summed(rows: Sequence[Row]) -> list[Row]:
    return [
        Row(
            rows[0].bench,
            f"{len(rows):,} kinds of sheets, together",
            sum(row.goes_in for row in rows),
            sum(row.set_up for row in rows),
            sum(row.spoil for row in rows),
            sum(row.comes_out for row in rows),
        )
    ]


def _ends(rows: Sequence[Row]) -> tuple[str, str]:
    """What comes to the first bench and what leaves the last."""
    if not rows:
        return "", ""
    first = sum(row.goes_in for row in rows if row.bench == rows[0].bench)
    return f"{first:,}", f"{rows[-1].comes_out:,}"
