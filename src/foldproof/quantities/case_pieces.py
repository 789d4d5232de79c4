# SPDX-License-Identifier: AGPL-3.0-or-later
"""How large boards, spine strip and cloth of a case are, from the block, its spine and the customs of the house.  Pure.

Millimetres.  A case lies open with the cloth underneath: board, joint, strip, joint, board, the cloth turned in over
all of it.  On the book the strip stands behind the spine and the boards stand forward of it; what the joint lets them
stand forward settles how wide they are, so that the same square shows at the fore-edge as at head and foot.

What a book weighs and what its case is cut and drawn by rest on this one reckoning.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.job.finishing import HouseBoard, HouseCloth, Rounding
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.materials import board_of, cloth_of
from foldproof.quantities.model import Thickness
from foldproof.units import format_mm

#: cloth of a joint that goes down into the groove and up again (common practice, no source; with it case-dingword of
#: the handbook comes out: a gap of 10 mm and boards of 2.5 mm lie 6.5 mm forward)
GROOVE_MM = 1.0
#: a flat strip is so much narrower than spine and two boards together (case-dingword of the handbook)
STRIP_EASE_MM = 0.5
#: a turn-in narrower than so many boards hardly comes round the edge (common practice, no source)
TURN_IN_BOARDS = 2.0
#: the thickest board that bends round a rounded spine (common practice, no source)
BENDS_MM = 1.0


@frozen
class CasePieces:
    """What a case is made of, and how large each piece is: width, height."""

    board: HouseBoard
    cloth: HouseCloth
    #: what the strip is cut from: the board for a flat spine, one that bends for a rounded one; ``None`` where the
    #: house states none that bends
    strip: HouseBoard | None
    square_mm: float
    joint_mm: float  #: gap between board and spine strip
    turn_in_mm: float
    forward_mm: float  #: how far a board stands forward of the back of the block
    board_mm: tuple[float, float]  #: of each of the two
    strip_mm: tuple[float, float]
    cloth_mm: tuple[float, float]


def case_pieces(plan: Plan, job: Job, house: House, thickness: Thickness) -> CasePieces | str:
    """The pieces of a case, or in a sentence why none is reckoned; whether the book gets one is not asked.

    Boards and strip come to a tenth of a millimetre, as a gauge is set.

    Raises:
        AskedWrong: the house has no board or cloth of the name in the job.
    """
    board, cloth = board_of(job, house), cloth_of(job, house)
    if board is None or cloth is None:
        lacking, table = ("board", "[[board]]") if board is None else ("cloth", "[[cloth]]")
        return f"No case is reckoned: {house.name} states no {lacking}; put a {table} in its file."
    cover, custom = job.cover, house.finishing
    square = custom.square if cover.square is None else cover.square
    joint = custom.joint if cover.joint is None else cover.joint
    turn_in = custom.turn_in if cover.turn_in is None else cover.turn_in
    thick, wide, high = board.thickness, *plan.trim_mm
    forward = forward_mm(joint, thick, cover.rounding)
    if forward is None:
        return (
            f"No case is reckoned: a joint of {_fine(joint)} does not close round a board of {_fine(thick)}; make "
            f"cover.joint at least {_fine(thick)}, or name a thinner board."
        )
    if turn_in < TURN_IN_BOARDS * thick:
        return (
            f"No case is reckoned: a turn-in of {_fine(turn_in)} does not hold round a board of {_fine(thick)}; make "
            f"cover.turn_in at least {_fine(TURN_IN_BOARDS * thick)}, or name a thinner board."
        )
    size = _tenth(board_width_mm(wide, square, forward)), _tenth(board_height_mm(high, square))
    if size[0] <= 0:
        return (
            f"No case is reckoned: boards that stand {_fine(forward)} forward leave none of a block {_fine(wide)} wide;"
            " make cover.joint narrower."
        )
    flat = cover.rounding == "flat"
    strip = _tenth(strip_width_mm(thickness.spine_mm, thick) if flat else thickness.arc_mm), size[1]
    cloth_wide, cloth_high = cloth_size_mm((2 * (size[0] + joint) + strip[0], size[1]), turn_in)
    return CasePieces(
        board=board,
        cloth=cloth,
        strip=board if flat else _bending(house),
        square_mm=square,
        joint_mm=joint,
        turn_in_mm=turn_in,
        forward_mm=forward,
        board_mm=size,
        strip_mm=strip,
        cloth_mm=(round(cloth_wide, 2), round(cloth_high, 2)),
    )


# --- formulas -------------------------------------------------------------------------------------------------------


def board_height_mm(block_mm: float, square_mm: float) -> float:
    """Block and a square at head and foot (case-3mm, case-dingword, case-squares, trim-customary of the handbook)."""
    return block_mm + 2 * square_mm


def board_width_mm(block_mm: float, square_mm: float, forward_mm: float) -> float:
    """Block, less what the board stands forward of the back, and a square at the fore-edge.

    case-dingword, case-squares and case-quarter-joint of the handbook are this with their own squares and joints.
    """
    return block_mm - forward_mm + square_mm


def forward_mm(joint_mm: float, board_mm: float, rounding: Rounding = "flat") -> float | None:
    """How far a board stands forward of the back of the block; ``None`` where the joint is too narrow to close.

    The cloth of the joint starts at the strip.  A flat strip stands behind the block, a board's thickness away from it;
    a rounded one ends at the block, a board's thickness below the outside of the board: both take one thickness of the
    joint.  At the shoulder of a backed spine strip and board end at one height.  The rest, less what goes down into the
    groove (:data:`GROOVE_MM`), lies between back and board (geometry, common practice, no source).
    """
    left = joint_mm - (0.0 if rounding == "rounded and backed" else board_mm)
    return None if left < 0 else max(0.0, left - GROOVE_MM)


def strip_width_mm(spine_mm: float, board_mm: float) -> float:
    """Of a flat spine: spine and two boards, less half a millimetre (case-dingword of the handbook)."""
    return spine_mm + 2 * board_mm - STRIP_EASE_MM


def cloth_size_mm(open_mm: tuple[float, float], turn_in_mm: float) -> tuple[float, float]:
    """The open case and a turn-in on each of the four sides (case-dingword; case-turnin: one for each edge)."""
    return open_mm[0] + 2 * turn_in_mm, open_mm[1] + 2 * turn_in_mm


def _bending(house: House) -> HouseBoard | None:
    """The thinnest board of the house, if it goes round a rounded spine."""
    thinnest = min(house.boards, key=lambda board: board.thickness)
    return thinnest if thinnest.thickness <= BENDS_MM else None


def _fine(length_mm: float) -> str:
    return format_mm(length_mm, 2)


def _tenth(length_mm: float) -> float:
    """To a tenth of a millimetre, halves up; a hair of float dust does not turn a half down."""
    return int(length_mm * 10 + 0.5 + 1e-6) / 10
