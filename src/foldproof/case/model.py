# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sizes of what goes round a block, mm: the nouns that drawing, die, cutting, tickets and checks share."""

from __future__ import annotations

from attrs import frozen

from foldproof.units import format_mm


@frozen
class CaseSizes:
    """A case: two boards, a spine strip, cloth turned in over them."""

    block_mm: tuple[float, float, float]  #: width, height, thickness of the trimmed block at the spine
    board: str  #: name in the house
    board_thickness_mm: float
    cloth: str
    cloth_thickness_mm: float
    square_mm: float
    joint_mm: float  #: gap between board and spine strip
    turn_in_mm: float
    board_mm: tuple[float, float]  #: width, height of each of the two
    strip_mm: tuple[float, float]  #: width, height of the spine strip
    cloth_mm: tuple[float, float]  #: width, height
    corner_mm: float  #: what is left of cloth between the corner of a board and the slanting cut
    rounding: str  #: ``"flat"``, ``"rounded"``, ``"rounded and backed"``
    arc_mm: float  #: over the spine; the thickness where it is flat
    chord_mm: float
    grain: str  #: ``"along the spine"``: boards, strip and cloth
    says: tuple[str, ...]  #: how each size came about, a line each
    #: board of the house that the strip is cut from: that of the boards for a flat spine, one that bends for a rounded
    #: one; ``""`` and 0 where the house states none that bends
    strip_board: str = ""
    strip_thickness_mm: float = 0.0

    @property
    def forward_mm(self) -> float:
        """How far a board stands forward of the back of the block."""
        return self.block_mm[0] + self.square_mm - self.board_mm[0]

    @property
    def open_mm(self) -> tuple[float, float]:
        """The case lying open, boards outside to outside: width, height."""
        return 2 * (self.board_mm[0] + self.joint_mm) + self.strip_mm[0], self.board_mm[1]


@frozen
class CoverSizes:
    """A paper cover or jacket, lying open, printed side up; from the left: back flap, back, spine, front, front flap
    (reading left to right; the other way round for right to left)."""

    kind: str  #: ``"paper cover"`` or ``"jacket"``
    stock: str
    caliper_mm: float
    panel_mm: tuple[float, float]  #: front and back, each
    spine_mm: float
    flap_mm: float  #: 0: none
    hinge_mm: float  #: crease of a paper cover, from the spine; 0 on a jacket
    #: paper that a jacket's fold takes beyond the board at each fore-edge; 0 on a paper cover
    wrap_mm: float
    bleed_mm: float
    reading: str
    says: tuple[str, ...]

    @property
    def trimmed_mm(self) -> tuple[float, float]:
        """Width and height of the whole, without bleed."""
        return 2 * (self.panel_mm[0] + self.wrap_mm + self.flap_mm) + self.spine_mm, self.panel_mm[1]

    @property
    def folds_mm(self) -> tuple[float, ...]:
        """From the left trim: flap fold (with flaps), spine, spine, flap fold."""
        side = self.flap_mm + self.wrap_mm + self.panel_mm[0]
        inner = (side, side + self.spine_mm)
        if not self.flap_mm:
            return inner
        return (self.flap_mm, *inner, self.trimmed_mm[0] - self.flap_mm)


def fine(length_mm: float) -> str:
    """A length of case or cover in words, to hundredths: ``"3.75 mm"``."""
    return format_mm(length_mm, 2)
