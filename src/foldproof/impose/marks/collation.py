# SPDX-License-Identifier: AGPL-3.0-or-later
"""The collation mark: a bar on the spine fold that steps down from section to section, where the plan declares it.

It is the one mark that may stand on the matter of pages: on sewn work there is no gap at the spine.
"""

from __future__ import annotations

from foldproof.impose.marks.view import SideView
from foldproof.makeup.plan import CollationBar
from foldproof.pdf.sheets_drawing import Block, Stroke
from foldproof.units import PT_PER_MM


def strokes(side: SideView, sheet: int, bars: tuple[CollationBar, ...]) -> list[Stroke]:
    """The bars of one side of a sheet."""
    return [Block.of(bar.rect_mm.scaled(PT_PER_MM)) for bar in bars if bar.sheet == sheet and bar.side is side.side]
