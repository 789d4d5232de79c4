# SPDX-License-Identifier: AGPL-3.0-or-later
"""A folder of small books: what one costs in a batch against ``make`` on its own, and whether both cores are at work.

    python tests/bench/many.py [BOOKS]

Books of 4 to 32 pages are built, a few of them with faults, and made by ``foldproof batch --workers 2``; some are made
by ``foldproof make`` as well.  CPU is that of all processes, whoever started them: this process has the system hand it
those whose parents are gone.  Memory is the share that the batch has of the machine's, pages that its processes hold
together counted once (Pss of the kernel), looked at twice a second.
"""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.build import Fill, book  # noqa: E402

WORKERS = 2
#: cores that the batch must keep at work with two workers, on a machine that has nothing else to do
BUSY = 1.7
#: CPU of a book in the batch, all of the batch's own work shared out, over that of ``make`` on its own
MOST = 1.0
#: books that are made on their own as well; fewer where there are few
ALONE = 12
#: of every so many books one brings no fonts, one lacks bleed, and one is no whole PDF
WITH_FAULTS = 25
PAGES = (4, 8, 8, 12, 16, 16, 16, 20, 24, 28, 32, 32)
TRIMS_MM = ((140, 216), (120, 190), (148, 210))

_SUBREAPER = 36  # PR_SET_CHILD_SUBREAPER of <linux/prctl.h>


def build(folder: Path, number: int) -> tuple[Path, int]:
    """One book and the code that it is to end with."""
    target = folder / f"book-{number:04}.pdf"
    width_mm, height_mm = TRIMS_MM[number % len(TRIMS_MM)]
    bare, flat = number % WITH_FAULTS == 7, number % WITH_FAULTS == 11

    def each(page: int) -> dict[str, object]:
        # a band over the outer edge; without the bleed that it needs it ends at the trim, which is asked about
        over_mm = 0 if flat and page == 2 else 3
        return {"fills": [Fill((width_mm - 20, 40, width_mm + over_mm, 60))]} if page % 2 == 0 else {}

    book(
        PAGES[number % len(PAGES)], target, title=f"Almanac {number}", trim_mm=(width_mm, height_mm), bleed_mm=3,
        each=each, say=lambda page: f"Book {number}, page {page + 1}", embedded=not bare,
    )  # fmt: skip
    if number % WITH_FAULTS == 18:
        target.write_bytes(target.read_bytes()[:200])
        return target, 3
    return target, int(bare)


def cpu_s() -> float:
    """Of everything that this process has waited for."""
    while True:
        with contextlib.suppress(ChildProcessError):
            if os.waitpid(-1, 0)[0]:
                continue
        break
    use = resource.getrusage(resource.RUSAGE_CHILDREN)
    return use.ru_utime + use.ru_stime


def timed(*words: object) -> tuple[float, float, int]:
    """CPU seconds, seconds by the clock and exit code of the command line."""
    before, start = cpu_s(), time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "foldproof", *map(str, words)],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    took_s = time.monotonic() - start
    return cpu_s() - before, took_s, done.returncode


class Memory:
    """Looks at what all descendants of this process hold together."""

    def __init__(self) -> None:
        self.most_mb = 0.0
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)

    def __enter__(self) -> Memory:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._end.set()
        self._thread.join()

    def _look(self) -> None:
        while not self._end.wait(0.5):
            todo, held_kb = [os.getpid()], 0
            while todo:
                process = Path("/proc", str(todo.pop()))
                with contextlib.suppress(OSError, ValueError):
                    for thread in (process / "task").iterdir():
                        todo += [int(child) for child in (thread / "children").read_text().split()]
                    if process.name != str(os.getpid()):
                        held_kb += _pss_kb(process)
            self.most_mb = max(self.most_mb, held_kb / 1000)


def _pss_kb(process: Path) -> int:
    lines = (process / "smaps_rollup").read_text().splitlines()
    return next((int(line.split()[1]) for line in lines if line.startswith("Pss:")), 0)


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    if sys.platform != "linux" or ctypes.CDLL(None).prctl(_SUBREAPER, 1, 0, 0, 0) != 0:
        print("CPU of processes whose parents are gone cannot be told here: nothing measured")
        return 0
    with tempfile.TemporaryDirectory() as name:
        folder, out = Path(name) / "books", Path(name) / "made"
        folder.mkdir()
        start = time.monotonic()
        expected = {path.name: code for path, code in (build(folder, number) for number in range(count))}
        print(f"{count:,} books built in {time.monotonic() - start:.0f} s")

        whole = [path for path in sorted(folder.iterdir()) if expected[path.name] == 0]
        alone_too = max(1, min(ALONE, count // 8))
        tried = whole[:: max(1, len(whole) // alone_too)][:alone_too]
        alone = {path.name: timed("make", path, "-o", Path(name) / "alone", "--workers", 1, "-q")[0] for path in tried}

        with Memory() as memory:
            batch_cpu_s, wall_s, code = timed("batch", folder, "-o", out, "--workers", WORKERS, "-q")
        books = {one["name"]: one for one in json.loads((out / "summary.json").read_text())["books"]}
        took = {one["name"]: one for one in json.loads((out / "times.json").read_text())["books"]}

    wrong = [name for name, code in expected.items() if name not in books or books[name]["code"] != code]
    codes = Counter(one["code"] for one in books.values())
    pages = sum(one["pages"] or 0 for one in books.values())
    print(f"  ended with {code}; books by code: {dict(sorted(codes.items()))}; not as built: {len(wrong)} {wrong[:5]}")

    own_s = statistics.mean(alone.values())
    there_s = statistics.mean(took[name]["cpu_seconds"] for name in alone)
    batch_s = (batch_cpu_s - sum(one["cpu_seconds"] for one in took.values())) / count
    print(f"  make on its own, {len(alone)} of the books: {own_s:.2f} s of CPU a book")
    print(f"  the same in the batch: {there_s:.2f} s, and {batch_s * 1000:.0f} ms of the batch's own work")
    print(f"  overhead a book: {there_s + batch_s - own_s:+.2f} s of CPU")
    print(f"  the batch: {wall_s:.0f} s, {batch_cpu_s:.0f} s of CPU; {pages / wall_s:.1f} pages and "
          f"{count / wall_s:.2f} books a second")  # fmt: skip
    peak = max(took.values(), key=lambda one: one["peak_mb"])
    print(f"  memory: {memory.most_mb:.0f} MB all processes of the batch, pages in common counted once; "
          f"{peak['peak_mb']:.0f} MB resident the largest book ({peak['name']})")  # fmt: skip
    good = not wrong
    for title, value, limit, sense in (
        ("a book in the batch / make on its own (CPU)", (there_s + batch_s) / own_s, MOST, "at most"),
        ("the batch, two workers, CPU / wall", batch_cpu_s / wall_s, BUSY, "at least"),
    ):
        holds = value <= limit if sense == "at most" else value >= limit
        good = good and holds
        print(f"  {title:<68}{value:6.2f}   {sense} {limit:g}   {'holds' if holds else 'FAILS'}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
