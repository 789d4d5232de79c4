# SPDX-License-Identifier: AGPL-3.0-or-later
"""The check stage on two books and in three lengths: what it costs beyond the ink pass, and how large it grows.

The allowance is in seconds of the machine at hand, as it is set: 3 ms a page, 15 us an object, and what the ink pass
alone takes here.
"""

from __future__ import annotations

import json
import statistics
from collections.abc import Callable
from pathlib import Path

import pikepdf

#: a figure, its limit and whether it may not be more or not be less
Row = tuple[str, float, float, str]
#: runs a script or module in a process of its own: CPU seconds, MB of the largest process, stdout
Measured = Callable[..., tuple[float, float, str]]

SPEC = "colour-on-coated"
PAGE_S, OBJECT_S = 3e-3, 15e-6
LENGTHS = (100, 500, 2415)

OPEN = "import pikepdf, sys; pdf = pikepdf.open(sys.argv[1]); len(pdf.pages)"
STAGE = f"""
import json, pickle, sys
from pathlib import Path
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers

def main():
    what, book, held = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    if what == "read":
        held.write_bytes(pickle.dumps(read(book)))
        return
    manuscript, spec = pickle.loads(held.read_bytes()), load_spec({SPEC!r})
    trim_mm = book_trim_mm(manuscript, None)
    needs = needs_of(spec) if what == "check" else frozenset({{"ink"}})
    with Workers(1) as workers:
        seen = observe(manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs=needs, advance=lambda n: None)
    found = check(Facts(manuscript, seen, Job(), load_house(None), trim_mm, 3.0), spec) if what == "check" else None
    objects = sum(page.objects for page in seen.objects if page)
    print(json.dumps([len(manuscript.pages), objects, len(found.items) if found else 0]))

if __name__ == "__main__":
    main()
"""


def cost_rows(measured: Measured, folder: Path, books: list[Path], times: int = 3) -> list[Row]:
    """CPU of the check stage against its allowance."""
    script = folder / "stage.py"
    script.write_text(STAGE)
    rows: list[Row] = []
    for book in books:
        held = folder / f"{book.stem}.pickle"
        measured(script, "read", book, held)
        ink = [measured(script, "ink", book, held)[0] for _ in range(times)]
        whole = [measured(script, "check", book, held) for _ in range(times)]
        pages, objects, found = json.loads(whole[0][2])
        ink_s, whole_s = statistics.median(ink), statistics.median(run[0] for run in whole)
        own_s = pages * PAGE_S + objects * OBJECT_S
        print(
            f"{book.name}: check stage {whole_s:.2f} s CPU for {pages} pages, {objects} objects, {found} findings; "
            f"ink pass alone {ink_s:.2f} s; beyond it {1000 * (whole_s - ink_s) / pages:.2f} ms a page"
        )
        rows.append(
            (f"check of {book.stem} / (3 ms a page + 15 us an object + ink)", whole_s / (own_s + ink_s), 1.0, "at most")
        )
        rows.append((f"the same beyond the ink pass, {book.stem}", (whole_s - ink_s) / own_s, 1.0, "at most"))
    return rows


def size_rows(measured: Measured, folder: Path, book: Path) -> list[Row]:
    """Memory of the largest process of `foldproof check` on the first pages of a book."""
    rows: list[Row] = []
    for length in LENGTHS:
        part = folder / f"{length}-pages.pdf"
        with pikepdf.open(book) as pdf:
            length = min(length, len(pdf.pages))
            del pdf.pages[length:]
            pdf.remove_unreferenced_resources()
            pdf.save(part, object_stream_mode=pikepdf.ObjectStreamMode.generate)
        _, open_mb, _ = measured("-c", OPEN, part)
        out = folder / "findings.txt"
        for workers in ("1", "2"):
            run = ("-m", "foldproof", "check", part, "--spec", SPEC, "--workers", workers, "--quiet", "-o", out)
            _, largest_mb, _ = measured(*run)
            title = (
                f"check, {length} pages, {workers} worker(s): {largest_mb:.0f} MB / (150 MB + 1.6 x {open_mb:.0f} MB)"
            )
            rows.append((title, largest_mb / (150 + 1.6 * open_mb), 1.0, "at most"))
    return rows
