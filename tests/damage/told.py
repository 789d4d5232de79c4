# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ways to spoil what the bindery is told, and nothing of the sheets.

Each answers the names of what is wrong then: ids of sections, or a side.  Imports nothing of the project but the word
for a book that has nothing to spoil.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.damage.damage import NothingToSpoil


def alter_word(plan: dict[str, Any], rng: random.Random) -> str:
    """One word of one fold becomes another.  The id of the section is returned.

    Left out is what folds the same book: in the last fold right for left and top for bottom.  A pile halved once more
    lies the same whichever half is taken up; only the table sees it from the other side.
    """
    sheet = rng.choice(plan["sheets"])
    section = rng.choice(sheet["sections"])
    index = rng.randrange(len(section["folds"]))
    words = section["folds"][index]["words"].split()
    last = index == len(section["folds"]) - 1
    opposite = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
    choices = ["way", "square"] + ([] if last else ["opposite"])
    kind = rng.choice(choices)
    if kind == "way":
        words[-1] = "under" if words[-1] == "over" else "over"
    elif kind == "opposite":
        words[0] = opposite[words[0]]
    else:
        words[0] = rng.choice(["top", "bottom"] if words[0] in ("left", "right") else ["left", "right"])
    section["folds"][index]["words"] = " ".join(words)
    return str(section["id"])


def exchange_sections(plan: dict[str, Any], rng: random.Random) -> list[str]:
    """Two sections are gathered, or set in one another, the wrong way round."""
    places = [(i, j) for i, unit in enumerate(plan["gathering"]) for j in range(len(unit))]
    if len(places) < 2:
        raise NothingToSpoil
    (a, b), (c, d) = rng.sample(places, 2)
    gathering = plan["gathering"]
    gathering[a][b], gathering[c][d] = gathering[c][d], gathering[a][b]
    return [gathering[a][b], gathering[c][d]]


def move_line(plan: dict[str, Any], rng: random.Random) -> str:
    """A fold line is drawn half a millimetre to a centimetre beside its place."""
    section = rng.choice(rng.choice(plan["sheets"])["sections"])
    fold = rng.choice(section["folds"])
    (ax, ay), (bx, by) = fold["line_mm"]
    off = rng.choice([-1, 1]) * rng.uniform(0.5, 10)
    upright = abs(ax - bx) < abs(ay - by)
    fold["line_mm"] = [[ax + off, ay], [bx + off, by]] if upright else [[ax, ay + off], [bx, by + off]]
    return str(section["id"])


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
    each.__name__: each
    for each in (alter_word, exchange_sections, move_line, exchange_copies, turn_copy_over, lose_copy, turn_sheet)
}
