# SPDX-License-Identifier: AGPL-3.0-or-later
"""What came out wrong, page by page, in sentences that name the pages."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from attrs import frozen

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_read import PageRead, SideRead
from foldproof.prove.book import Place, Trouble
from foldproof.prove.model import Fault, Leg
from foldproof.prove.which import (
    Assigned,
    Expectation,
    Found,
    by_digest,
    cut_by_clip,
    deviation,
    off_by,
    side_of,
    stands_wrong,
    window_of,
)
from foldproof.units import PT_PER_MM

#: how far the size of a written sheet may be from the one told
SHEET_MM = 0.05
#: how far the trim told may be from that of the pages before a note says so: files round to a tenth
TRIM_NOTE_MM = 0.15
NO_PAGE = "something that is no page of the manuscript"


@frozen
class Compared:
    """The first two legs of one place."""

    found: int | None  #: 1-based page that stands there
    shift_mm: float | None
    faults: tuple[Fault, ...]


def numbers(pages: Sequence[int]) -> str:
    """Page numbers for people: ``"page 4"``, ``"pages 3, 5–9 and 12"``."""
    ordered = sorted(set(pages))
    runs: list[list[int]] = []
    for number in ordered:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words: list[str] = []
    for first, last in runs:
        if last - first > 1:
            words.append(f"{first}–{last}")
        else:
            words += [str(n) for n in range(first, last + 1)]
    text = words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
    return f"page{'' if len(ordered) == 1 else 's'} {text}"


def of_instructions(
    troubles: Sequence[Trouble],
    sides: Sequence[SideRead],
    pages: Sequence[PageRead],
    told: FoldingInstructions,
) -> list[Fault]:
    """Faults of the folding itself; where it can be told, with the pages that the piece of paper carries."""
    out = []
    carried = _carried(sides, pages, told)
    for trouble in troubles:
        has = carried.get(trouble.section or "", ())
        says = trouble.says + (f" It carries {numbers(has)}." if has else "")
        out.append(Fault(Leg.FOLD, None, has[0] if has else None, trouble.sheet, None, says))
    return out


def _carried(
    sides: Sequence[SideRead], pages: Sequence[PageRead], told: FoldingInstructions
) -> dict[str, tuple[int, ...]]:
    """The manuscript pages whose forms lie in the rectangle of each section."""
    named = by_digest(pages)
    out: dict[str, list[int]] = defaultdict(list)
    sheets = {sheet.number: sheet for sheet in told.sheets}
    for side in sides:
        number, name = side_of(side)
        sheet = sheets.get(number)
        if sheet is None:
            continue
        for placed in side.placed:
            if placed.digest not in named:
                continue
            x = (placed.clip[0] + placed.clip[2]) / 2 / PT_PER_MM
            y = (placed.clip[1] + placed.clip[3]) / 2 / PT_PER_MM
            if name == "back":
                x, y = (sheet.width_mm - x, y) if sheet.turn == "side to side" else (x, sheet.height_mm - y)
            for section in sheet.sections:
                x0, y0, x1, y1 = section.rect_mm
                if x0 <= x <= x1 and y0 <= y <= y1:
                    out[section.id].append(named[placed.digest][0])
    return {name: tuple(sorted(set(found))) for name, found in out.items()}


def of_sheets(sides: Sequence[SideRead], told: FoldingInstructions) -> list[Fault]:
    """Are these the sheets that the instructions speak of?"""
    out = []
    if len(sides) != 2 * len(told.sheets):
        out.append(
            Fault(
                Leg.FOLD, None, None, None, None,
                f"The file has {len(sides)} sides; {len(told.sheets)} sheets printed on both sides "
                f"have {2 * len(told.sheets)}.",
            )
        )  # fmt: skip
    by_number = {sheet.number: sheet for sheet in told.sheets}
    for side in sides:
        number, name = side_of(side)
        sheet = by_number.get(number)
        if sheet is None:
            continue
        if side.annotated:
            says = f"Sheet {number}, {name}, carries annotations, which may be printed over its pages."
            out.append(Fault(Leg.FOLD, None, None, number, name, says))
        if side.blends_no_cmyk:
            says = f"Sheet {number}, {name}, is blended in grey or RGB: its process colours would be mixed anew."
            out.append(Fault(Leg.FOLD, None, None, number, name, says))
        if side.cropped:
            says = f"Sheet {number}, {name}, has a CropBox smaller than the sheet: a plate may be cut to it."
            out.append(Fault(Leg.FOLD, None, None, number, name, says))
        wide, high = side.width_pt / PT_PER_MM, side.height_pt / PT_PER_MM
        if abs(wide - sheet.width_mm) > SHEET_MM or abs(high - sheet.height_mm) > SHEET_MM:
            out.append(
                Fault(
                    Leg.FOLD, None, None, number, name,
                    f"Sheet {number}, {name}, measures {wide:.2f} x {high:.2f} mm; "
                    f"it should be {sheet.width_mm:.2f} x {sheet.height_mm:.2f} mm.",
                )
            )  # fmt: skip
    return out


def of_trim(pages: Sequence[PageRead], told: FoldingInstructions) -> list[str]:
    """A note where the book is trimmed to another size than most pages have; perhaps it is meant."""
    sizes = Counter(
        (round((p.trim[2] - p.trim[0]) / PT_PER_MM, 1), round((p.trim[3] - p.trim[1]) / PT_PER_MM, 1)) for p in pages
    )
    if not sizes:
        return []
    (wide, high), _ = sizes.most_common(1)[0]
    if abs(wide - told.trim_mm[0]) <= TRIM_NOTE_MM and abs(high - told.trim_mm[1]) <= TRIM_NOTE_MM:
        return []
    return [
        f"The book is trimmed to {told.trim_mm[0]:.1f} x {told.trim_mm[1]:.1f} mm, "
        f"but most pages of the manuscript to {wide:.1f} x {high:.1f} mm."
    ]


def where_from(place: Place) -> str:
    return f"sheet {place.sheet}, {place.side} (piece {place.section})"


def compare(
    place: Place,
    expected: int | None,
    assigned: Assigned,
    pages: Sequence[PageRead],
    homes: dict[int, list[Place]],
    told: FoldingInstructions,
    slack_mm: float,
) -> Compared:
    """Which page stands at a place, and where; ``homes`` tells where else a page stands."""
    found = assigned.at.get(place.position, [])
    faults: list[Fault] = []
    if expected is None:
        for each in found:
            name = numbers(each.pages[:1]) if each.pages else NO_PAGE
            says = (
                f"Nothing belongs on {where_from(place)}, place {place.of_book + 1} of the book, "
                f"but {name} stands there."
            )
            faults.append(Fault(Leg.WHICH, place.position, None, place.sheet, place.side, says))
        first = next((each.pages[0] for each in found if each.pages), None)
        return Compared(first, None, tuple(faults))
    page = pages[expected - 1]
    mine = [each for each in found if expected in each.pages]
    others = [each for each in found if expected not in each.pages]
    if not mine and not (page.empty and not found):
        faults.append(_instead(place, expected, others, homes))
    elif others:
        also = _named(others)
        says = f"On {where_from(place)} stands page {expected}, which belongs there, and with it {also}."
        faults.append(Fault(Leg.WHICH, place.position, expected, place.sheet, place.side, says))
    if len(mine) > 1:
        says = f"Page {expected} is drawn {len(mine)} times on {where_from(place)}."
        faults.append(Fault(Leg.WHICH, place.position, expected, place.sheet, place.side, says))
    if not mine:
        other = next((each.pages[0] for each in others if each.pages), None)
        return Compared(other, None, tuple(faults))
    window, visible = window_of(page, place, told.bleed_mm, slack_mm)
    worst = 0.0
    for each in mine:
        if each.placed.settings:
            names = ", ".join(dict.fromkeys(each.placed.settings))
            says = f"Page {expected} on {where_from(place)} is drawn under settings that the sheet makes ({names})."
            faults.append(Fault(Leg.WHERE, place.position, expected, place.sheet, place.side, says))
        off = deviation(page, each.placed, place)
        worst = max(worst, off_by(off))
        for wrong in (stands_wrong(off), cut_by_clip(each.placed, place, window, visible)):
            if wrong:
                says = f"Page {expected} on {where_from(place)} {wrong}."
                faults.append(Fault(Leg.WHERE, place.position, expected, place.sheet, place.side, says))
    return Compared(expected, round(worst, 4), tuple(faults))


def _named(found: Sequence[Found]) -> str:
    known = [each.pages[0] for each in found if each.pages]
    return numbers(known) if known else NO_PAGE


def _instead(place: Place, expected: int, others: Sequence[Found], homes: dict[int, list[Place]]) -> Fault:
    elsewhere = homes.get(expected, [])
    says = f"Page {expected} belongs on {where_from(place)}, but "
    if others:
        says += f"{_named(others)} {'stand' if len({o.pages for o in others if o.pages}) > 1 else 'stands'} there"
    else:
        says += "nothing stands there"
    if elsewhere:
        says += f"; page {expected} came on {' and '.join(where_from(p) for p in elsewhere[:3])}"
    return Fault(Leg.WHICH, place.position, expected, place.sheet, place.side, says + ".")


def of_strays(assigned: Assigned) -> list[Fault]:
    """Pages that stand where no leaf is."""
    out = []
    for sheet, side, found in assigned.stray:
        says = f"Page {found.pages[0]} stands on sheet {sheet}, {side}, where no leaf is."
        out.append(Fault(Leg.WHICH, None, found.pages[0], sheet, side, says))
    return out


def of_order(expectation: Expectation, places: int, total: int) -> list[Fault]:
    """Pages for which the book has no place, and a recto that became a verso."""
    out = []
    if expectation.missing:
        says = f"The folded book has {places} places, so {numbers(expectation.missing)} of {total} cannot be in it."
        out.append(Fault(Leg.WHICH, None, expectation.missing[0], None, None, says))
    if expectation.offset % 2:
        says = (
            f"{expectation.offset} empty pages stand before page 1, "
            "so every right-hand page has become a left-hand one."
        )
        out.append(Fault(Leg.WHICH, 0, 1, None, None, says))
    return out
