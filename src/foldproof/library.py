# SPDX-License-Identifier: AGPL-3.0-or-later
"""Foldproof for other people's programs: :func:`check` and :func:`make`, named at the root of the package.

What is documented here, and the errors of :mod:`foldproof.errors`, stay as they are from version to version; the rooms
behind them do not.  Both functions may be called from any thread, from a script without ``if __name__ == "__main__"``
and from a prompt; two at a time want folders of their own.  Nothing is printed.  The command line calls the same two.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

from attrs import evolve, field, frozen

from foldproof.asking import ask
from foldproof.desk import REPORTS, SHEETS, Asked, Nobody, Watch, bench, files_of, publish
from foldproof.errors import AskedWrong, ExitCode, FoldproofError, OverLimit, Unreadable, told
from foldproof.makeup.plan import Plan
from foldproof.pipeline import Outcome, look_over
from foldproof.pipeline import make as make_all
from foldproof.preflight.model import Finding, Severity
from foldproof.prove.model import Proof, Verdict
from foldproof.report.failed import write_failed
from foldproof.report.model import Refusal, Results
from foldproof.report.summary import in_format

#: a path as the standard library takes one
AnyPath = str | os.PathLike[str]
Format = Literal["text", "json", "junit", "sarif", "letter"]


@frozen(kw_only=True)
class Checked:
    """What a book was found to be."""

    #: how the command would end: ``WELL`` or ``STOPPED``, of :func:`make` also ``NO_PLAN`` or ``NOT_PROVED``
    code: ExitCode
    path: Path  #: the manuscript
    pages: int
    #: everything that was found: of the whole book first, then in order of page, then of check
    findings: tuple[Finding, ...]
    #: those of them that the baseline does not know, or that are worse now; without a baseline all of them
    new: tuple[Finding, ...]
    #: findings of the baseline that are not there any more; their pages are those of the earlier file
    gone: tuple[Finding, ...]
    #: what the job waives: the finding, the reason, and who takes it on
    waived: tuple[tuple[Finding, str, str], ...]
    #: checks that lacked what they judge by: id, and why
    not_judged: tuple[tuple[str, str], ...]
    #: explicit departures from the rules (``only_warn``, ``baseline``), a sentence each
    overrides: tuple[str, ...]
    #: written, in order of name; none where no folder was named
    files: tuple[Path, ...]
    _results: Results = field(repr=False, eq=False)

    @property
    def well(self) -> bool:
        """Whether nothing stands in the way: ``code`` is ``WELL``."""
        return self.code is ExitCode.WELL

    def worst(self) -> Severity | None:
        """The worst severity found, known or new; ``None`` without findings."""
        return self._results.findings.worst()

    def text(self, form: Format = "text") -> str:
        """What the command prints under ``--format``, without a line end at the end."""
        return in_format(form, self._results, self.code)


@frozen(kw_only=True)
class Made(Checked):
    """A book made up, and whether its sheets fold into it."""

    plan: Plan | None  #: the make-up; ``None``: nothing that the house has fits
    refusal: Refusal | None  #: why there is no plan, and what would fit
    proof: Proof | None  #: what came where when the written sheets were folded; ``None`` without sheets
    sheets: Path | None  #: the proved sheets, ``sheets.pdf``; ``None`` where none were proved

    @property
    def verdict(self) -> Verdict | None:
        """Whether the written sheets fold into the book: ``PROVED`` or ``FAILED``; ``None`` without sheets."""
        return None if self.proof is None else self.proof.verdict


def check(
    path: AnyPath,
    *,
    spec: AnyPath | None = None,
    job: AnyPath | None = None,
    house: AnyPath | None = None,
    baseline: AnyPath | None = None,
    out: AnyPath | None = None,
    password: str | None = None,
    password_file: AnyPath | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    only_warn: bool = False,
    watch: Watch | None = None,
) -> Checked:
    """Read a book and check it.

    Args:
        path: the interior, a PDF.
        spec: the printer's rules: the name of one that is shipped, or a file.
        job: what is asked for, a TOML file; everything is assumed without one.
        house: the shop, a TOML file; the Lantern Row Press without one.
        baseline: a ``findings.json`` of an earlier run: only what is new since then stops the book.
        out: a folder for every report of the check; nothing is written without one.
        password: opens a locked book; ``password_file``: the file whose first line does.
        workers: processes that read pages; without it as many as there are processors, one for a small file.
        cluster: address of a Dask scheduler whose workers read the pages instead; the extra ``cluster`` is needed.
        only_warn: findings of severity stop do not change ``code``.
        watch: told of stages and pages while they are done (:class:`foldproof.desk.Watch`), in the calling thread.

    Raises:
        AskedWrong: job, house, spec, baseline or password file are missing or wrong.
        Unreadable: the book cannot be read; ``NeedsPassword``: it is locked.  With ``out``, ``junit.xml`` and
            ``findings.sarif`` say so there.
        NotWritten: ``out`` does not take the reports; ``InUse``: another run is writing there.
        OverLimit: there was not enough memory.
        OurFault: a fault of ours; its cause is chained.
    """
    with _faults_told():
        asked = _asked(
            path, out, spec=spec, job=job, house=house, baseline=baseline, password=password,
            password_file=password_file, workers=workers, cluster=cluster, only_warn=only_warn,
        )  # fmt: skip
        try:
            outcome = look_over(asked, watch or Nobody(), reports=out is not None)
        except (Unreadable, OverLimit, MemoryError) as error:
            if out is not None:
                with bench(asked.out, asked.manuscript) as folder:
                    write_failed(folder, asked.manuscript.name, told(error))
                    publish(folder, asked.out, clears=REPORTS)
            raise
        return Checked(**_fields(asked, outcome))


def make(
    path: AnyPath,
    out: AnyPath,
    *,
    spec: AnyPath | None = None,
    job: AnyPath | None = None,
    house: AnyPath | None = None,
    baseline: AnyPath | None = None,
    late: AnyPath | None = None,
    split_sheets: bool = False,
    password: str | None = None,
    password_file: AnyPath | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    only_warn: bool = False,
    watch: Watch | None = None,
) -> Made:
    """Every stage: check, make up, impose and prove a book; sheets, report and tickets go into ``out``.

    A book with findings, one that no plan fits and sheets that fail the proof are outcomes, told by ``code``; the
    report is written of each.  A baseline hides no missing plan and no failed proof.

    Args:
        out: folder for the outputs; made where it is not there.
        late: ``plan.json`` of an earlier version, whose make-up is kept.
        split_sheets: also one PDF a sheet.

    The others are those of :func:`check`.

    Raises:
        FoldproofError: as of :func:`check`; nothing is written then.
    """
    with _faults_told():
        asked = _asked(
            path, out, spec=spec, job=job, house=house, baseline=baseline, password=password,
            password_file=password_file, workers=workers, cluster=cluster, only_warn=only_warn, late=late,
            split_sheets=split_sheets,
        )  # fmt: skip
        outcome = make_all(asked, watch or Nobody())
        results = outcome.results
        return Made(
            **_fields(asked, outcome),
            plan=results.plan,
            refusal=results.refusal,
            proof=results.proof,
            sheets=asked.out / SHEETS if SHEETS in outcome.files else None,
        )


@contextlib.contextmanager
def _faults_told() -> Iterator[None]:
    """Whatever goes wrong comes out as an error of this package."""
    try:
        yield
    except FoldproofError:
        raise
    except Exception as fault:
        raise told(fault) from fault


def _asked(
    path: AnyPath,
    out: AnyPath | None,
    *,
    spec: AnyPath | None,
    job: AnyPath | None,
    house: AnyPath | None,
    baseline: AnyPath | None,
    password: str | None,
    password_file: AnyPath | None,
    workers: int | None,
    cluster: str | None,
    only_warn: bool,
    late: AnyPath | None = None,
    split_sheets: bool = False,
) -> Asked:
    if password is not None and password_file is not None:
        raise AskedWrong("A password and a password file are one too many; give either.")
    if workers is not None and workers < 1:
        raise AskedWrong(f"There must be at least one worker, not {workers}.")
    asked = ask(
        Path(path),
        Path() if out is None else Path(out),
        job=_path(job),
        house=_path(house),
        spec=None if spec is None else os.fspath(spec),
        workers=workers,
        cluster=cluster,
        password_file=_path(password_file),
        only_warn=only_warn,
        split_sheets=split_sheets,
        late=_path(late),
        baseline=_path(baseline),
    )
    return asked if password is None else evolve(asked, password=password)


def _path(given: AnyPath | None) -> Path | None:
    return None if given is None else Path(given)


def _fields(asked: Asked, outcome: Outcome) -> dict[str, Any]:
    results = outcome.results
    items = results.findings.items
    return {
        "code": outcome.code,
        "path": asked.manuscript,
        "pages": len(results.manuscript.pages),
        "findings": items,
        "new": tuple(found for index, found in enumerate(items) if not results.is_known(index)),
        "gone": results.compared.gone if results.compared is not None else (),
        "waived": results.findings.waived,
        "not_judged": results.findings.not_judged,
        "overrides": results.settings.overrides,
        "files": tuple(asked.out / name for name in files_of(asked.out, outcome.files)),
        "results": results,
    }
