# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the check stage: findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import TYPE_CHECKING

from attrs import field, frozen

from foldproof.geometry import Rect

if TYPE_CHECKING:
    from foldproof.job.model import House, Job
    from foldproof.manuscript.model import Manuscript, Observations


class Severity(StrEnum):
    """How badly a finding stands in the way."""

    STOP = "stop"  #: must not be printed as it is
    QUERY = "query"  #: somebody must answer before it is printed
    NOTE = "note"  #: good to know

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Severity).index(self)


class Needs(StrEnum):
    """Which facts a check feeds on, so that no pass runs for nothing."""

    STRUCTURE = "structure"
    OBJECTS = "objects"
    INK = "ink"


@frozen
class Finding:
    """One thing that is wrong, in one place."""

    check: str  #: id of the check, ``"bleed"``
    severity: Severity
    problem: str  #: a sentence: what is wrong
    remedy: str  #: a sentence: what to do in the layout program
    page: int | None = None  #: 1-based PDF page number, ``None`` for the whole book
    folio: str | None = None  #: printed folio where found
    place_mm: Rect | None = None  #: trim frame
    measured: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    #: findings of one cause share it ("picture-resolution/contone"); the report sets them in one row
    cause: str = ""
    #: how many things of its kind it stands for on its page ("the worst of 3 pictures")
    count: int = 1


@frozen
class Facts:
    """Everything a check may look at.  A check is a pure function of this and its limits."""

    manuscript: Manuscript
    observations: Observations
    job: Job
    house: House
    #: trim size and bleed as the whole run takes them
    trim_mm: tuple[float, float]
    bleed_mm: float
    #: whether the grain of the stock runs along the spine in the make-up; ``None``: no make-up is known yet
    grain_along_spine: bool | None = None
    #: name of the stock that was chosen, for words
    stock: str | None = None
    #: thickness of the block of leaves in the make-up, mm; ``None``: no make-up is known yet
    bulk_mm: float | None = None
    #: empty pages that the make-up adds after the last; ``None``: no make-up is known yet
    blanks_back: int | None = None
    #: page by page, on which printed side it stands in the make-up: number of the sheet and ``"front"`` or ``"back"``
    sides: tuple[tuple[int, str], ...] | None = None
    #: the page count of a section is a multiple of this: 4 on sheets that fold once more after their last cut
    section_multiple: int = 4

    def folio(self, index: int) -> str | None:
        """The printed folio of a page (0-based index), where it could be read from the page."""
        seen = self.observations.objects[index] if index < len(self.observations.objects) else None
        return (seen.folio or None) if seen is not None else None

    def label(self, index: int) -> str | None:
        """The label that the file gives a page (0-based index); nothing of it need be printed."""
        # labels are any text, spaces and nothing among it
        return " ".join((self.manuscript.pages[index].label or "").split()) or None


Limit = float | str | bool


@frozen
class Limits:
    """The limits of one check, as its defaults and the spec give them."""

    values: Mapping[str, Limit]

    def number(self, name: str) -> float:
        return float(self.values[name])

    def text(self, name: str) -> str:
        return str(self.values[name])


class NotJudged(Exception):
    """Raised by a check that lacks a fact: it says nothing, and the findings say why."""


@frozen
class Check:
    """One entry of the registry."""

    id: str  #: kebab-case, the module's name with dashes
    title: str  #: two to five words
    needs: frozenset[Needs]
    measures: str  #: what it measures, a sentence or two
    why: str  #: what goes wrong on paper otherwise
    remedy: str  #: what to do, in general
    source: str  #: whose rule it is, or ``common practice, no source``
    run: Callable[[Facts, Limits], Iterable[Finding]]
    #: names of its limits with default values, as a spec may set them; the unit is the end of the name
    limits: dict[str, Limit]
    #: of its worst findings, by default; milder ones stay what they are
    severity: Severity
    #: whose figure each default is
    limit_sources: dict[str, str] = field(factory=dict)
    #: the words that a limit of kind text may have
    choices: dict[str, tuple[str, ...]] = field(factory=dict)
    #: limits of kind text that take any words, such as the name of a printing condition; those in ``choices`` are among
    #: what they may say
    free: frozenset[str] = frozenset()
    #: limits that take the value of another check's limit unless the spec says otherwise: ``{"asked": "check/limit"}``
    follows: dict[str, str] = field(factory=dict)


@frozen
class Findings:
    """What is wrong, where, how badly; whole-book findings first, then in order of page, then check."""

    items: tuple[Finding, ...]
    spec: str  #: name of the spec
    checks: tuple[str, ...]  #: ids of the checks that ran
    waived: tuple[tuple[Finding, str, str], ...] = ()  #: finding, reason, who
    #: checks that the spec asks for and that could not judge: id, and why in a sentence
    not_judged: tuple[tuple[str, str], ...] = ()
    #: ids of the checks that the spec switches off
    off: tuple[str, ...] = ()

    def worst(self) -> Severity | None:
        """The worst severity, ``None`` without findings."""
        return min((f.severity for f in self.items), key=lambda s: s.rank, default=None)

    def count(self, severity: Severity) -> int:
        return sum(f.severity is severity for f in self.items)
