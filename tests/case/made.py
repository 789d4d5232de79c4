# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases that the tests of this folder share: sizes typed by hand, not reckoned by the project."""

from __future__ import annotations

from typing import Any

from attrs import evolve

from foldproof.case.model import CaseSizes

#: case-dingword of the handbook: block 150 x 230 x 20 mm, board 2.5 mm, gap 10 mm, turn-in 17 mm
DINGWORD = CaseSizes(
    block_mm=(150.0, 230.0, 20.0), board="Grey Board 2.5", board_thickness_mm=2.5, cloth="Wharf Buckram",
    cloth_thickness_mm=0.35, square_mm=3.0, joint_mm=10.0, turn_in_mm=17.0, board_mm=(146.5, 236.0),
    strip_mm=(24.5, 236.0), cloth_mm=(371.5, 270.0), corner_mm=3.75, rounding="flat", arc_mm=20.0, chord_mm=20.0,
    grain="along the spine", says=("Board height: block 230 mm and two squares of 3 mm = 236 mm.",),
    strip_board="Grey Board 2.5", strip_thickness_mm=2.5,
)  # fmt: skip
#: the same, rounded by a third of a circle: arc 20 x 1.2092 (case-arc)
ROUNDED = evolve(
    DINGWORD, rounding="rounded", arc_mm=24.18, strip_mm=(24.2, 236.0), cloth_mm=(371.2, 270.0), strip_board="",
    strip_thickness_mm=0.0,
)  # fmt: skip
#: and backed: shoulders of a board, 25 x 1.2092; the boards stand 6.5 mm forward as before
BACKED = evolve(
    DINGWORD, rounding="rounded and backed", arc_mm=30.23, chord_mm=25.0, strip_mm=(30.2, 236.0),
    cloth_mm=(377.2, 270.0), strip_board="", strip_thickness_mm=0.0,
)  # fmt: skip


def tiny(**changed: Any) -> CaseSizes:
    """A miniature: block 30 x 40 x 4 mm."""
    small = evolve(
        DINGWORD, block_mm=(30.0, 40.0, 4.0), joint_mm=7.0, turn_in_mm=8.0, board_mm=(29.5, 46.0), strip_mm=(8.5, 46.0),
        cloth_mm=(97.5, 62.0), arc_mm=4.0, chord_mm=4.0,
    )  # fmt: skip
    return evolve(small, **changed)
