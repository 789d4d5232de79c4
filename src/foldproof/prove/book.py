# SPDX-License-Identifier: AGPL-3.0-or-later
"""The nouns of the folded book: places, collation marks, and what is wrong with the instructions."""

from __future__ import annotations

from attrs import field, frozen

from foldproof.makeup.instructions import Collation
from foldproof.pdf.proof_affine import Box, Map, Point, at, box_round, common
from foldproof.prove.reading import beyond_spine


@frozen
class Place:
    """One page of the folded book, or of another copy of it: where it was printed, and what the knives leave."""

    position: int  #: 0-based; those of other copies are counted on past the end of the book
    sheet: int
    side: str  #: ``"front"`` or ``"back"``
    section: str
    unit: int  #: 0-based entry of the gathering
    outward: int
    to_side: Map  #: leaf frame, mm → side frame, mm
    trim: Box  #: leaf frame, mm; may reach past the crease (x = 0) by the push-out
    panel: Box  #: leaf frame, mm: the leaf's own paper
    push_mm: float
    #: how the page is to lie: upright, mm, centre of its trim at the origin → leaf frame, mm
    lays: Map
    twin: int | None = None  #: of another copy: the position in the book where the same page belongs

    @property
    def of_book(self) -> int:
        """0-based place in the book, whichever copy of it this is."""
        return self.position if self.twin is None else self.twin

    @property
    def centre(self) -> Point:
        """Where the centre of the page belongs, leaf frame."""
        return at(self.lays, 0.0, 0.0)

    @property
    def seen(self) -> Box:
        """The trimmed leaf, as far as it is paper on this side of the crease, leaf frame."""
        return common(beyond_spine(self.outward, self.trim), self.panel)

    @property
    def on_side(self) -> Box:
        """The same, side frame, mm."""
        return box_round(self.to_side, self.seen)


@frozen
class Bar:
    """Where the collation mark of a gathered unit belongs: on the back of the fold, half on either page."""

    unit: int
    step: int
    run: int  #: how often the steps were gone through before: in run r the bar is r + 1 equal parts
    sheet: int
    side: str
    position: int  #: the unit's first page, on which half of it lies
    last: int  #: the unit's last page, on which the other half lies
    box: Box  #: leaf frame of the first page, mm: from its head end to its foot end, gaps and all


def parts_of(box: Box, run: int, mark: Collation) -> tuple[Box, ...]:
    """The printed parts of a collation mark, the uppermost first: leaf frame, mm."""
    long = (box[3] - box[1] - run * mark.gap_mm) / (run + 1)
    tops = [box[3] - n * (long + mark.gap_mm) for n in range(run + 1)]
    return tuple((box[0], top - long, box[2], top) for top in tops)


@frozen
class Trouble:
    """A fault of the instructions."""

    says: str
    sheet: int | None = None
    section: str | None = None


@frozen
class Book:
    """The folded book, and what was printed of it again."""

    #: by position, first the book, then its other copies; ``None`` where a section could not be folded
    places: tuple[Place | None, ...]
    bars: tuple[Bar, ...]
    troubles: tuple[Trouble, ...]
    length: int = field()  #: places of the book itself

    @length.default
    def _all(self) -> int:
        return len(self.places)
