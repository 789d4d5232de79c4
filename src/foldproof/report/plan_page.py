# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans side by side as one page for a screen or for paper, with drawings of every kind of sheet.

As the report it asks for nothing from anywhere: its Content-Security-Policy names the one style sheet by digest and
lets nothing else load or run; everything is escaped.  What differs from the best plan is said in words and figures.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Sequence
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from foldproof.makeup.plan import Plan
from foldproof.report.content import cost_told, kind_words, piece_words, printing_told
from foldproof.report.plan_facts import cost_words, headline, rows, short_name
from foldproof.report.sheet_svg import sheet_svg
from foldproof.report.words import clean, count, sentence
from foldproof.tickets.diagram import SheetDrawing, drawings

#: kinds of sheets drawn for each plan
_MOST_KINDS = 8
_PARTS = ("plans.html.j2", "parts.html.j2")


def plans_html(plans: Sequence[Plan]) -> bytes:
    """The whole page, UTF-8; the best plan first."""
    folder = resources.files("foldproof.report").joinpath("page")
    parts = {name: folder.joinpath(name).read_text("utf-8") for name in _PARTS}
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True, loader=jinja2.DictLoader(parts)
    )
    css = "".join(folder.joinpath(name).read_text("utf-8") for name in ("report.css", "plans.css"))
    best = plans[0]
    page = environment.get_template(_PARTS[0]).render(
        # the style sheet is ours and must stay byte for byte what the digest was taken of
        css=Markup(css),
        css_digest=b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii"),
        title=clean(best.title),
        headline=headline(best),
        verdict=_verdict(plans),
        reasons=_said(best.reasons),
        rows=_rows(plans),
        plans=[_plan(number, plan) for number, plan in enumerate(plans, 1)],
    )
    return page.encode("utf-8")


def _verdict(plans: Sequence[Plan]) -> str:
    best = plans[0]
    others = f", the best of {count(len(plans), 'plan')}" if len(plans) > 1 else ""
    return f"Plan 1{others}: {short_name(best)}. {cost_words(best)}".strip()


def _rows(plans: Sequence[Plan]) -> list[dict[str, Any]]:
    """The table side by side: every cell with what it differs by from the first, in words."""
    made = []
    for row in rows(plans):
        cells = []
        for nth, cell in enumerate(row.cells):
            told = row.against_first(nth) if nth else ""
            differs = nth > 0 and (told not in ("", "the same") or (not told and cell != row.cells[0]))
            cells.append({"says": clean(cell), "told": told if differs else "", "differs": differs})
        made.append({"name": row.name, "cells": cells, "figures": bool(row.numbers), "sum": row.sum})
    return made


def _plan(number: int, plan: Plan) -> dict[str, Any]:
    drawn = drawings(plan, _MOST_KINDS)
    left = len(plan.kinds) - len(drawn)
    return {
        "number": number,
        "name": short_name(plan),
        "reasons": _said(plan.reasons) if number > 1 else [],
        "cost": cost_told(plan),
        "kinds": [_kind(plan, drawing) for drawing in drawn],
        "kinds_left": f"{count(left, 'more kind')} of sheet: not drawn." if left > 0 else "",
        "lists": [
            {"name": name, "lines": _said(lines)}
            for name, lines in (
                ("Assumed", plan.assumptions),
                ("Rules", plan.rules),
                ("Offers", plan.offers),
                ("Looked at and refused", plan.refused),
            )
            if lines
        ],
    }


def _kind(plan: Plan, drawing: SheetDrawing) -> dict[str, Any]:
    return {
        "label": clean(drawing.kind.label),
        "words": kind_words(drawing),
        "pieces": piece_words(drawing),
        "printing": printing_told(plan, drawing),
        "sides": [sheet_svg(side, f"Sheet {drawing.number}, {side.side.value}") for side in drawing.sides],
    }


def _said(lines: Sequence[str]) -> list[str]:
    return [clean(sentence(line)) for line in lines]
