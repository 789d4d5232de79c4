# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof explain``: what a check measures, why, what to do, whose rule it is."""

from __future__ import annotations

import difflib
import textwrap
from typing import Annotated

import typer

from foldproof.cli.ending import ends
from foldproof.errors import AskedWrong, ExitCode
from foldproof.preflight.model import Check
from foldproof.preflight.registry import CHECKS

HELP = """Say what a check measures, why, what to do about it, and whose rule it is; without a name, list them.

Example:  foldproof explain bleed
"""


@ends
def explain(
    check: Annotated[str | None, typer.Argument(metavar="[CHECK]", help="Name of a check.", show_default=False)] = None,
) -> ExitCode:
    """Print the text of one check, or the list."""
    if check is None:
        width = max(len(known.id) for known in CHECKS)
        for known in CHECKS:
            print(f"{known.id:<{width}}  {known.severity.value:<5}  {known.title}")
        return ExitCode.WELL
    named = {known.id: known for known in CHECKS}
    if check not in named:
        near = difflib.get_close_matches(check, named, 1)
        hint = f'did you mean "{near[0]}"?' if near else '"foldproof explain" lists them.'
        raise AskedWrong(f'There is no check "{check}"; {hint}')
    print(_told(named[check]))
    return ExitCode.WELL


def _told(check: Check) -> str:
    parts = [
        ("measures", check.measures),
        ("why", check.why),
        ("what to do", check.remedy),
        ("whose rule", check.source),
        ("severity", f"{check.severity.value}, unless the spec says otherwise"),
    ]
    if check.limits:
        parts.append(("limits", ", ".join(f"{name} = {value}" for name, value in check.limits.items())))
    lines = [f"{check.id}: {check.title}", ""]
    for name, text in parts:
        lines += textwrap.wrap(text, 96, initial_indent=f"{name + ':':<12}", subsequent_indent=" " * 12)
    return "\n".join(lines)
