# SPDX-License-Identifier: AGPL-3.0-or-later
"""The collation mark: a bar on the spine fold that steps down from section to section, where the plan declares it.

Past the end of the run it begins again at the head as two bars one under the other, then three, so that the second row
is told from the first: the plan declares a rectangle for each.  It is the one mark that may stand on the matter of
pages: on sewn work there is no gap at the spine.
"""

from __future__ import annotations

from foldproof.makeup.plan import Plan, Side
from foldproof.pdf.sheets_drawing import Block, Stroke
from foldproof.units import PT_PER_MM


def strokes(plan: Plan, sheet: int, sides: tuple[Side, ...]) -> tuple[Stroke, ...]:
    """The bars of one plate of a sheet: of one side, or of both where one plate prints both."""
    found = dict.fromkeys(
        bar.rect_mm.scaled(PT_PER_MM) for bar in plan.bars if bar.sheet == sheet and bar.side in sides
    )
    return tuple(Block.of(rect) for rect in found)
