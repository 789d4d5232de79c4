# SPDX-License-Identifier: AGPL-3.0-or-later
"""Repair: take comments out, so that none is printed."""

from __future__ import annotations

from pathlib import Path

from foldproof.job.model import Job
from foldproof.manuscript.model import Manuscript
from foldproof.mend.model import Change, Repair
from foldproof.pdf.mending import drop_markup


def _run(manuscript: Manuscript, job: Job, source: Path, target: Path) -> tuple[Change, ...]:
    dropped = drop_markup(source, target)
    return tuple(
        Change("drop-comments", index + 1, f"{count} comment{'s' if count > 1 else ''} taken out")
        for index, count in sorted(dropped.items())
    )


REPAIR = Repair(
    name="drop-comments",
    answers=("annotations",),
    says="Takes every comment, highlight, stamp and attached note out of the copy that is printed.",
    keeps="Links and form fields stay as they are, and so does everything on the page itself.",
    run=_run,
)
