# SPDX-License-Identifier: AGPL-3.0-or-later
"""A process that makes one spoilt book after another, until it is killed or has no more to do.

    python -m tests.fuzz.driver ROOM SOURCES

On stdin a seed a line; on stdout READY, and then a line of JSON for each.
ROOM is a folder of its own, in which it also has its home, its temporary and its working folder (``run.py`` sees to
that).  Everything that a book must not touch is listed before and after each.  Page workers live on from book to book,
which a run of the command line does not let them; a part of the files is made there as well, and must come out alike.
"""

from __future__ import annotations

import gc
import json
import os
import shutil
import signal
import sys
import time
import traceback
from pathlib import Path
from typing import Any, TextIO

from foldproof import pipeline
from foldproof.asking import ask
from foldproof.errors import FoldproofError
from foldproof.workers import Workers
from tests.fuzz.held import breaches, digest_of, names_in
from tests.fuzz.mutate import Mutant, mutant
from tests.fuzz.sources import sources

#: what a test lets the driver do amiss (named after the seed), so that it is seen whether anybody notices
MISDEEDS = ("hang", "eat", "die", "raise", "stray", "leave", "print", "touch")


#: what a driver says once it is ready for its first seed
READY = "ready"


class Kept(Workers):
    """Workers that outlive a book."""

    def __exit__(self, *_: object) -> None: ...

    def end(self) -> None:
        self._end()


def placed(one: Mutant, folder: Path) -> tuple[Path, Path | None]:
    """The spoilt book and its job, as files."""
    book, job = folder / f"{one.name}.pdf", folder / f"{one.name}.toml"
    book.write_bytes(one.data)
    if one.job:
        job.write_text(one.job)
    return book, job if one.job else None


def made(one: Mutant, room: Path, misdeed: str = "") -> dict[str, Any]:
    """Make one book and say how it ended and what is amiss."""
    out = room / "out" / one.name
    book, job = placed(one, room / "in")
    before = names_in_room(room)
    printed = [os.fstat(channel).st_size for channel in (1, 2)]
    wrong: list[str] = []
    code, says, pages = -1, "", 0
    try:
        outcome = pipeline.make(ask(book, out, job=job, workers=1, split_sheets=one.split_sheets))
        code, pages = int(outcome.code), len(outcome.results.manuscript.pages)
        if misdeed:
            _misdo(misdeed, room, book)
    except FoldproofError as error:
        code, says = int(error.exit_code), str(error)
    except BaseException:
        wrong.append(traceback.format_exc())
    if code >= 0:
        wrong += breaches(code, says, out)
    if (after := names_in_room(room)) != before:
        changed = sorted({name for name, _ in before.items() ^ after.items()})
        wrong.append(f"outside its folder it has written, changed or removed {changed[:9]}")
    for channel, size, name in zip((1, 2), printed, ("stdout", "stderr"), strict=True):
        if os.fstat(channel).st_size != size:
            os.lseek(channel, size, os.SEEK_SET)
            wrong.append(f"on {name} it says {os.read(channel, 300)!r}")
            os.lseek(channel, 0, os.SEEK_END)
    files = digest_of(out)
    shutil.rmtree(out, ignore_errors=True)
    for path in (room / "in").iterdir():
        path.unlink()
    told = says.replace(str(book), book.name)
    return {"seed": one.seed, "source": one.source, "how": one.how, "code": code, "says": told, "pages": pages,
            "wrong": wrong, "files": files}  # fmt: skip


def names_in_room(room: Path) -> dict[str, str]:
    """All that lies in the room but the books' outputs and the logs."""
    found = {path.name: "" for path in room.iterdir() if not path.name.endswith(".log")}
    for part in ("in", "home", "tmp", "cwd"):
        found |= {f"{part}/{name}": digest for name, digest in names_in(room / part).items()}
    return found


def _misdo(misdeed: str, room: Path, book: Path) -> None:
    match misdeed:
        case "hang":
            while True:
                signal.pause()
        case "eat":
            held = []
            while len(held) < 100:
                held.append(b"\1" * 40_000_000)
                time.sleep(0.05)
        case "die":
            os.kill(os.getpid(), signal.SIGSEGV)
        case "raise":
            raise KeyError("a fault of the test's own")
        case "stray":
            (room / "tmp" / "stray").write_bytes(b"")
        case "leave":
            (room / "out" / book.stem / ".foldproof-left").mkdir()
        case "print":
            os.write(1, b"a word too many\n")
        case "touch":
            book.write_bytes(book.read_bytes() + b"\n")


def main(room: Path, kept: Path, answers: TextIO) -> None:
    shared = Path(os.environ["FOLDPROOF_SHARED"]) if "FOLDPROOF_SHARED" in os.environ else None
    books = sources(kept, shared)
    hands = Kept(1)
    # the one place where the stages of a book come by their processes
    assert callable(pipeline._hands)
    pipeline._hands = lambda asked: hands  # type: ignore[assignment]
    gc.collect()
    gc.freeze()
    print(READY, file=answers, flush=True)
    try:
        for line in sys.stdin:
            seed, _, misdeed = line.strip().partition(" ")
            one = mutant(int(seed), books)
            print(json.dumps(made(one, room, misdeed)), file=answers, flush=True)
    finally:
        hands.end()


if __name__ == "__main__":
    channel = os.fdopen(os.dup(1), "w")
    here = Path(sys.argv[1])
    for number, log in ((1, "stdout.log"), (2, "stderr.log")):
        os.dup2(os.open(here / log, os.O_RDWR | os.O_CREAT | os.O_APPEND), number)
    main(here, Path(sys.argv[2]), channel)
