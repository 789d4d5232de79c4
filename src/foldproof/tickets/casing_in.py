# SPDX-License-Identifier: AGPL-3.0-or-later
"""Casing-in: the block is lined and hung into its case by its endpapers, its joints are set, and it is pressed.

A block that gets a paper cover is covered before it is trimmed (:mod:`foldproof.tickets.gluing`).
"""

from __future__ import annotations

from foldproof.case.model import CaseSizes
from foldproof.job.covering import is_cased
from foldproof.quantities.materials import endpaper_of
from foldproof.quantities.model import Work
from foldproof.quantities.untrimmed import endpaper_leaf_mm
from foldproof.tickets.bench import Bench, counts_of, due
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of
from foldproof.tickets.case import upright_with
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.labels import Labels
from foldproof.tickets.sewing import TIP_MM
from foldproof.units import format_mm, format_size_mm

#: widest drawing of the open case, and how much of its height is shown
_WIDE_MM, _SHOWN_MM = 150.0, 56.0


def benches(work: Work) -> tuple[Bench, ...]:
    """Casing-in; nothing for a book without a case."""
    return (_casing(work),) if is_cased(work.job, work.plan.binding) else ()


def _casing(work: Work) -> Bench:
    case, thick, custom = work.case, work.quantities.thickness, work.house.finishing
    notes = [_endpapers(work), _lining(work), _way_up(work)]
    if case is None:
        notes.append(
            ["No case.", "Its sizes could not be reckoned from the house file; ask before anything is pasted."]
        )
    else:
        notes.append(
            [
                "Measure after casing in.",
                f"Squares at head, foot and fore-edge, front and back: {format_mm(case.square_mm)} each; joint:"
                f" {format_mm(case.joint_mm)} wide, the same at both boards and parallel to the back.",
            ]
        )
    return Bench(
        bench="casing-in",
        name="Casing in",
        what="block into case" + (f", boards {format_size_mm(*case.board_mm)}" if case else ""),
        layout="casing-in",
        facts=(
            ("joint, pressed in", format_mm(case.joint_mm) if case else ""),
            ("squares", f"{format_mm(case.square_mm)} on three sides" if case else ""),
            ("in the press", f"{custom.press_hours:g} hours"),
            ("endpapers", work.job.cover.endpapers),
            ("back, lined", f"{format_mm(thick.spine_mm)}, {work.job.cover.rounding}"),
            (
                "title on the spine",
                f"reads {work.job.stamping.spine_reads}" if _titled(work) and work.job.stamping else "",
            ),
        ),
        body={
            **(_open_case(case, work.plan.reading) if case else {"drawing": None, "caption": ""}),
            "notes": notes,
        },
        cautions=cautions_of("casing-in"),
        checks=(
            "first book: squares measured",
            "title the right way up",
            "endpapers clean, no glue beyond",
            "joints set",
        ),
        due=due(work, "casing-in"),
    )


def _endpapers(work: Work) -> list[str]:
    """What is pasted to the boards: head and words."""
    plan, how = work.plan, work.job.cover.endpapers
    if how == "none":
        return ["Endpapers: none.", "The block hangs in its case by its lining alone."]
    if how == "self":
        labels = Labels(plan, work.folios)
        last = len(plan.places) - 1
        return [
            "Endpapers: the block’s own.",
            f"The first leaf is pasted to the front board by its outer page ({_page(labels, 0)}), the last leaf to the"
            f" back board by its outer page ({_page(labels, last)}). Both must be empty: the check"
            " “self-endpapers” stops the job where ink is found on them.",
        ]
    paper = endpaper_of(plan, work.job, work.house)
    wide, high = endpaper_leaf_mm(plan)
    books = sum(count.goes_in for count in counts_of(work, "trimming")) or work.quantities.copies
    return [
        "Endpapers: separate.",
        f"{paper.name}, {paper.grammage:g} g/m²; sheets of {format_size_mm(2 * wide, high)} folded once to"
        f" {format_size_mm(wide, high)}, grain along the fold; two a book, {2 * books:,} for {books:,} books. Tipped"
        " before trimming along the fold of the first and of the last section, with a line of paste"
        f" {format_mm(TIP_MM)} wide; here their outer leaves are pasted to the boards.",
    ]


def _page(labels: Labels, position: int) -> str:
    page = labels.plan.places[position].page
    return "a blank" if page is None else f"page {labels.of(position)}"


def _lining(work: Work) -> list[str]:
    custom = work.house.finishing
    shape = {
        "flat": "The back stays flat.",
        "rounded": f"Round the back first, to an arc of {custom.round_angle:g} degrees.",
        "rounded and backed": f"Round the back first, to an arc of {custom.round_angle:g} degrees, then back it: the"
        " shoulders take the boards.",
    }[work.job.cover.rounding]
    arc = work.quantities.thickness.arc_mm
    over = "" if work.job.cover.rounding == "flat" else f" Over the rounded back: {format_mm(arc)}."
    return [
        "Lining.",
        f"{shape} Mull and lining, {format_mm(custom.lining, 2)} together, short of head and foot; the mull stands"
        f" out at both sides and goes under the endpapers.{over}",
    ]


def _titled(work: Work) -> bool:
    return work.job.stamping is not None and work.job.stamping.spine


def _way_up(work: Work) -> list[str]:
    """How to tell head from foot and front from back on a case."""
    side = "left" if work.plan.reading == "left to right" else "right"
    words = f"Head of the block to the head of the case; with the front board up the back is at the {side}."
    if _titled(work) and work.job.stamping is not None:
        reads = work.job.stamping.spine_reads
        up = upright_with(reads, work.plan.reading)
        words += f" The title on the spine reads from {reads}: it stands upright when the {up} board lies up."
    else:
        words += " Nothing is stamped on the spine: mark the head of the case before it is pasted."
    return ["Which way is up.", words]


def _open_case(case: CaseSizes, reading: str) -> dict[str, object]:
    """The case lying open, inside up, the block set on its back board: to scale, cut off below where it is high.

    The front board lies at the left in a book that is read from left to right: seen from inside everything changes
    sides.
    """
    wide, high = case.open_mm
    scale = scale_for((wide, 1.0), (_WIDE_MM, _SHOWN_MM))
    shown = min(high / scale, _SHOWN_MM)
    x, y = (180.0 - wide / scale) / 2, 13.0
    drawing = Drawing((180.0, y + shown + 18.0))
    mirrored = reading == "right to left"

    def at(mm: float) -> float:
        """From the left edge of the open case of a book read from left to right, on the ticket."""
        return x + (wide - mm if mirrored else mm) / scale

    board, joint, strip = case.board_mm[0], case.joint_mm, case.strip_mm[0]
    bottom = y + shown
    for start, end, style in (
        (0.0, board, "paper"),
        (wide - board, wide, "paper"),
        (board + joint, board + joint + strip, "grey"),
    ):
        drawing.box(style, (at(start), y), (at(end), bottom))
    fore = wide - case.square_mm
    top = y + case.square_mm / scale
    foot = bottom if shown < high / scale else bottom - case.square_mm / scale
    drawing.box("block", (at(fore - case.block_mm[0]), top), (at(fore), foot))
    if shown < high / scale:
        drawing.torn(x - 2, x + wide / scale + 2, bottom)
    middle = (top + bottom) / 2
    for start, end, named in (
        (0.0, board, ("front board", "front")),
        (wide - board, wide, ("block on the back board", "block")),
    ):
        fits = [words for words in named if (end - start) / scale >= width_of(words) + 3]
        drawing.word(fits[0] if fits else "", (at((start + end) / 2), middle), bold=True)
    before, behind = ("right", "left") if mirrored else ("left", "right")

    def measured(y_mm: float, start: float, end: float, what: str, beyond: str) -> None:
        left, right = sorted((at(start), at(end)))
        words = f"{what} {format_mm(end - start)}"
        drawing.across(y_mm, left, right, end - start, words=words, beyond=beyond)

    measured(y - 4.5, fore, wide, "square", before)
    measured(bottom + 6.0, board, board + joint, "joint", before)
    measured(bottom + 12.5, board + joint, board + joint + strip, "strip", behind)
    return {
        "drawing": drawing.data(),
        "caption": f"The open case, inside up, head above, scale {scale_words(scale)}"
        + (", its lower part left away." if shown < high / scale else "."),
    }
