# SPDX-License-Identifier: AGPL-3.0-or-later
"""Speed and memory on a book of 2,415 pages, as ratios to what the same machine needs to open and save the file.

    python tests/bench/run.py [BOOK.pdf]

Every figure is the median of a few runs, process CPU (user and system, children included), each run in a process of
its own.  Ratios carry over to other machines; seconds do not, but for the allowance of the check stage, which is set in
seconds (:mod:`checking`).
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
from pathlib import Path

from checking import cost_rows, size_rows
from planning import plan_rows

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.measured import measured as of_command  # noqa: E402

BOOK = ROOT.parent / "shared" / "corpus" / "books" / "r-fullrefman.pdf"
#: the book with the most objects a page
DENSE = BOOK.with_name("pgfplots.pdf")

OPEN = "import pikepdf, sys; pdf = pikepdf.open(sys.argv[1]); len(pdf.pages)"
OPEN_SAVE = (
    OPEN + "; pdf.save(sys.argv[2], deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)"
)

PREPARE = """
import pickle, sys
from pathlib import Path
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
manuscript = read(Path(sys.argv[1]))
plan = plans(len(manuscript.pages), book_trim_mm(manuscript, None), Job(), load_house(None), title="bench")[0]
Path(sys.argv[2]).write_bytes(pickle.dumps((manuscript, plan)))
"""
IMPOSE = """
import pickle, sys
from pathlib import Path
from foldproof.impose.write import write_sheets
from foldproof.job.model import Job
manuscript, plan = pickle.loads(Path(sys.argv[1]).read_bytes())
write_sheets(manuscript, plan, Job(), Path(sys.argv[2]), date="2026-01-01")
"""
IMPOSE_NOTHING = IMPOSE.rsplit("\n", 2)[0]
WALL = """
import json, pickle, sys, time
from pathlib import Path
from foldproof.manuscript.observe import observe
from foldproof.prove.prove import prove
from foldproof.workers import Workers
def main():
    manuscript, plan = pickle.loads(Path(sys.argv[1]).read_bytes())
    took = []
    for count in (1, 2):
        with Workers(count) as workers:
            start = time.monotonic()
            observe(manuscript, workers, trim_mm=plan.trim_mm, bleed_mm=plan.bleed_mm,
                    needs=frozenset({"structure", "objects", "ink"}), advance=lambda n: None)
            prove(Path(sys.argv[2]), plan.instructions, manuscript.path, workers=workers, advance=lambda n: None)
            took.append(time.monotonic() - start)
    print(json.dumps(took))
if __name__ == "__main__":
    main()
"""


def measured(*command: object) -> tuple[float, float, str]:
    """CPU seconds, peak memory in MB of the largest process of the tree, and stdout of one Python command."""
    done = of_command(sys.executable, *command)
    if done.returncode not in (0, 1):
        raise SystemExit(f"{command} ended with {done.returncode}: {done.stderr[-2000:]}")
    return done.cpu_s, done.peak_mb, done.stdout


def median(times: int, *command: object) -> tuple[float, float]:
    runs = [measured(*command)[:2] for _ in range(times)]
    return statistics.median(r[0] for r in runs), max(r[1] for r in runs)


def main() -> int:
    book = Path(sys.argv[1]) if len(sys.argv) > 1 else BOOK
    if not book.exists():
        print(f"{book} is not there: nothing measured")
        return 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _, open_mb = median(1, "-c", OPEN, book)
        save_s, _ = median(3, "-c", OPEN_SAVE, book, folder / "copy.pdf")
        measured("-c", PREPARE, book, folder / "plan.pickle")
        idle_s, _ = median(3, "-c", IMPOSE_NOTHING, folder / "plan.pickle")
        impose_s, impose_mb = median(3, "-c", IMPOSE, folder / "plan.pickle", folder / "sheets.pdf")
        (folder / "wall.py").write_text(WALL)
        make = ("-m", "foldproof", "make", book, "-o", folder / "made", "--quiet")
        make_s, make_mb = median(3, *make, "--workers", "1")
        both_s, both_mb = median(3, *make, "--workers", "2")
        one_s, two_s = json.loads(measured(folder / "wall.py", folder / "plan.pickle", folder / "sheets.pdf")[2])
        checking = cost_rows(measured, folder, [book, *([DENSE] if DENSE.exists() else [])])
        checking += size_rows(measured, folder, book)
        planning = plan_rows(measured)
    rows = [
        ("impose, save included / pikepdf open + save (CPU)", impose_s / save_s, 1.5, "at most"),
        ("the same without the start of Python and imports", (impose_s - idle_s) / save_s, 1.5, "at most"),
        ("make, all stages, one worker / pikepdf open + save (CPU)", make_s / save_s, 22.0, "at most"),
        ("make, all stages, two workers / pikepdf open + save (CPU)", both_s / save_s, 22.0, "at most"),
        (
            "largest process / (150 MB + 1.6 x pikepdf.open)",
            max(make_mb, both_mb, impose_mb) / (150 + 1.6 * open_mb),
            1.0,
            "at most",
        ),
        ("check and proof, wall, one worker / two", one_s / two_s, 1.6, "at least"),
        *checking,
        *planning,
    ]
    good = True
    largest_mb = max(make_mb, both_mb)
    print(
        f"{book.name}: open + save {save_s:.2f} s CPU, open alone {open_mb:.0f} MB, largest process {largest_mb:.0f} MB"
    )
    for title, value, limit, sense in rows:
        holds = value <= limit if sense == "at most" else value >= limit
        good = good and holds
        print(f"  {title:<68}{value:6.2f}   {sense} {limit:g}   {'holds' if holds else 'FAILS'}")
    return 0 if good else 1


if __name__ == "__main__":
    os.environ.setdefault("PYTHONHASHSEED", "0")
    sys.exit(main())
