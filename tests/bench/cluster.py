# SPDX-License-Identifier: AGPL-3.0-or-later
"""A folder of books on the pool of this machine and on a cluster of two workers started here: the same bytes, and how
much slower.

    python tests/bench/cluster.py                                  # ../shared/corpus, once each way
    python tests/bench/cluster.py FOLDER --rounds 3                # the median of three

The two ways take turns, and each round is begun by the other one, so that a machine that others use too weighs on both
alike.  Fails where the cluster reaches less than 0.85 of the local pool's throughput, or where a byte differs.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

#: throughput on the cluster to that of the local pool
LEAST = 0.85
WORKERS = 2
#: what tells times, and what a batch remembers them in
TIMED = ("times.json", ".batch")
CORPUS = Path(__file__).parents[3] / "shared" / "corpus"


def made(folder: Path, out: Path, *more: str) -> float:
    """Seconds by the clock that the batch takes."""
    command = [sys.executable, "-m", "foldproof", "batch", str(folder), "--recursive", "-o", str(out), "--quiet"]
    start = time.perf_counter()
    done = subprocess.run(
        [*command, "--workers", str(WORKERS), *more], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, check=False
    )
    seconds = time.perf_counter() - start
    assert (out / "summary.json").exists(), f"the batch ended with {done.returncode} and no summary"
    return seconds


def digests(out: Path) -> dict[str, str]:
    return {
        str(path.relative_to(out)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.relative_to(out).parts[0] not in TIMED
    }


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", nargs="?", type=Path, default=CORPUS)
    asked.add_argument("--rounds", type=int, default=1)
    words = asked.parse_args()
    if not words.folder.is_dir():
        print(f"{words.folder} is not there; name a folder of books.")
        return 2
    ways = {"here": (), "cluster": ("--cluster", "local")}
    seconds: dict[str, list[float]] = {way: [] for way in ways}
    alike = True
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as work:
        for number in range(words.rounds):
            found = {}
            for way in sorted(ways, reverse=bool(number % 2)):
                out = Path(work) / way
                seconds[way].append(made(words.folder, out, *ways[way]))
                found[way] = digests(out)
                shutil.rmtree(out)
                print(f"round {number + 1}, {way}: {seconds[way][-1]:.1f} s, load {os.getloadavg()[0]:.1f}", flush=True)
            alike &= found["here"] == found["cluster"]
    ratio = statistics.median(seconds["here"]) / statistics.median(seconds["cluster"])
    good = alike and ratio >= LEAST
    print(
        f"throughput of the cluster to the local pool: {ratio:.2f} (at least {LEAST}); bytes {'' if alike else 'NOT '}alike"
    )
    print("well" if good else "NOT WELL")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
