# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ways to spoil sheets that carry a section more than once, and what the bindery is told of the copies.

Imports nothing of the project but the other damages.  A copy is a section of the plan with ``copy_of``.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.damage import damage
from tests.damage.damage import NothingToSpoil, Sheets

_ONE_PAGE = (damage.turn_one, damage.shift_one, damage.drop_one, damage.scale_one, damage.fill_over, damage.cut_bleed)


def spoil_copy(sheets: Sheets, rng: random.Random, copies: list[tuple[int, tuple[float, float]]]) -> set[int]:
    """One page of a copy is spoilt in one of the ways; the same page stays whole elsewhere.

    Args:
        copies: from the plan: of each page of a copy the number of its side, from 0, and the middle of its clip in
            points, frame of the side.
    """
    if not copies:
        raise NothingToSpoil
    sheets.only = copies
    return rng.choice(_ONE_PAGE)(sheets, rng)


def exchange_copies(plan: dict[str, Any], rng: random.Random) -> list[str]:
    """Two copies are said to be each a copy of what the other is a copy of.  Ids of both are returned."""
    copies = _copies(plan)
    rng.shuffle(copies)
    for one in copies:
        for other in copies:
            if one["copy_of"] != other["copy_of"] and one["columns"] * one["rows"] == other["columns"] * other["rows"]:
                one["copy_of"], other["copy_of"] = other["copy_of"], one["copy_of"]
                return [one["id"], other["id"]]
    raise NothingToSpoil


def turn_copy_over(plan: dict[str, Any], rng: random.Random) -> str:
    """A copy is folded with the other side up."""
    copy = _one(plan, rng)
    copy["turned_over"] = not copy["turned_over"]
    return str(copy["id"])


def lose_copy(plan: dict[str, Any], rng: random.Random) -> str:
    """Nobody says what a copy is a copy of: it is folded and gathered nowhere."""
    copy = _one(plan, rng)
    copy["copy_of"] = None
    return str(copy["id"])


def turn_sheet(plan: dict[str, Any], rng: random.Random) -> str:
    """A sheet is said to turn about its other axis between front and back.  The front stays right."""
    sheet = rng.choice(plan["sheets"])
    sheet["turn"] = "head to tail" if sheet["turn"] == "side to side" else "side to side"
    return f"sheet {sheet['number']}, back"


def _copies(plan: dict[str, Any]) -> list[dict[str, Any]]:
    return [section for sheet in plan["sheets"] for section in sheet["sections"] if section["copy_of"]]


def _one(plan: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    copies = _copies(plan)
    if not copies:
        raise NothingToSpoil
    return rng.choice(copies)


OF_PLANS: dict[str, Callable[[dict[str, Any], random.Random], Any]] = {
    each.__name__: each for each in (exchange_copies, turn_copy_over, lose_copy, turn_sheet)
}
