# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the print stage: everything that the rooms before it made, in one frozen bundle."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from attrs import field, frozen

from foldproof.makeup.late import Late
from foldproof.makeup.plan import Plan
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.preflight.known import Compared
from foldproof.preflight.model import Check, Findings, Severity
from foldproof.preflight.specs import Spec
from foldproof.prove.model import Proof, Verdict


class Format(StrEnum):
    """What the print stage can write; the value is the word on the command line."""

    JSON = "json"  #: findings.json, plan.json, proof.json
    HTML = "html"  #: report.html
    PDF = "pdf"  #: report.pdf
    JUNIT = "junit"  #: junit.xml
    SARIF = "sarif"  #: findings.sarif
    LETTER = "letter"  #: letter.txt


@frozen
class Settings:
    """What the run was asked and by which versions it was done; no clock, no absolute path."""

    version: str  #: of Foldproof
    job: str | None  #: file name of the job, ``None`` when everything was assumed
    house: str  #: name of the house
    #: general libraries that took part, with their versions, in the order in which they are to be listed
    libraries: tuple[tuple[str, str], ...] = ()
    #: explicit departures from the rules, a sentence each ("Severities of spec … were only warned about.")
    overrides: tuple[str, ...] = ()
    #: what the job calls the book and its author, where it does
    title: str = ""
    author: str = ""
    #: whether a house file was given; the house that is assumed otherwise signs no letter
    house_given: bool = False


@frozen
class Refusal:
    """Why there is no plan: what the make-up said, and what would fit."""

    says: str
    would: tuple[str, ...] = ()


@frozen
class Results:
    """What the print stage turns into files."""

    manuscript: Manuscript
    observations: Observations
    findings: Findings
    settings: Settings
    plan: Plan | None = None
    proof: Proof | None = None
    #: the registry, for titles, reasons and sources of the checks
    checks: tuple[Check, ...] = ()
    #: the rules that were asked for, for the limits and whose they are; ``None``: those of the checks themselves
    spec: Spec | None = None
    #: set when the make-up found no plan
    refusal: Refusal | None = None
    #: the written sheets, to take pictures of; ``None`` where none were written
    sheets: Path | None = None
    password: str | None = field(default=None, repr=False)
    #: what the mending and the writing of the sheets have to say, a sentence each
    notes: tuple[str, ...] = ()
    date: str = ""  #: printed on the sheets, ``YYYY-MM-DD``; empty: none is known
    #: what this version changes against an earlier one whose make-up was kept
    late: Late | None = None
    #: of every page, what it is known by in a later version (:mod:`foldproof.preflight.page_digests`)
    digests: tuple[str, ...] = ()
    #: the findings beside those of an earlier run, where one was given as a baseline
    compared: Compared | None = None

    def check_named(self, check: str) -> Check | None:
        """The registry's entry for a finding's check."""
        return next((known for known in self.checks if known.id == check), None)

    def folio(self, page: int) -> str | None:
        """The printed folio of a page (1-based PDF number), where it could be read from the page."""
        index = page - 1
        seen = self.observations.objects[index] if 0 <= index < len(self.observations.objects) else None
        return (seen.folio or None) if seen is not None else None

    def label(self, page: int) -> str | None:
        """The label that the file gives a page (1-based PDF number); nothing of it need be printed."""
        if not 1 <= page <= len(self.manuscript.pages):
            return None
        # labels are any text, spaces and nothing among it
        return " ".join((self.manuscript.pages[page - 1].label or "").split()) or None

    def also(self, page: int) -> str:
        """What a page is called besides its number: ``"folio xii"``, ``"labelled T-1"`` or nothing."""
        folio, label = self.folio(page), self.label(page)
        if folio is not None:
            return f"folio {folio}" if folio != str(page) else ""
        return f"labelled {label}" if label is not None and label != str(page) else ""

    def is_known(self, index: int) -> bool:
        """Whether a finding (its place in ``findings.items``) was known to the baseline; never without one."""
        return self.compared is not None and self.compared.is_known(index)

    def counted(self, severity: Severity, *, known: bool) -> int:
        """How many findings of a severity the baseline knew, or did not; without a baseline it knew none."""
        return sum(
            found.severity is severity and self.is_known(index) is known
            for index, found in enumerate(self.findings.items)
        )

    @property
    def stops(self) -> int:
        return self.findings.count(Severity.STOP)

    @property
    def new_stops(self) -> int:
        """Findings of severity stop that the baseline does not know; without a baseline all."""
        return self.counted(Severity.STOP, known=False)

    @property
    def proved(self) -> bool:
        """Whether every page that can be told apart was found where it belongs."""
        return self.proof is not None and self.proof.verdict is Verdict.PROVED
