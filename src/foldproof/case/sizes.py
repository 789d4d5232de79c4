# SPDX-License-Identifier: AGPL-3.0-or-later
"""The case of a book and its arithmetic in words, from the pieces that were reckoned of it.  Pure; mm."""

from __future__ import annotations

from math import isclose, sqrt

from attrs import evolve, frozen

from foldproof.case.model import CaseSizes, fine
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.case_pieces import BENDS_MM, STRIP_EASE_MM, case_pieces
from foldproof.quantities.cover_kind import is_cased
from foldproof.quantities.model import Thickness
from foldproof.quantities.thickness import shoulder_mm
from foldproof.units import format_size_mm

#: cloth left between the corner of a board and the slanting cut, in boards (common practice, no source)
CORNER_BOARDS = 1.5


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

    Its pieces are those of :func:`~foldproof.quantities.case_pieces.case_pieces`.

    Raises:
        AskedWrong: the house has no board or cloth of the name in the job.
    """
    if not is_cased(job, plan.binding):
        return ReckonedCase(None)
    pieces = case_pieces(plan, job, house, thickness)
    if isinstance(pieces, str):
        return ReckonedCase(None, pieces)
    thick, spine, strip = pieces.board.thickness, thickness.spine_mm, pieces.strip
    sizes = CaseSizes(
        block_mm=(*plan.trim_mm, round(spine, 2)),
        board=pieces.board.name,
        board_thickness_mm=thick,
        cloth=pieces.cloth.name,
        cloth_thickness_mm=pieces.cloth.thickness,
        square_mm=pieces.square_mm,
        joint_mm=pieces.joint_mm,
        turn_in_mm=pieces.turn_in_mm,
        board_mm=pieces.board_mm,
        strip_mm=pieces.strip_mm,
        cloth_mm=pieces.cloth_mm,
        corner_mm=round(CORNER_BOARDS * thick, 2),
        rounding=job.cover.rounding,
        arc_mm=round(thickness.arc_mm, 2),
        chord_mm=round(spine + 2 * shoulder_mm(job, house), 2),
        grain="along the spine",
        says=(),
        strip_board="" if strip is None else strip.name,
        strip_thickness_mm=0.0 if strip is None else strip.thickness,
    )
    return ReckonedCase(_told(sizes, pieces.forward_mm))


def corner_leg_mm(turn_in_mm: float, corner_mm: float) -> float:
    """What a slanting cut at 45 degrees takes off either edge of the cloth at its corner.

    The corner of the board lies ``turn_in x sqrt 2`` from that of the cloth and ``corner_mm`` inside the cut; a
    triangle of height ``h`` over the cut has legs of ``h x sqrt 2`` (geometry).
    """
    return 2 * turn_in_mm - sqrt(2) * corner_mm


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
