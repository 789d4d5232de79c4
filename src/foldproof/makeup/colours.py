# SPDX-License-Identifier: AGPL-3.0-or-later
"""What colour costs in plates: sections that share a sheet for it, and pages that bring it to a side by themselves.
Pure.

The order of the book is never touched.  What is offered is a matter for whoever made the pages: a page in black alone,
or its colour on a page near by.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from attrs import frozen

from foldproof.makeup.candidates import Setting
from foldproof.makeup.faces import Faces, Wanted
from foldproof.makeup.outlines import Request
from foldproof.makeup.plan import PagePlace, Side
from foldproof.makeup.rates import cost_of_run, run_input

BLACK = "Black"
#: sides that are told of, at most
_MOST_TOLD = 3
#: pages in colour on one side that are told of together, at most
_MOST_PAGES = 3
#: how far off a page is looked for that the colour could move to
_NEAR = 8

#: inks of every printed side as bit masks: by number of the sheet and side
Masks = dict[tuple[int, Side], int]


@frozen
class Printed:
    """One sheet as far as its plates go."""

    setting: Setting
    blocks: tuple[Wanted, ...]
    copies_on: int

    @property
    def halved(self) -> bool:
        return self.setting.bed.halved


def colour_rules(request: Request, sheets: Sequence[Printed], plates: int) -> tuple[str, ...]:
    """That sections stand together for their colour, where that drops plates.

    Args:
        plates: of the plan.  They are held against those of the same sheets filled in the order of the gathering, no
            section laid face down.
    """
    in_order = plates_in_order(request, sheets)
    if plates >= in_order:
        return ()
    told = []
    for number, sheet in enumerate(sheets, start=1):
        carry = sorted({block.unit + 1 for block in sheet.blocks if _colours(request, sheet, block)})
        if len(carry) > 1:
            told.append(f"{_which('Section', carry)} stand on sheet {number}, since they carry colour")
    instead = f"{_count(plates, 'plate')} for the book instead of {in_order} in the order of the gathering"
    if not told:
        return (f"Sheets are filled by the inks that their sections carry: {instead}.",)
    return (f"{'; '.join((told[0], *(text[0].lower() + text[1:] for text in told[1:])))}: {instead}.",)


def plates_in_order(request: Request, sheets: Sequence[Printed]) -> int:
    """Plates of the same sheets if their sections followed one another, all face up."""
    waiting: dict[tuple[int, int], list[Wanted]] = defaultdict(list)
    for block in sorted((b for sheet in sheets for b in sheet.blocks), key=lambda b: (b.unit, b.part)):
        waiting[block.kind.pages, block.kind.stock].append(block)
    plates = 0
    for sheet in sheets:
        front = back = 0
        for here in sheet.blocks:
            up, down = _faces(request, sheet, waiting[here.kind.pages, here.kind.stock].pop(0))
            front, back = front | up, back | down
        plates += _plates(sheet.halved, front, back)
    return plates


def colour_offers(
    request: Request, sheets: Sequence[Printed], places: Sequence[PagePlace], again: Sequence[PagePlace]
) -> tuple[str, ...]:
    """Of the sides to which a page or two bring colour, those that cost the most plates, a sentence each."""
    if BLACK not in request.inks or len(request.inks) < 2:
        return ()
    black = 1 << request.inks.index(BLACK)
    stand = [place for place in (*places, *again) if place.page is not None]
    on: dict[tuple[int, Side], list[int]] = defaultdict(list)
    for place in stand:
        on[place.sheet, place.side].append(place.position)
    if any(sheet.halved for sheet in sheets):
        for number, sheet in enumerate(sheets, start=1):
            if sheet.halved:  # one set of plates prints both sides
                both = sorted({*on.pop((number, Side.FRONT), []), *on.pop((number, Side.BACK), [])})
                on[number, Side.FRONT] = both
    found = []
    for (number, side), positions in on.items():
        coloured = sorted({at for at in positions if request.masks[at] & ~black})
        # of a side that is all in colour no page brings it there
        if not 0 < len(coloured) <= _MOST_PAGES or len(coloured) == len(set(positions)):
            continue
        masks = _lean(request.masks, coloured, black)
        saved = _of_side(request.masks, positions) - _of_side(masks, positions)
        if saved > 0:
            found.append((-saved, len(coloured), number, side, coloured))
    found.sort(key=lambda one: one[:3])
    return tuple(
        _offer(request, sheets, on, number, side, coloured, -less)
        for less, _, number, side, coloured in found[:_MOST_TOLD]
    )


def _offer(
    request: Request,
    sheets: Sequence[Printed],
    on: dict[tuple[int, Side], list[int]],
    number: int,
    side: Side,
    coloured: Sequence[int],
    saved: int,
) -> str:
    black = 1 << request.inks.index(BLACK)
    pages = [at - request.front + 1 for at in coloured]
    alone = len(pages) == 1
    where = f"sheet {number}" if sheets[number - 1].halved else f"the {side.value} of sheet {number}"
    money = _money_saved(request, sheets[number - 1], on, number, _lean(request.masks, coloured, black))
    text = (
        f"{_which('Page', pages)} alone {'brings' if alone else 'bring'} colour to {where}: in black "
        f"{'it' if alone else 'they'} would save {_count(saved, 'plate')}{money}"
    )
    if alone:
        near = _near(request, on, coloured[0])
        if near is not None:
            page, fewer = near
            text += f"; with its colour on page {page - request.front + 1} instead, {_count(fewer, 'plate')}"
    return f"{text}."


def _near(request: Request, on: dict[tuple[int, Side], list[int]], at: int) -> tuple[int, int] | None:
    """The nearest page that could take the colour of page ``at``, and how many plates that saves in the whole book."""
    of = {position: key for key, positions in on.items() for position in positions}
    best: tuple[int, int, int] | None = None
    for other in range(max(request.front, at - _NEAR), min(len(request.masks), at + _NEAR + 1)):
        if other not in of or of[other] == of[at]:
            continue
        masks = list(request.masks)
        masks[at], masks[other] = masks[other], masks[at]
        touched = (of[at], of[other])
        fewer = sum(_of_side(request.masks, on[key]) - _of_side(masks, on[key]) for key in touched)
        if fewer > 0 and (best is None or (-fewer, abs(other - at), other) < best):
            best = -fewer, abs(other - at), other
    return None if best is None else (best[2], -best[0])


def _money_saved(
    request: Request, sheet: Printed, on: dict[tuple[int, Side], list[int]], number: int, masks: Sequence[int]
) -> str:
    """What the sheet costs less with other inks, where everything has its price."""
    costs = []
    for each in (request.masks, masks):
        front, back = (_union(each, on.get((number, side), [])) for side in (Side.FRONT, Side.BACK))
        if sheet.halved:
            back = front
        pages = [block.kind.pages for block in sheet.blocks]
        counted = [(size, pages.count(size)) for size in dict.fromkeys(pages)]
        run = run_input(request.task, sheet.setting, sheet.copies_on, counted, front, back)
        costs.append(None if run is None else cost_of_run(request.task, run).money)
    before, after = costs
    if before is None or after is None or not request.task.house.currency:
        return ""
    return f" ({(before - after) / 1e6:.2f} {request.task.house.currency})"


def _lean(masks: Sequence[int], positions: Sequence[int], black: int) -> tuple[int, ...]:
    """The inks of the book with some pages in black alone."""
    lean = list(masks)
    for at in positions:
        lean[at] = black
    return tuple(lean)


def _of_side(masks: Sequence[int], positions: Sequence[int]) -> int:
    return _union(masks, positions).bit_count()


def _union(masks: Sequence[int], positions: Sequence[int]) -> int:
    both = 0
    for at in positions:
        both |= masks[at]
    return both


def _plates(halved: bool, front: int, back: int) -> int:
    return (front | back).bit_count() if halved else front.bit_count() + back.bit_count()


def _faces(request: Request, sheet: Printed, block: Wanted) -> Faces:
    """Inks of the forme that lies up, and of the other, by the fold that this sheet has for so many pages."""
    ways = request.task.ways[block.kind.pages]
    one, other = block.kind.faces[ways.index(sheet.setting.blocks[block.kind.pages].way)]
    return (other, one) if block.flipped else (one, other)


def _colours(request: Request, sheet: Printed, block: Wanted) -> bool:
    front, back = _faces(request, sheet, block)
    black = 1 << request.inks.index(BLACK) if BLACK in request.inks else 0
    return bool((front | back) & ~black)


def _which(what: str, numbers: Sequence[int]) -> str:
    words = [str(number) for number in numbers]
    if len(words) == 1:
        return f"{what} {words[0]}"
    return f"{what}s {', '.join(words[:-1])} and {words[-1]}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
