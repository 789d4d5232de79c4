# SPDX-License-Identifier: AGPL-3.0-or-later
"""Thousands of spoilt books through every stage, under watch: none may crash, hang, eat memory or write astray.

    python tests/fuzz/run.py [--files 5000] [--seed 1] [--drivers 2]
    python tests/fuzz/run.py --only 4711 --keep .      one file again, kept as 004711.pdf

Prints how they ended, the slowest, the largest, and the seed of each that went wrong; ends with 1 when any did.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from foldproof.errors import ExitCode  # noqa: E402
from tests.fuzz.driver import placed  # noqa: E402
from tests.fuzz.held import REACHED  # noqa: E402
from tests.fuzz.mutate import mutant  # noqa: E402
from tests.fuzz.outside import held_against_others  # noqa: E402
from tests.fuzz.sources import sources  # noqa: E402
from tests.fuzz.watch import SHARED, Limits, Run, watched  # noqa: E402

#: a fuzz in which nothing gets past the reader tests the reader alone
_MUST_REACH = 1 / 3


def table(runs: list[Run]) -> str:
    """How a fuzz went, for people."""
    codes = Counter(run.code for run in runs)
    lines = [f"{len(runs)} files, seeds {min(r.seed for r in runs)} to {max(r.seed for r in runs)}", ""]
    for code in sorted(codes):
        name = ExitCode(code).name.lower().replace("_", " ") if code >= 0 else "no end of its own"
        lines.append(f"  {code:3}  {name:18} {codes[code]:6}  {100 * codes[code] / len(runs):5.1f} %")
    past = sum(codes[code] for code in REACHED)
    lines += ["", f"past the reader: {past} ({100 * past / len(runs):.0f} %); "
              f"pages: {sum(run.pages for run in runs)}; "
              f"seconds a file: {sum(run.seconds for run in runs) / len(runs):.2f}"]  # fmt: skip
    for what, key in (("slowest", lambda r: r.seconds), ("most memory", lambda r: r.peak_mb)):
        found = sorted(runs, key=key, reverse=True)[:5]
        told = (f"{key(r):.1f} {'s' if what == 'slowest' else 'MB'} (seed {r.seed}, {r.source})" for r in found)
        lines.append(f"{what}: {'; '.join(told)}")
    return "\n".join(lines)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--files", type=int, default=5000)
    asked.add_argument("--seed", type=int, default=1, help="seed of the first file; each further one is one more")
    asked.add_argument("--drivers", type=int, default=2, help="processes that make books")
    asked.add_argument("--seconds", type=float, default=60, help="limit of one file, by the clock")
    asked.add_argument("--memory-mb", type=int, default=1500, help="limit of a driver with all its processes")
    asked.add_argument("--minutes", type=float, default=1e9, help="begin no file after so many")
    asked.add_argument("--sample", type=int, default=100, help="one in so many goes through the command line as well")
    asked.add_argument("--keep", type=Path, default=Path("out/fuzz"), help="folder for files that went wrong")
    asked.add_argument("--only", type=int, nargs="+", metavar="SEED", help="these alone; their files are kept")
    given = asked.parse_args()
    given.keep.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="foldproof-fuzz-") as room:
        books = sources(Path(room) / "sources", SHARED)
        seeds = range(given.seed, given.seed + given.files) if given.only is None else given.only
        limits = Limits(given.seconds, given.memory_mb)
        runs = []
        with (given.keep / "runs.jsonl").open("a") as journal:
            for run in watched(seeds, Path(room), limits, given.drivers, minutes=given.minutes):
                runs.append(run)
                print(run.to_json(), file=journal, flush=True)
                if run.wrong or given.only is not None:
                    book, _ = placed(mutant(run.seed, books), given.keep)
                    print(
                        f"seed {run.seed} ({run.source}; {', '.join(run.how)}), kept as {book}: {run.code} {run.says}"
                    )
                    print("".join(f"    {wrong}\n" for wrong in run.wrong), end="", flush=True)
        sampled = [run for run in runs if run.seed % given.sample == 0 and run.code >= 0 and not run.wrong]
        amiss = list(held_against_others(sampled, books, Path(room)))
    print(table(runs))
    print(f"through the command line as well, {len(sampled)}: {len(amiss)} amiss")
    for line in amiss:
        print("  " + line)
    failed = [run.seed for run in runs if run.wrong]
    print(f"went wrong: {', '.join(map(str, failed)) or 'none'}")
    if given.only is None and sum(run.code in REACHED for run in runs) < len(runs) * _MUST_REACH:
        print("fewer than a third got past the reader: the files are spoilt too badly to test what comes after it")
        return 1
    return 1 if failed or amiss else 0


if __name__ == "__main__":
    sys.exit(main())
