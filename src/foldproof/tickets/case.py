# SPDX-License-Identifier: AGPL-3.0-or-later
"""The case bench: boards, spine strip and cloth, how they are cut, and how they lie on each other."""

from __future__ import annotations

from typing import Any

from foldproof.case.cutting_case import CLOTH, BoardCutting, CaseCutting, ClothCutting, case_cutting
from foldproof.case.model import CaseSizes
from foldproof.case.sizes import corner_leg_mm, reckoned_case
from foldproof.job.covering import is_cased
from foldproof.job.model import House
from foldproof.quantities.model import Quantities, Work
from foldproof.tickets.bench import Bench
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of
from foldproof.tickets.cautions import cautions_of, load_words
from foldproof.tickets.cut_plan import cut_plan_data
from foldproof.units import format_mm, format_size_mm

#: room on the ticket for the open case, without its measures
_ROOM_MM = (112.0, 72.0)
#: from the edges of the drawing to the cloth: for measures at either side, above and below
_LEFT_MM, _RIGHT_MM, _ABOVE_MM, _BELOW_MM = 30.0, 38.0, 3.0, 27.0


def benches(work: Work) -> tuple[Bench, ...]:
    """The case bench; nothing for a book without a case."""
    if not is_cased(work.job, work.plan.binding):
        return ()
    case = work.case
    if case is None:
        why = reckoned_case(work.plan, work.job, work.house, work.quantities.thickness).unknown
        body = {"rows": [], "drawing": None, "caption": "", "cuts": [], "notes": [["No case.", why]]}
        return (Bench("case", "Case", "not reckoned", "case", body=body, cautions=cautions_of("case")),)
    cases = cases_wanted(work.quantities)
    cut = case_cutting(case, work.house, cases)
    return (
        Bench(
            bench="case",
            name="Case",
            what=f"{cases:,} {'case' if cases == 1 else 'cases'}, boards {format_size_mm(*case.board_mm)}",
            layout="case",
            facts=(
                ("cases", f"{cases:,}"),
                ("open case", format_size_mm(*case.open_mm)),
                ("board", f"{case.board}, {_kept(case.board_thickness_mm)}"),
                ("cloth", f"{case.cloth}, {_kept(case.cloth_thickness_mm)}"),
                ("block, with its back", f"{format_size_mm(*case.block_mm[:2])}, {_kept(case.block_mm[2])}"),
                ("spine", _spine(case)),
                ("stamping", _stamping(work)),
            ),
            body=case_ticket(case, cut, work.plan.reading, _stamped(work)),
            cautions=cautions_of("case", *_loads(work.house, cut)),
            checks=(
                "grain along the spine",
                "knife guard and clamp tested",
                "first case measured, square at its corners",
                "first case tried round a block",
            ),
            due=("", f"{cases:,}"),
            most_pages=6,
        ),
    )


def cases_wanted(quantities: Quantities) -> int:
    """Every block that comes to casing-in wants a case; the copies alone where that is not reckoned."""
    return max((count.goes_in for count in quantities.counts if count.bench == "casing-in"), default=quantities.copies)


def case_ticket(case: CaseSizes, cut: CaseCutting, reading: str = "left to right", stamped: str = "") -> dict[str, Any]:
    """What stands on the ticket, as words, numbers and drawings (shapes in mm of the ticket) for ``case-ticket``.

    Args:
        stamped: how the case is stamped, in words; ``""`` where it is not.
    """
    drawing, caption = _open_case(case, reading)
    strip = case.strip_board or "card that bends"
    return {
        "heads": ("part", "size", "pieces", "cut from"),
        "rows": [
            ["board", format_size_mm(*case.board_mm), f"{2 * cut.cases:,}", case.board],
            ["spine strip", format_size_mm(*case.strip_mm), f"{cut.cases:,}", strip],
            ["cloth", format_size_mm(*case.cloth_mm), f"{cut.cases:,}", case.cloth],
        ],
        "drawing": drawing,
        "caption": caption,
        "notes": [
            *_notes(case),
            *([["Stamping.", stamped]] if stamped else []),
            *(["Not laid out.", words] for words in cut.unknown),
            ["How the sizes came about.", " ".join(case.says)],
        ],
        "cuts": [
            *(plan for boards in (cut.boards, cut.strips) if boards is not None for plan in _board_plans(boards)),
            *([_cloth_plan(cut.cloth)] if cut.cloth is not None and cut.cloth.lengths else []),
        ],
    }


def _kept(length_mm: float) -> str:
    """A length that no line break parts from its unit."""
    return format_mm(length_mm, 2).replace(" ", "\u00a0")


def _spine(case: CaseSizes) -> str:
    if case.rounding == "flat":
        return "flat"
    return f"{case.rounding}, arc {format_mm(case.arc_mm)} over {format_mm(case.chord_mm)}"


def _stamping(work: Work) -> str:
    stamping = work.job.stamping
    if stamping is None:
        return ""
    where = [name for name, wanted in (("spine", stamping.spine), ("front board", stamping.front)) if wanted]
    return f"{stamping.ink}, on {' and '.join(where)}" if where else ""


def upright_with(spine_reads: str, reading: str) -> str:
    """``"front"`` or ``"back"``: the board that lies up when the title on the spine stands upright.

    The spine faces the eye, head up: letters that read from head to foot have their tops at the right, and there lies
    the front board of a book that is read from left to right.
    """
    return "front" if (spine_reads == "head to foot") == (reading == "left to right") else "back"


def _stamped(work: Work) -> str:
    """How the stamping stands on the case, and how its die is drawn; nothing where nothing is stamped."""
    stamping = work.job.stamping
    if stamping is None or not _stamping(work):
        return ""
    how = "mirrored, as it is engraved" if stamping.mirror else "as it prints"
    words = f"On the dry case, before casing in; first on waste cloth. The die has a drawing of its own, {how}."
    if stamping.spine:
        up = upright_with(stamping.spine_reads, work.plan.reading)
        words += f" The spine reads from {stamping.spine_reads}, upright when the {up} board lies up."
    return words


def _loads(house: House, cut: CaseCutting) -> tuple[str, ...]:
    """What the boards weigh, where the house says how heavy they are."""
    told = []
    for boards in (cut.boards, cut.strips):
        if boards is None:
            continue
        board = next(one for one in house.boards if one.name == boards.board)
        if board.grammage is not None:
            kilos = board.grammage / 1000 * board.sheet[0] * board.sheet[1] / 1e6
            told.append(load_words(f"Ten sheets of {board.name}", 10 * kilos))
    return tuple(told)


def _notes(case: CaseSizes) -> list[list[str]]:
    leg = format_mm(corner_leg_mm(case.turn_in_mm, case.corner_mm))
    return [
        [
            "Grain.",
            f"Of boards, strip and cloth {case.grain}, from head to foot: bend a corner both ways before cutting.",
        ],
        [
            "Corners.",
            f"Cut at 45 degrees, {leg} off either edge of the cloth; {format_mm(case.corner_mm, 2)} stay between the"
            " cut and the corner of the board.",
        ],
        [
            "Gluing.",
            "Set the strip first, then the boards, with a gauge in both joints; turn in head and foot, tuck the"
            " corners, turn in the fore-edges. Dry under weight, flat.",
        ],
    ]


def _board_plans(boards: BoardCutting) -> list[dict[str, Any]]:
    plans = []
    for run in boards.runs:
        counts = {what: run.layout.count(what) for what in ("board", "strip")}
        each = " and ".join(f"{many:,} {what}{'s' if many != 1 else ''}" for what, many in counts.items() if many)
        plan = cut_plan_data(run.layout)
        plan["head"] = (
            f"{run.sheets:,} {'sheet' if run.sheets == 1 else 'sheets'} of {boards.board}: {each} each,"
            f" {100 * run.layout.waste:.1f} % left over."
        )
        plans.append(plan)
    if plans:
        wanted = " and ".join(
            f"{many:,} {what}" for what, many in zip(("boards", "strips"), boards.wanted, strict=True) if many
        )
        price = "" if boards.price is None else f" Price of the sheets: {boards.price:,.2f}."
        plans[-1]["words"] = (
            f"In all {boards.sheets:,} {'sheet' if boards.sheets == 1 else 'sheets'} for {wanted}; of the whole"
            f" {100 * boards.waste:.1f} % is neither.{price}"
        )
    return plans


def _cloth_plan(cloth: ClothCutting) -> dict[str, Any]:
    plan = cut_plan_data(cloth.layout, called="Each length,")
    roll, length = cloth.layout.sheet_mm
    count = f"{cloth.lengths:,} {'length' if cloth.lengths == 1 else 'lengths'} of {format_mm(length)}"
    plan["head"] = (
        f"{cloth.metres:,.1f} m of {cloth.cloth}, {format_mm(roll)} wide: {count},"
        f" {cloth.across} {'cloth' if cloth.across == 1 else 'cloths'} each,"
        f" {100 * cloth.waste:.1f} % left over."
    )
    words = "Cut straight across the roll, the warp along the spine."
    if cloth.turned_metres is not None and cloth.turned_metres < cloth.metres:
        words += (
            f" Turned a quarter they would take {cloth.turned_metres:,.1f} m; the warp would run across the spine, so"
            " they are not."
        )
    if cloth.price is not None:
        words += f" Price of the cloth: {cloth.price:,.2f}."
    plan["words"] = words
    assert cloth.layout.count(CLOTH) == cloth.across
    return plan


def _open_case(case: CaseSizes, reading: str) -> tuple[dict[str, Any], str]:
    """The case lying open on its cloth, seen from inside, to scale."""
    scale = scale_for(case.cloth_mm, _ROOM_MM)
    wide, high = (side / scale for side in case.cloth_mm)
    drawing = Drawing((_LEFT_MM + wide + _RIGHT_MM, _ABOVE_MM + high + _BELOW_MM))
    left, top, bottom = _LEFT_MM, _ABOVE_MM, _ABOVE_MM + high
    leg = corner_leg_mm(case.turn_in_mm, case.corner_mm) / scale
    right = left + wide
    drawing.outline(
        "block",
        (
            (left + leg, top), (right - leg, top), (right, top + leg), (right, bottom - leg), (right - leg, bottom),
            (left + leg, bottom), (left, bottom - leg), (left, top + leg),
        ),
    )  # fmt: skip
    turn = (case.cloth_mm[0] - case.open_mm[0]) / 2 / scale, (case.cloth_mm[1] - case.open_mm[1]) / 2 / scale
    edges = [left + turn[0]]
    for length in (case.board_mm[0], case.joint_mm, case.strip_mm[0], case.joint_mm, case.board_mm[0]):
        edges.append(edges[-1] + length / scale)
    head, foot = top + turn[1], bottom - turn[1]
    middle = (head + foot) / 2
    sides = ("front board", "back board")
    for (x0, x1), name in zip(
        ((edges[0], edges[1]), (edges[4], edges[5])), sides if reading == "left to right" else sides[::-1], strict=True
    ):
        drawing.box("paper", (x0, head), (x1, foot))
        fits = [words for words in (name, name.split()[0]) if width_of(words) + 2 <= x1 - x0]
        size = format_size_mm(*case.board_mm)
        sized = width_of(size) + 2 <= x1 - x0 and foot - head > 14
        if fits:
            drawing.word(fits[0], ((x0 + x1) / 2, middle - 3 * sized), bold=True)
        if sized:
            drawing.word(size, ((x0 + x1) / 2, middle + 3))
    drawing.box("grey", (edges[2], head), (edges[3], foot))
    drawing.up(left - 4, top, head, case.turn_in_mm, words=f"turn-in {format_mm(case.turn_in_mm)}", beyond="left")
    drawing.up(right + 4, head, foot, case.board_mm[1], words=f"boards {format_mm(case.board_mm[1])}")
    joint, strip = f"joint {format_mm(case.joint_mm)}", f"strip {format_mm(case.strip_mm[0])}"
    drawing.across(bottom + 4, edges[1], edges[2], case.joint_mm, words=joint, beyond="left")
    drawing.across(bottom + 11, edges[2], edges[3], case.strip_mm[0], words=strip, beyond="right")
    drawing.across(bottom + 18, edges[0], edges[5], case.open_mm[0], words=f"open {format_mm(case.open_mm[0])}")
    drawing.across(bottom + 25, left, right, case.cloth_mm[0], words=f"cloth {format_mm(case.cloth_mm[0])}")
    return drawing.data(), (
        f"The open case on its cloth, seen from inside, head above, scale {scale_words(scale)}. The drawing at full"
        " size is a file of its own."
    )
