# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cutting sheets into pieces with a guillotine: every cut runs from edge to edge of the piece in hand.  Pure; mm.

A layout is a tree: the sheet is parted by parallel cuts, each part again by cuts the other way, until pieces are
finished or left over.  Its frame is the *sheet* as it is drawn: lower left at the origin, y up.  A knife takes no
width.

Reckoned in whole thousandths of a millimetre, so that what fits to a hair is not lost to float dust.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

import numpy as np
import numpy.typing as npt
from attrs import evolve, frozen

from foldproof.errors import AskedWrong
from foldproof.geometry import Rect
from foldproof.units import format_mm, format_size_mm

Point = tuple[float, float]
Ints = npt.NDArray[np.int64]

#: places along one side at which a cut can make sense; more of them come only of pieces smaller than any book
_MOST_PLACES = 300


@frozen
class Part:
    """A part of the sheet: parted again, a finished piece, or left over."""

    rect_mm: Rect
    what: str = ""  #: name of the finished piece; ``""`` of what is parted again or left over
    upright: bool = False  #: whether the knife that parts it stands upright in the drawing
    parts: tuple[Part, ...] = ()  #: from the left where it is upright, else from the foot

    @property
    def size_mm(self) -> tuple[float, float]:
        return self.rect_mm.width, self.rect_mm.height

    @property
    def is_left_over(self) -> bool:
        return not self.what and not self.parts

    def ends(self) -> Iterator[Part]:
        """Finished pieces and what is left over."""
        if not self.parts:
            yield self
        for part in self.parts:
            yield from part.ends()


@frozen
class Cut:
    """One stroke of the knife, from edge to edge of the piece in hand."""

    number: int  #: 1-based, in order
    step: int  #: of the step that it belongs to
    hand_mm: Rect  #: the piece in hand
    start_mm: Point
    end_mm: Point


@frozen
class Step:
    """Pieces that are alike, parted alike: gauges are set once."""

    number: int  #: 1-based, in order: what a step takes in hand, an earlier one made
    hands: tuple[Part, ...]
    words: str


@frozen
class Layout:
    """How one sheet is cut."""

    material: str  #: as the house names it
    sheet_mm: tuple[float, float]
    root: Part
    grain: str = ""  #: ``"up"`` or ``"across"`` as it is drawn; ``""`` where it does not matter

    @property
    def pieces(self) -> tuple[Part, ...]:
        """What is finished."""
        return tuple(part for part in self.root.ends() if part.what)

    @property
    def left_over(self) -> tuple[Part, ...]:
        return tuple(part for part in self.root.ends() if part.is_left_over)

    def count(self, what: str) -> int:
        return sum(1 for part in self.pieces if part.what == what)

    @property
    def waste(self) -> float:
        """Share of the sheet that is left over, 0 to 1."""
        wide, high = self.sheet_mm
        return max(0.0, 1 - sum(part.rect_mm.width * part.rect_mm.height for part in self.pieces) / (wide * high))

    @property
    def steps(self) -> tuple[Step, ...]:
        """What is cut in which order, the largest pieces in hand first: nothing is cut before it is there."""
        inner = sorted(_inner(self.root), key=lambda part: (_order(part), part.rect_mm.y0, part.rect_mm.x0))
        groups = [tuple(alike) for _, alike in groupby(inner, key=_order)]
        return tuple(
            Step(number, hands, _step_words(hands, whole=hands[0] is self.root))
            for number, hands in enumerate(groups, start=1)
        )

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """Every stroke of the knife in order."""
        found: list[Cut] = []
        for step in self.steps:
            for hand in step.hands:
                rest = hand.rect_mm
                for part in hand.parts[:-1]:
                    r = part.rect_mm
                    if hand.upright:
                        start, end = (r.x1, rest.y0), (r.x1, rest.y1)
                        after = evolve(rest, x0=r.x1)
                    else:
                        start, end = (rest.x0, r.y1), (rest.x1, r.y1)
                        after = evolve(rest, y0=r.y1)
                    found.append(Cut(len(found) + 1, step.number, rest, start, end))
                    rest = after
        return tuple(found)


def _inner(part: Part) -> Iterator[Part]:
    if part.parts:
        yield part
        for inner in part.parts:
            yield from _inner(inner)


Shape = tuple[int, int, str, bool, tuple["Shape", ...]]


def _shape(part: Part) -> Shape:
    wide, high = part.size_mm
    return thousandths(wide), thousandths(high), part.what, part.upright, tuple(_shape(inner) for inner in part.parts)


def _order(part: Part) -> tuple[int, Shape]:
    """The largest first: a piece comes after the larger one that it is cut from; those of one shape together."""
    shape = _shape(part)
    return -shape[0] * shape[1], shape


def _step_words(hands: tuple[Part, ...], whole: bool) -> str:
    hand = hands[0]
    wide, high = hand.size_mm
    held = "The sheet," if whole else "The piece of" if len(hands) == 1 else f"Each of the {len(hands)} pieces of"
    along = high if hand.upright else wide
    way = "upright" if hand.upright else "level"
    strokes = len(hand.parts) - 1
    runs, over = [], ""
    for (length, what), alike in groupby(hand.parts, key=lambda p: (_along(p, hand.upright), _called(p))):
        many = len(tuple(alike))
        if what == "left over":
            over = f"; {format_mm(length, 2)} left over"
        else:
            runs.append(f"{many} x {format_mm(length, 2)}{f' ({what})' if what else ''}")
    return (
        f"{held} {format_size_mm(wide, high)}: {strokes} {'cut' if strokes == 1 else 'cuts'} {way} as drawn,"
        f" {format_mm(along, 2)} long, for " + ", ".join(runs) + over + "."
    )


def _along(part: Part, upright: bool) -> float:
    wide, high = part.size_mm
    return round(wide if upright else high, 3)


def _called(part: Part) -> str:
    return "left over" if part.is_left_over else part.what


# --- from sizes to layouts ------------------------------------------------------------------------------------------


@frozen
class Tree:
    """A part by its size alone, thousandths of a millimetre; its place follows from its neighbours."""

    wide: int
    high: int
    what: str = ""
    upright: bool = False
    parts: tuple[Tree, ...] = ()

    @property
    def is_left_over(self) -> bool:
        return not self.what and not self.parts

    def along(self, upright: bool) -> int:
        return self.wide if upright else self.high


def thousandths(length_mm: float) -> int:
    return round(length_mm * 1000)


def parted(wide: int, high: int, upright: bool, parts: Iterable[Tree]) -> Tree:
    """A part cut into these; cuts the same way join, what is left over comes last and in one, alike beside alike."""
    flat: list[Tree] = []
    for part in parts:
        if part.parts and part.upright == upright:
            flat += part.parts
        else:
            flat.append(part)
    kept = sorted(
        (part for part in flat if not part.is_left_over), key=lambda p: (-p.along(upright), p.what, repr(p.parts))
    )
    used = sum(part.along(upright) for part in kept)
    over = (wide if upright else high) - used
    if not kept:
        return Tree(wide, high)
    if over:
        kept.append(Tree(over, high) if upright else Tree(wide, over))
    return kept[0] if len(kept) == 1 else Tree(wide, high, "", upright, tuple(kept))


def laid_out(tree: Tree, material: str, grain: str = "") -> Layout:
    """The layout of a sheet that is parted so."""
    return Layout(material, (tree.wide / 1000, tree.high / 1000), _placed(tree, 0, 0), grain)


def _placed(tree: Tree, x: int, y: int) -> Part:
    rect = Rect(x / 1000, y / 1000, (x + tree.wide) / 1000, (y + tree.high) / 1000)
    parts = []
    for part in tree.parts:
        parts.append(_placed(part, x, y))
        if tree.upright:
            x += part.wide
        else:
            y += part.high
    return Part(rect, tree.what, tree.upright, tuple(parts))


# --- the most pieces of one size ------------------------------------------------------------------------------------


def most_pieces(
    sheet_mm: tuple[float, float],
    piece_mm: tuple[float, float],
    *,
    turn: bool,
    what: str = "piece",
    material: str = "",
    grain: str = "",
) -> Layout | None:
    """As many pieces of one size as guillotine cuts get out of a sheet, and few of them; ``None`` where none fits.

    Exact.  Cuts need to be tried only where pieces laid edge to edge end (normal patterns: Herz 1972, Christofides and
    Whitlock 1977, from memory); every sub-rectangle of such sides is settled once, from the small to the large.

    Args:
        sheet_mm: across and up, as it is drawn.
        piece_mm: likewise.
        turn: whether a piece may lie a quarter turned: not where its grain matters.

    Raises:
        AskedWrong: the pieces are so small that no sheet of this trade is cut into so many.
    """
    whole = thousandths(sheet_mm[0]), thousandths(sheet_mm[1])
    piece = thousandths(piece_mm[0]), thousandths(piece_mm[1])
    if min(piece) <= 0:
        raise AskedWrong(f"A piece of {format_size_mm(*piece_mm)} has no size; state both sides.")
    table = _Table(whole, piece, turn, what)
    tree = table.best()
    return None if tree is None else laid_out(tree, material, grain)


#: what a piece counts beside a cut
_PIECE = 1_000_000


class _Table:
    """The best of every sub-rectangle: pieces first, then fewer cuts."""

    def __init__(self, whole: tuple[int, int], piece: tuple[int, int], turn: bool, what: str) -> None:
        self.whole, self.piece, self.turn, self.what = whole, piece, turn, what
        sides = [{piece[0], piece[1]} if turn else {piece[0]}, {piece[0], piece[1]} if turn else {piece[1]}]
        self.xs, self.ys = (_places(length, own) for length, own in zip(whole, sides, strict=True))
        self.rest = _rests(self.xs), _rests(self.ys)
        self.score = np.zeros((len(self.xs), len(self.ys)), dtype=np.int64)
        for i in range(1, len(self.xs)):
            upright = self._upright(i, slice(None)).max(axis=0) if i > 1 else np.zeros(len(self.ys), dtype=np.int64)
            for j in range(1, len(self.ys)):
                level = self._level(i, j).max() if j > 1 else 0
                own = _PIECE if self._is_piece(i, j) else 0
                self.score[i, j] = max(0, own, int(upright[j]), int(level))

    def _is_piece(self, i: int, j: int) -> bool:
        size = int(self.xs[i]), int(self.ys[j])
        return size == self.piece or (self.turn and size[::-1] == self.piece)

    def _upright(self, i: int, j: int | slice) -> Ints:
        """Scores of the cuts at the first, second ... place left of place ``i``."""
        rest, trims = self.rest[0][0][i, 1:i], self.rest[0][1][i, 1:i]
        right = self.score[rest, j]
        trimming = trims[:, None] if isinstance(j, slice) else trims
        scores: Ints = self.score[1:i, j] + right - 1 - (trimming & (right > 0))
        return scores

    def _level(self, i: int, j: int) -> Ints:
        rest, trims = self.rest[1][0][j, 1:j], self.rest[1][1][j, 1:j]
        upper = self.score[i, rest]
        scores: Ints = self.score[i, 1:j] + upper - 1 - (trims & (upper > 0))
        return scores

    def best(self) -> Tree | None:
        i, j = len(self.xs) - 1, len(self.ys) - 1
        if self.score[i, j] <= 0:
            return None
        wide, high = self.whole
        core = self._tree(i, j)
        if core.upright:  # what is over joins the cuts that go the same way; the other way it comes off in one
            core = parted(wide, core.high, True, (core,))
            return parted(wide, high, False, (core,))
        core = parted(core.wide, high, False, (core,))
        return parted(wide, high, True, (core,))

    def _tree(self, i: int, j: int) -> Tree:
        wide, high = int(self.xs[i]), int(self.ys[j])
        score = int(self.score[i, j])
        if score <= 0:
            return Tree(wide, high)
        if self._is_piece(i, j):
            return Tree(wide, high, self.what)
        found = np.flatnonzero(self._upright(i, j) == score)
        if found.size:
            k = int(found[0]) + 1
            right = self._tree(int(self.rest[0][0][i, k]), j)
            return parted(wide, high, True, (self._tree(k, j), right))
        k = int(np.flatnonzero(self._level(i, j) == score)[0]) + 1
        upper = self._tree(i, int(self.rest[1][0][j, k]))
        return parted(wide, high, False, (self._tree(i, k), upper))


def _places(length: int, sides: set[int]) -> Ints:
    """Where pieces laid edge to edge from the start can end, 0 with them."""
    places = {0}
    for side in sorted(sides):
        for start in sorted(places):
            places.update(range(start, length + 1, side))
            if len(places) > _MOST_PLACES:
                raise AskedWrong(
                    f"Pieces with a side of {format_mm(side / 1000)} are too small for a sheet of "
                    f"{format_mm(length / 1000)}; part the sheet first and give the size of a part."
                )
    return np.array(sorted(places), dtype=np.int64)


def _rests(places: Ints) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Of what lies beyond a cut at the second place, up to the first: the last place in it, and if it is longer."""
    left = places[:, None] - places[None, :]
    at = np.maximum(np.searchsorted(places, left, side="right") - 1, 0)
    return at, left > places[at]
