# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof explain``: what a check measures, why, what to do, whose rule it is."""

from __future__ import annotations

import sys
import textwrap
from typing import Annotated, Literal

import typer

from foldproof.cli import options as o
from foldproof.cli.ending import ends
from foldproof.errors import ExitCode

HELP = """Say what a check measures, why, what to do about it, and whose rule it is; without a name, list them.

With --spec, severities and limits are those of that spec, each with its source.

Examples:  foldproof explain bleed --spec colour-on-coated
           foldproof explain --format json
"""


@ends
def explain(
    check: Annotated[str | None, typer.Argument(metavar="[CHECK]", help="Name of a check.", show_default=False)] = None,
    spec: o.SpecOption = None,
    form: Annotated[Literal["text", "json"], typer.Option("--format", help="What stdout carries.")] = "text",
) -> ExitCode:
    """Print the text of one check, or the list."""
    from foldproof.covers.registry import BY_SPEC, EXPLAINED, explained_check
    from foldproof.preflight.specs import load_spec
    from foldproof.report.explained import explained

    rules = load_spec(spec, BY_SPEC) if spec else None
    if form == "json":
        from foldproof.report.as_json import written
        from foldproof.report.checks_json import checks_json

        sys.stdout.write(written(checks_json([explained_check(check)] if check else EXPLAINED, rules)).decode("utf-8"))
        return ExitCode.WELL
    if check is None:
        width = max(len(known.id) for known in EXPLAINED)
        for known in EXPLAINED:
            severity = rules.severity_of(known) if rules else known.severity
            word = "off" if rules and rules.is_off(known) else severity.value
            print(f"{known.id:<{width}}  {word:<5}  {known.title}")
        return ExitCode.WELL
    known = explained_check(check)
    lines = [f"{known.id}: {known.title}", ""]
    for name, text in explained(known, rules):
        # a name such as plate-setter is not broken, so that a search of the output finds it
        lines += textwrap.wrap(
            text, 96, initial_indent=f"{name + ':':<12}", subsequent_indent=" " * 12, break_on_hyphens=False
        )
    print("\n".join(lines))
    return ExitCode.WELL
