# SPDX-License-Identifier: AGPL-3.0-or-later
"""Collation marks: the strip of spine fold on which they step down, looked at, and what was seen told as faults."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from attrs import frozen

from foldproof.makeup.instructions import Collation, FoldingInstructions
from foldproof.pdf.proof_affine import Box, Map, back, box_round, chain, common
from foldproof.pdf.proof_read import PageRead, SideRead
from foldproof.pdf.proof_render import Drawing, Pixels, Viewer, Window
from foldproof.prove.book import Bar, Book, parts_of
from foldproof.prove.faults import where_from
from foldproof.prove.model import Fault, Leg, MarkRead
from foldproof.prove.pixels import GRIDS_PX, PAPER, beyond, largest, smallest
from foldproof.prove.which import TO_MM, page_to_leaf, window_of
from foldproof.units import PT_PER_MM

#: darkest channel of a pixel that counts as printed black
BLACK = 120
#: shorter runs of black lines are no part of a mark
LEAST_MM = 0.5
_DPI = 288.0

Step = tuple[int, int]  #: step, and run of the steps; both 0-based


@frozen
class StripLook:
    """The collation mark of one gathered unit and the spine fold around it: leaf frame of the unit's first page."""

    position: int  #: of the unit's first page: no two marks have the same
    on_sheet: Map
    window: Box  #: the strip in which marks step down, from foot to head
    box: Box  #: of the mark, from its head end to its foot end, gaps and all
    step: Step
    runs: tuple[int, ...]  #: of all marks of the book
    mark: Collation
    #: page, its medium, whether annotations print on it, its map into this frame, and the half of the strip that it may
    #: reach
    pages: tuple[tuple[int, Box, bool, Map, Box], ...]

    @property
    def bar(self) -> tuple[Box, ...]:
        """Its parts, the uppermost first."""
        return parts_of(self.box, self.step[1], self.mark)

    @property
    def others(self) -> Iterator[tuple[Step, tuple[Box, ...]]]:
        """What the marks of other steps and runs look like, those of its own run first.

        Made only where they are wanted, which is where the mark is not: a long book has hundreds of each for hundreds.
        """
        mark, (own_step, own_run) = self.mark, self.step
        left, foot, right, head = self.window
        for run in sorted(self.runs, key=lambda run: (run != own_run, run)):
            for step in range(mark.steps):
                top = self.box[3] + (own_step - step) * mark.step_mm
                if (step, run) != self.step and foot <= top - mark.length_mm and top <= head:
                    yield (step, run), parts_of((left, top - mark.length_mm, right, top), run, mark)


@frozen
class StripSeen:
    """What was seen of one collation mark."""

    position: int
    there: bool
    can_tell: bool  #: false where page matter under the mark is as dark as the mark
    stands_at: Step | None  #: the mark that was found instead
    foreign: bool  #: something else is printed in the strip
    #: what is black there and is no page's: head end and foot end, mm below the head of the strip
    spans: tuple[tuple[float, float], ...] = ()


def strip_of(
    bar: Bar,
    book: Book,
    expected: Sequence[int | None],
    pages: Sequence[PageRead],
    side: SideRead,
    told: FoldingInstructions,
    runs: tuple[int, ...],
) -> StripLook:
    """What to look at for one mark; ``runs``: those of all marks of the book."""
    first = book.places[bar.position]
    last = book.places[bar.last]
    mark = told.collation
    if first is None or mark is None:
        raise ValueError("a bar without a place")
    half = mark.width_mm / 2
    foot, head = first.trim[1], first.trim[3]
    halves = []
    for place, way in ((first, 1), (last, -1)):
        if place is None or (place.sheet, place.side) != (first.sheet, first.side):
            continue
        number = expected[place.position]
        if number is None or not pages:
            continue
        page = pages[number - 1]
        here = chain(place.to_side, back(first.to_side))
        right = (0.0, foot, half, head)
        left = (-half, foot, 0.0, head)
        _, visible = window_of(page, place, told.bleed_mm, 0.0)
        reach = right if way * first.outward > 0 else left
        if visible is not None:
            reach = common(reach, box_round(here, visible))
        if reach[0] < reach[2] and reach[1] < reach[3]:
            halves.append((number, page.medium, page.annotated, chain(page_to_leaf(page, place), here), reach))
    return StripLook(
        position=bar.position,
        on_sheet=chain(side.to_side, TO_MM, back(first.to_side)),
        window=(-half, foot, half, head),
        box=bar.box,
        step=(bar.step, bar.run),
        runs=runs,
        mark=mark,
        pages=tuple(halves),
    )


# --- looking; runs in a worker ---


def see_strip(strip: StripLook, side: Drawing, pages: Viewer | None) -> StripSeen:
    """Is the mark where it belongs, and nothing else printed in the strip that the pages do not print there?"""
    seen = [_on_grid(Window(strip.window, _DPI, GRIDS_PX[0]), strip, side, pages)]
    while seen[-1].foreign and len(seen) < len(GRIDS_PX):
        seen.append(_on_grid(Window(strip.window, _DPI, GRIDS_PX[len(seen)]), strip, side, pages))
    return seen[-1]


def _on_grid(window: Window, strip: StripLook, side: Drawing, pages: Viewer | None) -> StripSeen:
    printed = side.pixels(strip.on_sheet, window, turned=True)
    bare = np.full_like(printed, 255)
    there = _printed(printed, bare, window, strip.bar)
    around = smallest(printed) >= PAPER
    for part in strip.bar:
        around[window.cells(part, 3)] = True
    if there and bool(around.all()):
        # bare paper about the mark: no page reaches the fold
        return StripSeen(strip.position, True, True, None, False, _spans(printed, bare, window))
    own = bare
    if pages is not None:
        for page, medium, annotated, on_strip, half in strip.pages:
            rows, columns = window.cells(half, 0)
            drawn = pages.page(page - 1, medium=medium, annotated=annotated).pixels(on_strip, window, turned=True)
            own[rows, columns] = drawn[rows, columns]
    there = _printed(printed, own, window, strip.bar)
    hidden = any(_black(own, window, box) for box in (*strip.bar, *_gaps(strip.bar)))
    stands_at = None
    if not there:
        stands_at = next(
            (
                step
                for step, parts in strip.others
                if _printed(printed, own, window, parts) and not any(_black(own, window, part) for part in parts)
            ),
            None,
        )
    judged = np.ones(printed.shape[:2], dtype=bool)
    for part in strip.bar:
        judged[window.cells(part, 3)] = False
    judged[:4], judged[-4:] = False, False
    middle = window.cells((0.0, strip.window[1], 0.0, strip.window[3]), 4)
    judged[middle] = False  # the pages' clips meet at the crease
    foreign = pages is not None and any(judged.ravel()[some].any() for some in beyond(printed, own))
    spans = _spans(printed, own, window)
    return StripSeen(strip.position, there, pages is None or not hidden, stands_at, foreign, spans)


def _gaps(parts: Sequence[Box]) -> list[Box]:
    """Between the parts of a mark, from the head downwards."""
    return [(upper[0], lower[3], upper[2], upper[1]) for upper, lower in pairwise(parts)]


def _printed(pixels: Pixels, own: Pixels, window: Window, parts: Sequence[Box]) -> bool:
    """Whether all parts of a mark are black, and no gap between them is but where the pages print it so."""
    return all(_black(pixels, window, part) for part in parts) and not any(
        _black(pixels, window, gap) and not _black(own, window, gap) for gap in _gaps(parts)
    )


def _black(pixels: Pixels, window: Window, bar: Box) -> bool:
    """Whether the inside of a bar is printed black throughout, on every line of pixels."""
    rows, columns = window.cells(bar, -2)
    inside = pixels[rows, columns]
    return inside.size > 0 and bool(((largest(inside) <= BLACK).mean(axis=1) > 0.9).all())


def _spans(pixels: Pixels, own: Pixels, window: Window) -> tuple[tuple[float, float], ...]:
    """The runs of lines that are printed black right across the strip, save where the pages themselves are black."""
    rows, columns = window.cells(window.box, -2)
    black = (largest(pixels[rows, columns]) <= BLACK).mean(axis=1) > 0.9
    black &= ~((largest(own[rows, columns]) <= BLACK).mean(axis=1) > 0.9)
    ends = np.flatnonzero(np.diff(black.astype(np.int8), prepend=0, append=0))
    each = window.dpi / 72 * PT_PER_MM
    found = [((int(end) + rows.start - window.aside_px) / each) for end in ends]
    spans = zip(found[::2], found[1::2], strict=True)
    return tuple((round(top, 1), round(foot, 1)) for top, foot in spans if foot - top >= LEAST_MM)


# --- telling ---


def marks_read(seen: Sequence[StripSeen], book: Book) -> tuple[MarkRead, ...]:
    """What was seen on the back of every gathered section of the book, in their order; other copies are left out."""
    bars = {bar.position: bar for bar in book.bars}
    out = []
    for strip in seen:
        bar = bars[strip.position]
        place = book.places[bar.position]
        if place is not None and place.twin is None:
            out.append(
                MarkRead(
                    bar.unit, bar.position, bar.sheet, bar.side, place.section, strip.spans, strip.there, strip.can_tell
                )
            )
    return tuple(sorted(out, key=lambda mark: mark.unit))


def of_strip(seen: StripSeen, bar: Bar, book: Book, expected: Sequence[int | None], steps: int) -> Fault | None:
    """A sentence for a collation mark that is not where it belongs."""
    place = book.places[bar.position]
    if place is None:
        return None
    number = expected[bar.position]
    begins = f"begins with page {number}" if number is not None else f"begins at place {place.of_book + 1} of the book"
    name = f"the collation mark of gathered section {bar.unit + 1} (which {begins}, {where_from(place)})"
    if not seen.there and seen.stands_at is not None:
        step, run = seen.stands_at
        if step != bar.step:
            says = f"T{name[1:]} stands at step {step + 1} of {steps} instead of step {bar.step + 1}"
        else:
            says = f"T{name[1:]} stands where it belongs"
        says += "." if run == bar.run else f"{' and' if step != bar.step else ', but'} {_instead(run, bar.run)}."
    elif not seen.there:
        says = f"T{name[1:]} is not where step {bar.step + 1} of {steps} belongs{_in_row(bar.run)}."
    elif seen.foreign:
        says = f"Besides {name} something else is printed on the spine fold."
    else:
        return None
    return Fault(Leg.COLLATION, bar.position, number, place.sheet, place.side, says)


def _in_row(run: int) -> str:
    return f", in {_parts(run)}" if run else ""


def _instead(run: int, wanted: int) -> str:
    return f"is in {_parts(run)} instead of {_parts(wanted)}"


def _parts(run: int) -> str:
    return "one piece" if run == 0 else f"{run + 1} parts"


def untold(bar: Bar, book: Book) -> str:
    """A note for a mark that cannot be told from the pages under it."""
    place = book.places[bar.position]
    where = f", {where_from(place)}," if place and place.twin is not None else ""
    return (
        f"The collation mark of gathered section {bar.unit + 1}{where} lies on page matter as dark as itself; "
        "whether it is printed cannot be told."
    )
