# SPDX-License-Identifier: AGPL-3.0-or-later
"""Size and weight of a finished book.  Pure; millimetres and grammes.

What glue, thread, lining, foil and ink weigh is left out: together it is less than paper differs from its grammage
(common practice, no source).
"""

from __future__ import annotations

from math import radians, tan

from attrs import frozen

from foldproof.job.covering import cover_kind
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.case_pieces import case_pieces
from foldproof.quantities.materials import cover_paper_of, endpaper_of, jacket_paper_of
from foldproof.quantities.model import Thickness
from foldproof.quantities.thickness import ENDPAPER_LEAVES, shoulder_mm
from foldproof.units import format_mm, format_size_mm

#: layers of a jacket over the thickness of a book: either side of it, and the flap that lies under each
_JACKET_LAYERS = 4


@frozen
class Bound:
    """A finished book."""

    size_mm: tuple[float, float, float]  #: width from back to fore-edge, height, thickness
    grams: float
    says: tuple[str, ...]
    left_out: str = ""  #: what of the case could not be weighed, and why; ``""``: nothing


def bound_book(plan: Plan, job: Job, house: House, thick: Thickness) -> Bound | str:
    """Size and weight; a sentence of what is missing where the house does not state what they rest on.

    A case stands a square beyond the block at head, foot and fore-edge; behind the back lie spine strip and cloth, in
    front and behind boards and cloth (hard-spine-add of the handbook: 1/4 in wider and higher than the page).  A
    rounded back stands out by the height of its arc.  Paper covers are trimmed with the block.
    """
    kind = cover_kind(job, plan.binding)
    width, height = plan.trim_mm
    # a book without a flat spine is as thick as its leaves
    deep = max(thick.spine_mm, thick.block_mm)
    paper = _paper_grams(plan)
    parts, left_out = [("text", paper)], ""
    if kind == "case":
        cased = _case(plan, job, house, thick)
        if isinstance(cased, str):
            return cased
        width, height, deep = cased.size_mm
        parts += cased.parts
        left_out = cased.left_out
    elif kind == "paper":
        cover = cover_paper_of(plan, job, house)
        open_mm = 2 * (width + job.cover.flaps) + thick.spine_mm
        parts.append(("cover", _sheet_grams(open_mm, height, cover.grammage)))
        if plan.binding not in ("stitched", "leaflet"):
            width += cover.caliper_mm
        # flaps lie between cover and block
        deep += (4 if job.cover.flaps else 2) * cover.caliper_mm
    if job.jacket is not None:
        jacket = jacket_paper_of(plan, job, house)
        open_mm = 2 * (width + job.jacket.flaps) + deep
        parts.append(("jacket", _sheet_grams(open_mm, height, jacket.grammage)))
        width += jacket.caliper_mm
        deep += _JACKET_LAYERS * jacket.caliper_mm
    grams = sum(part for _, part in parts)
    terms = f"{' + '.join(f'{name} {part:.0f} g' for name, part in parts)} = " if len(parts) > 1 else ""
    return Bound(
        (width, height, deep),
        grams,
        (
            f"Book: {format_size_mm(width, height)}, {format_mm(deep)} thick.",
            f"Weight: {terms}{grams:.0f} g, without glue, thread, lining and ink"
            + (f", and without {left_out}." if left_out else "."),
        ),
        left_out,
    )


@frozen
class _Cased:
    size_mm: tuple[float, float, float]
    parts: list[tuple[str, float]]  #: what weighs, and grammes
    left_out: str  #: what of it could not be weighed, and why; ``""``: nothing


def _case(plan: Plan, job: Job, house: House, thick: Thickness) -> _Cased | str:
    """Size of the cased book, what its endpapers, boards, spine strip and cloth weigh, and what is left out."""
    pieces, finishing = case_pieces(plan, job, house, thick), house.finishing
    if isinstance(pieces, str):
        return pieces
    board, cloth, strip = pieces.board, pieces.cloth, pieces.strip
    unweighed = [held.name for held in (board, cloth) if held.grammage is None]
    if board.grammage is None or cloth.grammage is None:
        return f"The weight of a book is not known: no grammage is stated for {' and '.join(unweighed)}."
    trim_w, trim_h = plan.trim_mm
    parts: list[tuple[str, float]] = []
    if job.cover.endpapers == "separate":
        grammage = endpaper_of(plan, job, house).grammage
        parts.append(("endpapers", ENDPAPER_LEAVES * _sheet_grams(trim_w, trim_h, grammage)))
    parts.append(("boards", 2 * _sheet_grams(*pieces.board_mm, board.grammage)))
    left_out = ""
    if strip is not None and strip.grammage is not None:
        parts.append(("spine strip", _sheet_grams(*pieces.strip_mm, strip.grammage)))
    else:
        left_out = "the card of the spine, whose grammage the house does not state"
    parts.append(("cloth", _sheet_grams(*pieces.cloth_mm, cloth.grammage)))
    # where nothing is stated of the strip, as if it were as thick as the board: a carton is rather too large for that
    behind = (strip or board).thickness + cloth.thickness
    out = 0.0
    deep = thick.spine_mm + 2 * (board.thickness + cloth.thickness)
    if job.cover.rounding != "flat":
        # the boards of a backed book lie in the shoulders, which are as high as a board is thick
        out = arc_height_mm(thick.spine_mm + 2 * shoulder_mm(job, house), finishing.round_angle)
    return _Cased((trim_w + pieces.square_mm + behind + out, pieces.board_mm[1], deep), parts, left_out)


def arc_height_mm(chord_mm: float, angle_deg: float) -> float:
    """How far the middle of an arc stands out from its chord: chord / 2 x tan(angle / 4) (geometry of the circle)."""
    return chord_mm / 2 * tan(radians(angle_deg) / 4)


def _paper_grams(plan: Plan) -> float:
    """Every leaf with the grammage of its sheet (a4-5g of the handbook)."""
    grammages = {run.sheet: run.grammage for run in plan.runs}
    return sum(_sheet_grams(*plan.trim_mm, grammages.get(place.sheet, plan.grammage)) for place in plan.places[::2])


def _sheet_grams(width_mm: float, height_mm: float, grammage: float) -> float:
    return width_mm * height_mm * grammage / 1e6
