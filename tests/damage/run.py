# SPDX-License-Identifier: AGPL-3.0-or-later
"""Hundreds of random damages to written sheets and plans, every one of which the proof must catch, naming the pages.

    python tests/damage/run.py [--each 3] [--workers 2]

Ends with 1 when a damage went unseen or undamaged sheets failed.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from foldproof.prove.model import Verdict  # noqa: E402
from tests.damage.cases import BOOKS, KINDS, Sheeted, missed  # noqa: E402
from tests.damage.damage import NothingToSpoil  # noqa: E402


def spoil(name: str, each: int) -> tuple[Counter[str], list[str]]:
    """All kinds of damage, ``each`` times, to one book."""
    done: Counter[str] = Counter()
    unseen: list[str] = []
    with tempfile.TemporaryDirectory(prefix="foldproof-damage-") as folder:
        sheeted = Sheeted.make(name, Path(folder))
        whole = sheeted.proof()
        if whole.verdict is not Verdict.PROVED:
            unseen.append(f"{name}: undamaged sheets failed: {whole.faults[0].says}")
        for kind in KINDS:
            for seed in range(each):
                try:
                    wrong = missed(sheeted, kind, seed, Path(folder))
                except NothingToSpoil:
                    break
                done[kind] += 1
                if wrong:
                    unseen.append(wrong)
    return done, unseen


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--each", type=int, default=3, help="damages of each kind for each book")
    asked.add_argument("--workers", type=int, default=2)
    given = asked.parse_args()
    began = time.monotonic()
    total: Counter[str] = Counter()
    unseen: list[str] = []
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(given.workers, mp_context=spawn) as pool:
        for done, wrong in pool.map(spoil, BOOKS, [given.each] * len(BOOKS)):
            total += done
            unseen += wrong
    for kind in KINDS:
        print(f"{kind:18} {total[kind]:4}")
    for line in unseen:
        print("UNSEEN:", line)
    print(f"{sum(total.values())} damages, {len(unseen)} unseen, {time.monotonic() - began:.0f} s")
    if sum(total.values()) < 300 and given.each >= 3:
        print("fewer than 300 damages were done")
        return 1
    return 1 if unseen else 0


if __name__ == "__main__":
    sys.exit(main())
