# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folding instructions that no bindery could be given: text or nothing where a length belongs, lengths past all sheets.

What can be done but is wrong is found by folding, and is no matter of this module.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import FoldingInstructions

#: no sheet, trim or leaf is longer, mm
LONGEST_MM = 100_000.0
#: panels along one way, steps of a collation mark: more than any is a slip, and would be reckoned for hours
MOST = 1000

_LENGTHS = ("head_trim_mm", "foot_trim_mm", "spine_trim_mm", "bottling_mm")
_MARK = ("first_mm", "step_mm", "length_mm", "width_mm", "gap_mm")


def refuse_nonsense(told: FoldingInstructions) -> None:
    """Refuse what is no instruction.

    Raises:
        AskedWrong: names the first field that holds no value of its kind, and what it holds.
    """
    for name, value in _lengths(told):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _odd(name, value, "a number")
        if not abs(value) <= LONGEST_MM:  # nor is what is no number at all
            raise _odd(name, value, f"a number of at most {LONGEST_MM:g}")
    for name, value in _none_below_nought(told):
        if value < 0:
            raise _odd(name, value, "0 or more")
    for name, value in _counts(told):
        if isinstance(value, bool) or not isinstance(value, int):
            raise _odd(name, value, "a whole number")
        if abs(value) > MOST and not name.endswith("number"):
            raise _odd(name, value, f"at most {MOST}")
    for name, value in _words(told):
        if not isinstance(value, str):
            raise _odd(name, value, "text")
    for i, sheet in enumerate(told.sheets):
        for j, section in enumerate(sheet.sections):
            if not isinstance(section.turned_over, bool):
                raise _odd(f"sheets[{i}].sections[{j}].turned_over", section.turned_over, "true or false")


def _odd(name: str, value: Any, wanted: str) -> AskedWrong:
    return AskedWrong(f'In the folding instructions "{name}" is {value!r:.60}; it must be {wanted}.')


def _lengths(told: FoldingInstructions) -> Iterator[tuple[str, Any]]:
    yield from _row("trim_mm", told.trim_mm, 2)
    for name in ("bleed_mm", "caliper_mm", "creep_factor"):
        yield name, getattr(told, name)
    if told.collation:
        for name in _MARK:
            yield f"collation.{name}", getattr(told.collation, name)
    for i, sheet in enumerate(told.sheets):
        where = f"sheets[{i}]"
        yield f"{where}.width_mm", sheet.width_mm
        yield f"{where}.height_mm", sheet.height_mm
        if sheet.caliper_mm is not None:
            yield f"{where}.caliper_mm", sheet.caliper_mm
        for k, slit in enumerate(sheet.slits_mm):
            yield from _row(f"{where}.slits_mm[{k}]", (*slit[0], *slit[1]), 4)
        for j, section in enumerate(sheet.sections):
            here = f"{where}.sections[{j}]"
            yield from _row(f"{here}.rect_mm", section.rect_mm, 4)
            yield from _row(f"{here}.column_mm", section.column_mm, None)
            yield from _row(f"{here}.row_mm", section.row_mm, None)
            for name in _LENGTHS:
                yield f"{here}.{name}", getattr(section, name)
            for k, fold in enumerate(section.folds):
                yield from _row(f"{here}.folds[{k}].line_mm", (*fold.line_mm[0], *fold.line_mm[1]), 4)


def _row(name: str, values: Any, count: int | None) -> Iterator[tuple[str, Any]]:
    if count is not None and len(values) != count:
        raise _odd(name, list(values), f"{count} numbers")
    for i, value in enumerate(values):
        yield f"{name}[{i}]", value


def _none_below_nought(told: FoldingInstructions) -> Iterator[tuple[str, float]]:
    for name in ("bleed_mm", "caliper_mm", "creep_factor"):
        yield name, getattr(told, name)
    for i, value in enumerate(told.trim_mm):
        yield f"trim_mm[{i}]", value
    if told.collation:
        yield "collation.gap_mm", told.collation.gap_mm
    for i, sheet in enumerate(told.sheets):
        if sheet.caliper_mm is not None:
            yield f"sheets[{i}].caliper_mm", sheet.caliper_mm
        for j, section in enumerate(sheet.sections):
            for name in _LENGTHS:
                yield f"sheets[{i}].sections[{j}].{name}", getattr(section, name)


def _counts(told: FoldingInstructions) -> Iterator[tuple[str, Any]]:
    if told.collation:
        yield "collation.steps", told.collation.steps
    for i, sheet in enumerate(told.sheets):
        yield f"sheets[{i}].number", sheet.number
        for j, section in enumerate(sheet.sections):
            for name in ("columns", "rows", "turned"):
                yield f"sheets[{i}].sections[{j}].{name}", getattr(section, name)


def _words(told: FoldingInstructions) -> Iterator[tuple[str, Any]]:
    yield "reading", told.reading
    yield "binding", told.binding
    yield "creep_by", told.creep_by
    for i, sheet in enumerate(told.sheets):
        yield f"sheets[{i}].turn", sheet.turn
        yield f"sheets[{i}].stock", sheet.stock
        for j, section in enumerate(sheet.sections):
            yield f"sheets[{i}].sections[{j}].id", section.id
            if section.head is not None:
                yield f"sheets[{i}].sections[{j}].head", section.head
            if section.copy_of is not None:
                yield f"sheets[{i}].sections[{j}].copy_of", section.copy_of
