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
import contextlib
import ctypes
import hashlib
import os
import resource
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


def made(folder: Path, out: Path, *more: str) -> tuple[float, float]:
    """Seconds that the batch takes by the clock, and of the processors: all of its processes, however they descend."""
    command = [sys.executable, "-m", "foldproof", "batch", str(folder), "--recursive", "-o", str(out), "--quiet"]
    start, before = time.perf_counter(), _worked()
    done = subprocess.run(
        [*command, "--workers", str(WORKERS), *more], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, check=False
    )
    seconds = time.perf_counter() - start
    assert (out / "summary.json").exists(), f"the batch ended with {done.returncode} and no summary"
    # what its processes left to us, which are to have ended
    with contextlib.suppress(ChildProcessError):
        while True:
            os.waitpid(-1, 0)
    return seconds, _worked() - before


def _worked() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _adopt() -> None:
    """Become the parent of whatever loses its own below us, so that nothing that it worked is lost (Linux alone)."""
    if sys.platform == "linux":
        set_child_subreaper = 36  # linux/prctl.h
        ctypes.CDLL(None).prctl(set_child_subreaper, 1, 0, 0, 0)


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
    worked: dict[str, list[float]] = {way: [] for way in ways}
    _adopt()
    alike = True
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as folder:
        for number in range(words.rounds):
            found = {}
            for way in sorted(ways, reverse=bool(number % 2)):
                out = Path(folder) / way
                took, work_s = made(words.folder, out, *ways[way])
                seconds[way].append(took)
                worked[way].append(work_s)
                found[way] = digests(out)
                shutil.rmtree(out)
                load = os.getloadavg()[0]
                print(f"round {number + 1}, {way}: {took:.1f} s, {work_s:.1f} s of CPU, load {load:.1f}", flush=True)
            alike &= found["here"] == found["cluster"]
    ratio = statistics.median(seconds["here"]) / statistics.median(seconds["cluster"])
    work_ratio = statistics.median(worked["here"]) / statistics.median(worked["cluster"])
    good = alike and ratio >= LEAST
    print(f"throughput of the cluster to that of the local pool: {ratio:.2f} (at least {LEAST})")
    print(f"the same in processor time, which others on the machine touch less: {work_ratio:.2f}")
    print("the bytes are alike" if alike else "the bytes DIFFER")
    print("well" if good else "NOT WELL")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
