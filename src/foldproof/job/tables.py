# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the tables of job and house files are made of: lengths and sizes as text with a unit, prices, strictness."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from foldproof.units import parse_length_mm, parse_size_mm


def _length(value: Any) -> float:
    if not isinstance(value, str):
        raise ValueError(f'a length is written as text with its unit, for example "3 mm", not {value!r}')
    return _sensible(parse_length_mm(value), value)


def _size(value: Any) -> tuple[float, float]:
    if not isinstance(value, str):
        raise ValueError(f'a size is written as text with its unit, for example "140 x 216 mm", not {value!r}')
    width_mm, height_mm = (_sensible(side_mm, value) for side_mm in parse_size_mm(value))
    if not (width_mm > 0 and height_mm > 0):
        raise ValueError(f"a size of more than nought each way is asked for, not {value!r}")
    return width_mm, height_mm


def _sensible(length_mm: float, text: str) -> float:
    """No book, sheet or press of this trade reaches ten metres: a slip in the unit, then."""
    if abs(length_mm) > 10_000:
        raise ValueError(f"{text!r} is more than ten metres; check the unit")
    return length_mm


#: a length in a file, mm here
Length = Annotated[float, BeforeValidator(_length)]
#: a positive length
PositiveLength = Annotated[float, BeforeValidator(_length), Field(gt=0)]
#: a width and height in a file, mm here
Size = Annotated[tuple[float, float], BeforeValidator(_size)]

#: a price in the house's currency
Price = Annotated[float, Field(ge=0)]
#: what an operation spoils, per cent of what goes into it
Percent = Annotated[float, Field(ge=0, lt=50)]


class Table(BaseModel):
    """One table of a job or house file: frozen, and strict about its keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, allow_inf_nan=False)
