# SPDX-License-Identifier: AGPL-3.0-or-later
"""A way to spoil sheets that carry a section more than once.  Imports nothing of the project but the other damages."""

from __future__ import annotations

import random

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
