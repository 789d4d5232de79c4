# SPDX-License-Identifier: AGPL-3.0-or-later
"""A built cover, taken through the whole check."""

from __future__ import annotations

from pathlib import Path

from foldproof.case.model import CoverSizes
from foldproof.covers.run import USUAL_SPEC, CoverAsked, CoverLooked, look_over_cover
from foldproof.job.load import load_house
from foldproof.job.model import Book, Job
from foldproof.preflight.model import Severity
from foldproof.preflight.specs import Spec, load_spec
from foldproof.workers import Workers
from tests.covers.building import ISBN, Cover, write

JOB = Job(book=Book(isbn=ISBN, binding="glued"))


def looked(
    cover: Cover, folder: Path, hands: Workers, job: Job = JOB, pages: int = 1, spec: Spec | None = None
) -> CoverLooked:
    """What is found of a cover that is written into a folder first."""
    return held(write(cover, folder / "cover.pdf", pages), cover.asked, hands, job, spec)


def held(path: Path, sizes: CoverSizes, hands: Workers, job: Job = JOB, spec: Spec | None = None) -> CoverLooked:
    """What is found of a file that is held against sizes."""
    return look_over_cover(CoverAsked(path, sizes, job, load_house(None), spec or load_spec(USUAL_SPEC)), hands)


def told(looked: CoverLooked) -> list[tuple[str, Severity]]:
    """Cause and severity of every finding."""
    return [(found.cause or found.check, found.severity) for found in looked.findings.items]
