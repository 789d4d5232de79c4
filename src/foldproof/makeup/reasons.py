# SPDX-License-Identifier: AGPL-3.0-or-later
"""Why a plan won, what the next ones cost more, and what would beat it.  Pure.

Every figure is a difference between two costs that are reckoned as the plan's own is, line by line; nothing is rated.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from attrs import evolve

from foldproof.errors import NoPlan
from foldproof.job.model import Job
from foldproof.makeup import binding as bind
from foldproof.makeup.cost import Cost
from foldproof.makeup.cost_lines import cost_lines
from foldproof.makeup.cost_run import RunCost
from foldproof.makeup.outlines import Outline, Request, of_other_pages
from foldproof.makeup.rates import binding_of, cost_of_run, priced, run_input
from foldproof.makeup.search import Pick
from foldproof.units import format_size_mm

_SAME_COST = "the same cost"
#: alternatives that the winner is held against
_NEXT = 2
#: what the rank is where the house does not state every price, in its order
_RANKS = ("plates", "paper", "time in the press")


def reasons(request: Request, one: Outline, ranked: Sequence[Outline]) -> tuple[str, ...]:
    """A sentence each.

    Args:
        one: the outline that they are for.
        ranked: all outlines that were weighed, the best first.  Of the first it is said why it won and what would beat
            it, of every other by how much it is worse than the first.
    """
    best = ranked[0]
    mine = outline_cost(request, one)
    if one is not best:
        told = _held_against(request, outline_cost(request, best), mine, _surely(best, one))
        return (f"Against {_name(best, one)}: {told}{_of_equals(told, best, one, 'that one')}.",)
    said = [_won(request, mine, ranked)]
    for other in ranked[1 : 1 + _NEXT]:
        told = _held_against(request, mine, outline_cost(request, other), _surely(one, other))
        name = _name(other, one)
        said.append(f"{name[0].upper()}{name[1:]}: {told}{_of_equals(told, one, other, 'this one')}.")
    said += _beaten_by(request, one, mine)
    pinned = _pinned(request.job)
    if pinned:
        said.append(f"The job itself names the {pinned}; others were not weighed.")
    return tuple(said)


def outline_cost(request: Request, one: Outline) -> Cost:
    """The cost lines of an outline, without placing a page: those of its plan, save where rare sets of inks were
    weighed together (``one.exact`` is false), whose sides then count with the inks of all of them."""
    runs: list[RunCost] = []
    for covered in one.covers:
        for pick, times in covered.chosen:
            runs += [_run_cost(request, one, pick)] * times
    nested = sum(len(unit.pieces) - 1 for unit in one.division.units)
    bound = binding_of(request.task, request.line, len(one.division.units), nested)
    return cost_lines(runs, bound, request.task.copies, request.task.house.currency)


def _run_cost(request: Request, one: Outline, pick: Pick) -> RunCost:
    task, setting, kinds = request.task, pick.setting, one.classes.kinds
    front = back = 0
    blocks: Counter[int] = Counter()
    for kind, many, flipped in zip(kinds, pick.content, pick.flips, strict=True):
        if many:
            blocks[kind.pages] += many
            up, down = kind.faces[task.ways[kind.pages].index(setting.blocks[kind.pages].way)]
            front |= down if flipped else up
            back |= up if flipped else down
    copies_on = pick.copies * (2 if setting.bed.halved else 1)
    run = run_input(task, setting, copies_on, tuple(blocks.items()), front, back)
    if run is None:  # pragma: no cover - the search took it for the same inks
        raise AssertionError("a sheet was chosen for a press that cannot print it")
    return cost_of_run(task, run)


def _surely(*both: Outline) -> str:
    """What stands before a figure that some set of inks makes uncertain."""
    return "" if all(one.exact for one in both) else "about "


def _name(one: Outline, beside: Outline) -> str:
    """``"sections of 16 on Beacon 1620, 1620 x 1200 mm"``; the grain where nothing else tells them apart."""
    main, other = one.main, beside.main
    # a book smaller than one ordinary section has none
    pieces = one.base.pieces if one.largest >= one.base.pieces[0] else (one.largest,)
    nested = f" ({' in '.join(str(pages) for pages in reversed(pieces))})" if len(pieces) > 1 else ""
    size = format_size_mm(main.bed.width_mm, main.bed.height_mm)
    text = f"sections of {sum(pieces)}{nested} on {main.bed.press.name}, {size}"
    if one.like[:2] == beside.like[:2] and main.sheet.grain != other.sheet.grain:
        text += f", grain {main.sheet.grain}"
    return text


def _won(request: Request, mine: Cost, ranked: Sequence[Outline]) -> str:
    """Why the first is the first."""
    total = _summed_up(mine)
    if not ranked[0].exact:
        total = f"at most {total}, the rarer sets of inks weighed together"
    if len(ranked) == 1:
        if request.job.sections.pages is not None or request.job.sections.fold is not None:
            return f"Of the ways to make sections of {ranked[0].largest} this is the best: {total}."
        return f"Only sections of {ranked[0].largest} go, and this is the best way to make them: {total}."
    first, second = ranked[0].key, ranked[1].key
    if not priced(request.task):
        return f"Of all that goes it {_ahead(first, second, _RANKS)} (the house does not state every price): {total}."
    if first[0] == second[0]:
        return f"Of all that goes and costs as little it {_ahead(first[1:], second[1:], _RANKS[:2])}: {total}."
    left_out = "" if mine.total is not None else ", binding left out, for which the house states no price"
    return f"It costs the least of all that goes{left_out}, each piece in the first folder that takes it: {total}."


def _of_equals(told: str, best: Outline, other: Outline, which: str) -> str:
    """Why the better of two goes before the other, where they cost the same."""
    if not told.startswith(_SAME_COST):
        return ""
    if best.key[0] != other.key[0]:
        return f", to the hundredth; {which} is the cheaper by less"
    return f"; {which} {_ahead(best.key[1:], other.key[1:], _RANKS[:2])}"


def _ahead(first: Sequence[int], second: Sequence[int], ranks: Sequence[str]) -> str:
    equal: list[str] = []
    for rank, a, b in zip(ranks, first, second, strict=False):
        if a != b:
            least = "the fewest plates" if rank == "plates" else f"the least {rank}"
            return f"takes {least}" + (f", the {' and '.join(equal)} being equal" if equal else "")
        equal.append(rank)
    return "comes first in the house file, all else being equal"


def _summed_up(cost: Cost) -> str:
    copies = "1 copy" if cost.copies == 1 else f"{cost.copies:,} copies"
    if cost.total is not None:
        return f"{_money(cost.total)} {cost.currency}".rstrip() + f" for {copies}"
    quantities = _quantities(cost)
    return f"{_listed([_amount(value, what) for what, value in quantities.items()])} for {copies}"


def _held_against(request: Request, mine: Cost, other: Cost, surely: str) -> str:
    """What another costs more: the sum, what makes it up in plates, paper and hours, and the lines."""
    mine_of, other_of = _quantities(mine), _quantities(other)
    differ = {what: other_of.get(what, 0.0) - mine_of.get(what, 0.0) for what in {**mine_of, **other_of}}
    counted = [_more(value, what) for what, value in differ.items() if _amount(abs(value), what)]
    if mine.total is None or other.total is None or not priced(request.task):
        return f"{surely}{_listed(counted)}" if counted else "the same plates, paper and hours"
    lines = _line_differences(mine, other)
    dearer = round(other.total - mine.total, 2)
    if dearer == 0:
        told = f"{_SAME_COST}{' or nearly' if surely else ''}"
    else:
        told = f"{surely}{_money(abs(dearer))} {mine.currency}".rstrip() + f" {'dearer' if dearer > 0 else 'cheaper'}"
    if counted:
        told += f", with {_listed(counted)}"
    return f"{told} ({lines})" if lines else told


def _line_differences(mine: Cost, other: Cost) -> str:
    """``"plates +60.00, paper -41.20"``: amounts of all machines of one bench together, those that differ."""
    before, after = amounts(mine), amounts(other)
    told = []
    for what in {**before, **after}:
        a, b = before.get(what, 0.0), after.get(what, 0.0)
        if a is not None and b is not None and round(b - a, 2):
            told.append(f"{what} {round(b - a, 2):+,.2f}")
    return ", ".join(told)


def amounts(cost: Cost) -> dict[str, float | None]:
    """Money by bench, all machines together; ``None`` where a line has no price."""
    found: dict[str, float | None] = {}
    for line in cost.lines:
        so_far = found.get(line.what, 0.0)
        found[line.what] = None if so_far is None or line.amount is None else round(so_far + line.amount, 2)
    return found


#: words for a quantity, its places, and the singular
_WORDS: Mapping[str, tuple[str, int, str]] = {
    "plates": ("plates", 0, "plate"),
    "paper": ("kg of paper", 1, "kg of paper"),
    "press": ("hours of press", 1, "hour of press"),
    "folding": ("hours of folding", 1, "hour of folding"),
    "sewing": ("hours of sewing", 1, "hour of sewing"),
}


def _quantities(cost: Cost) -> dict[str, float]:
    """Plates, kilogrammes and hours; hours only where every machine of the bench states its speed."""
    found: dict[str, float] = {}
    unknown: set[str] = set()
    for line in cost.lines:
        what = "press" if line.what in ("make-ready", "press time") else line.what
        if what not in _WORDS:
            continue
        if what not in ("plates", "paper") and line.unit != "h":
            unknown.add(what)
        found[what] = found.get(what, 0.0) + line.quantity
    return {what: found[what] for what in _WORDS if what in found and what not in unknown}


def _amount(value: float, what: str) -> str:
    """``"4 plates"``; nothing where it rounds to nothing."""
    many, places, single = _WORDS[what]
    shown = f"{value:,.{places}f}"
    if not float(shown.replace(",", "")):
        return ""
    return f"{shown} {single if float(shown.replace(',', '')) == 1 else many}"


def _more(value: float, what: str) -> str:
    return f"{_amount(abs(value), what)} {'more' if value > 0 else 'less'}"


# --- what would beat it -----------------------------------------------------------------------------------------------


def _beaten_by(request: Request, one: Outline, mine: Cost) -> list[str]:
    """Other numbers of pages that make a cheaper book of the same ordinary sections."""
    if mine.total is None or not priced(request.task) or not one.exact:
        return []
    said, seen = [], set()
    for change in _changes(request, one):
        other = _with_pages(request, one, change)
        if other is None or not other.exact:
            continue
        cost = outline_cost(request, other)
        less = round(mine.total - (cost.total or 0.0), 2)
        if cost.total is None or less <= 0 or less in seen:
            continue
        seen.add(less)
        pages = f"{abs(change)} page{'' if abs(change) == 1 else 's'}"
        told = f"{pages} {'less' if change < 0 else 'more'} would make it {_money(less)} {mine.currency}".rstrip()
        said.append(f"{told} cheaper ({_line_differences(mine, cost)}).")
    return said


def _changes(request: Request, one: Outline) -> tuple[int, ...]:
    """Pages to leave out or to add: down to one short section less, down and up to whole ordinary ones."""
    division, whole = one.division, one.base.pages
    sizes = sorted(piece for unit in division.units for piece in unit.pieces)
    wanted: dict[int, None] = {}
    if len(sizes) > 1:
        wanted[division.blanks - sizes[0]] = None
    beyond = division.pages % whole
    if beyond:
        wanted[-beyond] = None
        # nobody knows what pages that are not there yet would carry, unless all others carry the same
        if len(set(request.masks[request.front :])) == 1 and whole - beyond > division.blanks:
            wanted[whole - beyond] = None
    stitched = request.task.binding == bind.STITCHED
    return tuple(n for n in wanted if n and request.pages + n > 0 and not (stitched and n > 0))


def _with_pages(request: Request, one: Outline, change: int) -> Outline | None:
    masks = request.masks[:change] if change < 0 else (*request.masks, *request.masks[-1:] * change)
    asked = evolve(request, pages=request.pages + change, whole=request.whole + change, masks=masks)
    try:
        return of_other_pages(asked, one)
    except NoPlan:  # an insert of the job stands where the shorter book has no page
        return None


def _pinned(job: Job) -> str:
    """What the job settles, so that it was not a matter of cost."""
    names = {
        "press": job.press.name,
        "way to print": job.press.way,
        "sheet": job.paper.sheet,
        "folder": job.bindery.folder,
        "fold": job.sections.fold,
        "pages of a section": job.sections.pages,
    }
    return _listed([what for what, said in names.items() if said is not None])


def _money(amount: float) -> str:
    return f"{amount:,.2f}"


def _listed(items: Sequence[str]) -> str:
    there = [item for item in items if item]
    return there[0] if len(there) == 1 else f"{', '.join(there[:-1])} and {there[-1]}" if there else ""
