# SPDX-License-Identifier: AGPL-3.0-or-later
"""Lengths: points inside, millimetres at the edges.

This is the only module that knows the number 25.4.  A point is PDF's own unit, 1/72 in
(ISO 32000-1, 8.3.2.3); an inch is 25.4 mm exactly (international inch, 1959).
"""

from __future__ import annotations

import re

_MM_PER_INCH = 25.4
PT_PER_INCH = 72.0
PT_PER_MM = PT_PER_INCH / _MM_PER_INCH

_MM_PER = {"mm": 1.0, "cm": 10.0, "in": _MM_PER_INCH, "pt": _MM_PER_INCH / PT_PER_INCH}
_NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_LENGTH = re.compile(rf"^\s*(-?{_NUMBER})\s*(mm|cm|in|pt)\s*$")
_SIZE = re.compile(rf"^\s*({_NUMBER})\s*(mm|cm|in|pt)?\s*[x×]\s*({_NUMBER})\s*(mm|cm|in|pt)\s*$")


def mm_to_pt(length_mm: float) -> float:
    """Millimetres to points."""
    return length_mm * PT_PER_MM


def pt_to_mm(length_pt: float) -> float:
    """Points to millimetres."""
    return length_pt / PT_PER_MM


def inch_to_mm(length_in: float) -> float:
    """Inches to millimetres."""
    return length_in * _MM_PER_INCH


def mm_to_inch(length_mm: float) -> float:
    """Millimetres to inches."""
    return length_mm / _MM_PER_INCH


def _number(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    total = 0.0
    for part in text.lstrip("-").split():
        if "/" in part:
            over, under = part.split("/")
            if int(under) == 0:
                raise ValueError(f"{text!r} divides by nought")
            total += int(over) / int(under)
        else:
            total += float(part)
    return sign * total


def parse_length_mm(text: str) -> float:
    """A length written with its unit, in mm: ``"3 mm"``, ``"1/8 in"``, ``"8 1/2 in"``.

    Raises:
        ValueError: the text is no number with one of the units mm, cm, in, pt.
    """
    found = _LENGTH.match(text)
    if not found:
        raise ValueError(f'{text!r} is no length; write it with its unit, for example "3 mm" or "1/8 in"')
    return _number(found[1]) * _MM_PER[found[2]]


def parse_size_mm(text: str) -> tuple[float, float]:
    """Width and height in mm from ``"140 x 216 mm"`` or ``"5 1/2 in x 8 1/2 in"``.

    Raises:
        ValueError: the text does not read as two lengths.
    """
    found = _SIZE.match(text)
    if not found:
        raise ValueError(f'{text!r} is no size; write width x height with the unit, for example "140 x 216 mm"')
    return _number(found[1]) * _MM_PER[found[2] or found[4]], _number(found[3]) * _MM_PER[found[4]]


def format_mm(length_mm: float, places: int = 1) -> str:
    """A length for people: ``"3 mm"``, ``"12.5 mm"`` (trailing noughts dropped)."""
    text = f"{length_mm:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} mm"


def format_size_mm(width_mm: float, height_mm: float) -> str:
    """A size for people, width first: ``"140 x 216 mm"``."""
    return f"{format_mm(width_mm).removesuffix(' mm')} x {format_mm(height_mm)}"
