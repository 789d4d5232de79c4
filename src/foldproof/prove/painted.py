# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a side paints on a leaf besides its page: too thin, too pale or too near in colour for the look to tell.

Pages are forms and marks stand outside every trim, but for the declared collation mark; so whatever else is painted
within the trim of a leaf does not belong there, however little of it shows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

import numpy as np

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_affine import Box, box_round
from foldproof.pdf.proof_read import SideRead
from foldproof.prove.book import Book, Place
from foldproof.prove.faults import where_from
from foldproof.prove.model import Fault, Leg
from foldproof.prove.which import TO_MM, side_of

#: how far into the trim something must reach, mm: a rule that ends at the trim touches it
REACH_MM = 0.1


def foreign(
    book: Book,
    sides: Sequence[SideRead],
    expected: Sequence[int | None],
    told: FoldingInstructions,
    already: Collection[int | None],
) -> list[Fault]:
    """One fault for every leaf on which something besides its page is painted; none where it has one ``already``."""
    places: dict[tuple[int, str], list[Place]] = defaultdict(list)
    for place in book.places:
        if place and place.position not in already:
            places[place.sheet, place.side].append(place)
    strips = _strips(book, told)
    out = []
    for side in sides:
        here = places[side_of(side)]
        if not side.painted or not here:
            continue
        boxes = np.array([box_round(TO_MM, box) for box in side.painted])
        for strip in strips[side_of(side)]:
            boxes = boxes[~_within(boxes, strip)]
        for place in here:
            on = boxes[_meets(boxes, place.on_side)]
            if len(on):
                out.append(_fault(place, expected[place.position], (*on[:, :2].min(axis=0), *on[:, 2:].max(axis=0))))
    return out


def _strips(book: Book, told: FoldingInstructions) -> dict[tuple[int, str], list[Box]]:
    """The spine folds on which collation marks step down, side frame: they are looked at by themselves."""
    out: dict[tuple[int, str], list[Box]] = defaultdict(list)
    for bar in book.bars:
        place = book.places[bar.position]
        if place and told.collation:
            low, high = place.panel[1], place.panel[3]
            strip = (bar.box[0] - REACH_MM, low, bar.box[2] + REACH_MM, high)
            out[bar.sheet, bar.side].append(box_round(place.to_side, strip))
    return out


def _within(boxes: np.typing.NDArray[np.float64], outer: Box) -> np.typing.NDArray[np.bool_]:
    x0, y0, x1, y1 = boxes.T
    return np.asarray((x0 >= outer[0]) & (y0 >= outer[1]) & (x1 <= outer[2]) & (y1 <= outer[3]))


def _meets(boxes: np.typing.NDArray[np.float64], leaf: Box) -> np.typing.NDArray[np.bool_]:
    x0, y0, x1, y1 = boxes.T
    return np.asarray(
        (x0 < leaf[2] - REACH_MM) & (x1 > leaf[0] + REACH_MM) & (y0 < leaf[3] - REACH_MM) & (y1 > leaf[1] + REACH_MM)
    )


def _fault(place: Place, expected: int | None, box: Box) -> Fault:
    if expected is None:
        what = f"Place {place.of_book + 1} of the book, which should be empty, on {where_from(place)},"
    else:
        what = f"Page {expected} on {where_from(place)}"
    leaf = place.on_side
    wide = min(box[2], leaf[2]) - max(box[0], leaf[0])
    high = min(box[3], leaf[3]) - max(box[1], leaf[1])
    says = f"{what} has something painted on it that is no page, within {wide:.1f} x {high:.1f} mm of the sheet."
    return Fault(Leg.LOOK, place.position, expected, place.sheet, place.side, says)
