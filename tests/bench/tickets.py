# SPDX-License-Identifier: AGPL-3.0-or-later
"""How long all tickets of a book of forty sections take, one PDF and the single files.

    python tests/bench/tickets.py

The limit of 4 s is the promise of ``print`` (wall clock, a quiet machine); seconds of the processor are told beside
it, for a machine that is at something else too.  The sheets are taken as written and proved: that is other stages'.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.quantities.model import InkCover, InkCovers, Work
from foldproof.tickets.write import write_tickets
from tests.tickets.works import work_of

PAGES, SECTIONS, LIMIT_S = 640, 40, 4.0
#: of every sheet, as wide as a key of its ink duct may be
ZONE_MM = 32.5


def forty_sections() -> Work:
    """A sewn book of forty sections with folios, first lines of text and the ink of every side."""
    job, house = Job(), load_house(None)
    plan = plans(PAGES, (140.0, 216.0), job, house, title="Lives of the Lamplighters")[0]
    assert len(plan.sections) == SECTIONS, len(plan.sections)
    covers = tuple(
        InkCover(
            sheet=run.sheet,
            side=side,
            ink=ink,
            zones=tuple(0.05 + 0.01 * (n % 7) for n in range(int(run.sheet_mm[0] // ZONE_MM) + 1)),
            mean=0.08,
            darkest_mm=(run.sheet_mm[0] / 2, run.sheet_mm[1] / 2),
            darkest=96.0,
            grams=410.0,
        )
        for run in plan.runs
        for side, inks in zip(("front", "back"), run.inks, strict=True)
        for ink in inks
    )
    return work_of(
        plan,
        job=job,
        house=house,
        ink=InkCovers({run.sheet: ZONE_MM for run in plan.runs}, covers),
        folios=tuple(str(page) for page in range(1, PAGES + 1)),
        first_lines=tuple(f"In the evening of day {page} the row was lit from end to end." for page in range(PAGES)),
        date="2026-11-28",
    )


def main() -> int:
    work = forty_sections()
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        walls, cpus = [], []
        for _ in range(3):
            start, used = time.monotonic(), time.process_time()
            write_tickets(work, out / "tickets.pdf", out / "tickets")
            walls.append(time.monotonic() - start)
            cpus.append(time.process_time() - used)
        size = (out / "tickets.pdf").stat().st_size
        files = len(list((out / "tickets").iterdir()))
    wall, cpu = sorted(walls)[1], sorted(cpus)[1]
    print(f"{SECTIONS} sections, {work.plan.sheets} sheets: {files} benches, {size / 1e6:.2f} MB")
    verdict = "holds" if wall <= LIMIT_S else "FAILS"
    print(f"  tickets, wall clock, seconds   {wall:6.2f}   at most {LIMIT_S:g}   {verdict}")
    print(f"  the same, of the processor     {cpu:6.2f}")
    return 0 if wall <= LIMIT_S else 1


if __name__ == "__main__":
    sys.exit(main())
