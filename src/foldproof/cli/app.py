# SPDX-License-Identifier: AGPL-3.0-or-later
"""The commands, one word a job."""

from __future__ import annotations

import typer

from foldproof.cli import batch, check, cover, explain, house, make, plan, prove, start

app = typer.Typer(
    name="foldproof",
    help="From a book's PDF to press sheets that are proved to fold into the book.\n\n"
    "Stages: read, check, mend, make up, impose, prove, print.\n\n"
    "Exit codes: 0 all well, 1 a finding of severity stop, 2 asked wrong, 3 the manuscript cannot be read, 4 no plan "
    "fits, 5 the proof failed, 6 outputs could not be written, 7 over a limit of time, memory or size, 70 a fault of "
    "ours.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("make", help=make.HELP)(make.make)
app.command("check", help=check.HELP)(check.check)
app.command("plan", help=plan.HELP)(plan.plan)
app.command("prove", help=prove.HELP)(prove.prove)
app.command("cover", help=cover.HELP)(cover.cover)
app.command("batch", help=batch.HELP)(batch.batch)
app.command("explain", help=explain.HELP)(explain.explain)
app.command("house", help=house.HELP)(house.house)
app.command("start", help=start.HELP)(start.start)
