# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans side by side on a terminal.  No line is wider than :data:`WIDTH`."""

from __future__ import annotations

import io
from collections.abc import Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from foldproof.makeup.plan import Plan
from foldproof.report.plan_facts import Row, cost_lines_words, headline, rows, sheets_words
from foldproof.report.words import clean, sentence

#: columns of the terminal that a line may take, at most and at least
WIDTH, _NARROW = 118, 40
#: columns that a plan wants beside the others
_A_PLAN = 17


def plans_text(plans: Sequence[Plan], width: int = WIDTH, *, styled: bool = False) -> str:
    """A column a plan, the best first; then the best one's reasons, cost and rules, and what sets the others apart.

    Args:
        width: of the terminal; more than :data:`WIDTH` is not used.  Where not all plans go side by side the rest
            stand below, beside the best one again.
        styled: with the terminal's bold and dim letters.
    """
    wide = max(_NARROW, min(width, WIDTH))
    facts = rows(plans)
    names = max(len(row.name) for row in facts)
    beside = max(1, (wide - names - 2) // (_A_PLAN + 2))
    best = plans[0]
    parts: list[RenderableType] = [bold(f"{best.title}: {headline(best)}"), Text()]
    for columns in _columns(len(plans), beside):
        parts += [_table(facts, columns), Text()]
    for number, plan in enumerate(plans, 1):
        parts += _told(number, plan, whole=number == 1)
    return printed(parts, wide, styled)


def printed(parts: Sequence[RenderableType], wide: int, styled: bool) -> str:
    """Parts one below the other as the terminal shows them, ``wide`` columns wide; no line ends in spaces."""
    said = io.StringIO()
    console = Console(
        file=said, width=wide, force_terminal=styled, color_system="standard" if styled else None, highlight=False,
        legacy_windows=False, emoji=False, markup=False,
    )  # fmt: skip
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in said.getvalue().splitlines()).rstrip()


def _columns(plans: int, beside: int) -> list[list[int]]:
    """Which plans stand side by side: as many as go, the best first in every table."""
    if plans <= beside or beside == 1:
        return [[n] for n in range(plans)] if beside == 1 else [list(range(plans))]
    others = list(range(1, plans))
    return [[0, *others[start : start + beside - 1]] for start in range(0, len(others), beside - 1)]


def _table(facts: Sequence[Row], columns: Sequence[int]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=True, header_style="bold")
    table.add_column(Text(""), no_wrap=True)
    for nth in columns:
        table.add_column(Text(f"plan {nth + 1}"), overflow="fold", min_width=min(_A_PLAN, 12))
    for row in facts:
        cells = [Text(clean(row.cells[nth]), style="bold" if row.sum else "") for nth in columns]
        table.add_row(Text(row.name), *cells)
    return table


def _told(number: int, plan: Plan, *, whole: bool) -> list[RenderableType]:
    parts: list[RenderableType] = [bold(f"Plan {number}")]
    parts += [line(told) for told in plan.reasons]
    if not whole:
        return [*parts, Text()]
    if plan.cost is not None:
        parts.append(bold("Cost"))
        for what, says, quantity, price, amount in cost_lines_words(plan.cost):
            parts.append(line(f"{what}: {says} = {quantity} at {price} = {amount}"))
    for name, lines in (
        ("Assumed", plan.assumptions),
        ("Sheets", sheets_words(plan)),
        ("Rules", plan.rules),
        ("Offers", plan.offers),
        ("Refused", plan.refused),
    ):
        if lines:
            parts += [bold(name), *(line(told) for told in lines)]
    return [*parts, Text()]


def bold(text: str) -> Text:
    """A line in heavy letters."""
    return Text(clean(" ".join(text.split())), style="bold")


def line(text: str) -> Padding:
    """A sentence, its further lines set in."""
    grid = Table.grid(padding=0)
    grid.add_column(width=2)
    grid.add_column(overflow="fold")
    grid.add_row(Text("- "), Text(clean(sentence(text))))
    return Padding(grid, (0, 0, 0, 2))
