# SPDX-License-Identifier: AGPL-3.0-or-later
"""How the files and words that somebody names become what a run is asked for: for command line, library and batch."""

from __future__ import annotations

import os
from pathlib import Path

from foldproof.cores import hands_for
from foldproof.covers.registry import BY_SPEC
from foldproof.desk import Asked
from foldproof.errors import AskedWrong
from foldproof.job.load import load_house, load_job, resolve
from foldproof.job.model import Job
from foldproof.manuscript.dates import day_of_epoch
from foldproof.preflight.specs import default_spec, load_spec
from foldproof.report.earlier import read_earlier
from foldproof.units import parse_size_mm


def ask(
    manuscript: Path,
    out: Path = Path(),
    *,
    job: Path | None = None,
    house: Path | None = None,
    spec: str | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    password_file: Path | None = None,
    only_warn: bool = False,
    split_sheets: bool = False,
    late: Path | None = None,
    trim: str | None = None,
    baseline: Path | None = None,
    epoch: str | None = None,
) -> Asked:
    """Read the files named by the options.

    Args:
        workers: processes that read and compare pages; ``None``: as many as are worth starting.
        epoch: seconds since 1970 whose day is printed on the sheets; ``None``: what SOURCE_DATE_EPOCH says.

    Raises:
        AskedWrong: one of them is missing or wrong.
    """
    the_job = load_job(job) if job else Job()
    if trim is not None:
        the_job = the_job.model_copy(update={"book": the_job.book.model_copy(update={"trim": _trim(trim)})})
    the_house = load_house(house)
    resolve(the_job, the_house)
    named = the_job.check.spec if spec is None else spec
    return Asked(
        manuscript=manuscript,
        out=out,
        job=the_job,
        house=the_house,
        spec=default_spec(the_job, BY_SPEC) if named is None else load_spec(named, BY_SPEC),
        workers=workers or hands_for(manuscript),
        cluster=cluster,
        password=password_in(password_file),
        only_warn=only_warn,
        job_name=job.name if job else "",
        house_given=house is not None,
        split_sheets=split_sheets,
        late=late,
        baseline=read_earlier(baseline) if baseline else None,
        date=day_of_epoch(os.environ.get("SOURCE_DATE_EPOCH", "") if epoch is None else epoch),
    )


def _trim(text: str) -> tuple[float, float]:
    try:
        width_mm, height_mm = parse_size_mm(text)
    except ValueError as odd:
        raise AskedWrong(f"--trim: {odd}.") from None
    if min(width_mm, height_mm) <= 0:
        raise AskedWrong(f"--trim: {text!r} has no area.")
    return width_mm, height_mm


def password_in(file: Path | None) -> str | None:
    """First line of a password file, ``None`` without a file.

    Raises:
        AskedWrong: the file cannot be read, or its first line is empty.
    """
    if file is None:
        return None
    try:
        password = file.read_text(encoding="utf-8").split("\n", 1)[0].rstrip("\r")
    except OSError as refused:
        reason = (refused.strerror or str(refused)).lower()
        raise AskedWrong(f"The password file {file} cannot be read: {reason}.") from refused
    except UnicodeDecodeError as odd:
        raise AskedWrong(f"The password file {file} is no UTF-8 text; save it as UTF-8.") from odd
    if not password:
        raise AskedWrong(f"The password file {file} is empty; put the password in its first line.")
    return password
