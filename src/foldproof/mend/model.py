# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the mend stage: a manuscript with the named repairs that were asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from attrs import frozen

from foldproof.manuscript.model import Manuscript

if TYPE_CHECKING:
    from pathlib import Path

    from foldproof.job.model import Job


@frozen
class Change:
    """What one repair did to one page."""

    repair: str  #: name of the repair
    page: int | None  #: 1-based PDF page, ``None`` for the whole file
    says: str  #: a sentence: what is different now


@frozen
class Repair:
    """One entry of the list of repairs."""

    name: str  #: kebab-case
    answers: tuple[str, ...]  #: ids of the checks whose findings it answers
    says: str  #: what it does, a sentence
    keeps: str  #: what it leaves as it is, a sentence
    #: manuscript facts, job, source, target: writes the mended copy and tells what it changed
    run: Callable[[Manuscript, Job, Path, Path], tuple[Change, ...]]


@frozen
class Mended:
    """The manuscript that the later stages take: the file as received, or a mended copy of it."""

    manuscript: Manuscript
    changes: tuple[Change, ...]

    @property
    def path(self) -> Path:
        return self.manuscript.path
