# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the search ranks by: costs of printed sheets and of binding as whole numbers, compared one after another.  Pure.

Where the house states every price: money in millionths, then plates, paper, and the order of the house file.  Else
plates, paper, minutes of press, and that order.  Every sheet is run through the folder by itself, and the folder is set
for it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from foldproof.job.model import HouseLine
from foldproof.makeup.candidates import Setting, Task
from foldproof.makeup.cost_charges import FoldedPiece
from foldproof.makeup.cost_run import BindingCost, RunCost, RunInput, binding_cost, perfects, run_cost
from foldproof.makeup.layout import ONE_SIDE, PERFECTING
from foldproof.makeup.sections import Division

#: a rank and its parts: all costs that are compared have as many
PARTS = 4


def sheet_rate(
    task: Task, setting: Setting, copies: int, blocks: Sequence[tuple[int, int]], front: int, back: int
) -> tuple[int, ...] | None:
    """What one printed sheet costs; ``None`` where the press cannot print it so.

    Args:
        copies: of every block on the sheet, or on one half of it.
        blocks: pages of a block, and how many different ones.
        front, back: inks of either side, as bit masks.
    """
    run = run_input(task, setting, copies * (2 if setting.bed.halved else 1), blocks, front, back)
    if run is None:
        return None
    cost = run_cost(run, task.copies, task.binding, task.house.allowances)
    plates, area, minutes = cost.quantity
    press, sheet, way, turned = setting.order
    order = ((press * 100 + sheet) * 100 + way) * 2 + turned
    if priced(task) and cost.money is not None:
        return cost.money, plates, area // 100, order
    return plates, area // 100, minutes, order


def run_input(
    task: Task, setting: Setting, copies_on: int, blocks: Sequence[tuple[int, int]], front: int, back: int
) -> RunInput | None:
    """A printed sheet as the cost wants it; ``None`` where the press cannot print it so."""
    bed = setting.bed
    if bed.halved:
        front = back = front | back
    inks = front.bit_count(), back.bit_count()
    if bed.way == PERFECTING and not perfects(bed.press, *inks):
        return None
    if bed.way == ONE_SIDE and inks[1]:
        return None
    # sections of one size go through the folder in one setting, whatever inks they carry
    counted: Counter[int] = Counter()
    for pages, many in blocks:
        counted[pages] += many
    pieces = tuple(
        FoldedPiece(
            setting.folders[pages],
            setting.blocks[pages].way.name,
            many * copies_on,
            passes=len(setting.blocks[pages].shapes),
        )
        for pages, many in counted.items()
    )
    return RunInput(
        press=bed.press,
        way=bed.way,
        inks_front=inks[0],
        inks_back=inks[1],
        stock=task.papers[setting.stock],
        sheet_mm=(bed.width_mm, bed.height_mm),
        copies_on=copies_on,
        pieces=pieces,
    )


def cost_of_run(task: Task, run: RunInput) -> RunCost:
    return run_cost(run, task.copies, task.binding, task.house.allowances)


def binding_of(task: Task, line: HouseLine | None, units: int, nested: int) -> BindingCost:
    """What binding takes; ``nested``: pieces that are set into others."""
    return binding_cost(units, nested, task.copies, line, task.binding, task.house.allowances)


def binding_rate(task: Task, line: HouseLine | None, division: Division) -> tuple[int, ...]:
    """What binding adds to the rank of a division."""
    nested = sum(len(unit.pieces) - 1 for unit in division.units)
    money = binding_of(task, line, len(division.units), nested).money
    if priced(task) and money is not None:
        return money, 0, 0, 0
    return (0,) * PARTS


def priced(task: Task) -> bool:
    """Whether the rank is money: every press, folder and paper that may be used states what it costs."""
    return (
        all(None not in (press.plate_price, press.hour_price, press.sheets_per_hour) for _, press in task.presses)
        and all(None not in (folder.hour_price, folder.sheets_per_hour) for folder in task.folders)
        and all(paper.price_per_kg is not None for paper in task.papers)
    )
