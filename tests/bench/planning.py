# SPDX-License-Identifier: AGPL-3.0-or-later
"""How long the choice of a plan takes for a book of 2,400 pages on the shipped house.

    python tests/bench/planning.py

The limit of 3 s is the promise of ``foldproof plan``; the ratio to a bare start of the tool carries over to other
machines.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable

PAGES = ("--pages", "2400", "--trim", "140 x 216 mm")
Measured = Callable[..., tuple[float, float, str]]
Row = tuple[str, float, float, str]

#: colour on pages without any order, so that most sections carry inks of their own
COLOURED = """
import random
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
chance = random.Random(1)
sets = [("Black",)] * 12 + [("Cyan", "Magenta", "Yellow", "Black"), ("Black", "Spot red"), ()]
inks = [chance.choice(sets) for _ in range(2400)]
plans(2400, (140.0, 216.0), Job(), load_house(None), title="bench", inks=inks)
"""
START = "from foldproof.job.load import load_house; import foldproof.makeup.choose; load_house(None)"


def plan_rows(measured: Measured) -> list[Row]:
    """Title, figure, limit and its sense, medians of three."""

    def seconds(*command: object) -> float:
        return statistics.median(measured(*command)[0] for _ in range(3))

    whole, start, coloured = seconds("-m", "foldproof", "plan", *PAGES), seconds("-c", START), seconds("-c", COLOURED)
    return [
        ("plan, 2,400 pages, the best five / start of the tool (CPU)", whole / start, 6.0, "at most"),
        ("plan, 2,400 pages, the best five (CPU, seconds)", whole, 3.0, "at most"),
        ("the same with colour on pages without order (CPU, seconds)", coloured, 3.0, "at most"),
    ]


if __name__ == "__main__":
    from run import measured as by_process

    rows = plan_rows(by_process)
    for title, value, limit, sense in rows:
        print(f"  {title:<68}{value:6.2f}   {sense} {limit:g}   {'holds' if value <= limit else 'FAILS'}")
    sys.exit(0 if all(value <= limit for _, value, limit, _ in rows) else 1)
