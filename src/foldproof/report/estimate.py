# SPDX-License-Identifier: AGPL-3.0-or-later
"""Run lengths side by side: what each takes and costs, in rows.  Pure.

Every run length is made up by its own best plan.  Prices are those of the house; where one is missing the quantity
stands, and there is no sum.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from string import ascii_uppercase

from attrs import frozen

from foldproof.case.cutting_case import CaseCutting, case_cutting
from foldproof.case.parts import COVER, ENDPAPERS, JACKET, PartOrder, paper_parts
from foldproof.case.sizes import reckoned_case
from foldproof.job.covering import cover_kind, is_cased
from foldproof.job.model import House, Job
from foldproof.makeup.cost import Cost, CostLine
from foldproof.makeup.cost_sheets import exact, half_up
from foldproof.makeup.plan import Plan, SheetRun
from foldproof.quantities.model import Quantities
from foldproof.report.plan_facts import Row, cost_rows, paper_kg, sections_words
from foldproof.report.words import count, listed, sentence
from foldproof.units import format_size_mm

#: benches in the order of the work, as their hours are called
_HOURS = ("press", "folding", "gathering", "stitching", "sewing", "trimming", "case", "casing-in")
_NOT_KNOWN = "not known"
#: what a machine or material must state for a line of the cost to be known, where it is not the price of an hour
_STATED = {
    "plates": "plate_price",
    "paper": "price_per_kg",
    **{f"paper of the {part}": "price_per_kg" for part in (ENDPAPERS, COVER, JACKET)},
    "board": "price_per_sheet",
    "strip board": "price_per_sheet",
    "cloth": "price_per_metre",
    "cartons": "price",
}


@frozen
class Estimated:
    """One run length as it was made up: its own best plan, and what that takes."""

    plan: Plan
    quantities: Quantities
    job: Job


@frozen
class Length:
    """One run length as it stands beside others."""

    copies: int
    name: str  #: of its plan among those of the others: ``"A"``
    plan: Plan
    quantities: Quantities
    cost: Cost  #: of the plan, and of what is reckoned behind it
    unknown: tuple[str, ...]  #: what could not be reckoned, a sentence each
    parts: tuple[PartOrder, ...] = ()  #: paper of endpapers, cover, jacket


def lengths(made: Sequence[Estimated], house: House, more: Sequence[Sequence[CostLine]] | None = None) -> list[Length]:
    """Run lengths with all their cost lines: the plan's, then paper of its other parts, case, casing-in and cartons.

    Args:
        more: for each run length cost lines that are reckoned elsewhere, such as ink.

    Raises:
        AskedWrong: the job names a board, cloth or stock that the house has not, or flaps wider than their panel.
    """
    names: dict[object, str] = {}
    found = []
    for nth, one in enumerate(made):
        name = names.setdefault(_made_up(one.plan), _letters(len(names)))
        cutting, unknown = _cut(one, house)
        parts = paper_parts(one.plan, one.job, house, one.quantities.thickness)
        lines = (
            *(one.plan.cost.lines if one.plan.cost else ()),
            *(_paper_line(order) for order in parts.orders),
            *_case_lines(cutting, house),
            *_finishing_lines(one.quantities, house),
            *(more[nth] if more else ()),
        )
        cost = Cost(lines, house.currency, one.plan.run_copies)
        said = (*one.quantities.unknown, *parts.unknown, *unknown)
        found.append(Length(one.plan.run_copies, name, one.plan, one.quantities, cost, said, parts.orders))
    return found


# --- cost lines behind the plan's -------------------------------------------------------------------------------------


def _cut(one: Estimated, house: House) -> tuple[CaseCutting | None, tuple[str, ...]]:
    """What boards and cloth are cut from, where the book gets a case."""
    case = reckoned_case(one.plan, one.job, house, one.quantities.thickness)
    cases = sum(made.comes_out for made in one.quantities.counts if made.bench == "case")
    if case.sizes is None or not cases:
        return None, (case.unknown,) if case.unknown else ()
    cutting = case_cutting(case.sizes, house, cases)
    return cutting, cutting.unknown


def _paper_line(order: PartOrder) -> CostLine:
    """As the plan's own paper: kilogrammes; the amount is that of the order, which was rounded once."""
    says = f"{order.stock}: {sheets_words(order)}"
    return CostLine(f"paper of the {order.part}", order.weight_kg, "kg", order.price_per_kg, order.price, says)


def _case_lines(cutting: CaseCutting | None, house: House) -> list[CostLine]:
    if cutting is None:
        return []
    prices = {board.name: board.price_per_sheet for board in house.boards}
    lines = []
    for what, boards in (("board", cutting.boards), ("strip board", cutting.strips)):
        if boards is not None and boards.sheets:
            says = f"{boards.board}: for {count(cutting.cases, 'case')}"
            lines.append(_line(what, Fraction(boards.sheets), "sheets", prices.get(boards.board), says))
    if cutting.cloth is not None:
        cloth = next(one for one in house.cloths if one.name == cutting.cloth.cloth)
        says = f"{cloth.name}: {count(cutting.cloth.lengths, 'length')}, {cutting.cloth.across} side by side"
        lines.append(_line("cloth", exact(cutting.cloth.metres), "m", cloth.price_per_metre, says))
    return lines


def _finishing_lines(quantities: Quantities, house: House) -> list[CostLine]:
    prices = {line.name: line.hour_price for line in house.lines}
    lines = []
    for need in quantities.times:
        if need.bench not in ("trimming", "case", "casing-in"):
            continue
        what = "case making" if need.bench == "case" else need.bench
        of, price = need.machine, prices.get(need.machine)
        if need.bench != "trimming":
            of, price = "[finishing]", house.finishing.hour_price
        says = f"{of}: {need.says}" if of else need.says
        if need.minutes is None:
            number = sum(made.goes_in for made in quantities.counts if made.bench == need.bench)
            lines.append(_line(what, Fraction(number), "cases" if need.bench == "case" else "books", None, says))
        else:
            hours = Fraction(need.minutes).limit_denominator(10**9) / 60
            lines.append(_line(what, hours, "h", price, says))
    packed = quantities.packing
    if packed is not None:
        carton = next(one for one in house.cartons if one.name == packed.carton)
        says = f"{carton.name}: {packed.per_carton:,} books in each"
        lines.append(_line("cartons", Fraction(packed.cartons), "cartons", carton.price, says))
    return lines


def _line(what: str, quantity: Fraction, unit: str, price: float | None, says: str) -> CostLine:
    amount = None if price is None else half_up(quantity * exact(price), 2) / 100
    return CostLine(what, float(quantity), unit, price, amount, says)


# --- rows -------------------------------------------------------------------------------------------------------------


def rows(columns: Sequence[Length]) -> tuple[Row, ...]:
    """Every fact, a cell for each run length; what none of them has is left out."""
    made: list[Row] = []

    def add(name: str, of: Callable[[Length], float | None], places: int = 0) -> None:
        values = tuple(of(column) for column in columns)
        if any(value is not None for value in values):
            cells = tuple(_NOT_KNOWN if value is None else f"{value:,.{places}f}" for value in values)
            made.append(Row(name, cells, values, places))

    if len({column.name for column in columns}) > 1:
        made.append(Row("plan", tuple(column.name for column in columns)))
    add("plates", lambda c: c.plan.plates)
    add("sheets to order", lambda c: sum(order.gross for order in c.quantities.orders))
    add("reams", lambda c: sum(order.reams for order in c.quantities.orders), 2)
    add("paper, kg", lambda c: paper_kg(c.plan), 1)
    for part in dict.fromkeys(order.part for column in columns for order in column.parts):
        add(f"{part}, sheets", lambda c, part=part: _sheets(c, part))  # type: ignore[misc]
    for bench in _HOURS:
        hours = tuple(_hours(column.quantities, bench) for column in columns)
        if any(there for there, _ in hours):
            cells = tuple(_NOT_KNOWN if value is None else f"{value:,.2f}" for _, value in hours)
            name = "case making" if bench == "case" else bench
            made.append(Row(f"{name}, hours", cells, tuple(value for _, value in hours), 2))
    add("thread, m", lambda c: None if c.quantities.thread is None else c.quantities.thread.metres)
    for what, unit, name in (("board", "sheets", "board"), ("strip board", "sheets", "board for strips")):
        add(f"{name}, {unit}", lambda c, what=what: _quantity(c.cost, what))  # type: ignore[misc]
    add("cloth, m", lambda c: _quantity(c.cost, "cloth"), 1)
    add("block, mm", lambda c: c.quantities.thickness.block_mm, 1)
    add("spine, mm", lambda c: c.quantities.thickness.spine_mm or None, 1)
    add("weight of a book, g", lambda c: None if c.quantities.packing is None else c.quantities.packing.book_g)
    add("books in a carton", lambda c: None if c.quantities.packing is None else c.quantities.packing.per_carton)
    add("cartons", lambda c: None if c.quantities.packing is None else c.quantities.packing.cartons)
    add("pallets", lambda c: (None if c.quantities.packing is None else c.quantities.packing.pallets) or None)
    return (*made, *cost_rows([column.cost for column in columns]))


def _hours(quantities: Quantities, bench: str) -> tuple[bool, float | None]:
    """Whether anything goes over the bench, and its hours with make-ready."""
    needs = [need.minutes for need in quantities.times if need.bench == bench]
    known = [minutes for minutes in needs if minutes is not None]
    return bool(needs), sum(known) / 60 if needs and len(known) == len(needs) else None


def _sheets(column: Length, part: str) -> int | None:
    return next((order.gross for order in column.parts if order.part == part), None)


def _quantity(cost: Cost, what: str) -> float | None:
    found = [line.quantity for line in cost.lines if line.what == what]
    return sum(found) if found else None


# --- words ------------------------------------------------------------------------------------------------------------


def headline(columns: Sequence[Length]) -> str:
    """``"150 pages, 140 x 216 mm, sewn"``"""
    plan = columns[0].plan
    return f"{count(plan.pages, 'page')}, {format_size_mm(*plan.trim_mm)}, {plan.binding}"


def plans_words(columns: Sequence[Length]) -> list[str]:
    """Which plan each run length is made by, a sentence each."""
    by_name: dict[str, list[Length]] = {}
    for column in columns:
        by_name.setdefault(column.name, []).append(column)
    if len(by_name) == 1:
        return [f"One plan is the best for {_copies(columns)}: {made_up_words(columns[0].plan)}"]
    return [
        f"Plan {name}, the best for {_copies(alike)}: {made_up_words(alike[0].plan)}" for name, alike in by_name.items()
    ]


def made_up_words(plan: Plan) -> str:
    """``"9 x 16 + 1 x 8; 1 sheet on Beacon 1620, ..., perfecting; 2 sheets on Taper 740, ..., work and turn, ..."``"""
    alike = Counter(_printed(run) for run in plan.runs)
    sheets = "; ".join(f"{count(number, 'sheet')} on {told}" for told, number in alike.items())
    return f"{sections_words(plan)}; {sheets}." if sheets else f"{sections_words(plan)}."


def _printed(run: SheetRun) -> str:
    copies = f", {run.copies_on} copies of each section" if run.copies_on > 1 else ""
    return f"{run.press.name}, {format_size_mm(*run.sheet_mm)} of {run.stock}, {run.way}{copies}"


def sheets_words(order: PartOrder) -> str:
    """``"139 sheets of 890 x 1130 mm at 90 g/m2"``"""
    return f"{count(order.gross, 'sheet')} of {format_size_mm(*order.sheet_mm)} at {order.grammage:g} g/m2"


def parts_words(columns: Sequence[Length]) -> list[str]:
    """How the paper of endpapers, cover and jacket came about, for each run length."""
    return [
        f"{_copies([column])}, {order.part}: {order.stock}, {sheets_words(order)}, {_weighed(order, column.cost)}. "
        f"{order.says}"
        for column in columns
        for order in column.parts
    ]


def _weighed(order: PartOrder, cost: Cost) -> str:
    """``"12.6 kg at 1.1 = 13.84 crowns"``; the weight alone where no price is stated."""
    told = f"{order.weight_kg:,.1f} kg"
    if order.price is None:
        return told
    return f"{told} at {order.price_per_kg:g} = {order.price:,.2f} {cost.currency}".rstrip()


def missing_words(columns: Sequence[Length]) -> list[str]:
    """What the house would have to state for every line to have its price, a sentence each."""
    said: dict[str, None] = {}
    for column in columns:
        for line in column.cost.lines:
            if line.amount is not None:
                continue
            who = line.says.partition(": ")[0] if ": " in line.says else "a binding line"
            if line.what in _STATED:
                said[f"{line.what}: {who} states no {_STATED[line.what]}."] = None
            elif line.unit == "h":
                said[f"{line.what}: {who} states no hour_price."] = None
            else:
                said[f"{line.what}: {who} states no speed, so that no hours are known."] = None
    return [sentence(one) for one in said]


def unknown_words(columns: Sequence[Length]) -> list[str]:
    """What else could not be reckoned, each sentence once."""
    return list(dict.fromkeys(sentence(one) for column in columns for one in column.unknown))


def left_out_words(job: Job, plan: Plan) -> str:
    """What such a book takes besides, that no line speaks of."""
    kind = cover_kind(job, plan.binding)
    out = ["ink"]
    if is_cased(job, plan.binding):
        out += ["folding and tipping of the endpapers"] * (job.cover.endpapers == "separate")
        out += ["thread"] * (plan.binding == "sewn") + ["lining", "glue"]
        out += ["die and foil"] * (job.stamping is not None)
    elif kind == "paper":
        out += ["plates and printing of the cover"]
        out += ["thread"] * (plan.binding == "sewn")
        out += ["wire"] if plan.binding == "stitched" else ["glue"] if plan.binding != "leaflet" else []
    out += ["plates and printing of the jacket"] * (job.jacket is not None)
    return f"No line speaks of {listed([*out, 'pallets'])}."


def _copies(columns: Iterable[Length]) -> str:
    numbers = [f"{column.copies:,}" for column in columns]
    return "1 copy" if numbers == ["1"] else f"{listed(numbers)} copies"


def _made_up(plan: Plan) -> object:
    """Plans that are alike in this are one."""
    return sections_words(plan), tuple(
        (run.press.name, run.way, run.stock, run.sheet_mm, run.grain, run.copies_on, run.folder, run.inks)
        for run in plan.runs
    )


def _letters(nth: int) -> str:
    return ascii_uppercase[nth]
