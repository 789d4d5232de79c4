# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words of the standard for what the plan says in ours, both ways; and how its numbers are written.

Names, values and types are those of the published schema (XJDF 2.x, ``xjdf.xsd``).  Coordinates and lengths are points,
thickness microns, weight g/m2 (from memory of the standard's table of units; the schema states no units).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from foldproof.units import mm_to_pt

NAMESPACE = "http://www.CIP4.org/JDFSchema_2_0"
VERSION = "2.3"
#: begins the names of what the standard has no place for; carried as ``GeneralID``, which it keeps for such things
OURS = "foldproof."

WORK_STYLES = {
    "two formes": "WorkAndBack",
    "work and turn": "WorkAndTurn",
    "work and tumble": "WorkAndTumble",
    "perfecting": "Perfecting",
    "one side": "Simplex",
}
SIDES = {"front": "Front", "back": "Back"}
BINDING_SIDES = {"left to right": "Left", "right to left": "Right"}
LAYS = {"left": "Left", "right": "Right"}
#: head of an upright page in a cell, by quarter turns counter-clockwise
HEADS = ("Up", "Left", "Down", "Right")
#: edges of a rectangle by quarter turns counter-clockwise from its top
EDGES = ("top", "left", "bottom", "right")
#: how far ``Rotate`` and ``Flip`` turn heads, quarter turns counter-clockwise: the pagination catalogue of the standard
#: (30 September 2009), p. 8, as the handbook read it (jdf-pagination-transform).  Matrices that are remembered from
#: elsewhere in the standard have Flip90 and Flip270 the other way; the catalogue was read, so it is followed.
_ROTATED = {0: "Rotate0", 1: "Rotate90", 2: "Rotate180", 3: "Rotate270"}
_FLIPPED = {0: "Flip180", 1: "Flip270", 2: "Flip0", 3: "Flip90"}
_ORIENTATIONS = {
    name: (turns, over) for over, names in ((False, _ROTATED), (True, _FLIPPED)) for turns, name in names.items()
}

_UNFIT_IN_NAME = re.compile(r"[^A-Za-z0-9._-]+")


def orientation(turns: int, over: bool) -> str:
    """The name for turning by quarter turns counter-clockwise, as heads are seen from the front; ``over``: flipped."""
    return (_FLIPPED if over else _ROTATED)[turns % 4]


def oriented(name: str) -> tuple[int, bool]:
    """The way back from :func:`orientation`.

    Raises:
        KeyError: no such name.
    """
    return _ORIENTATIONS[name]


def placed_as(turned: int, turned_over: bool) -> str:
    """How a piece lies on the front: degrees as :class:`foldproof.makeup.instructions.Section` counts them."""
    # what is seen turned one way from the back is turned the other way from the front
    return orientation(-turned // 90 if turned_over else turned // 90, turned_over)


def lies(name: str) -> tuple[int, bool]:
    """The way back from :func:`placed_as`."""
    turns, over = oriented(name)
    return (-turns if over else turns) % 4 * 90, over


def bound_as(head: str, spine: str, reading: str) -> str:
    """How the folded pile is turned so that its head is up and its spine at the binding side, the first page on top."""
    turns = EDGES.index(head)
    at_left = (EDGES.index(spine) - turns) % 4 == 1
    return orientation(-turns, at_left != (reading == "left to right"))


def bound(name: str, reading: str) -> tuple[str, str]:
    """Head and spine of the folded pile: the way back from :func:`bound_as`."""
    turns, over = oriented(name)
    head = -turns % 4
    at_left = over != (reading == "left to right")
    return EDGES[head], EDGES[(head + (1 if at_left else 3)) % 4]


def number(value: float) -> str:
    """A number with at most six places: a matrix entry so rounded moves no corner of a page by 0.001 mm."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def numbers(values: Iterable[float]) -> str:
    return " ".join(map(number, values))


def points(*lengths_mm: float) -> str:
    """Millimetres as the standard wants lengths and coordinates."""
    return " ".join([number(mm_to_pt(length)) for length in lengths_mm])


def sheet_name(sheet: int) -> str:
    return f"S{sheet}"


def token(text: str, otherwise: str) -> str:
    """A name token (XML Schema part 2, 3.3.4) for a text, in plain letters: the standard's lists have no spaces in."""
    return _UNFIT_IN_NAME.sub("_", text).strip("_")[:60] or otherwise


def tokens(names: Iterable[str]) -> dict[str, str]:
    """A token for each name, no two alike, the same for the same names in the same order."""
    made: dict[str, str] = {}
    for name in names:
        if name in made:
            continue
        plain = wanted = token(name, "Ink")
        nth = 2
        while wanted in made.values():
            wanted = f"{plain}_{nth}"
            nth += 1
        made[name] = wanted
    return made


def grain_direction(grain: str, size_mm: tuple[float, float]) -> str:
    """Along which side of the sheet as stated the grain runs."""
    long_level = size_mm[0] >= size_mm[1]
    return "XDirection" if (grain == "long") == long_level else "YDirection"


def grain_of(direction: str, size_mm: tuple[float, float]) -> str:
    return "long" if grain_direction("long", size_mm) == direction else "short"


def finite(text: str) -> float:
    """A number as it is written in a file.

    Raises:
        ValueError: no number, not finite, or greater than any length or amount of a job.
    """
    value = float(text)
    if not math.isfinite(value) or abs(value) > 1e9:
        raise ValueError(text)
    return value
