# SPDX-License-Identifier: AGPL-3.0-or-later
"""The sentences of a plan: what was assumed, what more would cost nothing, what was refused.  Pure."""

from __future__ import annotations

from attrs import frozen

from foldproof.job.model import House, HousePress, Job
from foldproof.makeup.binding import LEAFLET, STITCHED, STITCHED_THICK_MM, Panel
from foldproof.makeup.folding import Scheme
from foldproof.makeup.inserts import insert_words
from foldproof.makeup.paper import PaperChoice, PaperSheet
from foldproof.makeup.sections import Division, Unit, divide
from foldproof.units import format_mm, format_size_mm


@frozen
class Asked:
    """What the plan answers."""

    title: str
    pages: int
    trim_mm: tuple[float, float]
    bleed_mm: float
    job: Job
    house: House
    paper: PaperChoice
    binding: str
    reading: str


@frozen
class Chosen:
    """What was chosen, as far as the sentences need it."""

    base: Unit
    division: Division
    press: HousePress
    sheet: PaperSheet
    size_mm: tuple[float, float]
    grain_right: bool
    schemes: tuple[Scheme, ...]
    folders: tuple[str, ...]
    sheets: int
    one_sided: int  #: of these, sheets with an empty side
    panel: Panel
    fallback: bool
    way: str  #: to print the fullest sheets
    #: press, way and paper of the other sheets
    others: tuple[tuple[str, str, str], ...]


_TURNS = {
    "two formes": "two formes a sheet, turned side to side with the same gripper edge",
    "work and turn": "work and turn: one forme for both sides, turned side to side with the same gripper edge",
    "work and tumble": "work and tumble: one forme for both sides, turned head to tail, the tail becoming the gripper",
    "perfecting": "perfecting: two formes in one pass, turned head to tail, the tail becoming the gripper",
    "one side": "printed on one side",
}


def assumptions(asked: Asked, chosen: Chosen) -> tuple[str, ...]:
    """Binding, sections, blanks, stock, fold, grain, sheet, press: a sentence each, in this order."""
    return (
        _binding(asked, chosen),
        _sections(asked, chosen),
        _blanks(asked, chosen),
        f"Stock: {asked.paper.name}, {asked.paper.grammage:g} g/m2, "
        f"a leaf {asked.paper.caliper_mm * 1000:.0f} µm thick ({asked.paper.assumed}).",
        *insert_words(chosen.division, asked.job.inserts, asked.paper.name, asked.job.book.blanks_front),
        _fold(chosen),
        _grain(asked, chosen),
        _sheet(chosen),
        _press(chosen),
    )


def _press(chosen: Chosen) -> str:
    bare = chosen.one_sided == chosen.sheets and chosen.way == "two formes"
    text = f"Press: {chosen.press.name}, {'one forme a sheet, its other side bare' if bare else _TURNS[chosen.way]}"
    ways: dict[str, list[str]] = {}
    for press, way, _ in chosen.others:
        if (press, way) != (chosen.press.name, chosen.way):
            ways.setdefault(press, []).append(way)
    presses = [f"{press} ({' or '.join(dict.fromkeys(each))})" for press, each in ways.items()]
    return f"{text}; the other sheets on {_and(presses)}." if presses else f"{text}."


def _sheet(chosen: Chosen) -> str:
    wide = format_mm(chosen.size_mm[0])
    text = f"Sheet: {format_size_mm(*chosen.size_mm)} with the gripper edge along its {wide}"
    others = [sheet for sheet in dict.fromkeys(sheet for _, _, sheet in chosen.others) if sheet != chosen.sheet.says]
    if others:
        text += f", others of {_and([f'{sheet})'.replace(', ', ' (') for sheet in others])}"
    text += f"; {_count(chosen.sheets, 'sheet')}{' in all' if others else ''}"
    if chosen.one_sided == chosen.sheets:
        return f"{text}, printed on one side."
    if chosen.one_sided:
        return f"{text}, {chosen.one_sided} of them printed on one side, the rest on both."
    return f"{text}, printed on both sides."


def _binding(asked: Asked, chosen: Chosen) -> str:
    how = {
        "sewn": "sewn, sections gathered, two pages meeting at the spine crease",
        "glued": f"glued, sections gathered, {format_mm(chosen.panel.spine_trim_mm)} ground off each side of the crease"
        if chosen.panel.spine_trim_mm
        else "glued, sections gathered, the spine notched and nothing ground off",
        "stitched": "stitched through the fold, all sections set one in another",
        "leaflet": "a leaflet, cut first and then folded, bound by nothing",
    }[asked.binding]
    text = f"Binding: {how}; reading {asked.reading}."
    thick = chosen.division.capacity / 2 * asked.paper.caliper_mm
    if asked.binding == STITCHED and thick > STITCHED_THICK_MM:
        text += f" The folded book is {format_mm(thick)} thick; ask the binder whether the stitch will hold."
    return text


def _sections(asked: Asked, chosen: Chosen) -> str:
    units = chosen.division.units
    if asked.binding == STITCHED:
        pieces = [Unit((piece,)) for piece in units[0].pieces]
        text = f"Sections: {_listed(pieces)}, one in another, the first outermost"
    else:
        text = f"Sections: {_listed(list(units))}"
    why = ""
    if chosen.fallback:
        asked_for = asked.job.sections.pages
        why = "; the usual ones do not fit (see what was refused)"
        if asked_for:
            why = f"; {asked_for} pages in one fold do not go (see what was refused)"
    elif asked.binding == LEAFLET:
        why = ""
    elif chosen.base.pages > chosen.division.capacity:
        why = ", since the book is smaller than one ordinary section"
    elif asked.job.sections.pages is None and asked.job.sections.fold is None:
        why = f"; {_usual(asked, chosen)}" if text.endswith(")") else f" ({_usual(asked, chosen)})"
    return f"{text}{why}."


def _usual(asked: Asked, chosen: Chosen) -> str:
    limit = asked.house.thin_below
    usual, on = (32, "up to") if asked.paper.grammage <= limit else (16, "above")
    rule = f"{usual}s on paper {on} {limit:g} g/m2"
    if chosen.base.pages == usual:
        return rule
    return f"{'smaller' if chosen.base.pages < usual else 'larger'} than the {rule} that are usual"


def _listed(units: list[Unit]) -> str:
    """``"8 of 16 pages, then 1 of 8, then 1 of 16"``"""
    runs: list[tuple[Unit, int]] = []
    for unit in units:
        if runs and runs[-1][0] == unit:
            runs[-1] = (unit, runs[-1][1] + 1)
        else:
            runs.append((unit, 1))
    parts = []
    for nth, (unit, count) in enumerate(runs):
        size = f"{unit.pages} pages" if nth == 0 else str(unit.pages)
        nested = f" ({' in '.join(str(p) for p in reversed(unit.pieces))})" if len(unit.pieces) > 1 else ""
        parts.append(f"{count} of {size}{nested}")
    return ", then ".join(parts)


def _blanks(asked: Asked, chosen: Chosen) -> str:
    front, back = asked.job.book.blanks_front, chosen.division.blanks
    if not front and not back:
        return f"Blanks: none; {asked.pages} pages fill the sections."
    parts = []
    if front:
        parts.append(f"{front} in front, as the job says")
    if back:
        allowed = asked.house.allowances.blanks
        more = f", more than the {allowed} that the house allows: no shorter section goes"
        parts.append(f"{back} at the end" + (more if asked.job.sections.blanks is None and back > allowed else ""))
    return f"Blanks: {', and '.join(parts)}; {_count(asked.pages, 'page')} in {chosen.division.capacity}."


def _fold(chosen: Chosen) -> str:
    told = []
    for scheme in chosen.schemes:
        whole = scheme.name.removesuffix(", offcut")
        by = f'by scheme "{whole}"' if whole == scheme.name else f'from the offcut of scheme "{whole}"'
        told.append(f"{scheme.pages} pages {by} ({', '.join(scheme.folds)})")
    names = list(dict.fromkeys(chosen.folders))
    return f"Fold: {'; '.join(told)}; {'folder' if len(names) == 1 else 'folders'} {_and(names)}."


def _grain(asked: Asked, chosen: Chosen) -> str:
    along = f"along the {chosen.sheet.grain} side of the sheet"
    if chosen.grain_right:
        so = "which must be so bought, to lie along the spine" if asked.paper.grain_open else "so along the spine"
        too = any(sheet != chosen.sheet.says for _, _, sheet in chosen.others)
        return f"Grain: {along}, {so}{'; along the spine on the other sheets too' if too else ''}."
    return f"Grain: {along}, as the job says, and so ACROSS the spine: the leaves will wave and the book open badly."


def _and(words: list[str]) -> str:
    """``"a, b and c"``"""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _article(number: int) -> str:
    """Before a number that is said aloud: an eight, an eighteen, a sixteen."""
    return "an" if str(number)[0] == "8" or number in (11, 18) else "a"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def offers(asked: Asked, chosen: Chosen) -> tuple[str, ...]:
    """What would use the blanks, and how few pages less would save a section."""
    said = []
    division = chosen.division
    blanks = division.blanks
    if blanks:
        more = _count(blanks, "page") + " more"
        if chosen.one_sided:  # they may print the side that is empty now
            said.append(f"{more} {'takes' if blanks == 1 else 'take'} no more paper.")
        else:
            said.append(f"{more} {'costs' if blanks == 1 else 'cost'} nothing.")
    saved = _saving(asked, chosen)
    if saved:
        fewer, size, alone = saved
        which = "the" if alone else _article(size)
        said.append(f"{_count(fewer, 'page')} less {'saves' if fewer == 1 else 'save'} {which} {size}-page section.")
    return tuple(said)


def _saving(asked: Asked, chosen: Chosen) -> tuple[int, int, bool] | None:
    """Fewest pages less (up to one ordinary section) that make one section fewer, its size, and whether it is the only
    one of that size."""
    division = chosen.division
    if asked.job.inserts:
        return None  # which pages could go is then not a matter of their number alone
    shorts = [scheme.pages for scheme in chosen.schemes]
    sizes = sorted(piece for unit in division.units for piece in unit.pieces)
    if len(sizes) < 2:
        return None
    fewer = sizes[0] - division.blanks
    if not 0 < fewer < division.pages - asked.job.book.blanks_front:
        return None
    after = divide(division.pages - fewer, chosen.base, shorts, one_unit=asked.binding == STITCHED)
    left = sum(len(unit.pieces) for unit in after.units)
    return (fewer, sizes[0], sizes.count(sizes[0]) == 1) if left < len(sizes) else None
