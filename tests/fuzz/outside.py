# SPDX-License-Identifier: AGPL-3.0-or-later
"""A sample of spoilt books once more as a user runs them, with everything that the system is asked for listed, and what
was made of them held against readers of others."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from attrs import frozen

from tests.fuzz.driver import placed
from tests.fuzz.held import digest_of, names_in
from tests.fuzz.mutate import Mutant, mutant
from tests.fuzz.sources import Source
from tests.fuzz.watch import ROOT, Run

#: so many of the sample run under strace, which makes them ten times as slow
_TRACED = 4
_SECONDS = 300

#: calls that name a file: the folder that the path goes from (strace -y tells it), the path, the rest of the line
_WRITES = re.compile(
    r"\b(?:creat|mkdir|rename|unlink|rmdir|symlink|link|truncate|chmod|(?:open|mkdir|unlink|rename|fchmod)at2?)"
    r"\((?:(?:AT_FDCWD|\d+)(?:<([^>]*)>)?, )?\"([^\"]*)\"([^\n]*)"
)
#: what a file is renamed to
_SECOND = re.compile(r'"([^"]*)"')
_CONNECTS = re.compile(r"\b(?:connect|sendto)\([^\n]*sa_family=AF_INET[^\n]*")


@frozen
class _Said:
    code: int
    out: str
    err: str


def held_against_others(runs: Sequence[Run], books: Sequence[Source], room: Path) -> Iterator[str]:
    """What is amiss with any of these runs, which ended well under watch; a sentence each."""
    place = room / "outside"
    for part in ("in", "out", "home", "tmp", "cwd", "batch"):
        (place / part).mkdir(parents=True, exist_ok=True)
    for number, run in enumerate(runs):
        one = mutant(run.seed, books)
        traced = number < _TRACED and shutil.which("strace") is not None
        for amiss in _by_hand(one, run, place, traced=traced):
            yield f"seed {run.seed} ({run.source}): {amiss}"
    if runs:
        yield from _in_a_batch(runs, books, place)


def _run(place: Path, *words: object, before: Sequence[str] = ()) -> _Said:
    env = {
        **os.environ, "HOME": str(place / "home"), "TMPDIR": str(place / "tmp"), "PYTHONPATH": str(ROOT),
        "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    done = subprocess.run(
        [*before, sys.executable, "-m", "foldproof", *map(str, words)],
        capture_output=True, stdin=subprocess.DEVNULL, cwd=place / "cwd", env=env, timeout=_SECONDS, check=False,
    )  # fmt: skip
    return _Said(done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace"))


def _by_hand(one: Mutant, run: Run, place: Path, *, traced: bool) -> Iterator[str]:
    """The same book with ``foldproof make``: the same code, the same bytes, nothing said that is not asked for."""
    book, job = placed(one, place / "in")
    out, log = place / "out" / one.name, place / "trace"
    words: list[object] = ["make", book, "-o", out, "--quiet", "--workers", "1"]
    words += ["--job", job] if job else []
    words += ["--split-sheets"] if one.split_sheets else []
    before = ["strace", "-f", "-y", "-qq", "-s", "4096", "-e", "trace=%file,%network", "-o", str(log)] if traced else []
    said = _run(place, *words, before=before)
    if said.code != run.code:
        yield f"under watch it ended with {run.code}, by hand with {said.code}: {said.err[-300:]}"
    elif (found := digest_of(out)) != run.files:
        yield f"by hand its files are others ({found[:8]}, under watch {run.files[:8]})"
    lines = said.err.splitlines()
    if run.says:
        if said.out or len(lines) != 1 or not lines[0].startswith("foldproof: "):
            yield f"an error is not one line on stderr alone: {said.out[-200:]!r} {said.err[-300:]!r}"
    elif not said.out.strip() or [line for line in lines if not line.startswith(f"{out}: ")]:
        yield f"on stderr it says {said.err[-300:]!r}"
    if traced:
        yield from asked_of_the_system(log.read_text("utf-8", "replace"), place)
    if (out / "sheets.pdf").is_file():
        yield from _opens(out / "sheets.pdf")
    if left := [name for part in ("home", "tmp", "cwd") for name in names_in(place / part)]:
        yield f"outside its folder it leaves {left}"
    for path in (place / "in").iterdir():
        path.unlink()


def asked_of_the_system(trace: str, place: Path) -> Iterator[str]:
    """Files opened to be written, made, renamed or removed, and talk with the network."""
    for folder, first, rest in _WRITES.findall(trace):
        if rest.startswith((", O_RDONLY", ", O_PATH")) or "ENOENT" in rest:
            continue
        for path in (first, *_SECOND.findall(rest)):
            where = Path(os.path.normpath(place / "cwd" / folder / path))
            if not any(map(where.is_relative_to, (place / "out", place / "tmp", "/dev"))):
                yield f"it writes to {where}"
    for line in _CONNECTS.findall(trace):
        yield f"it talks to the network: {line[:200]}"


def _opens(sheets: Path) -> Iterator[str]:
    """Proved sheets in two readers of others.

    Damaged streams of the book are carried over as they are, and qpdf, which unpacks every one, warns of them (3).
    """
    if shutil.which("qpdf"):
        done = subprocess.run(["qpdf", "--check", sheets], capture_output=True, timeout=_SECONDS, check=False)
        if done.returncode not in (0, 3):
            yield f"qpdf --check of the proved sheets ends with {done.returncode}: {done.stderr[-300:]!r}"
    if shutil.which("pdftoppm"):
        words = ["pdftoppm", "-r", "10", "-l", "2", "-png", str(sheets), str(sheets.parent / "look")]
        done = subprocess.run(words, capture_output=True, timeout=_SECONDS, check=False)
        drawn = sorted(sheets.parent.glob("look*.png"))
        if done.returncode or not drawn:
            yield f"pdftoppm of the proved sheets ends with {done.returncode}: {done.stderr[-300:]!r}"
        for picture in drawn:
            picture.unlink()


def _in_a_batch(runs: Sequence[Run], books: Sequence[Source], place: Path) -> Iterator[str]:
    """All of them in one folder: each has its line, its code and nothing else."""
    for run in runs:
        placed(mutant(run.seed, books), place / "batch")
    out = place / "out-batch"
    said = _run(place, "batch", place / "batch", "-o", out, "--quiet", "--minutes", 2)
    if "Traceback" in said.err or "Traceback" in said.out:
        yield f"the batch tells a traceback: {said.err[-600:]}"
    try:
        listed = json.loads((out / "summary.json").read_text("utf-8"))["books"]
    except (OSError, ValueError, KeyError) as odd:
        yield f"the batch leaves no summary ({odd!r}): {said.code} {said.err[-300:]}"
        return
    codes = {Path(book["name"]).stem: book["code"] for book in listed}
    for run in runs:
        if (code := codes.get(f"{run.seed:06d}")) != run.code:
            yield f"seed {run.seed} ({run.source}): alone it ended with {run.code}, in the batch with {code}"
    if left := [name for part in ("home", "tmp", "cwd") for name in names_in(place / part)]:
        yield f"the batch leaves {left}"
