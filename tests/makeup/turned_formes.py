# SPDX-License-Identifier: AGPL-3.0-or-later
"""The one forme that prints both sides of a sheet: work and turn, work and tumble, reckoned from a section's tables.

Derived by turning the sheet; no table at hand.  Nothing of the project is imported.

A grid is one side *as printed*: rows from the top, columns from the left, each entry ``(page, head)``, ``head`` in
quarter turns counter-clockwise from up (0 ``^``, 1 ``<``, 2 ``v``, 3 ``>``).  ``front`` and ``back`` are the two sides
of one section as it is laid on the sheet, the back seen with the section turned side to side (about its upright axis),
as the handbook's tables and :func:`foldproof.makeup.folding.forme` give them.

A forme is told in the same frame, as its plate prints it, its gripper edge at the bottom.  The same forme prints twice:
on the one side of the sheet, then, the sheet turned, on the other.
"""

from __future__ import annotations

Entry = tuple[int, int]
Grid = tuple[tuple[Entry, ...], ...]


def turned_half_round(grid: Grid) -> Grid:
    """The same side seen with its top at the bottom: rows and columns from the other end, heads the other way."""
    return tuple(tuple((page, (head + 2) % 4) for page, head in reversed(row)) for row in reversed(grid))


def work_and_turn(front: Grid, back: Grid, *, front_at: str = "left") -> Grid:
    """Front beside back, ``R x 2C``: the sheet is turned side to side, its gripper edge stays, its side lay changes.

    What is printed in column ``c`` of the first pass is backed by column ``2C - 1 - c`` of the second, seen from the
    back.  Column ``c`` of the front's table is backed by column ``C - 1 - c`` of the back's; so with the front in the
    left half the back stands in the right half just as its table has it.

    Args:
        front_at: half of the forme in which the front of the section stands, ``"left"`` or ``"right"``; which one
            lies at the side lay is the press's affair, and both print the same two sections.
    """
    left, right = (front, back) if front_at == "left" else (back, front)
    return tuple(one + other for one, other in zip(left, right, strict=True))


def work_and_tumble(front: Grid, back: Grid, *, front_at: str = "bottom") -> Grid:
    """Front above or below back, ``2R x C``: the sheet is turned head to tail, its tail becomes the gripper edge.

    What is printed in row ``r`` of the first pass is backed by row ``2R - 1 - r`` of the second, in the same column,
    seen from the back with the new gripper edge at the bottom.  That view is the back's table turned half round.

    Args:
        front_at: half of the forme in which the front of the section stands: ``"bottom"`` is at the grippers of the
            first pass.
    """
    tumbled = turned_half_round(back)
    return front + tumbled if front_at == "top" else tumbled + front
