# SPDX-License-Identifier: AGPL-3.0-or-later
"""How large a case is: boards, spine strip, cloth, from the block, its spine and the customs of the house.  Pure; mm.

A case lies open with the cloth underneath: board, joint, strip, joint, board, the cloth turned in over all of it.  On
the book the strip stands behind the spine and the boards stand forward of it; what the joint lets them stand forward
settles how wide they are, so that the same square shows at the fore-edge as at head and foot.
"""

from __future__ import annotations

from math import isclose, sqrt

from attrs import evolve, frozen

from foldproof.case.model import CaseSizes, fine
from foldproof.job.finishing import HouseBoard, HouseCloth, Rounding
from foldproof.job.load import named_board, named_cloth
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.cover_kind import is_cased
from foldproof.quantities.model import Thickness
from foldproof.quantities.thickness import shoulder_mm
from foldproof.units import format_size_mm

#: cloth of a joint that goes down into the groove and up again (common practice, no source; with it case-dingword of
#: the handbook comes out: a gap of 10 mm and boards of 2.5 mm lie 6.5 mm forward)
GROOVE_MM = 1.0
#: a flat strip is so much narrower than spine and two boards together (case-dingword of the handbook)
STRIP_EASE_MM = 0.5
#: cloth left between the corner of a board and the slanting cut, in boards (common practice, no source)
CORNER_BOARDS = 1.5
#: a turn-in narrower than so many boards hardly comes round the edge (common practice, no source)
TURN_IN_BOARDS = 2.0
#: the thickest board that bends round a rounded spine (common practice, no source)
BENDS_MM = 1.0


@frozen
class ReckonedCase:
    """A case, or why there is none."""

    sizes: CaseSizes | None
    #: what would have to be stated or changed, a sentence; ``""`` where the case was reckoned or none is wanted
    unknown: str = ""


def case_sizes(plan: Plan, job: Job, house: House, thickness: Thickness) -> CaseSizes | None:
    """The case of a book; ``None`` where it gets none or none can be reckoned (:func:`reckoned_case` says why).

    Raises:
        AskedWrong: the house has no board or cloth of the name in the job.
    """
    return reckoned_case(plan, job, house, thickness).sizes


def reckoned_case(plan: Plan, job: Job, house: House, thickness: Thickness) -> ReckonedCase:
    """The case of a book, or in words why none is reckoned.

    Boards and strip come to a tenth of a millimetre, as a gauge is set.

    Raises:
        AskedWrong: the house has no board or cloth of the name in the job.
    """
    if not is_cased(job, plan.binding):
        return ReckonedCase(None)
    board = named_board(job, house) or next(iter(house.boards), None)
    cloth = named_cloth(job, house) or next(iter(house.cloths), None)
    if board is None or cloth is None:
        lacking, table = ("board", "[[board]]") if board is None else ("cloth", "[[cloth]]")
        return ReckonedCase(None, f"No case is reckoned: {house.name} states no {lacking}; put a {table} in its file.")
    return _reckoned(_Wanted(plan, job, house, thickness, board, cloth))


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


def corner_leg_mm(turn_in_mm: float, corner_mm: float) -> float:
    """What a slanting cut at 45 degrees takes off either edge of the cloth at its corner.

    The corner of the board lies ``turn_in x sqrt 2`` from that of the cloth and ``corner_mm`` inside the cut; a
    triangle of height ``h`` over the cut has legs of ``h x sqrt 2`` (geometry).
    """
    return 2 * turn_in_mm - sqrt(2) * corner_mm


# --- the case of a job ----------------------------------------------------------------------------------------------


@frozen
class _Wanted:
    plan: Plan
    job: Job
    house: House
    thickness: Thickness
    board: HouseBoard
    cloth: HouseCloth


def _reckoned(wanted: _Wanted) -> ReckonedCase:
    cover, custom, board = wanted.job.cover, wanted.house.finishing, wanted.board
    square = custom.square if cover.square is None else cover.square
    joint = custom.joint if cover.joint is None else cover.joint
    turn_in = custom.turn_in if cover.turn_in is None else cover.turn_in
    thick, wide, high = board.thickness, *wanted.plan.trim_mm
    forward = forward_mm(joint, thick, cover.rounding)
    if forward is None:
        return ReckonedCase(
            None,
            f"No case is reckoned: a joint of {fine(joint)} does not close round a board of {fine(thick)}; make "
            f"cover.joint at least {fine(thick)}, or name a thinner board.",
        )
    if turn_in < TURN_IN_BOARDS * thick:
        return ReckonedCase(
            None,
            f"No case is reckoned: a turn-in of {fine(turn_in)} does not hold round a board of {fine(thick)}; make "
            f"cover.turn_in at least {fine(TURN_IN_BOARDS * thick)}, or name a thinner board.",
        )
    size = _tenth(board_width_mm(wide, square, forward)), _tenth(board_height_mm(high, square))
    if size[0] <= 0:
        return ReckonedCase(
            None,
            f"No case is reckoned: boards that stand {fine(forward)} forward leave none of a block {fine(wide)} wide; "
            "make cover.joint narrower.",
        )
    spine = wanted.thickness.spine_mm
    arc = wanted.thickness.arc_mm
    chord = spine + 2 * shoulder_mm(wanted.job, wanted.house)
    flat = cover.rounding == "flat"
    strip = _tenth(strip_width_mm(spine, thick) if flat else arc), size[1]
    strip_board = board if flat else _bending(wanted.house)
    opened = 2 * (size[0] + joint) + strip[0], size[1]
    cloth = cloth_size_mm(opened, turn_in)
    corner = round(CORNER_BOARDS * thick, 2)
    sizes = CaseSizes(
        block_mm=(wide, high, round(spine, 2)),
        board=board.name,
        board_thickness_mm=thick,
        cloth=wanted.cloth.name,
        cloth_thickness_mm=wanted.cloth.thickness,
        square_mm=square,
        joint_mm=joint,
        turn_in_mm=turn_in,
        board_mm=size,
        strip_mm=strip,
        cloth_mm=(round(cloth[0], 2), round(cloth[1], 2)),
        corner_mm=corner,
        rounding=cover.rounding,
        arc_mm=round(arc, 2),
        chord_mm=round(chord, 2),
        grain="along the spine",
        says=(),
        strip_board="" if strip_board is None else strip_board.name,
        strip_thickness_mm=0.0 if strip_board is None else strip_board.thickness,
    )
    return ReckonedCase(_told(sizes, forward))


def _bending(house: House) -> HouseBoard | None:
    """The thinnest board of the house, if it goes round a rounded spine."""
    thinnest = min(house.boards, key=lambda board: board.thickness)
    return thinnest if thinnest.thickness <= BENDS_MM else None


def _told(case: CaseSizes, forward: float) -> CaseSizes:
    """The case with its arithmetic in words."""
    wide, high, spine = case.block_mm
    thick, square, joint, turn_in = case.board_thickness_mm, case.square_mm, case.joint_mm, case.turn_in_mm
    around = "" if case.rounding == "rounded and backed" else f" less a board, {fine(thick)},"
    groove = joint - forward - (0.0 if case.rounding == "rounded and backed" else thick)
    says = [
        f"Board height: block {fine(high)} and two squares of {fine(square)} = {fine(case.board_mm[1])}.",
        f"Boards stand forward of the back: joint {fine(joint)}{around} less {fine(groove)} for the groove ="
        f" {fine(forward)}.",
        f"Board width: block {fine(wide)} less {fine(forward)} and a square of {fine(square)} ="
        f" {fine(case.board_mm[0])}.",
    ]
    if case.rounding == "flat":
        says.append(
            f"Spine strip: spine {fine(spine)} and two boards of {fine(thick)} less {fine(STRIP_EASE_MM)} ="
            f" {format_size_mm(*case.strip_mm)}, of the same board."
        )
    else:
        backed = not isclose(case.chord_mm, spine, abs_tol=0.006)
        over = f" and its shoulders, {fine(case.chord_mm)} across," if backed else ","
        says.append(
            f"Spine strip: as wide as the arc over the {case.rounding} spine{over} not as its chord ="
            f" {format_size_mm(*case.strip_mm)}; "
            + (
                f"of {case.strip_board}, which bends."
                if case.strip_board
                else f"of card that bends; the house states no board of {fine(BENDS_MM)} or less."
            )
        )
    says += [
        f"Open case: two boards, two joints and the strip = {format_size_mm(*case.open_mm)}.",
        f"Cloth: open case and a turn-in of {fine(turn_in)} on every side = {format_size_mm(*case.cloth_mm)}.",
        f"Corners: cut at 45 degrees, {fine(case.corner_mm)} ({CORNER_BOARDS:g} boards) from the corner of the board:"
        f" {fine(corner_leg_mm(turn_in, case.corner_mm))} off either edge of the cloth.",
        f"Grain of boards, strip and cloth: {case.grain}.",
    ]
    return evolve(case, says=tuple(says))


def _tenth(length_mm: float) -> float:
    """To a tenth of a millimetre, halves up; a hair of float dust does not turn a half down."""
    return int(length_mm * 10 + 0.5 + 1e-6) / 10
