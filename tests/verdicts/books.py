# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every finding on the real books as they are, by three specs, each once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts, Finding
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers

#: a book of which nothing is known, the same as a colour book, the same as a book in black
SPECS = ("any-book", "colour-on-coated", "one-colour-text-on-uncoated")


class Said(NamedTuple):
    """A finding as far as a verdict speaks of it."""

    book: str
    page: int  #: 0 for the whole book
    cause: str
    severity: str

    @property
    def check(self) -> str:
        return self.cause.partition("/")[0]


def needs() -> frozenset[str]:
    """Passes that any of the specs asks for."""
    return frozenset().union(*(needs_of(load_spec(spec)) for spec in SPECS))


def look_at(path: Path, workers: Workers) -> tuple[Manuscript, Observations]:
    """Read and look at one book as ``foldproof check BOOK.pdf`` does."""
    manuscript, house = read(path), load_house(None)
    trim_mm, bleed_mm = book_trim_mm(manuscript, None), house.allowances.bleed
    seen = observe(manuscript, workers, trim_mm=trim_mm, bleed_mm=bleed_mm, needs=needs(), advance=lambda _: None)
    return manuscript, seen


def findings(manuscript: Manuscript, seen: Observations) -> Iterator[tuple[Said, str, Finding]]:
    """Each finding once, by the first spec that brings it up in this severity: what is said, the spec, the finding.

    The grain is taken as right.
    """
    house, trim_mm = load_house(None), book_trim_mm(manuscript, None)
    facts = Facts(manuscript, seen, Job(), house, trim_mm, house.allowances.bleed, grain_along_spine=True)
    known: set[Said] = set()
    for spec in SPECS:
        for finding in check(facts, load_spec(spec)).items:
            cause = finding.cause or finding.check
            said = Said(manuscript.path.name, finding.page or 0, cause, str(finding.severity))
            if said not in known:
                known.add(said)
                yield said, spec, finding


def titles() -> dict[str, str]:
    return {entry.id: entry.title for entry in CHECKS}
