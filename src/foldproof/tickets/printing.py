# SPDX-License-Identifier: AGPL-3.0-or-later
"""How the sheets of one kind are printed: presses, stocks, ways, inks by side, numbers.  Words for the press ticket.

Sheets of one kind are cut and folded alike; one may go on another press or stock all the same, or carry more inks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from foldproof.makeup.instructions import Section
from foldproof.makeup.plan import Plan, SheetKind, SheetRun
from foldproof.tickets.labels import sheets_words
from foldproof.units import format_mm, format_size_mm

TURN_WORDS = {
    "side to side": (
        "Between front and back the sheet turns about its upright axis: the same edge goes to the grippers, the side"
        " lay changes over to the other side of the machine, so that it is the same edge of the paper."
    ),
    "head to tail": (
        "Between front and back the sheet turns about its level axis: the other edge goes to the grippers, so both"
        " ends need a gripper margin; the side lay stays on its side. Sheets must be cut square and to one length."
    ),
}
WAY_WORDS = {
    "two formes": "Two formes: each side has plates of its own, and the pile goes through once for each.",
    "work and turn": (
        "Work and turn: one set of plates prints both sides. When the pile is through, turn it side to side and print"
        " it again with the same plates; the halves of the sheet are alike."
    ),
    "work and tumble": (
        "Work and tumble: one set of plates prints both sides. When the pile is through, turn it head to tail and"
        " print it again with the same plates; the halves of the sheet are alike."
    ),
    "perfecting": "Perfecting: two formes in one pass; the press itself turns the sheet between them.",
    "one side": "One side: the front alone is printed; the back stays white.",
}


def runs_of(plan: Plan, kind: SheetKind) -> tuple[SheetRun, ...]:
    """The runs of the sheets of a kind; none where the plan states none."""
    return tuple(plan.run_of(number) for number in kind.sheets) if plan.runs else ()


def printing(plan: Plan, kind: SheetKind, turn: str) -> dict[str, Any]:
    """What the press ticket of a kind says of paper and press, as words; ``rows`` go under ``heads``."""
    runs = runs_of(plan, kind)
    if not runs:
        return {
            "press": plan.press.name,
            "stock": f"{plan.stock}, {plan.grammage:g} g/m²",
            "sheet": format_size_mm(*plan.sheet_mm),
            "grain": _grain(plan.grain, plan.grain_along_spine),
            "gripper": _gripper((plan.press.gripper_mm,)),
            "way": "",
            "copies": "",
            "passes": "",
            "numbers": "",
            "folder": plan.folder,
            "says": [TURN_WORDS.get(turn, "")],
            "heads": [],
            "rows": [],
            "weight": _weight(plan.grammage, plan.sheet_mm),
        }
    ways = _each(runs, lambda run: run.way)
    heads, rows = _table(runs)
    heaviest = max(runs, key=lambda run: run.grammage * run.sheet_mm[0] * run.sheet_mm[1])
    return {
        "press": "; ".join(_each(runs, lambda run: run.press.name)),
        "stock": "; ".join(_each(runs, _stock)),
        "sheet": "; ".join(_each(runs, lambda run: format_size_mm(*run.sheet_mm))),
        "grain": "; ".join(_each(runs, lambda run: _grain(run.grain, run.grain_along_spine))),
        "gripper": _gripper(tuple(dict.fromkeys(run.press.gripper_mm for run in runs))),
        "way": "; ".join(ways),
        "copies": _copies(runs),
        "passes": " or ".join(_each(runs, lambda run: f"{len(run.formes)}" if run.formes else "")),
        "numbers": f"{sum(run.net_sheets for run in runs):,} net, {sum(run.gross_sheets for run in runs):,} gross, for"
        f" {'1 copy' if plan.run_copies == 1 else f'{plan.run_copies:,} copies'}",
        "folder": "; ".join(folder for folder in _each(runs, lambda run: run.folder) if folder),
        "says": [
            *(WAY_WORDS[way] for way in ways),
            *([TURN_WORDS.get(turn, "")] if set(ways) != {"one side"} else []),
            passes_words(runs),
        ],
        "heads": heads,
        "rows": rows,
        "weight": _weight(heaviest.grammage, heaviest.sheet_mm),
    }


def passes_words(runs: Sequence[SheetRun]) -> str:
    """Which sheets go through the press oftener than their way to print asks for, as inks outnumber printing units."""
    more: dict[tuple[str, int], list[int]] = {}
    for run in runs:
        sides = 1 if run.way == "perfecting" else 2 if run.one_set else sum(1 for inks in run.inks if inks)
        if len(run.formes) > sides:
            more.setdefault((run.press.name, len(run.formes)), []).append(run.sheet)
    return " ".join(
        f"More inks than {press} has printing units: {sheets_words(sheets)} {'go' if len(sheets) > 1 else 'goes'}"
        f" through {passes} times in all, a side again for the inks that are left; the pile dries flat between."
        for (press, passes), sheets in more.items()
    )


def again_words(sections: Iterable[Section]) -> str:
    """Which pieces of a sheet are others once more."""
    copies: dict[str, list[str]] = {}
    for section in sections:
        if section.copy_of is not None:
            copies.setdefault(section.copy_of, []).append(section.id)
    if not copies:
        return ""
    said = "; ".join(f"{', '.join(ids)} as {of}" for of, ids in copies.items())
    return f"Printed again for other copies of the book, to be laid on the same pile: {said}."


def over_words(sections: Iterable[Section]) -> str:
    """Which pieces of a sheet are turned over before they are folded."""
    ids = [section.id for section in sections if section.turned_over]
    return f"Turn over, side to side, before folding: {', '.join(ids)}." if ids else ""


def _table(runs: Sequence[SheetRun]) -> tuple[list[str], list[list[str]]]:
    """One row for sheets that are printed alike; press, stock and way are named where they are not the same for all."""
    alike: dict[tuple[Any, ...], list[SheetRun]] = {}
    for run in runs:
        alike.setdefault((run.press.name, _stock(run), run.sheet_mm, run.way, run.copies_on, run.inks), []).append(run)
    telling: list[tuple[str, Callable[[SheetRun], str]]] = [
        ("press", lambda run: run.press.name),
        ("stock", _stock),
        ("sheet", lambda run: format_size_mm(*run.sheet_mm)),
        ("way", lambda run: run.way),
        ("copies on", lambda run: f"{run.copies_on}"),
    ]
    telling = [(head, tell) for head, tell in telling if len(_each(runs, tell)) > 1]
    heads = ["sheets", *(head for head, _ in telling), "front", "back", "plates", "net", "gross"]
    rows = [
        [
            sheets_words([run.sheet for run in same]).split(" ", 1)[1],
            *(tell(same[0]) for _, tell in telling),
            _inks(same[0].inks[0]),
            "same plates" if same[0].one_set else _inks(same[0].inks[1]),
            f"{sum(run.plates for run in same):,}",
            f"{sum(run.net_sheets for run in same):,}",
            f"{sum(run.gross_sheets for run in same):,}",
        ]
        for same in alike.values()
    ]
    return heads, rows


def _each(runs: Sequence[SheetRun], tell: Callable[[SheetRun], str]) -> list[str]:
    return list(dict.fromkeys(tell(run) for run in runs))


def _stock(run: SheetRun) -> str:
    return f"{run.stock}, {run.grammage:g} g/m²"


def _grain(side: str, along: bool) -> str:
    return f"along the sheet’s {side} side, {'along' if along else 'across'} the spine"


def _gripper(margins_mm: Sequence[float]) -> str:
    return f"{' or '.join(format_mm(margin) for margin in margins_mm)} at the foot of each drawing"


def _inks(names: Sequence[str]) -> str:
    return ", ".join(names) if names else "nothing"


def _copies(runs: Sequence[SheetRun]) -> str:
    counts = _each(runs, lambda run: f"{run.copies_on:,}")
    return f"{' or '.join(counts)} of each section on a sheet"


def _weight(grammage: float, sheet_mm: tuple[float, float]) -> str:
    """What a pile weighs, so that nobody has to guess before lifting (grammage x area)."""
    kilos = grammage * sheet_mm[0] * sheet_mm[1] / 1e6 * 500 / 1000
    return f"500 sheets weigh about {kilos:.1f} kg: lift less, or use the pile lift."
