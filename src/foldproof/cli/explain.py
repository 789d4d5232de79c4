# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof explain``: what a check measures, why, what to do, whose rule it is."""

from __future__ import annotations

import json
import textwrap
from typing import Annotated

import typer

from foldproof.cli.ending import ends
from foldproof.errors import ExitCode
from foldproof.preflight.model import Check, Limit
from foldproof.preflight.registry import CHECKS, check_named

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
    print(_told(check_named(check)))
    return ExitCode.WELL


def _told(check: Check) -> str:
    parts = [
        ("measures", check.measures),
        ("why", check.why),
        ("what to do", check.remedy),
        ("whose rule", check.source),
        ("severity", f"{check.severity.value}, unless the spec says otherwise"),
    ]
    lines = [f"{check.id}: {check.title}", ""]
    for name, text in parts:
        lines += textwrap.wrap(text, 96, initial_indent=f"{name + ':':<12}", subsequent_indent=" " * 12)
    for name, value in check.limits.items():
        lines += textwrap.wrap(
            _limit(check, name, value), 96, initial_indent="limit:      ", subsequent_indent=" " * 12
        )
    return "\n".join(lines)


def _limit(check: Check, name: str, value: Limit) -> str:
    """``least_mm = 3.0 (common practice: ...)``: as a spec would set it, and whose figure it is."""
    words = f"{name} = {json.dumps(value)}"
    if name in check.choices:
        words += " out of " + ", ".join(json.dumps(choice) for choice in check.choices[name])
    whose = check.limit_sources.get(name)
    return f"{words} ({whose})" if whose else words
