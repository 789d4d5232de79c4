# SPDX-License-Identifier: AGPL-3.0-or-later
"""Write ``table.md``: check by book, on how many pages it fired; and, asked for, all findings for those who look.

python -m tests.verdicts.table                       # from the root of the project, ../shared beside it
python -m tests.verdicts.table --findings DIR        # also DIR/CHECK.txt: up to 50 findings, spread over the books
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from pathlib import Path

from foldproof.workers import Workers
from tests.verdicts.books import findings, look_at, titles

HERE = Path(__file__).parent
BOOKS = HERE.parents[2] / "shared" / "corpus" / "books"
SAMPLE = 50

HEAD = """# What the checks say of twelve real books

Written by `python -m tests.verdicts.table`; the books lie outside the project (`../shared/corpus/books`).
A cell is the number of pages (or 1 for the whole book) on which the check fired, by the severest of three specs:
`any-book`, `colour-on-coated`, `one-colour-text-on-uncoated`: s stop, q query, n note.  Empty: it said nothing.

"""


def spread(items: list[str], most: int = SAMPLE) -> list[str]:
    """So many of them, evenly over the list."""
    if len(items) <= most:
        return items
    return [items[round(number * (len(items) - 1) / (most - 1))] for number in range(most)]


def main() -> int:
    if not BOOKS.is_dir():
        print(f"{BOOKS} is not there: nothing to look at")
        return 0
    cells: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    lines: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    books = sorted(BOOKS.glob("*.pdf"))
    with Workers(2) as workers:
        for book in books:
            worst: dict[tuple[str, int], str] = {}
            for said, spec, finding in findings(*look_at(book, workers)):
                key = (said.check, said.page)
                worst[key] = min(worst.get(key, said.severity), said.severity, key=_rank)
                place = finding.place_mm
                at = f" at {place.x0:.0f},{place.y0:.0f}-{place.x1:.0f},{place.y1:.0f} mm" if place else ""
                lines[said.check][book.name].append(
                    f"{book.name}\t{spec}\t{said.page}\t{said.cause}\t{said.severity}\t{finding.problem}{at}"
                )
            for (check, _), severity in worst.items():
                cells[check, book.stem][severity[0]] += 1
            print(book.name, len(worst), flush=True)
    short = [book.stem[:12].rstrip("-.") for book in books]
    rows = ["| check | " + " | ".join(short) + " |", "|---|" + "---|" * len(books)]
    for check in titles():
        row = [
            " ".join(f"{cells[check, book.stem][s]}{s}" for s in "sqn" if cells[check, book.stem][s]) for book in books
        ]
        rows.append(f"| {check} | " + " | ".join(row) + " |")
    (HERE / "table.md").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    if "--findings" in sys.argv:
        folder = Path(sys.argv[sys.argv.index("--findings") + 1])
        folder.mkdir(parents=True, exist_ok=True)
        for check, by_book in lines.items():
            everything = [line for book in sorted(by_book) for line in by_book[book]]
            # a book with thousands must not crowd the others out
            share = max(4, SAMPLE // len(by_book))
            sample = [line for book in sorted(by_book) for line in spread(by_book[book], share)][:SAMPLE]
            if len(sample) < min(SAMPLE, len(everything)):
                rest = [line for line in everything if line not in set(sample)]
                sample += spread(rest, min(SAMPLE, len(everything)) - len(sample))
            (folder / f"{check}.txt").write_text("\n".join(sample) + "\n", encoding="utf-8")
    return 0


def _rank(severity: str) -> int:
    return ("stop", "query", "note").index(severity)


if __name__ == "__main__":
    raise SystemExit(main())
