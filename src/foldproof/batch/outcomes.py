# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ends of a batch in words: what became of each book, who needs a person, which is worst."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from enum import Enum

from foldproof.batch.model import BookEnd
from foldproof.errors import WORST_LAST, ExitCode
from foldproof.prove.model import Leg
from foldproof.report.words import clean, count, sentence

#: every code as what became of a book
_BECAME = {
    ExitCode.WELL: "all well",
    ExitCode.STOPPED: "stopped by a finding",
    ExitCode.ASKED_WRONG: "job or settings wrong",
    ExitCode.UNREADABLE: "cannot be read",
    ExitCode.NO_PLAN: "no plan fits",
    ExitCode.NOT_PROVED: "not proved",
    ExitCode.NOT_WRITTEN: "not written",
    ExitCode.OVER_LIMIT: "over a limit",
    ExitCode.OUR_FAULT: "a fault of ours",
    ExitCode.INTERRUPTED: "interrupted",
}


class Standing(Enum):
    """Whether a book can go to press."""

    READY = "ready"  #: as it is
    ASK = "ask"  #: once somebody has answered its questions, or has seen what it was only warned about
    HELD = "held"  #: not as it is


def code_of(end: BookEnd) -> ExitCode:
    """Its exit code; what is none counts as a fault of ours."""
    return ExitCode(end.code) if end.code in set(ExitCode) else ExitCode.OUR_FAULT


def standing(end: BookEnd) -> Standing:
    """Whether it can go to press."""
    if end.code != ExitCode.WELL:
        return Standing.HELD
    return Standing.ASK if end.stops or end.queries else Standing.READY


def became(end: BookEnd) -> str:
    """What became of it, in words."""
    if end.code == ExitCode.WELL and end.stops:
        return "stops, only warned about"
    if end.code == ExitCode.WELL and end.queries:
        return "well, with questions"
    return _BECAME[code_of(end)]


def badness(end: BookEnd) -> tuple[int, int, int, int]:
    """Orders books by how bad they are, the worst highest: by code, then by what was found."""
    return WORST_LAST.index(code_of(end)), end.stops or 0, end.queries or 0, end.notes or 0


def worst_first(ends: Sequence[BookEnd]) -> list[BookEnd]:
    """The books, the worst first; books as bad as each other by name."""
    return sorted(ends, key=lambda end: (*(-rank for rank in badness(end)), end.name))


def by_outcome(ends: Sequence[BookEnd]) -> list[tuple[str, int, BookEnd]]:
    """What became of the books, how often, and the worst book of each; the worst outcome first."""
    ordered = worst_first(ends)
    times = Counter(became(end) for end in ordered)
    firsts = {became(end): end for end in reversed(ordered)}
    return [(words, times[words], firsts[words]) for words in dict.fromkeys(became(end) for end in ordered)]


def headline(ends: Sequence[BookEnd]) -> str:
    """How many books can go to press, in a sentence."""
    stand = Counter(standing(end) for end in ends)
    ready, ask, held = (stand[which] for which in (Standing.READY, Standing.ASK, Standing.HELD))
    if not ends:
        return "There was no book."
    who = "The book" if len(ends) == 1 else f"All {count(len(ends), 'book')}"
    if ready == len(ends):
        return f"{who} can go to press as {'it is' if len(ends) == 1 else 'they are'}."
    if ask == len(ends):
        return f"{who} can go to press once {'its' if len(ends) == 1 else 'their'} questions are answered."
    if held == len(ends):
        none = "The book cannot" if len(ends) == 1 else f"None of {count(len(ends), 'book')} can"
        return f"{none} go to press yet."
    told = [f"{ready:,} can go to press as {'it is' if ready == 1 else 'they are'}"] if ready else []
    if ask:
        verb = "" if ready else "can go to press "
        told.append(f"{ask:,} {verb}once {'its' if ask == 1 else 'their'} questions are answered")
    if held:
        told.append(f"{held:,} cannot yet")
    return f"Of {count(len(ends), 'book')} {', '.join(told)}."


def named(end: BookEnd) -> str:
    """Its name on one line, with nothing in it that could rewrite the line."""
    return one_line(end.name)


def one_line(text: str) -> str:
    """Text on one line, without characters that an output could not hold."""
    return clean(" ".join(text.splitlines()))


def in_a_sentence(end: BookEnd) -> str:
    """What matters most of all that was said of it, without its name before it."""
    lines = [one_line(line).strip() for line in end.says if line.strip()]
    if not lines:
        return ""
    first = lines[0].removeprefix(f"{one_line(end.name.rpartition('/')[2])}: ")
    if end.code == ExitCode.NO_PLAN and len(lines) > 1:
        first = lines[1]
    else:
        # by what their lines begin with; a failed proof comes before any finding
        faults = [f"{leg.value}: " for leg in Leg] if end.code == ExitCode.NOT_PROVED else []
        for begins in (*faults, "stop: ", "query: "):
            if found := [line for line in lines if line.startswith(begins)]:
                first = found[0] if begins in faults else found[0].removeprefix(begins)
                break
    return first if first.endswith(")") else sentence(first, capital=False)
