# SPDX-License-Identifier: AGPL-3.0-or-later
"""tickets.pdf: what each bench needs to know to make the book, on paper, with boxes to sign.

Everything is reckoned from the plan, from the quantities and from the proof; every bench's page stands on its own.
Set once; the single files are pages of the same.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from attrs import evolve

from foldproof.files import write_bytes
from foldproof.pdf.splitting import split_at_bookmarks
from foldproof.quantities.model import Work
from foldproof.tickets import (
    case,
    casing_in,
    folding,
    gathering,
    packing,
    plates,
    press_sheet,
    sewing,
    stock,
    traveller,
)
from foldproof.tickets import trimming as knives
from foldproof.tickets.bench import Bench, frame_data
from foldproof.tickets.diagram import drawings
from foldproof.tickets.labels import sheets_words
from foldproof.tickets.typeset import pdf

#: kinds of sheets that get pages of their own; a book has one to four
MOST_KINDS = 12

_SOURCES = tuple(
    ("foldproof.tickets", f"{name}.typ") for name in ("sheet", "bench", "plates", "press", "finish", "case", "tickets")
)


def write_tickets(work: Work, target: Path, folder: Path | None = None) -> None:
    """Write the tickets of a job as one PDF, and where a folder is given the same pages as one file a bench.

    The single files are called ``01-traveller.pdf``, ``02-stock.pdf`` ..., numbered in the order of the work.

    Raises:
        NotWritten: the folder does not take a file.
        OurFault: the layout does not take the data.
        AskedWrong: the proof is not one of these sheets.
    """
    benches = benches_of(work)
    write_bytes(target, pdf(_SOURCES, _data(work, benches)))
    if folder is not None:
        names = [f"{n:02}-{name}.pdf" for n, name in enumerate(dict.fromkeys(b.bench for b in benches), 1)]
        split_at_bookmarks(target, folder, names)


def ticket_data(work: Work) -> dict[str, Any]:
    """Everything that stands on the tickets, as plain data in mm and words."""
    return _data(work, benches_of(work))


def benches_of(work: Work) -> tuple[Bench, ...]:
    """The benches of a job in the order of the work; what goes with the job through all of them lies uppermost."""
    drawn = drawings(work.plan, MOST_KINDS, work.folios)
    # a leaflet is cut flat, before it is folded
    cut_first = work.plan.binding == "leaflet"
    return (
        *traveller.benches(work),
        *stock.benches(work),
        *plates.benches(work),
        *_all_told(work, tuple(press_sheet.entry(work, drawing) for drawing in drawn)),
        *(knives.benches(work) if cut_first else ()),
        *_all_told(work, tuple(folding.entry(work, drawing) for drawing in drawn)),
        *gathering.benches(work),
        *sewing.benches(work),
        *(() if cut_first else knives.benches(work)),
        *case.benches(work),
        *casing_in.benches(work),
        *packing.benches(work),
    )


def _data(work: Work, benches: tuple[Bench, ...]) -> dict[str, Any]:
    return frame_data(work.plan.title, benches, work.date)


def _all_told(work: Work, entries: tuple[Bench, ...]) -> tuple[Bench, ...]:
    """Says on the last of a bench's entries which kinds of sheet have none."""
    left = work.plan.kinds[MOST_KINDS:]
    if not left or not entries:
        return entries
    words = f"{len(left)} more kinds of sheet are not drawn here; plan.json holds them: " + "; ".join(
        f"{kind.label}, {sheets_words(kind.sheets)}" for kind in left
    )
    last = entries[-1]
    return (*entries[:-1], evolve(last, body={**last.body, "says": [*last.body["says"], f"{words}."]}))
