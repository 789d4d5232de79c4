# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans made by hand, so that the writer is tested without the room that makes plans.

The sixteen is the octavo of the trade: 4 columns, 2 rows, ``right under, top over, left over``.  Its page places are
written out here (and not folded): front ``5 12 9 8`` with heads down over ``4 13 16 1``, back as printed
``7 10 11 6`` with heads down over ``2 15 14 3`` (the design's known answer, the same as the handbook's octavo).
"""

from __future__ import annotations

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.instructions import Collation, Fold, FoldingInstructions, Section, Sheet
from foldproof.makeup.plan import CollationBar, GatheredSection, PagePlace, Plan, Press, SheetKind, Side

PT = 72 / 25.4  # ISO 32000-1, 8.3.2.3: 1/72 in

OCTAVO = {
    Side.FRONT: (((5, 12, 9, 8), True), ((4, 13, 16, 1), False)),
    Side.BACK: (((7, 10, 11, 6), True), ((2, 15, 14, 3), False)),
}
#: a sheet folded once: front 4 1, back 2 3 (common knowledge of the trade)
FOLIO = {Side.FRONT: (((4, 1), False),), Side.BACK: (((2, 3), False),)}


def plan(
    pages: int,
    *,
    trim_mm: tuple[float, float] = (140.0, 216.0),
    bleed_mm: float = 3.0,
    table: dict = OCTAVO,
    head_mm: float = 5.0,
    foot_mm: float = 5.0,
    fore_mm: float = 4.0,
    grind_mm: float = 0.0,
    around_mm: tuple[float, float] = (14.0, 16.0),
    gripper_mm: float = 12.0,
    turn: str = "side to side",
    title: str = "The Lamplighter's Almanac",
) -> Plan:
    """A book of whole sections, one to a sheet, sewn (``grind_mm`` 0) or glued, the section in the middle of the sheet.

    Args:
        around_mm: paper left and right, and above the section; the gripper margin and 4 mm more lie below.
    """
    wide, high = trim_mm
    rows, columns = len(table[Side.FRONT]), len(table[Side.FRONT][0][0])
    each = 2 * rows * columns
    column_mm, row_mm = wide + fore_mm + grind_mm, high + head_mm + foot_mm
    x0, y0 = around_mm[0], gripper_mm + 4
    sheet_mm = (columns * column_mm + 2 * x0, rows * row_mm + y0 + around_mm[1])
    if turn == "head to tail":
        sheet_mm = (sheet_mm[0], rows * row_mm + 2 * y0)
    x1, y1 = x0 + columns * column_mm, y0 + rows * row_mm
    count = -(-pages // each)
    places, sections, bars, sheets = [], [], [], []
    for number in range(1, count + 1):
        piece, signature = f"{number}A", str(number)
        for side in Side:
            for row, (numbers, down) in enumerate(table[side]):
                for column, page in enumerate(numbers):
                    # The back of a sheet turned head to tail is the other table turned round as a whole.
                    place = _place(
                        page, column, row, down, side, number, piece, signature, pages, each, columns, rows,
                        (column_mm, row_mm), (x0, y0), trim_mm, bleed_mm, (head_mm, foot_mm, fore_mm, grind_mm),
                        turn, sheet_mm,
                    )  # fmt: skip
                    places.append(place)
        first = each * (number - 1)
        sections.append(
            GatheredSection(number, signature, (piece,), each, first, max(0, min(each, first + each - pages)))
        )
        crease = x0 + (columns - 1) * column_mm
        top = y0 + foot_mm + high - 20 - 8 * (number - 1)
        bars.append(CollationBar(number, Side.FRONT, number - 1, Rect(crease - 1, top - 6, crease + 1, top)))
        folds = [Fold("right under", ((x0 + columns / 2 * column_mm, y0), (x0 + columns / 2 * column_mm, y1)))]
        if rows == 2:
            folds += [
                Fold("top over", ((x0, y0 + row_mm), (x0 + 2 * column_mm, y0 + row_mm))),
                Fold("left over", ((x0 + column_mm, y0), (x0 + column_mm, y0 + row_mm))),
            ]
        section = Section(
            piece, (x0, y0, x1, y1), 0, columns, rows, (column_mm,) * columns, (row_mm,) * rows, tuple(folds), None,
            head_mm, foot_mm, grind_mm,
        )  # fmt: skip
        sheets.append(Sheet(number, *sheet_mm, turn, (), (section,)))
    places.sort(key=lambda place: place.position)
    binding = "glued" if grind_mm else "sewn"
    return Plan(
        title=title, trim_mm=trim_mm, bleed_mm=bleed_mm, binding=binding, reading="left to right", pages=pages,
        blanks_front=0, blanks_back=count * each - pages, press=Press("Wharf Street 4", gripper_mm, 4.0, 4.0),
        stock="Lantern Book 90", grammage=90.0, caliper_mm=0.12, grain="long", grain_along_spine=True,
        sheet_mm=sheet_mm,
        sections=tuple(sections), places=tuple(places), bars=tuple(bars),
        kinds=(SheetKind("A", "octavo", tuple(range(1, count + 1))),), assumptions=(), offers=(), refused=(),
        instructions=FoldingInstructions(
            "left to right", binding, trim_mm, bleed_mm, 0.12, 1.0, tuple(sheets),
            tuple((f"{number}A",) for number in range(1, count + 1)), Collation(20, 8, 8, 6, 2),
        ),
    )  # fmt: skip


def _place(
    page, column, row, down, side, number, piece, signature, pages, each, columns, rows, panel, corner, trim_mm,
    bleed_mm, knives, turn, sheet_mm,
) -> PagePlace:  # fmt: skip
    (wide, high), (column_mm, row_mm), (x0, y0) = trim_mm, panel, corner
    head_mm, foot_mm, fore_mm, grind_mm = knives
    recto = page % 2 == 1
    # upright page: spine at the left of a recto; heads down turns the page, so spine and head change sides
    spine_left = recto != down
    left = x0 + column * column_mm + (grind_mm if spine_left else fore_mm)
    low = y0 + (rows - 1 - row) * row_mm + (head_mm if down else foot_mm)
    trim = Rect(left, low, left + wide, low + high)
    spine_bleed = min(bleed_mm, grind_mm)
    clip = Rect(
        trim.x0 - (spine_bleed if spine_left else min(bleed_mm, fore_mm)), trim.y0 - bleed_mm,
        trim.x1 + (min(bleed_mm, fore_mm) if spine_left else spine_bleed), trim.y1 + bleed_mm,
    )  # fmt: skip
    turned = 2 if down else 0
    if turn == "head to tail" and side is Side.BACK:
        width, height = sheet_mm
        trim, clip = (Rect(width - r.x1, height - r.y1, width - r.x0, height - r.y0) for r in (trim, clip))
        turned = (turned + 2) % 4
    trim_pt, clip_pt = trim.scaled(PT), clip.scaled(PT)
    matrix = Matrix.quarter_turns(turned).then(Matrix.translation(*trim_pt.centre))
    position = each * (number - 1) + page - 1
    return PagePlace(
        page=position if position < pages else None, position=position, sheet=number, side=side, section=piece,
        leaf=(page - 1) // 2, depth=0, creep_mm=0.0, matrix=matrix, clip_pt=clip_pt, trim_pt=trim_pt,
        signature=signature,
    )  # fmt: skip
