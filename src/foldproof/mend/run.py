# SPDX-License-Identifier: AGPL-3.0-or-later
"""The mend stage: named repairs on a copy, only those asked for."""

from __future__ import annotations

import difflib
from pathlib import Path

from foldproof.errors import AskedWrong
from foldproof.job.model import Job
from foldproof.manuscript.model import Manuscript
from foldproof.manuscript.read import read
from foldproof.mend import drop_comments, state_trim
from foldproof.mend.model import Change, Mended, Repair

REPAIRS: tuple[Repair, ...] = (drop_comments.REPAIR, state_trim.REPAIR)


def mend(
    manuscript: Manuscript, job: Job, names: tuple[str, ...], folder: Path, *, password: str | None = None
) -> Mended:
    """The manuscript with the repairs of these names, as a copy ``mended.pdf`` in ``folder`` when anything changed.

    Raises:
        AskedWrong: no repair has that name, or the manuscript is locked by a password.
    """
    known = {repair.name: repair for repair in REPAIRS}
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, known, 1) or sorted(known)
            raise AskedWrong(f'There is no repair "{name}"; did you mean "{near[0]}"?')
    if names and password is not None:
        raise AskedWrong("A manuscript locked by a password is not mended: ask for an open copy.")
    changes: list[Change] = []
    for number, name in enumerate(dict.fromkeys(names)):
        target = folder / f"mended-{number}.pdf"
        done = known[name].run(manuscript, job, manuscript.path, target)
        if done:
            changes.extend(done)
            manuscript = read(target, trim_mm=job.book.trim)
    final = folder / "mended.pdf"
    if changes:
        manuscript.path.replace(final)
    # of each repair but the last, and of those that found nothing to do
    for left in folder.glob("mended-*.pdf"):
        left.unlink()
    if not changes:
        return Mended(manuscript, ())
    return Mended(read(final, trim_mm=job.book.trim), tuple(changes))


def told(changes: tuple[Change, ...]) -> tuple[str, ...]:
    """The changes for the report, one sentence a kind of change, with its pages."""
    where: dict[str, list[int]] = {}
    for change in changes:
        where.setdefault(f"{change.repair}: {change.says}", []).append(change.page or 0)
    return tuple(
        f"Mended, {says} ({'whole file' if pages == [0] else 'PDF page ' + ', '.join(map(str, pages[:20]))}"
        f"{' and ' + str(len(pages) - 20) + ' more' if len(pages) > 20 else ''})."
        for says, pages in where.items()
    )
