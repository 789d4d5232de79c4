# SPDX-License-Identifier: AGPL-3.0-or-later
"""How thick a book is: leaves, sections, block, and the spine that case or cover goes round.  Pure; millimetres."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from math import isclose, radians, sin

from foldproof.job.covering import cover_kind
from foldproof.job.model import House, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.materials import board_of, endpaper_of
from foldproof.quantities.model import SectionThickness, Thickness
from foldproof.units import format_mm

#: leaves of separate endpapers between the boards: a folded sheet of two leaves at either end, one leaf of it pasted to
#: the board and one free.  The pasted one fills room between block and board as much as the free one does (common
#: practice, no source)
ENDPAPER_LEAVES = 4


def thickness(plan: Plan, job: Job, house: House) -> Thickness:
    """How thick the block is and what the spine adds to it.

    Block: every leaf with the caliper of its own sheet, unpressed (spine-128 of the handbook: pages / 2 x caliper).
    Swell of a sewn book: sections x thread as pressed x the part that nipping leaves (sew-threads: the back holds as
    many threads as there are sections).  A case goes round block, endpapers, swell and lining; a paper cover round
    block and swell.  A book stitched through its fold, and a leaflet, has no flat spine: its cover is folded once, and
    the spine is 0 mm.

    Raises:
        AskedWrong: the job names a stock for endpapers, or a board, that the house has not.
    """
    finishing = house.finishing
    calipers = _leaf_calipers(plan)
    sections = tuple(
        SectionThickness(
            section.number,
            section.pages // 2,
            _together(calipers[section.first // 2 : (section.first + section.pages) // 2]),
        )
        for section in plan.sections
    )
    block = _together(calipers)
    says = [f"Block: {_leaves(calipers)} = {format_mm(block, 2)}, unpressed."]

    kind = cover_kind(job, plan.binding)
    endpapers = lining = 0.0
    if kind == "case":
        endpapers, told = _endpapers(plan, job, house)
        says.append(told)
    swell, told = _swell(plan, house)
    says += [told] if told else []
    if kind == "case":
        lining = finishing.lining
        says.append(f"Lining, mull and glue: {format_mm(lining, 2)}.")

    if kind != "case" and plan.binding in ("stitched", "leaflet"):
        says.append("Spine: none that is flat" + ("; the cover is folded once." if kind == "paper" else "."))
        return Thickness(sections, len(calipers), block, endpapers, swell, lining, 0.0, 0.0, tuple(says))
    spine = block + endpapers + swell + lining
    parts = [("block", block), ("endpapers", endpapers), ("swell", swell), ("lining", lining)]
    terms = " + ".join(f"{name} {format_mm(part, 2)}" for name, part in parts if part or name == "block")
    says.append(f"Spine: {terms} = {format_mm(spine, 2)}." if spine != block else f"Spine: {terms} alone.")
    chord, arc = spine, spine
    if kind == "case" and job.cover.rounding != "flat":
        chord += 2 * shoulder_mm(job, house)
        arc = arc_mm(chord, finishing.round_angle)
        over = "the spine" if isclose(chord, spine) else f"the spine and two shoulders, {format_mm(chord, 2)}"
        says.append(
            f"Rounded: an arc of {finishing.round_angle:g} degrees over {over} is {format_mm(arc, 2)} long (the arc, "
            "not the chord)."
        )
    return Thickness(sections, len(calipers), block, endpapers, swell, lining, spine, arc, tuple(says))


def leaf_mm(grammage: float, bulk: float) -> float:
    """Thickness of one leaf: grammage, g/m2, x bulk, cm3/g, / 1000 (ISO 534; bulk-formula of the handbook)."""
    return grammage * bulk / 1000


def swell_mm(sections: int, thread_mm: float, pressed: float, left: float) -> float:
    """What thread adds at the back: sections x thread as pressed (sew-threads) x what nipping leaves of it.

    Args:
        sections: threads in the back: a thread in every section when sewn all along (sew-two-on: half of them when two
            sections are sewn with one).
        pressed: part of its thickness that a thread keeps between sections.
        left: part of the swell that nipping leaves.
    """
    return sections * thread_mm * pressed * left


def arc_mm(chord_mm: float, angle_deg: float) -> float:
    """Length of an arc of this angle over a chord: chord x (angle / 2) / sin(angle / 2), the angle in radians.

    Geometry of the circle; case-arc of the handbook: 1.2092 chords at 120 degrees.
    """
    half = radians(angle_deg) / 2
    return chord_mm * half / sin(half)


def shoulder_mm(job: Job, house: House) -> float:
    """How far backing turns out each side of a rounded spine: the thickness of a board (common practice, no source).

    0 where the back is not backed, or the house states no board.

    Raises:
        AskedWrong: the house has no board of the name in the job.
    """
    board = board_of(job, house) if job.cover.rounding == "rounded and backed" else None
    return 0.0 if board is None else board.thickness


def _leaf_calipers(plan: Plan) -> list[float]:
    """Of every leaf in order of the book, blanks too: the caliper of the sheet it is printed on."""
    own = {sheet.number: sheet.caliper_mm for sheet in plan.instructions.sheets if sheet.caliper_mm is not None}
    return [own.get(place.sheet, plan.caliper_mm) for place in plan.places[::2]]


def _together(calipers: Iterable[float]) -> float:
    """Their sum, as many leaves x caliper: a long run of one paper adds up without the dust of so many sums."""
    return sum(count * caliper for caliper, count in sorted(Counter(calipers).items()))


def _leaves(calipers: Iterable[float]) -> str:
    return " + ".join(
        f"{count:,} {'leaf' if count == 1 else 'leaves'} of {format_mm(caliper, 4)}"
        for caliper, count in sorted(Counter(calipers).items())
    )


def _endpapers(plan: Plan, job: Job, house: House) -> tuple[float, str]:
    if job.cover.endpapers == "none":
        return 0.0, "Endpapers: none."
    if job.cover.endpapers == "self":
        return 0.0, "Endpapers: the first and last leaf of the block, counted with it."
    paper = endpaper_of(plan, job, house)
    thick = ENDPAPER_LEAVES * paper.caliper_mm
    return thick, (
        f"Endpapers: {ENDPAPER_LEAVES} leaves of {paper.name}, {format_mm(paper.caliper_mm, 4)} each = "
        f"{format_mm(thick, 2)}: at either end one pasted to the board and one free."
    )


def _swell(plan: Plan, house: House) -> tuple[float, str]:
    if plan.binding != "sewn":
        return 0.0, ""
    finishing, sections = house.finishing, len(plan.sections)
    swell = swell_mm(sections, finishing.thread, finishing.thread_pressed, finishing.swell_left)
    return swell, (
        f"Swell: {sections:,} {'thread' if sections == 1 else 'threads'} of {format_mm(finishing.thread, 2)}, pressed "
        f"to {finishing.thread_pressed:.0%}, of which nipping leaves {finishing.swell_left:.0%} = "
        f"{format_mm(swell, 2)}."
    )
