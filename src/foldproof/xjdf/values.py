# SPDX-License-Identifier: AGPL-3.0-or-later
"""Attributes of a job ticket as numbers; lengths in mm, which stand there in points."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from foldproof.units import pt_to_mm
from foldproof.xjdf.model import Point
from foldproof.xjdf.source import Odd, told
from foldproof.xjdf.terms import finite, sheet_name

#: places that a length keeps: what the sixth place of a point says is less
_PLACES = 5


def floats(one: ET.Element, name: str, wanted: int) -> tuple[float, ...]:
    values = tuple(finite(word) for word in told(one, name).split())
    if len(values) != wanted:
        raise Odd(f"{name} has {len(values)} numbers instead of {wanted}")
    return values


def in_mm(length_pt: float) -> float:
    return round(pt_to_mm(length_pt), _PLACES)


def mm(one: ET.Element, name: str) -> float:
    return in_mm(finite(told(one, name)))


def mms(one: ET.Element, name: str, wanted: int) -> tuple[float, ...]:
    return tuple(in_mm(value) for value in floats(one, name, wanted))


def pair(one: ET.Element, name: str) -> Point:
    x, y = mms(one, name, 2)
    return x, y


def box(one: ET.Element, name: str) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = mms(one, name, 4)
    return x0, y0, x1, y1


def count(text: str) -> int:
    value = finite(text)
    if value != int(value) or value < 0:
        raise ValueError(text)
    return int(value)


def sheet_number(name: str) -> int:
    """The number in the name of a sheet."""
    number = count(name[1:])
    if name != sheet_name(number):
        raise ValueError(name)
    return number
