# SPDX-License-Identifier: AGPL-3.0-or-later
"""Run lengths side by side as a table for a terminal, a page, and data for other people's programs."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Sequence
from importlib import resources
from importlib.metadata import version
from typing import Any

import jinja2
from attrs import asdict
from markupsafe import Markup
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from foldproof.case.parts import PartOrder
from foldproof.job.model import Job
from foldproof.report.as_json import cost_json, written
from foldproof.report.estimate import (
    Length,
    headline,
    left_out_words,
    made_up_words,
    missing_words,
    parts_words,
    plans_words,
    rows,
    unknown_words,
)
from foldproof.report.plan_facts import Row
from foldproof.report.plans import WIDTH, bold, line, printed
from foldproof.report.words import clean, sentence

ESTIMATE_SCHEMA = "foldproof/estimate/1"
_NARROW = 40
#: run lengths side by side on a page
_ACROSS = 7
#: decimal places of numbers in JSON
_PLACES = 4
#: columns of a terminal between two cells
_GAP = 2


# --- a terminal -------------------------------------------------------------------------------------------------------


def estimate_text(columns: Sequence[Length], job: Job, width: int = WIDTH, *, styled: bool = False) -> str:
    """A column a run length, as many side by side as go; then the plans, and what is not known.

    Args:
        width: of the terminal; more than :data:`foldproof.report.plans.WIDTH` is not used.
        styled: with the terminal's bold letters.
    """
    wide = max(_NARROW, min(width, WIDTH))
    facts = rows(columns)
    heads = [f"{column.copies:,}" for column in columns]
    names = max(len(row.name) for row in facts)
    widths = [max(len(head), *(len(row.cells[nth]) for row in facts)) for nth, head in enumerate(heads)]
    parts: list[RenderableType] = [bold(f"{columns[0].plan.title}: {headline(columns)}"), Text()]
    for block in _blocks(widths, wide - names):
        parts += [_table(facts, heads, block), Text()]
    for name, told in _lists(columns, job):
        parts += [bold(name), *(line(one) for one in told), Text()]
    return printed(parts, wide, styled)


def _blocks(widths: Sequence[int], room: int) -> list[list[int]]:
    """Columns that go side by side, one at least."""
    blocks: list[list[int]] = []
    used = room
    for nth, wide in enumerate(widths):
        if used + wide + _GAP > room:
            blocks.append([])
            used = 0
        blocks[-1].append(nth)
        used += wide + _GAP
    return blocks


def _table(facts: Sequence[Row], heads: Sequence[str], block: Sequence[int]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, _GAP, 0, 0), show_header=True, header_style="bold")
    table.add_column(Text("copies"), no_wrap=True)
    for nth in block:
        table.add_column(Text(heads[nth]), justify="right", overflow="fold")
    for row in facts:
        cells = [Text(clean(row.cells[nth]), style="bold" if row.sum else "") for nth in block]
        table.add_row(Text(row.name), *cells)
    return table


def _lists(columns: Sequence[Length], job: Job) -> list[tuple[str, list[str]]]:
    lists = [
        ("Plans", plans_words(columns)),
        ("Endpapers, cover, jacket", parts_words(columns)),
        ("Prices not stated", missing_words(columns)),
        ("Not reckoned", [*unknown_words(columns), left_out_words(job, columns[0].plan)]),
    ]
    return [(name, told) for name, told in lists if told]


# --- a page -----------------------------------------------------------------------------------------------------------


def estimate_html(columns: Sequence[Length], job: Job) -> bytes:
    """The whole page, UTF-8; as the page of plans it asks for nothing from anywhere, and everything is escaped."""
    folder = resources.files("foldproof.report").joinpath("page")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True)
    facts = rows(columns)
    css = "".join(folder.joinpath(name).read_text("utf-8") for name in ("report.css", "plans.css", "estimate.css"))
    page = environment.from_string(folder.joinpath("estimate.html.j2").read_text("utf-8")).render(
        # the style sheet is ours and must stay byte for byte what the digest was taken of
        css=Markup(css),
        css_digest=b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii"),
        title=clean(columns[0].plan.title),
        headline=headline(columns),
        tables=[_page_table(columns, facts, start) for start in range(0, len(columns), _ACROSS)],
        lists=[{"name": name, "lines": [clean(sentence(one)) for one in told]} for name, told in _lists(columns, job)],
    )
    return page.encode("utf-8")


def _page_table(columns: Sequence[Length], facts: Sequence[Row], start: int) -> dict[str, Any]:
    """As many run lengths as go on a page, from that one on."""
    here = slice(start, start + _ACROSS)
    return {
        "heads": [f"{column.copies:,}" for column in columns[here]],
        "rows": [
            {"name": row.name, "cells": [clean(cell) for cell in row.cells[here]], "sum": row.sum} for row in facts
        ],
    }


# --- programs ---------------------------------------------------------------------------------------------------------


def estimate_json(columns: Sequence[Length], job: Job) -> bytes:
    """estimate.schema.json: every run length with its quantities and cost lines."""
    plan = columns[0].plan
    data = {
        "schema": ESTIMATE_SCHEMA,
        "foldproof": version("foldproof"),
        "title": plan.title,
        "pages": plan.pages,
        "trim_mm": [round(side, _PLACES) for side in plan.trim_mm],
        "binding": plan.binding,
        "run_lengths": [_length(column) for column in columns],
        "prices_not_stated": missing_words(columns),
        "not_reckoned": [*unknown_words(columns), left_out_words(job, plan)],
    }
    return written(data)


def _length(column: Length) -> dict[str, Any]:
    quantities = column.quantities
    plain: dict[str, Any] = _numbers(asdict(quantities))
    for section in ("says", "sections"):
        plain["thickness"].pop(section)
    total = column.cost.total
    return {
        "copies": column.copies,
        "plan": column.name,
        "made_up": made_up_words(column.plan),
        "plates": len(quantities.plates),
        "orders": plain["orders"],
        **({"parts": [_part(order) for order in column.parts]} if column.parts else {}),
        "counts": plain["counts"],
        "times": plain["times"],
        "thickness": plain["thickness"],
        "thread": plain["thread"],
        "packing": plain["packing"],
        "cost": cost_json(column.cost),
        "a_copy": None if total is None else round(total / column.copies, _PLACES),
    }


def _part(order: PartOrder) -> dict[str, Any]:
    """An order without the drawing of its cuts."""
    plain: dict[str, Any] = _numbers(asdict(order, filter=lambda field, _: field.name != "layout"))
    return plain


def _numbers(value: Any) -> Any:
    """Numbers with four places at the most, sequences as lists."""
    if isinstance(value, dict):
        return {key: _numbers(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_numbers(inner) for inner in value]
    return round(value, _PLACES) if isinstance(value, float) else value
