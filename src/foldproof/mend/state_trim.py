# SPDX-License-Identifier: AGPL-3.0-or-later
"""Repair: write the trim into pages that do not state one."""

from __future__ import annotations

from pathlib import Path

from foldproof.job.model import Job
from foldproof.manuscript.model import Manuscript
from foldproof.mend.model import Change, Repair
from foldproof.pdf.mending import state_boxes


def _run(manuscript: Manuscript, job: Job, source: Path, target: Path) -> tuple[Change, ...]:
    # The trim as read is the job's, centred, or else the CropBox or MediaBox: state just that.
    trims = {page.index: page.boxes.trim for page in manuscript.pages if "TrimBox" not in page.boxes.stated}
    if trims:
        state_boxes(source, target, trims)
    whence = {page.index: page.boxes.trim_source.value for page in manuscript.pages}
    return tuple(
        Change("state-trim", index + 1, f"TrimBox written, taken from the {whence[index]}") for index in sorted(trims)
    )


REPAIR = Repair(
    name="state-trim",
    answers=("trim-box",),
    says="Writes a TrimBox into every page that has none: the job's trim, centred, else the CropBox or MediaBox.",
    keeps="Pages that state a TrimBox, and everything painted, stay as they are.",
    run=_run,
)
