# SPDX-License-Identifier: AGPL-3.0-or-later
"""The books of a folder: which files are interiors, which job belongs to each, where each is made."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from foldproof.batch.folders import folders_for
from foldproof.batch.model import BookTask, Limits, Wishes
from foldproof.errors import AskedWrong
from foldproof.files import BENCH

#: a job for every book of a folder that has none of its own
SHARED_JOB = "job.toml"

#: how files begin that another system lays beside each of its files, and those that we are writing
_NO_BOOK = ("._", BENCH)


def books_in(
    folder: Path,
    out: Path,
    *,
    recursive: bool = False,
    wishes: Wishes = Wishes(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
    apart: Sequence[Path] = (),
) -> tuple[BookTask, ...]:
    """Every PDF of a folder, in order of name; the outputs' folder and those ``apart`` are left out.

    A job is ``NAME.toml`` beside ``NAME.pdf``, else ``job.toml`` in the same folder, else in the next folder above it,
    up to the one that was named.  Links to folders are not followed.

    Raises:
        AskedWrong: there is no such folder, or it cannot be looked into.
    """
    if not folder.is_dir():
        raise AskedWrong(f"{folder} is no folder; give the folder that holds the interiors.")
    made: list[BookTask] = []
    for place, below, files in _folders(folder, {path.resolve() for path in (out, *apart)}, recursive):
        within = place.relative_to(folder)
        shared = next((job for job in _jobs_above(folder, place) if _there(job)), None)
        for name, made_in in zip(files, folders_for(files, below), strict=True):
            book = place / name
            own = book.with_suffix(".toml")
            made.append(
                BookTask(
                    name=(within / name).as_posix(),
                    manuscript=book,
                    folder=(within / made_in).as_posix(),
                    out=out / within / made_in,
                    job=own if _there(own) else shared,
                    wishes=wishes,
                    limits=limits,
                )
            )
    return tuple(sorted(made, key=lambda task: task.name))


def _folders(folder: Path, apart: set[Path], recursive: bool) -> Iterator[tuple[Path, list[str], list[str]]]:
    """Each folder with the names of the folders and of the PDFs in it."""

    def refused(error: OSError) -> None:
        raise AskedWrong(f"{error.filename} cannot be read: {(error.strerror or str(error)).lower()}.") from error

    for root, below, files in os.walk(folder, onerror=refused):
        place = Path(root)
        below[:] = sorted(n for n in below if not n.startswith(".") and (place / n).resolve() not in apart)
        names = sorted(n for n in files if n.lower().endswith(".pdf") and not n.startswith(_NO_BOOK))
        yield place, list(below) if recursive else [], [n for n in names if (place / n).is_file()]
        if not recursive:
            return


def _there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False  # a name of 255 bytes has no room for another ending


def _jobs_above(folder: Path, place: Path) -> list[Path]:
    inside = [place, *place.parents]
    return [above / SHARED_JOB for above in inside[: inside.index(folder) + 1]]
