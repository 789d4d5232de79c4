# SPDX-License-Identifier: AGPL-3.0-or-later
"""The paper that goes with the job from bench to bench: quantities as reckoned, boxes for what really came and went.

Every figure is one of :class:`foldproof.quantities.model.Count`, or their sum over the sheets of a kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from attrs import frozen

from foldproof.case.parts import paper_parts
from foldproof.makeup.plan import Plan
from foldproof.quantities.model import Count, Work
from foldproof.tickets.bench import Bench, breakable, short
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.labels import sheets_words
from foldproof.tickets.stock import unknown_words

#: rows of one bench, one a kind of sheet; where there are more they are summed in one
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
    "case": "Case",
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
    rows = rows_of(work.plan, work.quantities.counts)
    sheets = sum(row.goes_in for row in rows if row.bench == "press")
    table = []
    for bench, group in groupby(rows, key=lambda row: row.bench):
        name = "Cutting" if (bench, work.plan.binding) == ("trimming", "leaflet") else NAMES[bench]
        table += [row.words(name if n == 0 else "") for n, row in enumerate(group)]
    orders = work.quantities.orders
    before = []
    if orders:
        gross = sum(order.gross for order in orders)
        before.append(["Stock", "press sheets, counted and cut", "", "", "", f"{gross:,}"])
    for part in paper_parts(work.plan, work.job, work.house, work.quantities.thickness).orders:
        what = f"sheets for {part.part}, {'counted' if part.press else 'cut'}"
        before.append(["" if before else "Stock", what, "", "", "", f"{part.gross:,}"])
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
                ("author", breakable(short(work.author, 56))),
            ),
            body={
                "heads": ["bench", "what", "in", "set-up", "spoil", "out", "really in", "really out", "signed, date"],
                "rows": [*before, *table],
                "totals": totals_of(rows),
                "says": "In, set-up, spoil, out: as reckoned. Write what really came and what really went on; a bench"
                " that cannot give what the next one needs says so before the job moves on.",
                "unknown": unknown_words(work),
            },
            cautions=cautions_of("traveller"),
            due=_ends(rows),
            most_pages=3,
        ),
    )


def rows_of(plan: Plan, counts: Sequence[Count]) -> tuple[Row, ...]:
    """The counts in the order of the benches, those of the sheets of one kind summed; of more kinds than
    :data:`MOST_ROWS` all together."""
    kind_of = {sheet: kind.label for kind in plan.kinds for sheet in kind.sheets}
    found: dict[str, dict[str, list[Count]]] = {}
    for count in counts:
        kind = kind_of.get(count.sheets[0], "") if count.sheets else count.what
        found.setdefault(count.bench, {}).setdefault(kind, []).append(count)
    rows = []
    for bench, kinds in found.items():
        if len(kinds) > MOST_ROWS:
            together = [count for same in kinds.values() for count in same]
            rows.append(_summed(bench, f"{len(kinds):,} kinds of sheets", together))
        else:
            rows += [_summed(bench, _what(kind, same), same) for kind, same in kinds.items()]
    return tuple(rows)


def _what(kind: str, counts: Sequence[Count]) -> str:
    """``"6 x 16, sheets 1–3"``, ``"books"``."""
    sheets = [sheet for count in counts for sheet in count.sheets]
    if not sheets:
        return kind
    which = sheets_words(sheets)
    return f"{kind}, {which}" if kind else which


def _summed(bench: str, what: str, counts: Sequence[Count]) -> Row:
    return Row(
        bench,
        what,
        sum(count.goes_in for count in counts),
        sum(count.set_up for count in counts),
        sum(count.spoil for count in counts),
        sum(count.comes_out for count in counts),
    )


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


def _ends(rows: Sequence[Row]) -> tuple[str, str]:
    """What comes to the first bench and what leaves the last."""
    if not rows:
        return "", ""
    first = sum(row.goes_in for row in rows if row.bench == rows[0].bench)
    return f"{first:,}", f"{rows[-1].comes_out:,}"
