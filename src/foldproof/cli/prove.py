# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof prove``: fold a written file again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from foldproof.cli import options as o
from foldproof.cli.answering import answer, answering
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode
from foldproof.files import write_text

HELP = """Fold written sheets again, from what the bindery is told, and compare them with the manuscript.

Example:  foldproof prove OUT/sheets.pdf --plan OUT/plan.json --manuscript BOOK.pdf
"""


@ends
def prove(
    sheets: Annotated[
        Path, typer.Argument(metavar="SHEETS.pdf", readable=False, help="The written sheets.", show_default=False)
    ],
    plan: Annotated[
        Path, typer.Option("--plan", metavar="plan.json", help="Holds the folding instructions; or job.xjdf.")
    ],
    manuscript: Annotated[
        Path | None, typer.Option("--manuscript", metavar="BOOK.pdf", help="Without it, content is not compared.")
    ] = None,
    form: Annotated[Literal["text", "json", "junit"], typer.Option("--format", help="What stdout carries.")] = "text",
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE", help="Write the proof there as JSON.")
    ] = None,
    workers: o.WorkersOption = None,
    cluster: o.ClusterOption = None,
    password_file: o.PasswordOption = None,
    quiet: o.QuietOption = False,
) -> ExitCode:
    """Prove one file."""
    from foldproof import pipeline
    from foldproof.asking import password_in
    from foldproof.cli.watching import watching
    from foldproof.cores import hands_for
    from foldproof.prove.model import Verdict
    from foldproof.report.as_json import proof_json, written
    from foldproof.report.junit import proof_junit
    from foldproof.report.summary import proof_summary

    o.spare_inputs(out, sheets, plan, manuscript, password_file)
    with answering(form, sheets.name), watching(quiet) as watch:
        proof = pipeline.prove_again(
            sheets,
            plan,
            manuscript,
            workers=workers or hands_for(sheets),
            watch=watch,
            password=password_in(password_file),
            cluster=cluster,
        )
    as_json = written(proof_json(proof)).decode()
    if out is not None:
        write_text(out, as_json)
    match form:
        case "json":
            answer(as_json.rstrip("\n"))
        case "junit":
            answer(proof_junit(proof).decode().rstrip("\n"))
        case _:
            answer(proof_summary(proof))
    return ExitCode.NOT_PROVED if proof.verdict is Verdict.FAILED else ExitCode.WELL
