# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ends of books, made by hand: one of every code, and as many as a test wants."""

from __future__ import annotations

import os

from foldproof.batch.model import BookEnd, BookTimes

SHA = "ab" * 32
MADE = ("findings.json", "report.html", "letter.txt", "sheets.pdf", "tickets.pdf", "junit.xml")
#: a name that is no UTF-8, one that a path climbs out with, one of every sign that a line or a parser takes amiss
ODD = (os.fsdecode(b"\xff\xfe.pdf"), "..%2f..%2fup.pdf", "a\"b'c<d>&amp;\n\u2028\u202e\x1b]]>.pdf")


def end(name: str, code: int, *says: str, **more: object) -> BookEnd:
    """How a book ended; its folder has the name of its file."""
    return BookEnd(name, name.removesuffix(".pdf"), code, says, **more)  # type: ignore[arg-type]


def checked(name: str, code: int, stops: int, queries: int, *says: str, sheets: int | None = 4) -> BookEnd:
    """A book of 120 pages that came through the checks."""
    verdict = "failed" if code == 5 else None if code == 4 else "proved"
    files = tuple((file, SHA) for file in MADE if code in (0, 1) or not file.endswith("s.pdf"))
    return end(
        name, code, *says, pages=120, stops=stops, queries=queries, notes=3, sheets=sheets, verdict=verdict, files=files
    )  # fmt: skip


#: in order of name
ENDS = (
    checked("almanack.pdf", 0, 0, 0, "almanack.pdf: all well. Findings: 3 notes."),
    checked("ballads.pdf", 1, 2, 1, "ballads.pdf: stopped. Findings: 2 stops, 1 query, 3 notes.",
            "  Binding: sewn.", "  stop: bleed: Ink stops at the head of page 7. (pages 7, 9)", "  Proved: 120 pages."),
    end("cellars.pdf", 2, "cellars.toml: book.binding is none of sewn, glued, stitched, leaflet."),
    end("dials.pdf", 3, "dials.pdf is locked by a password; give it with --password-file."),
    checked("embers.pdf", 4, 0, 0, "embers.pdf: no plan fits. Findings: 3 notes.", "  No press takes a page of 900 mm.",
            sheets=None),
    checked("flues/gas.pdf", 5, 0, 0, "gas.pdf: NOT PROVED; the sheets would not fold into the book.",
            "  NOT proved: 2 faults.", "  which page: Page 6 belongs here, but page 7 came."),
    end("hearths.pdf", 6, "Cannot write the outputs: no space left on device."),
    end("inks.pdf", 7, "It took longer than the 30 minutes allowed; allow more."),
    checked("jobbing.pdf", 0, 0, 31, "jobbing.pdf: all well. Findings: 31 queries, 3 notes.",
            "  query: fonts: The font Wick is not in the file."),
    end("kilns.pdf", 70, "a fault of ours: ValueError: no."),
    checked("lamps.pdf", 0, 1, 0, "lamps.pdf: stops, only warned about. Findings: 1 stop, 3 notes.",
            "  stop: trim: Page 1 has no trim."),
)  # fmt: skip


def times(ends: tuple[BookEnd, ...] = ENDS) -> tuple[BookTimes, ...]:
    """What they took: each a second longer than the one before it."""
    return tuple(BookTimes(end.name, n + 1.0, n + 0.5, 100.0 + n) for n, end in enumerate(ends))


def many(number: int) -> tuple[BookEnd, ...]:
    """So many books, all kinds among them."""
    made = []
    for n in range(number):
        kind = ENDS[n % len(ENDS)] if n % 3 == 0 else ENDS[0]
        name = f"list {n % 7}/{kind.name.rpartition('/')[2].removesuffix('.pdf')}-{n:04d}.pdf"
        made.append(BookEnd(
            name, name.removesuffix(".pdf"), kind.code, kind.says, kind.pages and kind.pages + n, kind.stops,
            kind.queries, kind.notes, kind.sheets, kind.verdict, kind.files,
        ))  # fmt: skip
    return tuple(made)
