# SPDX-License-Identifier: AGPL-3.0-or-later
"""A whole folder killed with SIGKILL at ten random moments and resumed: the same bytes as of a run left alone?

    python tests/bench/killed.py [FOLDER] [--out OUT] [--kills 10] [--seed 1]

FOLDER is ../shared/corpus when unsaid.  What the undisturbed run took, its slowest books and the peak memory are
printed by the batch itself.  Ends with 1 where anything differs, a process is left, or a bench.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.batch.conftest import digests, processes_in  # noqa: E402


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("folder", nargs="?", type=Path, default=ROOT.parent / "shared" / "corpus")
    words.add_argument("--out", type=Path, default=Path("out/killed"))
    words.add_argument("--kills", type=int, default=10)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--reuse", action="store_true", help="compare with the undisturbed run that OUT holds already")
    asked = words.parse_args()
    chance = random.Random(asked.seed)
    calm, out = asked.out / "calm", asked.out / "killed"
    shutil.rmtree(out if asked.reuse else asked.out, ignore_errors=True)

    def batch(target: Path, *more: str) -> list[str]:
        return [
            sys.executable, "-m", "foldproof", "batch", str(asked.folder), "-r", "-q", "-o", str(target),
            *more,
        ]  # fmt: skip

    undisturbed = subprocess.run(
        batch(calm, *(["--resume"] if asked.reuse else [])), capture_output=True, text=True, check=False
    )  # fmt: skip
    # what it takes where nothing else runs
    whole_s = json.loads((calm / "times.json").read_text())["cpu_seconds"] / 2
    if asked.reuse:
        whole_s = sum(book["cpu_seconds"] for book in json.loads((calm / "times.json").read_text())["books"]) / 2
    print(undisturbed.stdout[undisturbed.stdout.rfind("\nOf ") + 1 :], undisturbed.stderr, flush=True)
    lost = []
    for number in range(asked.kills):
        run = subprocess.Popen(
            batch(out, "--resume", "--workers", "4"), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        # the largest books go first: with more places than cores others end beside them
        wait_s = 0.2 + 0.6 * whole_s * chance.random() ** 1.5
        time.sleep(wait_s)
        run.send_signal(signal.SIGKILL)
        run.wait()
        until = time.monotonic() + 10
        while (left := processes_in(out)) and time.monotonic() < until:
            time.sleep(0.05)
        lost += left
        done = len(list((out / ".batch").glob("*.json")))
        print(f"kill {number + 1} after {wait_s:.1f} s: {done} books done, {len(left)} processes left", flush=True)
    start = time.monotonic()
    resumed = subprocess.run(batch(out, "--resume"), capture_output=True, text=True, check=False)
    print(
        f"resumed for {time.monotonic() - start:.1f} s, code {resumed.returncode}; undisturbed {undisturbed.returncode}"
    )
    one, other = digests(calm), digests(out)
    differ = sorted(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))
    benches = list(out.rglob(".foldproof-*"))
    print(f"{len(one)} files; {len(differ)} differ {differ[:10]}; {len(benches)} benches left")
    traced = "Traceback" in undisturbed.stdout + undisturbed.stderr + resumed.stdout + resumed.stderr
    return int(bool(differ or lost or benches or traced or resumed.returncode != undisturbed.returncode))


if __name__ == "__main__":
    sys.exit(main())
