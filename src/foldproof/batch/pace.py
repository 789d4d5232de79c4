# SPDX-License-Identifier: AGPL-3.0-or-later
"""How far a batch is, how fast it goes, and about how long it will take."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from attrs import define, field

from foldproof.batch.model import Begun, BookTask, Ended, Event, Idle, Stage, Steps
from foldproof.report.words import count

#: a book costs as much before its first page as so many bytes of an ordinary book (measured on small and long books)
_BEFORE_ITS_FIRST_PAGE = 200_000


@define
class Pace:
    """Reckons with bytes of manuscripts: how many pages a book has is known only when it has been read."""

    sizes: dict[str, int]
    clock: Callable[[], float] = time.monotonic
    done: int = 0
    pages: int = 0  #: pages looked at in this run
    _bytes_kept: int = 0
    _bytes_done: int = 0
    _checking: set[int] = field(factory=set)
    _start: float | None = None

    @classmethod
    def of(cls, work: Sequence[BookTask]) -> Pace:
        return cls({task.name: weight(task) for task in work})

    @property
    def total(self) -> int:
        return max(len(self.sizes), self.done)

    def hear(self, event: Event) -> None:
        match event:
            case Begun(_, task):
                self._start = self.clock() if self._start is None else self._start
                self.sizes.setdefault(task.name, weight(task))
            case Stage(slot, name, _):
                (self._checking.add if name == "check" else self._checking.discard)(slot)
            case Steps(slot, steps):
                self.pages += steps if slot in self._checking else 0
            case Ended(slot, done):
                self._checking.discard(slot)
                self.done += 1
                size = self.sizes.setdefault(done.end.name, _BEFORE_ITS_FIRST_PAGE)
                if slot < 0:
                    self._bytes_kept += size
                else:
                    self._bytes_done += size
            case Idle():
                pass

    def pages_a_second(self) -> float:
        seconds = self.clock() - self._start if self._start is not None else 0.0
        return self.pages / seconds if seconds > 0 else 0.0

    def seconds_left(self) -> float | None:
        """About how long it will take; ``None`` until a book has ended."""
        if self._start is None or not self._bytes_done:
            return None
        left = sum(self.sizes.values()) - self._bytes_kept - self._bytes_done
        return (self.clock() - self._start) * max(0, left) / self._bytes_done

    def sentence(self) -> str:
        left = self.seconds_left()
        words = [f"{self.done} of {count(self.total, 'book')}", f"{self.pages_a_second():,.1f} pages a second"]
        if left is not None and self.done < self.total:
            words.append(f"about {_span(left)} left")
        return ", ".join(words)


def _span(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"


def weight(task: BookTask) -> int:
    """What a book is likely to cost, in bytes of manuscript."""
    try:
        return task.manuscript.stat().st_size + _BEFORE_ITS_FIRST_PAGE
    except OSError:
        return _BEFORE_ITS_FIRST_PAGE
