# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a person sees of a batch while it runs: a board on a terminal, plain lines elsewhere.

A line a book goes to stdout as the book ends; everything that moves goes to stderr.
"""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Iterator, Sequence
from typing import Protocol

from rich.console import Console, Group
from rich.live import Live
from rich.table import Table
from rich.text import Text

from foldproof.batch.model import Begun, BookTask, Ended, Event, Idle, Stage, Steps
from foldproof.batch.pace import Pace
from foldproof.report.words import clean


class Display(Protocol):
    """Somebody who watches a batch."""

    def hear(self, event: Event) -> None:
        """Something happened."""

    def say(self, line: str) -> None:
        """Something worth a line."""


def one_line(ended: Ended, number: int, total: int) -> str:
    """A book's end in a line: how many are done, the code, the name, the first sentence."""
    end = ended.done.end
    first = end.says[0] if end.says else ""
    name, first = " ".join(end.name.splitlines()), " ".join(first.splitlines())
    told = first.removeprefix(f"{name.rpartition('/')[2]}: ")
    kept = " (kept)" if ended.done.times.kept else ""
    return clean(f"{number}/{total}  {end.code}  {name}: {told}{kept}")


class _Lines:
    """Plain lines: a book each, and every so often where the batch stands."""

    _EVERY_S = 10.0

    def __init__(self, pace: Pace, quiet: bool) -> None:
        self._pace, self._quiet, self._last = pace, quiet, time.monotonic()

    def hear(self, event: Event) -> None:
        self._pace.hear(event)
        if isinstance(event, Ended):
            print(one_line(event, self._pace.done, self._pace.total), flush=True)
        now = time.monotonic()
        if not self._quiet and not isinstance(event, Idle) and now - self._last >= self._EVERY_S:
            self._last = now
            self.say(self._pace.sentence())

    def say(self, line: str) -> None:
        print(line, file=sys.stderr, flush=True)


class _Board:
    """A board on the terminal: the whole on one line, then a line for each book that is at work."""

    def __init__(self, pace: Pace, slots: int, live: Live) -> None:
        self._pace, self._live = pace, live
        self._at: dict[int, _At] = {}
        self._slots = slots

    def hear(self, event: Event) -> None:
        self._pace.hear(event)
        match event:
            case Begun(slot, task):
                self._at[slot] = _At(task.name)
            case Stage(slot, name, total):
                self._at[slot].come_to(name, total)
            case Steps(slot, steps):
                self._at[slot].done += steps
            case Ended(slot, _):
                self._at.pop(slot, None)
                # with the board on the terminal, stdout may be the same screen: rich puts the line above it
                if sys.stdout.isatty():
                    self._live.console.print(
                        Text(one_line(event, self._pace.done, self._pace.total)), overflow="fold", highlight=False
                    )
                else:
                    print(one_line(event, self._pace.done, self._pace.total), flush=True)
        self._live.update(self._drawn())

    def say(self, line: str) -> None:
        self._live.console.print(Text(line))

    def _drawn(self) -> Group:
        table = Table.grid(padding=(0, 2), expand=True)
        table.add_column(no_wrap=True, ratio=1, overflow="ellipsis")
        table.add_column(no_wrap=True, width=9)
        table.add_column(no_wrap=True, width=16, justify="right")
        for slot in range(self._slots):
            at = self._at.get(slot)
            if at is None:
                table.add_row(Text("–", style="dim"), "", "")
            else:
                table.add_row(Text(clean(" ".join(at.name.splitlines()))), at.stage, at.steps())
        return Group(Text(self._pace.sentence(), style="bold"), table)


class _At:
    """Where a book stands."""

    def __init__(self, name: str) -> None:
        self.name, self.stage, self.total, self.done = name, "read", 0, 0

    def come_to(self, stage: str, total: int) -> None:
        self.stage, self.total, self.done = stage, total, 0

    def steps(self) -> str:
        return f"{min(self.done, self.total):,} of {self.total:,}" if self.total else ""


@contextlib.contextmanager
def display(work: Sequence[BookTask], slots: int, quiet: bool = False) -> Iterator[Display]:
    """A display fit for where stderr goes."""
    pace = Pace.of(work)
    if quiet or not sys.stderr.isatty():
        yield _Lines(pace, quiet)
    else:
        console = Console(stderr=True)
        with Live(console=console, refresh_per_second=4, transient=True, redirect_stdout=False) as live:
            yield _Board(pace, slots, live)
