# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folds in the standard's words and back.

The house reads a fold aloud: any of four sides moves, over or under.  The standard has two sides, ``Left`` and
``Front``; the part that begins there goes ``Up`` or ``Down``, and ``Travel`` is how far the crease lies from that edge
of the pile as it has been folded so far (handbook jdf-fold-attrs, seen; jdf-fold-sem, from memory).  Both come to the
same paper: "right under" and "left under" make the same pile, turned over side to side.  So the pile is followed
together with how it lies in the standard's words: turned over side to side, head to tail, both or neither; turned over
once, left is right for it and over is under.
"""

from __future__ import annotations

from attrs import evolve, frozen

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.folding import parse_fold
from foldproof.makeup.instructions import Fold, Section
from foldproof.xjdf.model import Box, HeldFold

_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


@frozen
class _Strip:
    """A column or a row of panels as it lies now: its place in panels, and from where to where, mm, piece frame."""

    place: int
    low: float
    high: float

    def before(self, at: float) -> bool:
        return (self.low + self.high) / 2 < at

    def over(self, boundary: int, at: float) -> _Strip:
        return _Strip(2 * boundary - 1 - self.place, 2 * at - self.high, 2 * at - self.low)


@frozen
class Turned:
    """How the pile lies in the standard's words, against how it lies in those of the house."""

    side_to_side: bool = False
    head_to_tail: bool = False

    @property
    def stack_reversed(self) -> bool:
        return self.side_to_side != self.head_to_tail

    def edge(self, name: str) -> str:
        """An edge of the pile."""
        turned = self.side_to_side if name in ("left", "right") else self.head_to_tail
        return _OPPOSITE[name] if turned else name


def on_sheet(rect_mm: Box, turned: int, turned_over: bool, size_mm: tuple[float, float]) -> Matrix:
    """Piece frame (``size_mm``: its width and height before it is turned) → sheet frame of the front, mm."""
    turn = Matrix.quarter_turns(turned // 90)
    box = turn.rect(Rect(0.0, 0.0, *size_mm))
    placed = turn.then(Matrix.translation(rect_mm[0] - box.x0, rect_mm[1] - box.y0))
    if turned_over:
        placed = placed.then(Matrix(-1.0, 0.0, 0.0, 1.0, rect_mm[0] + rect_mm[2], 0.0))
    return placed


def spoken(section: Section) -> tuple[tuple[HeldFold, ...], Turned]:
    """The folds of a piece in the standard's words, and how its pile lies after the last.

    Raises:
        FoldError: words that are no fold.
    """
    size = sum(section.column_mm), sum(section.row_mm)
    back = on_sheet(section.rect_mm, section.turned, section.turned_over, size).inverse()
    across = {"x": _strips(section.column_mm), "y": _strips(section.row_mm[::-1])}
    lies = Turned()
    told = []
    for fold in section.folds:
        side, _, way = parse_fold(fold.words)
        axis = "x" if side in ("left", "right") else "y"
        at = back.point(*fold.line_mm[0])[axis == "y"]
        strips = across[axis]
        low, high = min(strip.low for strip in strips), max(strip.high for strip in strips)
        moving = lies.edge(side)
        turned = lies.side_to_side if axis == "x" else lies.head_to_tail
        told.append(
            HeldFold(
                edge="left" if axis == "x" else "front",
                up=(way == "over") != lies.stack_reversed,
                travel_mm=high - at if turned else at - low,
            )
        )
        across[axis] = _folded(strips, at, side in ("left", "bottom"))
        if moving in ("right", "top"):
            # the other part is told to move instead, which leaves the same pile turned over
            lies = (
                evolve(lies, side_to_side=not lies.side_to_side)
                if axis == "x"
                else evolve(lies, head_to_tail=not lies.head_to_tail)
            )
    return tuple(told), lies


def in_house_words(
    folds: tuple[HeldFold, ...],
    column_mm: tuple[float, ...],
    row_mm: tuple[float, ...],
    to_sheet: Matrix,
) -> tuple[Fold, ...]:
    """The same folds as the house reads them aloud: left and bottom alone move.

    ``to_sheet``: piece frame → sheet frame.

    Raises:
        ValueError: a crease that leaves nothing on one side of it.
    """
    across = {"x": _strips(column_mm), "y": _strips(row_mm[::-1])}
    told = []
    for nth, fold in enumerate(folds, start=1):
        axis, other = ("x", "y") if fold.edge == "left" else ("y", "x")
        strips = across[axis]
        at = min(strip.low for strip in strips) + fold.travel_mm
        moving = {strip.place for strip in strips if strip.before(at)}
        staying = {strip.place for strip in strips if not strip.before(at)}
        if not moving or not staying or max(moving) > min(staying):
            raise ValueError(f"fold {nth} does not part the pile into what moves and what stays")
        low, high = min(strip.low for strip in across[other]), max(strip.high for strip in across[other])
        ends = ((at, low), (at, high)) if axis == "x" else ((low, at), (high, at))
        words = f"{'left' if axis == 'x' else 'bottom'} {len(moving)} {'over' if fold.up else 'under'}"
        told.append(Fold(words, (to_sheet.point(*ends[0]), to_sheet.point(*ends[1]))))
        across[axis] = _folded(strips, at, True)
    return tuple(told)


def _strips(sizes_mm: tuple[float, ...]) -> list[_Strip]:
    at, made = 0.0, []
    for place, size in enumerate(sizes_mm):
        made.append(_Strip(place, at, at + size))
        at += size
    return made


def _folded(strips: list[_Strip], at: float, before_moves: bool) -> list[_Strip]:
    boundary = max((strip.place for strip in strips if strip.before(at)), default=min(s.place for s in strips) - 1) + 1
    return [strip.over(boundary, at) if strip.before(at) == before_moves else strip for strip in strips]
