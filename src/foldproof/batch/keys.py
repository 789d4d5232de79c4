# SPDX-License-Identifier: AGPL-3.0-or-later
"""What decides the outputs of a book, as one digest: what is unchanged need not be made again."""

from __future__ import annotations

import hashlib
import pickle
from pathlib import Path

from attrs import evolve

from foldproof.asking import ask
from foldproof.batch.model import BookTask
from foldproof.desk import Asked, settings_of
from foldproof.errors import AskedWrong
from foldproof.files import sha256_of
from foldproof.job.model import Job


def asked_for(task: BookTask) -> Asked:
    """The files that a task names, read; or what somebody has read of them.

    Raises:
        AskedWrong: one of them is missing or wrong, or has a name that is not UTF-8.
    """
    if task.asked is not None:
        asked: Asked = pickle.loads(task.asked)
        return evolve(
            asked, manuscript=task.manuscript, out=task.out, workers=task.workers, cluster=task.cluster,
            split_pages=task.split_pages,
        )  # fmt: skip
    for path in (task.manuscript, task.job, task.out):
        try:
            str(path).encode("utf-8")
        except UnicodeEncodeError:
            raise AskedWrong(f'"{path}" is not UTF-8; rename it, then ask again.') from None
    wishes = task.wishes
    return ask(
        task.manuscript, task.out, job=task.job, house=wishes.house, spec=wishes.spec, workers=task.workers,
        password_file=wishes.password_file, only_warn=wishes.only_warn, split_sheets=wishes.split_sheets,
        epoch=wishes.epoch,
    )  # fmt: skip


def key_of(asked: Asked) -> str:
    """SHA-256 over the manuscript's bytes and all that was asked, by what it says and not by where it stands.

    Versions of Foldproof and of the libraries take part.  A password does not: a digest of it would help to guess it.

    Raises:
        OSError: the manuscript cannot be read.
    """
    says = (
        sha256_of(asked.manuscript),
        asked.manuscript.name,
        *_job(asked.job),
        asked.house.model_dump_json(),
        repr(asked.spec),
        repr(settings_of(asked)),
        str(asked.split_sheets),
        asked.date,
    )
    return hashlib.sha256("\0".join(says).encode("utf-8", "surrogatepass")).hexdigest()


def _job(job: Job) -> tuple[str, ...]:
    """What the job says; of the emblem that it names, the bytes and the name instead of the place."""
    emblem = job.emblem
    if emblem is None:
        return (job.model_dump_json(),)
    # one that is not there ends the book by itself, with its sentence
    return job.with_emblem(Path(emblem.name)).model_dump_json(), sha256_of(emblem) if emblem.is_file() else ""
