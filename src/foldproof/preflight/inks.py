# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which plates a native colour prints in, and what overprint leaves of the ground (ISO 32000-1, 8.6 and 11.7.4.3).

Amounts are 0 (none) to 1 (solid).  Plates have the names that the ink pass uses: Cyan, Magenta, Yellow, Black, and the
spot colours by their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from foldproof.preflight.measures import family

PROCESS = ("Cyan", "Magenta", "Yellow", "Black")

#: less of an ink than this is none
TRACE = 0.005
#: black from here on is taken for black; common practice, no source
_DARK = 0.85

_NAMED = re.compile(r"^(?:Separation|DeviceN)\((.*)\)$", re.DOTALL)


@lru_cache(maxsize=8192)
def plates(space: str, values: tuple[float, ...]) -> Mapping[str, float] | None:
    """Amount by plate, nothing left out; ``None`` where it hangs on a profile (RGB, Lab) or on a pattern.

    ``Separation(All)`` gives the four process plates.
    """
    named = _NAMED.match(space)
    if named:
        names = named[1].split(", ") if space.startswith("DeviceN") else [named[1]]
        if len(names) != len(values):
            return None
        if names == ["All"]:
            return dict.fromkeys(PROCESS, values[0])
        return {name: value for name, value in zip(names, values, strict=True) if name != "None"}
    match family(space), len(values):
        case "CMYK", 4:
            return dict(zip(PROCESS, values, strict=True))
        case "grey", 1:
            return {"Black": round(1 - values[0], 4)}
    return None


def printing(space: str, values: tuple[float, ...]) -> dict[str, float] | None:
    """The plates that really get ink, by amount; empty for white; ``None`` where that is not known."""
    found = plates(space, values)
    return None if found is None else {name: amount for name, amount in found.items() if amount > TRACE}


def is_white(space: str, values: tuple[float, ...]) -> bool:
    """Whether a colour is paper white: no ink in any plate, or the white of a screen."""
    if family(space) == "RGB":
        return len(values) == 3 and min(values) >= 1 - TRACE
    return bool(values) and plates(space, values) not in (None, {}) and printing(space, values) == {}


def is_black(space: str, values: tuple[float, ...]) -> bool:
    """Whether a colour is solid black in the black plate alone."""
    found = printing(space, values)
    return found is not None and set(found) == {"Black"} and found["Black"] >= 1 - TRACE


def is_rich_black(amounts: Mapping[str, float]) -> bool:
    """Black with other process inks under it."""
    others = sum(amounts.get(name, 0.0) for name in PROCESS[:3])
    return amounts.get("Black", 0.0) >= _DARK and others > 0.05


def is_four_colour_grey(amounts: Mapping[str, float]) -> bool:
    """A grey, or a black, that cyan, magenta and yellow make together.

    Grey balance: magenta and yellow are about alike, cyan a little more (by custom up to 15 parts in a hundred).
    """
    cyan, magenta, yellow = (amounts.get(name, 0.0) for name in PROCESS[:3])
    if min(cyan, magenta, yellow) < 0.04 or amounts.get("Black", 0.0) >= _DARK or set(amounts) - set(PROCESS):
        return False
    return abs(magenta - yellow) <= 0.08 and -0.05 <= cyan - (magenta + yellow) / 2 <= 0.16


def ground_shows_through(
    space: str, values: tuple[float, ...], overprint: bool, overprint_mode: int, colorant: str
) -> bool:
    """Whether the amount of ``colorant`` already there stays where this is painted (ISO 32000-1, table 148)."""
    if not overprint:
        return False
    if _NAMED.match(space):
        found = plates(space, values)
        return space != "Separation(All)" and found is not None and colorant not in found
    if colorant not in PROCESS:
        return True
    if space == "DeviceCMYK" and overprint_mode == 1 and len(values) == 4:
        return values[PROCESS.index(colorant)] == 0
    return False


def said(amounts: Mapping[str, float]) -> str:
    """``"60 % cyan, 40 % magenta and 100 % black"``."""
    parts = [
        f"{amount * 100:.3g} % {name.lower() if name in PROCESS else name}" for name, amount in sorted_inks(amounts)
    ]
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else "".join(parts)


def sorted_inks(amounts: Mapping[str, float]) -> list[tuple[str, float]]:
    """The process inks in their order, then the spots by name."""
    return sorted(amounts.items(), key=lambda one: (PROCESS.index(one[0]) if one[0] in PROCESS else 4, one[0]))
