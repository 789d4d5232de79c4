# SPDX-License-Identifier: AGPL-3.0-or-later
"""The pool of this machine: so many books at a time, each in a process of its own."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Sequence
from multiprocessing.connection import wait

from attrs import evolve

from foldproof.batch.keeper import BookRun
from foldproof.batch.model import Begun, BookTask, Ended, Event, Idle, Stage, Steps
from foldproof.files import unbroken

#: how often the parent looks up while it waits
_TICK_S = 0.1


def run_here(
    work: Sequence[BookTask], slots: int, more: Callable[[], Sequence[BookTask] | None] = lambda: None
) -> Generator[Event, None, None]:
    """Make the books, so many at a time, in the order given; what happens is yielded as it is heard.

    Args:
        more: asked at every look for books that have come since; ``None``: none will come any more.

    Whoever stops listening (``close()``, Ctrl-C) ends the books that run, and no other begins.
    """
    # where there are fewer books than places, a book has the hands of the places that stay empty
    hands = max(1, slots // max(1, len(work)))
    waiting = [evolve(task, workers=hands) for task in reversed(work)]
    running: dict[int, BookRun] = {}
    try:
        while True:
            come = more()
            waiting[:0] = reversed(come or ())
            if come is None and not (waiting or running):
                return
            for slot in range(slots):
                if slot not in running and waiting:
                    task = waiting.pop()
                    running[slot] = BookRun(task)
                    running[slot].start()
                    yield Begun(slot, task)
            if not running:
                yield Idle()
                time.sleep(_TICK_S)
                continue
            wait([item for run in running.values() for item in run.waits_on()], timeout=_TICK_S)
            for slot, run in sorted(running.items()):
                for name, number in run.step():
                    yield Stage(slot, name, number) if name else Steps(slot, number)
                if run.done is not None:
                    del running[slot]
                    yield Ended(slot, run.done)
    finally:
        stop_all(list(running.values()))


def stop_all(running: list[BookRun]) -> None:
    """Tell every book to stop, then see each to its end."""
    with unbroken():  # a second Ctrl-C does not leave the rest running
        for run in running:
            run.tell_to_stop()
        for run in running:
            run.stop()
