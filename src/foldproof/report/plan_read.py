# SPDX-License-Identifier: AGPL-3.0-or-later
"""A written plan.json as the plan that it was written of: the way back from :func:`foldproof.report.as_json.plan_json`.

Lengths come back to the four places that were written.  What the file does not hold stays empty: the lines of the cost,
and how pieces went through press and folder.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from foldproof.errors import AskedWrong
from foldproof.geometry import Matrix, Rect
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.plan import (
    CollationBar,
    GatheredSection,
    PagePlace,
    Plan,
    Press,
    SheetKind,
    SheetRun,
    Side,
)
from foldproof.report.as_json import PLAN_SCHEMA
from foldproof.units import mm_to_pt


def plan_in(path: Path) -> Plan:
    """The plan in a file.

    Raises:
        AskedWrong: it is missing, no JSON, of another schema, or lacks something.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as refused:
        raise AskedWrong(f"The plan {path} cannot be read: {(refused.strerror or str(refused)).lower()}.") from refused
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as odd:
        raise AskedWrong(f"{path} is no JSON ({odd}); give the plan.json that was written with the sheets.") from odd
    schema = data.get("schema") if isinstance(data, dict) else None
    if schema != PLAN_SCHEMA:
        raise AskedWrong(
            f'{path} is no plan of schema "{PLAN_SCHEMA}"; give the plan.json that was written with the sheets.'
        )
    try:
        return _plan(data)
    except (KeyError, TypeError, AttributeError, IndexError, OverflowError, ValueError) as odd:
        lost = f"it lacks {odd}" if isinstance(odd, KeyError) else str(odd)
        raise AskedWrong(f"{path} cannot be read as a plan: {lost}; write it again with foldproof make.") from None


def _plan(data: dict[str, Any]) -> Plan:
    paper, pages = data["paper"], _whole(data["pages"])
    places = tuple(_place(one) for one in data["places"])
    if pages <= 0 or not places or not data["sections"]:
        raise ValueError("it has no pages")
    return Plan(
        title=str(data["title"]),
        trim_mm=_pair(data["trim_mm"], positive=True),
        bleed_mm=_number(data["bleed_mm"]),
        binding=_word(data["binding"], ("sewn", "glued", "stitched", "leaflet")),
        reading=_word(data["reading"], ("left to right", "right to left")),
        pages=pages,
        blanks_front=_whole(data["blanks_front"]),
        blanks_back=_whole(data["blanks_back"]),
        press=_press(data["press"]),
        stock=str(paper["stock"]),
        grammage=_number(paper["grammage"]),
        caliper_mm=_number(paper["caliper_mm"]),
        grain=str(paper["grain"]),
        grain_along_spine=bool(paper["grain_along_spine"]),
        sheet_mm=_pair(paper["sheet_mm"]),
        sections=tuple(
            GatheredSection(
                _whole(one["number"]),
                str(one["signature"]),
                _words(one["pieces"]),
                _whole(one["pages"]),
                _whole(one["first"]),
                _whole(one["blanks"]),
            )
            for one in data["sections"]
        ),
        places=places,
        bars=tuple(
            CollationBar(_whole(one["sheet"]), Side(one["side"]), _whole(one["section"]) - 1, _rect(one["rect_mm"]))
            for one in data["collation_bars"]
        ),
        kinds=tuple(
            SheetKind(str(one["label"]), str(one["scheme"]), tuple(_whole(n) for n in one["sheets"]))
            for one in data["kinds"]
        ),
        assumptions=_words(data["assumptions"]),
        offers=_words(data["offers"]),
        refused=_words(data["refused"]),
        instructions=FoldingInstructions.from_json(data["instructions"]),
        runs=tuple(_run(one) for one in data["runs"]),
        again=tuple(_place(one) for one in data["again"]),
        run_copies=_whole(data["run_copies"]),
        folder=str(data["folder"]),
        line=str(data["line"]),
        rules=_words(data["rules"]),
        reasons=_words(data["reasons"]),
    )


def _press(data: dict[str, Any], name: str = "name") -> Press:
    return Press(
        str(data[name]),
        _number(data["gripper_mm"]),
        _number(data["tail_mm"]),
        _number(data["side_mm"]),
        str(data["lay"]),
    )


def _run(data: dict[str, Any]) -> SheetRun:
    return SheetRun(
        sheet=_whole(data["sheet"]),
        press=_press(data, "press"),
        way=str(data["way"]),
        stock=str(data["stock"]),
        grammage=_number(data["grammage"]),
        caliper_mm=_number(data["caliper_mm"]),
        grain=str(data["grain"]),
        grain_along_spine=bool(data["grain_along_spine"]),
        sheet_mm=_pair(data["sheet_mm"]),
        copies_on=_whole(data["copies_on"]),
        inks=(_words(data["inks_front"]), _words(data["inks_back"])),
        folder=str(data["folder"]),
        net_sheets=_whole(data["net_sheets"]),
        gross_sheets=_whole(data["gross_sheets"]),
    )


def _place(data: dict[str, Any]) -> PagePlace:
    trim = _rect(data["trim_mm"]).scaled(mm_to_pt(1.0))
    page = data["page"]
    # the page stands about the middle of its trim, turned by quarter turns, without scale
    matrix = Matrix.quarter_turns(_whole(data["turn"]) // 90).then(Matrix.translation(*trim.centre))
    return PagePlace(
        page=None if page is None else _whole(page) - 1,
        position=_whole(data["position"]),
        sheet=_whole(data["sheet"]),
        side=Side(data["side"]),
        section=str(data["section"]),
        leaf=_whole(data["leaf"]),
        depth=_whole(data["depth"]),
        creep_mm=_number(data["creep_mm"]),
        matrix=matrix,
        clip_pt=_rect(data["clip_mm"]).scaled(mm_to_pt(1.0)),
        trim_pt=trim,
        signature=str(data["signature"]),
    )


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"a number is asked for where it has {value!r}")
    return float(value)


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"a whole number is asked for where it has {value!r}")
    return value


def _pair(value: Any, *, positive: bool = False) -> tuple[float, float]:
    one, other = (_number(side) for side in value)
    if positive and min(one, other) <= 0:
        raise ValueError("its trim has no area")
    return one, other


def _rect(value: Any) -> Rect:
    x0, y0, x1, y1 = (_number(side) for side in value)
    return Rect(x0, y0, x1, y1)


def _words(value: Any) -> tuple[str, ...]:
    return tuple(str(one) for one in value)


def _word(value: Any, known: tuple[str, ...]) -> str:
    if value not in known:
        raise ValueError(f"{value!r} is none of {', '.join(known)}")
    return str(value)
