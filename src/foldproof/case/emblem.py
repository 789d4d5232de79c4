# SPDX-License-Identifier: AGPL-3.0-or-later
"""The emblem that a job names, read before anything is made, in a process that may be ended.

It is somebody's file, as the manuscript is: what loops or crashes in the library must end neither the book nor a batch.
"""

from __future__ import annotations

from foldproof.errors import AskedWrong
from foldproof.job.model import Job
from foldproof.pdf.die_emblem import Emblem, read_emblem, refusal
from foldproof.workers import Lost, Workers

#: seconds that reading may take: twice what the reader gives itself, which it can heed between two shapes alone
_SECONDS = 20.0


def emblem_of(job: Job, workers: Workers) -> Emblem | None:
    """The emblem for the die of a job; ``None`` where it names none.

    Raises:
        AskedWrong: it cannot be used, or could not be read to its end: one sentence with what to do.
    """
    path = job.emblem
    if path is None:
        return None
    found = workers.alone(read_emblem, path.absolute(), seconds=_SECONDS)
    if isinstance(found, Lost):
        wrong = f"could not be read to its end ({found.reason})"
        raise AskedWrong(refusal(path.name, wrong, "simplify it in the drawing program, and export it again as a PDF"))
    return found
