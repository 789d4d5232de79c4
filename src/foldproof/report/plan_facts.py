# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a plan is and costs, in rows that stand side by side with those of others.  Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from attrs import frozen

from foldproof.makeup.cost import Cost
from foldproof.makeup.plan import Plan, SheetRun
from foldproof.report.words import count, sentence
from foldproof.tickets.printing import printing
from foldproof.units import format_size_mm


@frozen
class Row:
    """One fact of several plans."""

    name: str
    cells: tuple[str, ...]  #: a plan each
    #: what can be subtracted; empty where it is a matter of words
    numbers: tuple[float | None, ...] = ()
    places: int = 0  #: decimal places of a difference
    sum: bool = False  #: the rows before it add up to it

    def against_first(self, nth: int) -> str:
        """``"60.00 more"`` than the first plan, ``"the same"``, or nothing where there is no number."""
        if not self.numbers:
            return ""
        first, here = self.numbers[0], self.numbers[nth]
        if first is None or here is None:
            return ""
        differ = round(here - first, self.places)
        if not differ:
            return "the same"
        return f"{abs(differ):,.{self.places}f} {'more' if differ > 0 else 'less'}"


def rows(plans: Sequence[Plan]) -> tuple[Row, ...]:
    """Every fact, in the order of the benches; costs last but one."""

    def words(name: str, cells: Iterable[str]) -> Row:
        return Row(name, tuple(cells))

    def numbers(name: str, values: Iterable[float], places: int = 0, unit: str = "") -> Row:
        known = tuple(values)
        return Row(name, tuple(f"{value:,.{places}f}{unit}" for value in known), known, places)

    made = [
        words("press", (_by_sheets(plan, lambda run: run.press.name) for plan in plans)),
        words("way to print", (_by_sheets(plan, lambda run: run.way) for plan in plans)),
        words("sheet", (_by_sheets(plan, lambda run: format_size_mm(*run.sheet_mm)) for plan in plans)),
        words("stock", (_by_sheets(plan, lambda run: run.stock) for plan in plans)),
        words("grain", (_by_sheets(plan, _grain) for plan in plans)),
        words("fold", (", ".join(dict.fromkeys(kind.scheme for kind in plan.kinds)) for plan in plans)),
        words("folder", (_by_sheets(plan, lambda run: run.folder) for plan in plans)),
        words("sections", (sections_words(plan) for plan in plans)),
        numbers("sheets", (plan.sheets for plan in plans)),
        numbers("plates", (plan.plates for plan in plans)),
        numbers("pages a side", (_pages_a_side(plan) for plan in plans)),
        numbers("blanks", (plan.blanks_front + plan.blanks_back for plan in plans)),
        numbers("sheets to buy", (sum(run.gross_sheets for run in plan.runs) for plan in plans)),
        numbers("paper to buy", (paper_kg(plan) for plan in plans), 1, " kg"),
    ]
    costs = [plan.cost for plan in plans]
    if all(cost is not None for cost in costs):
        made += cost_rows([cost for cost in costs if cost is not None])
    made.append(numbers("thickness", (plan.bulk_mm for plan in plans), 1, " mm"))
    return tuple(made)


def cost_rows(costs: Sequence[Cost]) -> list[Row]:
    """A row a bench, then the sum and what it comes to for one copy."""
    unit = costs[0].currency or "cost"
    benches = list(dict.fromkeys(line.what for cost in costs for line in cost.lines))
    made = []
    for bench in benches:
        sums = [_of_bench(cost, bench) for cost in costs]
        made.append(Row(f"{bench}, {unit}", tuple(said for said, _ in sums), tuple(value for _, value in sums), 2))
    totals = tuple(cost.total for cost in costs)
    each = tuple(None if total is None else total / cost.copies for total, cost in zip(totals, costs, strict=True))
    made.append(Row(f"total, {unit}", tuple(_money(value) for value in totals), totals, 2, sum=True))
    made.append(Row(f"a copy, {unit}", tuple(_money(value, 3) for value in each), each, 3))
    return made


def _money(value: float | None, places: int = 2) -> str:
    return "not known" if value is None else f"{value:,.{places}f}"


def _price(value: float) -> str:
    """Of one thing: two places, or as many as the house states."""
    whole, _, part = f"{value:,.6f}".rstrip("0").partition(".")
    return f"{whole}.{part.ljust(2, '0')}"


def _of_bench(cost: Cost, bench: str) -> tuple[str, float | None]:
    """All machines of a bench together: money, or the quantity where a price is missing."""
    lines = [line for line in cost.lines if line.what == bench]
    known = [line.amount for line in lines if line.amount is not None]
    if len(known) == len(lines):
        total = round(sum(known), 2)
        return _money(total), total
    by_unit: dict[str, float] = {}
    for line in lines:
        by_unit[line.unit] = by_unit.get(line.unit, 0.0) + line.quantity
    told = ", ".join(f"{quantity:,.2f} {unit}" for unit, quantity in by_unit.items())
    return f"{told}, no price stated", None


def _by_sheets(plan: Plan, of: Callable[[SheetRun], str]) -> str:
    """What all sheets share, or each with the number of its sheets."""
    counted = Counter(of(run) for run in plan.runs)
    if len(counted) == 1:
        return next(iter(counted))
    return "; ".join(f"{what} ({count(number, 'sheet')})" for what, number in counted.items())


def _grain(run: SheetRun) -> str:
    return f"{run.grain}, {'along' if run.grain_along_spine else 'ACROSS'} the spine"


def _pages_a_side(plan: Plan) -> int:
    """The most that stand on one side of a sheet, copies counted."""
    return max(Counter((place.sheet, place.side) for place in (*plan.places, *plan.again)).values())


def paper_kg(plan: Plan) -> float:
    """Weight of the sheets to be bought: gross sheets x area x grammage."""
    return sum(run.gross_sheets * run.sheet_mm[0] * run.sheet_mm[1] * run.grammage for run in plan.runs) / 1e9


def sections_words(plan: Plan) -> str:
    """``"9 x 16 + 1 x 8"``, pieces that are set one in another counted each."""
    pages = Counter(place.section for place in plan.places)
    counted = Counter(pages[piece] for section in plan.sections for piece in section.pieces)
    told = " + ".join(f"{number} x {size}" for size, number in sorted(counted.items(), reverse=True))
    nested = sum(len(section.pieces) - 1 for section in plan.sections)
    if not nested:
        return told
    return f"{told}, one in another" if len(plan.sections) == 1 else f"{told}, {nested} set in or round others"


def headline(plan: Plan) -> str:
    """``"150 pages, 140 x 216 mm, sewn, 1,500 copies"``"""
    return (
        f"{count(plan.pages, 'page')}, {format_size_mm(*plan.trim_mm)}, {plan.binding}, "
        f"{'1 copy' if plan.run_copies == 1 else f'{plan.run_copies:,} copies'}"
    )


def short_name(plan: Plan) -> str:
    """``"9 x 16 + 1 x 8 on Beacon 1620"``"""
    return f"{sections_words(plan)} on {plan.press.name}"


def cost_words(plan: Plan) -> str:
    """The sum in a sentence; nothing where no cost was reckoned."""
    cost = plan.cost
    if cost is None:
        return ""
    copies = "1 copy" if cost.copies == 1 else f"{cost.copies:,} copies"
    if cost.total is None:
        missing = ", ".join(dict.fromkeys(line.what for line in cost.lines if line.amount is None))
        return f"Cost: not known for {copies}; no price is stated for {missing}."
    money = f"{cost.total:,.2f} {cost.currency}".rstrip()
    return f"Cost: {money} for {copies}, {cost.total / cost.copies:,.3f} a copy."


def cost_lines_words(cost: Cost) -> list[tuple[str, str, str, str, str]]:
    """Every line of a cost: what, how its quantity came about, the quantity, the price of one, the amount."""
    return [
        (
            line.what,
            line.says,
            quantity(line.quantity, line.unit),
            "not stated" if line.price is None else _price(line.price),
            _money(line.amount),
        )
        for line in cost.lines
    ]


def quantity(value: float, unit: str) -> str:
    """``"1 plate"``, ``"603.9352 kg"``: four places at the most."""
    number = f"{value:,.4f}".rstrip("0").rstrip(".")
    return f"{number} {unit.removesuffix('s') if number == '1' else unit}"


# --- sheets -----------------------------------------------------------------------------------------------------------


def printed_words(told: Mapping[str, Any]) -> str:
    """How the sheets of one kind are printed, from what the press ticket says of them."""
    parts = [told["press"], told["way"], told["sheet"], told["stock"], f"grain {told['grain']}"]
    more = [told["copies"], f"folder {told['folder']}" if told["folder"] else "", told["numbers"]]
    return f"{', '.join(part for part in parts if part)}. {sentence('; '.join(part for part in more if part))}".strip()


def sheets_words(plan: Plan) -> list[str]:
    """Kind by kind: which sheets, how they are printed, the inks of either side."""
    said = []
    turns = {sheet.number: sheet.turn for sheet in plan.instructions.sheets}
    for kind in plan.kinds:
        told = printing(plan, kind, turns[kind.sheets[0]])
        inks = "; ".join(
            f"{'sheet' if row[0].isdigit() else 'sheets'} {row[0]}: "
            + ", ".join(f"{head} {cell}" for head, cell in zip(told["heads"][1:], row[1:], strict=True))
            for row in told["rows"]
        )
        said.append(f"{kind.label}: {printed_words(told)} {sentence(inks)}".strip())
    return said
